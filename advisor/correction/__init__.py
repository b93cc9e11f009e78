"""A failed dough becomes the next recipe."""
