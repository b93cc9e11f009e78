"""A recipe as amounts: how it is read, what it measures, what its dough is called, and its history."""
