"""TODO: geometry."""
