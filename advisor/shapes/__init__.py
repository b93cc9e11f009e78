"""The shapes of the contract: what requests and answers look like, and nothing of what they mean."""
