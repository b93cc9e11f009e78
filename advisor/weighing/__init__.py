"""A recipe becomes grams on the balances, with the work in order."""
