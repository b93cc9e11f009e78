"""The rules of the trade as data; loaded by advisor.rulebook.load."""
