"""The help: pages that are written here, and references made from what runs."""
