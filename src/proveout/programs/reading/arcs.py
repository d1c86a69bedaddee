"""Arcs and helices of a program: where their axis lies and how far they turn.

A plane is named by its two axes in the order that turns by the right hand about the third: XY about Z (G17), ZX about
Y (G18), YZ about X (G19). Seen from the positive end of the third axis a turn is counted positive against the clock.
"""

from __future__ import annotations

import math

from proveout.geometry.arcs import Arc
from proveout.quantities.units import MM_PER_INCH

RADII_WITHIN_MM, RADII_WITHIN_INCH_MM = 0.002, 0.0002 * MM_PER_INCH
"""How far the radii at both ends of an arc may differ, in programs in mm and in inches; the report's own figures."""
HALF_WITHIN_MM = 0.002
"""How much longer than two radii the chord of an arc given by its radius may be: then it is a half circle (our own)."""
SAME_WITHIN_MM = 1e-9


class ArcFault(Exception):
    """An arc that does not exist; the message says why."""


Point = tuple[float, float, float]


def arc_about(
    start: Point,
    end: Point,
    *,
    plane: tuple[int, int],
    offset_mm: tuple[float, float],
    clockwise: bool,
    within_mm: float = RADII_WITHIN_MM,
) -> Arc:
    """The arc whose centre is written as its distance from the start.

    Formula:  c = start + offset; r = |start - c|; the turn is the angle at c from start to end in the sense asked for,
              a whole turn where both are the same point of the plane.
    Args:     start, end: (3,) mm.   plane: two axes.   offset_mm: along these two, from the start.   clockwise: seen
              from the positive end of the third axis.   within_mm: how far the radii at both ends may differ.
    Returns:  the arc, its turn in rad.
    Raises:   ArcFault when there is no radius, or the two ends lie at different distances from the centre.
    Valid:    any ends; the end is taken as written, the radius is that at the start.
    Source:   nist-program-report (3.5.3.2)
    Departs:  nothing.
    Checked:  tests/programs/test_arcs.py
    """
    one, two = plane
    centre = (start[one] + offset_mm[0], start[two] + offset_mm[1])
    radius = math.hypot(*offset_mm)
    if radius <= SAME_WITHIN_MM:
        message = "the centre of the arc lies at its start"
        raise ArcFault(message)
    at_end = math.hypot(end[one] - centre[0], end[two] - centre[1])
    if abs(at_end - radius) > within_mm:
        message = (
            f"the arc's end lies {at_end:.4f} mm from its centre and its start {radius:.4f} mm; "
            f"{within_mm:g} mm of difference are allowed"
        )
        raise ArcFault(message)
    return Arc(plane, centre, radius, _turn(start, end, plane, centre, clockwise=clockwise))


def arc_through(start: Point, end: Point, *, plane: tuple[int, int], radius_mm: float, clockwise: bool) -> Arc:
    """The arc of a written radius: the lesser of the two when it is positive, the greater when it is negative.

    Formula:  the centre lies sqrt(r^2 - (d / 2)^2) to the side of the middle of the chord d.
    Args:     start, end: (3,) mm.   plane: two axes.   radius_mm: signed.   clockwise: as for arc_about.
    Returns:  the arc, its turn in rad.
    Raises:   ArcFault when both ends are the same point of the plane, or lie more than two radii apart.
    Valid:    any ends.
    Source:   nist-program-report (3.5.3.1)
    Departs:  a chord longer than two radii by rounding alone is taken for a diameter; the report says nothing of it.
    Checked:  tests/programs/test_arcs.py
    """
    one, two = plane
    along = (end[one] - start[one], end[two] - start[two])
    chord = math.hypot(*along)
    radius = abs(radius_mm)
    if chord <= SAME_WITHIN_MM:
        message = "an arc given by its radius ends where it starts: its centre can lie anywhere"
        raise ArcFault(message)
    if chord > 2.0 * radius + HALF_WITHIN_MM:
        message = f"the arc's ends lie {chord:.4f} mm apart, which is more than two radii of {radius:g} mm"
        raise ArcFault(message)
    aside = math.sqrt(max(0.0, radius * radius - 0.25 * chord * chord))
    # to the left of the way from start to end for a lesser turn against the clock
    side = aside if clockwise == (radius_mm < 0.0) else -aside
    centre = (
        start[one] + 0.5 * along[0] - side * along[1] / chord,
        start[two] + 0.5 * along[1] + side * along[0] / chord,
    )
    return Arc(plane, centre, max(radius, 0.5 * chord), _turn(start, end, plane, centre, clockwise=clockwise))


def _turn(start: Point, end: Point, plane: tuple[int, int], centre: tuple[float, float], *, clockwise: bool) -> float:
    one, two = plane
    begin = math.atan2(start[two] - centre[1], start[one] - centre[0])
    stop = math.atan2(end[two] - centre[1], end[one] - centre[0])
    if math.hypot(end[one] - start[one], end[two] - start[two]) <= SAME_WITHIN_MM:
        turn = 2.0 * math.pi
    else:
        turn = (begin - stop if clockwise else stop - begin) % (2.0 * math.pi)
    return -turn if clockwise else turn
