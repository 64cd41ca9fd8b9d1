"""TODO: actions."""
