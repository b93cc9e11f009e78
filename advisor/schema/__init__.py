"""Shapes on the wire that several subjects share: strict fields, and nothing of what they mean."""
