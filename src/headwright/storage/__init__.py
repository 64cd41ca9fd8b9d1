"""TODO: storage."""
