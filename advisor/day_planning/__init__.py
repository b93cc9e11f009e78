"""Several batches on one day."""
