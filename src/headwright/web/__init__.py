"""TODO: web."""
