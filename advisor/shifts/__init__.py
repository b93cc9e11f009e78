"""What shifts between two recipes besides their lines."""
