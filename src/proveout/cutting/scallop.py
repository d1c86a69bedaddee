"""Ridges that a round cutter leaves between passes."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between, zero_or_more


def scallop_height_mm(*, radius_mm: float, step_over_mm: float) -> float:
    """Height of the ridge between two passes over a flat.

    Formula:  h = R - sqrt(R^2 - s^2 / 4)
    Args:     radius_mm: R, > 0.   step_over_mm: s, 0..2 R.
    Returns:  mm, 0..R; the ideal, real surfaces are rougher.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    flat surface; a hollow leaves less, a crown more.
    Source:   scallop_geometry, as quoted.   Departs: written as a quotient, which keeps digits for small s.
    Checked:  tests/published/test_scallop_geometry.py
    """
    above_zero(radius_mm=radius_mm)
    between(low=0.0, high=2.0 * radius_mm, step_over_mm=step_over_mm)
    quarter_mm2 = 0.25 * step_over_mm**2
    return quarter_mm2 / (radius_mm + math.sqrt(max(0.0, radius_mm**2 - quarter_mm2)))


def step_over_mm(*, radius_mm: float, scallop_height_mm: float) -> float:
    """Step between passes that leaves ridges of a given height on a flat.

    Formula:  s = 2 sqrt(2 R h - h^2)
    Args:     radius_mm: R, > 0.   scallop_height_mm: h, 0..R.
    Returns:  mm, 0..2 R.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    flat surface.
    Source:   scallop_geometry, as quoted, solved for s.   Departs: nothing.
    Checked:  tests/laws/test_cutting_laws.py
    """
    above_zero(radius_mm=radius_mm)
    zero_or_more(scallop_height_mm=scallop_height_mm)
    between(low=0.0, high=radius_mm, scallop_height_mm=scallop_height_mm)
    return 2.0 * math.sqrt(2.0 * radius_mm * scallop_height_mm - scallop_height_mm**2)
