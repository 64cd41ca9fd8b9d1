"""TODO: quantities."""
