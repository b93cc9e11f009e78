"""What the law and the pH say of the preservation of a recipe."""
