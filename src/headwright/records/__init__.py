"""TODO: records."""
