"""What the law says of a recipe: its lists, its duties and its age, and whether something preserves it."""
