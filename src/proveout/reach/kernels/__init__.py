"""Compiled height-map kernels; numbers and arrays only."""
