"""The case book: situations at the bench, and a reader of answers that knows nothing of the program."""
