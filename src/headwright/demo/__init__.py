"""TODO: demo."""
