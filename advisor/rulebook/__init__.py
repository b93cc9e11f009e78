"""The rules of the trade: every file of rules/ as typed data, and what they say of one material or pair."""
