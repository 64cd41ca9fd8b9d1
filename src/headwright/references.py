"""TODO: references."""
