"""TODO: kernels."""
