"""The tip's path beside a contour: the report's own example, and corners worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.course import Course, Motion
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow

# table 12 of the report: the material's edge is written, the cutter measures 1
EDGE = """G21 G1 F100 X0 Y6 Z0
N0010 G1 X1 Y5
N0020 G41 D1 G1 Y4
N0030 G3 X2 Y3 I1
N0040 G2 X3 Y2 J-1
N0050 G1 Y-1
N0060 G2 X2 Y-2 I-1
N0070 G1 X-2
N0080 G2 X-2.6 Y-0.2 J1
N0090 G1 X1.4 Y2.8
N0100 G2 X2 Y3 I0.6 J-0.8
N0110 G40
"""
# table 13 of the report: the path of the same cutter round the same material is written, from A on
PATH = """G21 G1 F100 X2 Y3.5 Z0
N0040 G2 X3.5 Y2 J-1.5
N0050 G1 Y-1
N0060 G2 X2 Y-2.5 I-1.5
N0070 G1 X-2
N0080 G2 X-2.9 Y0.2 J1.5
N0090 G1 X1.1 Y3.2
N0100 G2 X2 Y3.5 I0.9 J-1.2
"""


def followed(text: str, radius_mm: float = 0.5) -> Course:
    return follow(read_program(text), Control(powers_on=REPORT_DEFAULTS, cutter=1, radii_mm={1: radius_mm}))


def motions(course: Course) -> list[Motion]:
    return [item for item in course.items if isinstance(item, Motion)]


def ends(course: Course) -> list[tuple[float, float]]:
    return [(float(m.end[0] or 0.0), float(m.end[1] or 0.0)) for m in motions(course)]


def test_edge_and_path_of_the_report_are_one() -> None:
    """Printed: tables 12 and 13 describe the same tip path, from the contour's first point A on."""
    beside, path = followed(EDGE), followed(PATH)
    assert not beside.notes
    assert ends(beside)[-7:] == [pytest.approx(point, abs=1e-9) for point in ends(path)[-7:]]
    for one, other in zip(motions(beside)[-7:], motions(path)[-7:], strict=True):
        assert (one.arc is None) == (other.arc is None)
        if one.arc and other.arc:
            assert one.arc.centre_mm == pytest.approx(other.arc.centre_mm, abs=1e-9)
            assert one.arc.turn_rad == pytest.approx(other.arc.turn_rad, abs=1e-9)


def test_the_first_move_ends_where_the_cutter_touches_the_first_point() -> None:
    """Worked: from (1, 5) past B (1, 4) at 0.5 to its left; sin b = 1/2, so it ends at 60 degrees about B."""
    first = motions(followed(EDGE))[2]
    assert first.end[:2] == pytest.approx((1.0 + 0.5 * math.sqrt(0.75), 4.25))


SQUARE = "G21 G1 F100 X-20 Y-20 Z0\nG{side} D1 X0 Y-10\nX0 Y30\nX30\nY0\nX-10\nG40 X-20 Y-20\n"


def test_outside_corners_are_rounded_about_the_contour() -> None:
    """Worked: round a square of 30 on its left side, clockwise: at each corner a quarter turn of radius 5 about it."""
    arcs = [m for m in motions(followed(SQUARE.format(side=41), 5.0)) if m.arc]
    corners = [a.arc.centre_mm for a in arcs if a.arc]
    assert np.allclose(corners, [(0.0, 30.0), (30.0, 30.0), (30.0, 0.0)])
    assert all(a.arc and a.arc.turn_rad == pytest.approx(-math.pi / 2.0) for a in arcs)
    assert all(a.arc and a.arc.radius_mm == pytest.approx(5.0) for a in arcs)


def test_inside_corners_are_turned_where_both_paths_meet() -> None:
    """Worked: the same square from within, on its right: corners at 5 mm from both walls."""
    points = ends(followed(SQUARE.format(side=42), 5.0))
    for corner in ((5.0, 25.0), (25.0, 25.0), (25.0, 5.0)):
        assert any(point == pytest.approx(corner, abs=1e-9) for point in points), corner


def test_a_line_and_an_arc_meet_at_an_inside_corner() -> None:
    """Worked: along Y = 2, then up an arc of radius 10 about (10, 10). With the tip 2 to the left the line Y = 4 meets
    the circle of radius 8 at X = 10 + sqrt(64 - 36).
    """
    text = "G21 G1 F100 X-30 Y-10 Z0\nG41 D1 X-20 Y2\nX16\nG3 X20 Y10 I-6 J8\nG40 X30 Y30\n"
    course = followed(text, 2.0)
    points = ends(course)
    met = (10.0 + math.sqrt(28.0), 4.0)
    assert any(point == pytest.approx(met, abs=1e-9) for point in points), (met, points)


def test_the_feed_along_z_stays_where_the_tip_is() -> None:
    course = followed("G21 G1 F100 X-20 Y0 Z0\nG41 D1 X0 Y0\nZ-3\nX20\nG40 X30\n", 5.0)
    down = next(m for m in motions(course) if m.end[2] == -3.0)
    assert down.start[:2] == down.end[:2]
    assert math.hypot(float(down.end[0] or 0.0), float(down.end[1] or 0.0)) == pytest.approx(5.0)


def test_the_move_after_the_contour_begins_where_the_tip_is() -> None:
    course = followed("G21 G1 F100 X-20 Y0 Z0\nG41 D1 X0 Y0\nX20\nG40\nG0 Z5\nX30\nY1\n", 5.0)
    after = motions(course)[-3:]
    assert after[0].start[:2] == pytest.approx((20.0, 5.0))
    assert after[0].end == pytest.approx((20.0, 5.0, 5.0))
    assert after[1].end == pytest.approx((30.0, 5.0, 5.0))
    assert after[2].end == pytest.approx((30.0, 1.0, 5.0))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("G41 D1 X-19 Y0\n", "more than the radius"),
        ("G41 D1 G3 X-10 Y0 I5\n", "begins on an arc"),
        ("G41 D1 X0 Y0\nX10\nG3 X10 Y6 J3\nG1 X0\n", "does not go into an arc of 3 mm"),
        ("G41 D1 X0 Y0\nX10\nX10 Y3\nX0\n", "narrower than the cutter"),
        ("G18 G41 D1 X0 Y0\n", "XY plane"),
        ("G41 D1 X0 Y0\nX10\nG53 G0 Z0\n", "G53 comes while"),
        ("G41 D1 X0 Y0\nX10\nG55 X0\n", "G55 comes while"),
        ("G41 D1 X0 Y0\nX10\nG41 D1 X20\n", "allowed for already"),
        ("G41 D1 X0 Y0\nX10\nG28 Z0\n", "G28 comes while"),
        ("G41 D1 X0 Y0\nX10\nG81 X20 Y0 Z-5 R2\n", "G81 comes while"),
        ("X0 D1\n", "D has no G41"),
    ],
)
def test_what_cannot_be_is_told(text: str, says: str) -> None:
    course = followed("G21 G1 F100 X-20 Y0 Z0\n" + text, 5.0)
    assert any(says in note.what and note.kind == "fault" for note in course.notes), course.notes


def test_an_unknown_radius_is_not_guessed() -> None:
    course = followed("G21 G1 F100 X-20 Y0 Z0\nG41 D9 X0 Y0\n", 5.0)
    assert [note.kind for note in course.notes] == ["unknown"]
