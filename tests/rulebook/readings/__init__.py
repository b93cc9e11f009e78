"""The figures of rules/ read a second time, by another road than the one they came in by."""
