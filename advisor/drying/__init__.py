"""How a bar dries, and what the dried bar consists of."""
