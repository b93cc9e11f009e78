"""One task asked of many recipes."""
