"""TODO: checks."""
