"""Mutants of the rules: each figure and word changed, to see whether a test falls."""
