"""TODO: cli."""
