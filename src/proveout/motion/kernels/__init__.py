"""Compiled kernels of the motion engine; they take only numbers and arrays."""
