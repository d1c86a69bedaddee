"""Arcs of programs: those of the report's first sample worked by hand, and what holds for all."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from proveout.geometry.arcs import XY, YZ, ZX, point_at
from proveout.programs.reading.arcs import RADII_WITHIN_INCH_MM, ArcFault, Point, arc_about, arc_through

PI = math.pi


def flat(x: float, y: float) -> Point:
    return (x, y, -0.5)


@pytest.mark.parametrize(
    ("start", "end", "offset", "clockwise", "centre", "turn"),
    [
        # worked: e of the sample, from the right end of its bar over the top round to the foot: three quarters
        (flat(16.0, 2.5), flat(13.5, 0.0), (-2.5, 0.0), False, (13.5, 2.5), 1.5 * PI),
        # worked: o, back to its start: a whole turn
        (flat(32.5, 0.0), flat(32.5, 0.0), (0.0, 2.5), True, (32.5, 2.5), -2.0 * PI),
        # worked: d, from the foot over the left to the top: half a turn with the clock
        (flat(79.5, 0.0), flat(79.5, 5.0), (0.0, 2.5), True, (79.5, 2.5), -PI),
    ],
)
def test_arcs_by_their_centre(
    *, start: Point, end: Point, offset: tuple[float, float], clockwise: bool, centre: tuple[float, float], turn: float
) -> None:
    arc = arc_about(start, end, plane=XY, offset_mm=offset, clockwise=clockwise)
    assert (arc.plane, arc.centre_mm, arc.radius_mm) == (XY, centre, 2.5)
    assert arc.turn_rad == pytest.approx(turn, abs=1e-12)


def test_the_arc_of_the_letter_r() -> None:
    """Worked: from (64, 4) to (69, 4) with the clock, radius 4: the bow lies above, the centre sqrt(16 - 6.25) below.

    The turn is 2 asin(2.5 / 4) = 1.350 rad; its top is at 4 - 3.1225 + 4 = 4.8775.
    """
    start, end = flat(64.0, 4.0), flat(69.0, 4.0)
    arc = arc_through(start, end, plane=XY, radius_mm=4.0, clockwise=True)
    assert arc.centre_mm == pytest.approx((66.5, 4.0 - math.sqrt(9.75)))
    assert arc.turn_rad == pytest.approx(-2.0 * math.asin(0.625))
    assert point_at(arc, start, end, 0.5) == pytest.approx((66.5, 8.0 - math.sqrt(9.75), -0.5))


def test_a_negative_radius_goes_the_long_way_round() -> None:
    """Worked: of radius 5 from (5, 0) to (0, 5): about (0, 0) a quarter, about (5, 5) three quarters the other way."""
    start, end = flat(5.0, 0.0), flat(0.0, 5.0)
    for radius, clockwise, centre, turn in (
        (5.0, False, (0.0, 0.0), 0.5 * PI),
        (-5.0, False, (5.0, 5.0), 1.5 * PI),
        (5.0, True, (5.0, 5.0), -0.5 * PI),
        (-5.0, True, (0.0, 0.0), -1.5 * PI),
    ):
        arc = arc_through(start, end, plane=XY, radius_mm=radius, clockwise=clockwise)
        assert arc.centre_mm == pytest.approx(centre, abs=1e-12)
        assert arc.turn_rad == pytest.approx(turn)


@pytest.mark.parametrize(
    ("plane", "start", "end", "middle"),
    [
        # a quarter turn against the clock, seen from the positive end of the axis, while that rises from 0 to 2
        (XY, (1.0, 0.0, 0.0), (0.0, 1.0, 2.0), (math.sqrt(0.5), math.sqrt(0.5), 1.0)),
        (ZX, (0.0, 0.0, 1.0), (1.0, 2.0, 0.0), (math.sqrt(0.5), 1.0, math.sqrt(0.5))),
        (YZ, (0.0, 1.0, 0.0), (2.0, 0.0, 1.0), (1.0, math.sqrt(0.5), math.sqrt(0.5))),
    ],
)
def test_a_quarter_of_a_helix_in_each_plane(plane: tuple[int, int], start: Point, end: Point, middle: Point) -> None:
    arc = arc_about(start, end, plane=plane, offset_mm=(-1.0, 0.0), clockwise=False)
    assert arc.turn_rad == pytest.approx(0.5 * PI)
    assert point_at(arc, start, end, 0.5) == pytest.approx(middle)
    assert point_at(arc, start, end, 1.0) == pytest.approx(end, abs=1e-12)


@pytest.mark.parametrize(
    ("end", "offset", "why"),
    [
        ((2.0, 0.0, 0.0), (0.0, 0.0), "the centre of the arc lies at its start"),
        (
            (2.0, 0.003, 0.0),
            (0.0, 2.0),
            "the arc's end lies 2.8263 mm from its centre and its start 2.0000 mm; 0.002 mm of difference are allowed",
        ),
    ],
)
def test_an_arc_about_a_wrong_centre_is_refused(end: Point, offset: tuple[float, float], why: str) -> None:
    with pytest.raises(ArcFault, match=f"^{re.escape(why)}$"):
        arc_about((0.0, 0.0, 0.0), end, plane=XY, offset_mm=offset, clockwise=True)


def test_a_program_in_inches_may_be_rounded_coarser() -> None:
    """Worked: ends 2.0 and 2.003 mm from the centre: more than 0.002 mm, less than 0.0002 inch, 0.00508 mm."""
    start, end = (2.0, 0.0, 0.0), (0.0, 2.003, 0.0)
    arc = arc_about(start, end, plane=XY, offset_mm=(-2.0, 0.0), clockwise=False, within_mm=RADII_WITHIN_INCH_MM)
    assert arc.turn_rad == pytest.approx(0.5 * PI)
    with pytest.raises(ArcFault):
        arc_about(start, end, plane=XY, offset_mm=(-2.0, 0.0), clockwise=False)


def test_an_arc_of_a_wrong_radius_is_refused() -> None:
    with pytest.raises(ArcFault, match="ends where it starts"):
        arc_through((1.0, 1.0, 0.0), (1.0, 1.0, -3.0), plane=XY, radius_mm=2.0, clockwise=True)
    with pytest.raises(ArcFault, match=r"10\.0030 mm apart, which is more than two radii of 5 mm"):
        arc_through((0.0, 0.0, 0.0), (10.003, 0.0, 0.0), plane=XY, radius_mm=5.0, clockwise=True)
    half = arc_through((0.0, 0.0, 0.0), (10.001, 0.0, 0.0), plane=XY, radius_mm=5.0, clockwise=True)
    assert half.turn_rad == pytest.approx(-PI)


coordinates = st.floats(-500.0, 500.0)


@given(
    ends=st.tuples(coordinates, coordinates, coordinates, coordinates), ratio=st.floats(1.001, 30.0),
    clockwise=st.booleans(), long=st.booleans(),
)  # fmt: skip
def test_every_arc_by_its_radius_ends_where_it_should(
    *, ends: tuple[float, float, float, float], ratio: float, clockwise: bool, long: bool
) -> None:
    x, y, to_x, to_y = ends
    start, end = (x, y, 0.0), (to_x, to_y, -1.0)
    chord = math.hypot(to_x - x, to_y - y)
    assume(chord > 0.1)
    radius = 0.5 * chord * ratio * (-1.0 if long else 1.0)
    arc = arc_through(start, end, plane=XY, radius_mm=radius, clockwise=clockwise)
    assert point_at(arc, start, end, 0.0) == pytest.approx(start, abs=1e-6)
    assert point_at(arc, start, end, 1.0) == pytest.approx(end, abs=1e-6)
    assert (arc.turn_rad < 0.0) == clockwise
    assert (abs(arc.turn_rad) > PI) == long
