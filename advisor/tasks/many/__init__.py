"""One task asked of many recipes: chunks, the crews that answer them, and the order of the answers."""
