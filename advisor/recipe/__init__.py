"""A recipe as amounts: how it is read, what it measures, which materials it may name, and its history."""
