"""The record of one batch."""
