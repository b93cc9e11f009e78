"""What may stand in for a material that cannot be had."""
