"""Frames, intervals, polygons and height maps on numpy arrays."""
