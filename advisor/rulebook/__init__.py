"""The rules of the trade as typed data: a shape for each file of rules/, read once and whole."""
