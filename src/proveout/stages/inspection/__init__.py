"""Inspection: what is gauged, with what, how often, and when to stop."""
