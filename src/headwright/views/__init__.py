"""TODO: views."""
