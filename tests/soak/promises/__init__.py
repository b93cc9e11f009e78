"""Every promise of the server tried under attack; ``python -m tests.soak.promises [short]`` prints the table."""
