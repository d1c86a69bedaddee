"""Compiled kernels of the removal engine; they take only numbers and arrays."""
