"""Blank: which bar, which way, how long, and what every millimetre of it is for."""
