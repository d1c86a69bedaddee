"""Solving: exact answers to choosing and packing, each with its bound; the only folder that imports solvers."""
