"""A new bar from a wish."""
