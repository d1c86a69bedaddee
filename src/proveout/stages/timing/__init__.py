"""Timing: every minute, per piece, per batch and once for the design."""
