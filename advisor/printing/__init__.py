"""What answers look like on paper and on a terminal."""
