"""One file a resource; each returns its operations."""
