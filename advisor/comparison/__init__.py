"""Two recipes side by side."""
