"""TODO: physics."""
