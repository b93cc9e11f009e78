"""The dough in the bowl: what to add to it, and how to recover an over-weighed batch."""
