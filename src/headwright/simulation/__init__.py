"""TODO: simulation."""
