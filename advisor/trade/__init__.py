"""What a maker knows: materials, recipes, doughs, drying, preservation and labels."""
