"""What is asked of a recipe: law, wishes, use ranges, dough, and the target of a report."""
