"""The shop's notebook: what is stored, where, and how it becomes evidence."""
