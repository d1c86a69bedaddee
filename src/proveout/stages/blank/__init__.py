"""Blank: which bar, which way, how long, and what every millimetre of it is for."""

from proveout.stages.blank.stack import raw_spread_mm

__all__ = ["raw_spread_mm"]
