"""Marks that the teeth of a cutter leave one behind the other, on a surface that is ideal but for them."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between, zero_or_more

MEAN_OF_CUSP_RATIO = 4.0 / (9.0 * math.sqrt(3.0))
"""Mean height about the mean line of a row of parabolas, for each unit of their height."""


def nose_mark_height_mm(*, feed_mm: float, nose_radius_mm: float) -> float:
    """Height of the marks of a rounded corner that moves on by its feed: on floors, of a cutter's corner radius.

    Formula:  R_t = f^2 / (8 r)
    Args:     feed_mm: f, from one mark to the next, 0..2 r.   nose_radius_mm: r, > 0.
    Returns:  mm, >= 0; the ideal: run-out and metal built up on the edge leave 1.5 to 3 times that and more.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    f much smaller than r; a cutter whose teeth stand out unevenly marks once a turn, not once a tooth.
    Source:   feed_mark_geometry, as quoted.   Departs: nothing.
    Checked:  tests/published/test_feed_marks.py
    """
    above_zero(nose_radius_mm=nose_radius_mm)
    between(low=0.0, high=2.0 * nose_radius_mm, feed_mm=feed_mm)
    return feed_mm * feed_mm / (8.0 * nose_radius_mm)


def nose_mark_mean_mm(*, feed_mm: float, nose_radius_mm: float) -> float:
    """Mean height Ra of the marks of a rounded corner, by the rule of thumb.

    Formula:  Ra = f^2 / (32 r); a row of ideal parabolas has 4 / (9 sqrt 3) R_t = f^2 / (31.2 r)
    Args:     feed_mm: f, 0..2 r.   nose_radius_mm: r, > 0.
    Returns:  mm, >= 0; the ideal, never one that can be promised.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as nose_mark_height_mm.
    Source:   feed_mark_geometry, as quoted.   Departs: nothing.
    Checked:  tests/published/test_feed_marks.py
    """
    return nose_mark_height_mm(feed_mm=feed_mm, nose_radius_mm=nose_radius_mm) / 4.0


def straight_edge_mark_height_mm(*, feed_mm: float, side_edge_rad: float, end_edge_rad: float) -> float:
    """Height of the marks of a sharp corner between two straight edges.

    Formula:  H = f / (tan psi + cot lambda)
    Args:     feed_mm: f, >= 0.   side_edge_rad: psi, lean of the side edge, 0..1.5.   end_edge_rad: lambda, lean of
              the end edge, 0.001..1.5.
    Returns:  mm, >= 0; the ideal.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a corner without a radius.
    Source:   feed_mark_geometry, as quoted.   Departs: nothing.
    Checked:  tests/published/test_feed_marks.py
    """
    zero_or_more(feed_mm=feed_mm)
    between(low=0.0, high=1.5, side_edge_rad=side_edge_rad)
    between(low=0.001, high=1.5, end_edge_rad=end_edge_rad)
    return feed_mm / (math.tan(side_edge_rad) + 1.0 / math.tan(end_edge_rad))


def side_mark_height_mm(*, tooth_feed_mm: float, diameter_mm: float) -> float:
    """Height of the marks that teeth leave along a wall, or a slab mill on a flat.

    Formula:  H = f_z^2 / (4 d), f_z = f / (N Z)
    Args:     tooth_feed_mm: f_z, 0..d.   diameter_mm: d, > 0.
    Returns:  mm, >= 0; the ideal, far below any real wall: never to be told as a surface that can be had.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    teeth that all stand out alike; with run-out one tooth marks for all and f_z is the feed of a turn.
    Source:   feed_mark_geometry, as quoted.   Departs: the feed of a tooth in place of table feed, turns and teeth.
    Checked:  tests/published/test_feed_marks.py
    """
    above_zero(diameter_mm=diameter_mm)
    between(low=0.0, high=diameter_mm, tooth_feed_mm=tooth_feed_mm)
    return tooth_feed_mm * tooth_feed_mm / (4.0 * diameter_mm)
