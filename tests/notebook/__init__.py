"""Tests of what a shop keeps and learns."""
