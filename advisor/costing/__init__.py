"""What a batch and a sold bar cost."""
