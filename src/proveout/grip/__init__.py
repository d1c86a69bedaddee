"""Grip: whether two jaws hold the work, by a bound that never flatters."""
