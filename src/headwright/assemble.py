"""TODO: assemble."""
