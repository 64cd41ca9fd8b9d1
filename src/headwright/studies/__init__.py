"""TODO: studies."""
