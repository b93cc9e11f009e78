"""What a shop's own doughs teach, and which test dough would teach most."""
