"""Compiled code of the grip: numbers and arrays only."""
