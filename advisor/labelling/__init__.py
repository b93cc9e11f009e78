"""The ingredient list of a recipe, and what a change of the recipe does to it."""
