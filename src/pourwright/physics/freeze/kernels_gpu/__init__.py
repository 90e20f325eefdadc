"""Twins of the kernels for a graphics card of NVIDIA's make."""
