"""Compiled loops over triangles: heights under discs, borders and their loops, distances."""
