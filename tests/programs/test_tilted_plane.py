"""Coordinates counted in a tilted plane, and rotary axes that set the cutter square to it; values worked by hand."""

from __future__ import annotations

import math
from typing import Any

import foreign_program as given
import msgspec
import numpy as np
import pytest

from proveout.geometry.turning import turn_of
from proveout.model.course import Course, Motion, Turning
from proveout.model.program_style import TiltedPlane
from proveout.model.proof import is_ready
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow
from proveout.programs.reading.turned import square_to, turn_by

PLANE = given.PLANE
WITH_CALL = msgspec.structs.replace(PLANE, rotary="turn with the call", turn_word="")
BY_WORDS = msgspec.structs.replace(PLANE, rotary="are turned by A and C words", turn_word="")


def control(plane: TiltedPlane = PLANE, **more: Any) -> Control:
    """Work zero 10 mm beyond the rotary centre along X."""
    known: dict[str, Any] = {"origins_mm": {1: (10.0, 0.0, 0.0)}, "centre_mm": (0.0, 0.0, 0.0), **more}
    return Control(
        powers_on=(*REPORT_DEFAULTS, "G21"), cutter=1, lengths_mm={1: 80.0}, radii_mm={1: 2.0}, tilted_plane=plane,
        zero_after_turning="carried by the control", **known,
    )  # fmt: skip


def course_of(text: str, knows: Control | None = None) -> Course:
    return follow(read_program(text), knows or control())


def motions(text: str, knows: Control | None = None) -> list[Motion]:
    return [item for item in course_of(text, knows).items if isinstance(item, Motion)]


def told(text: str, knows: Control | None = None) -> list[tuple[int, str, str]]:
    return [(note.line, note.kind, note.what) for note in course_of(text, knows).notes]


def near(point: tuple[float | None, ...]) -> Any:
    return pytest.approx(point, abs=1e-9)


# Worked: turned by 90 about Z and then by 90 about the X so turned, the plane's x is the work's Y, its y the work's Z
# and its z the work's X. C 90 takes the work's X to Y and A 90 takes that up: the plane's x and y then lie along the
# machine's -X and -Y. Its zero, 5 mm beyond work zero along X, lies 15 mm from the centre, and then 15 mm above it.
UP_X = "G0 X0 Y0 Z100\nG901 X5 Y0 Z0 I90 J90 K0\nM901\n"


def test_a_plane_and_its_turn_are_what_the_description_says() -> None:
    items = course_of(UP_X + "G0 X1 Y2 Z3\n").items
    turn = next(item for item in items if isinstance(item, Turning))
    assert turn.after.turned_rad == near((math.pi / 2.0, 0.0, math.pi / 2.0))
    last = items[-1]
    assert isinstance(last, Motion)
    assert last.end == near((-1.0, -2.0, 3.0))
    assert last.modes.origin_mm == near((0.0, 0.0, 15.0))
    # the machine stood still meanwhile: nose at (10, 0, 100), so 85 mm above the plane's zero and 10 aside
    assert last.start == near((10.0, 0.0, 85.0))
    assert not course_of(UP_X).notes


def test_axes_that_stand_turn_in_the_other_order() -> None:
    standing = msgspec.structs.replace(
        WITH_CALL, angles=(("J", "X"), ("I", "Z")), about="axes that stand", shift=("", "", "")
    )
    one = course_of("G901 I90 J90\n", control(standing)).items[0]
    assert isinstance(one, Turning)
    assert one.after.turned_rad == near((math.pi / 2.0, 0.0, math.pi / 2.0))
    # each about the axis as turned, X first: the plane's z is then the work's -Y: C 180 and A 90
    turned = msgspec.structs.replace(standing, about="axes as turned so far")
    other = course_of("G901 I90 J90\n", control(turned)).items[0]
    assert isinstance(other, Turning)
    assert [abs(v or 0.0) for v in other.after.turned_rad] == near((math.pi / 2.0, 0.0, math.pi))


def test_a_turn_by_the_other_way_round_has_the_other_sign() -> None:
    assert turn_by([("-X", 0.3)], each_as_turned=True) == pytest.approx(turn_by([("X", -0.3)], each_as_turned=True))
    assert turn_by([("X", math.pi / 2.0)], each_as_turned=True) @ [0.0, 1.0, 0.0] == near((0.0, 0.0, 1.0))
    assert turn_by([("Y", math.pi / 2.0)], each_as_turned=True) @ [0.0, 0.0, 1.0] == near((1.0, 0.0, 0.0))


def test_rotary_positions_set_any_direction_upright() -> None:
    draw = np.random.default_rng(5)
    for _ in range(200):
        normal = draw.normal(size=3)
        normal /= np.linalg.norm(normal)
        now = (0.0, float(draw.uniform(-7.0, 7.0)))
        for positive in (True, False):
            a, c = square_to(normal, now=now, a_is_positive=positive, a_travel_rad=None)
            assert turn_of(a_rad=a, c_rad=c) @ normal == near((0.0, 0.0, 1.0))
            assert (a > 0.0) == positive
            assert abs(c - now[1]) <= math.pi + 1e-9


def test_the_side_of_a_gives_way_to_its_travel() -> None:
    normal = np.array([0.0, 0.5, math.sqrt(0.75)])
    ends = math.radians(-100.0), math.radians(20.0)
    assert square_to(normal, now=(0.0, 0.0), a_is_positive=True, a_travel_rad=None) == near((math.pi / 6.0, 0.0))
    a, c = square_to(normal, now=(0.0, 0.0), a_is_positive=True, a_travel_rad=ends)
    assert (a, abs(c)) == near((-math.pi / 6.0, math.pi))
    upright = square_to(np.array([0.0, 0.0, 1.0]), now=(0.4, 1.0), a_is_positive=True, a_travel_rad=None)
    assert upright == (0.0, 1.0), "C stays where it does not matter"


def test_arcs_increments_and_the_cutters_radius_lie_in_the_plane() -> None:
    """Worked: all is turned by half a turn about the machine's Z; the sense of an arc is kept."""
    arc = motions(UP_X + "G0 X0 Y0 Z0\nG91 G3 X2 Y0 I1 J0 F100\n")[-1]
    assert arc.arc is not None
    assert (arc.start, arc.end) == (near((0.0, 0.0, 0.0)), near((-2.0, 0.0, 0.0)))
    assert (arc.arc.plane, arc.arc.centre_mm, arc.arc.turn_rad) == ((0, 1), near((-1.0, 0.0)), pytest.approx(math.pi))
    beside = motions(UP_X + "G0 X-10 Y0 Z0\nG41 D1 G1 X0 Y0 F100\nY20\nG40\n")[-1]
    # in the plane the tip goes up at x -2, left of the contour: along the machine at +2 and down
    assert (beside.start[0], beside.end) == (pytest.approx(2.0), near((2.0, -20.0, 0.0)))


def test_an_arc_about_the_planes_x_is_laid_about_the_machines() -> None:
    """Worked: G19 turns about the plane's x, which is the machine's -X: the sense about +X is the other."""
    arc = motions(UP_X + "G0 X0 Y0 Z0\nG19 G3 Y2 Z0 J1 K0 F100\n")[-1]
    assert arc.arc is not None
    assert (arc.arc.plane, arc.arc.turn_rad) == ((1, 2), pytest.approx(-math.pi))
    assert arc.arc.centre_mm == near((-1.0, 0.0))


def test_an_arc_about_no_axis_of_the_machine_is_followed_by_chords() -> None:
    """Worked: the plane leans by 30 about X and the axes have not turned; the half circle's top lies at its x 1."""
    text = "G0 X0 Y0 Z0\nG901 X0 Y0 Z0 I0 J30 K0\nG0 X0 Y0 Z0\nG2 X2 Y0 I1 J0 F100\n"
    found = [m for m in motions(text) if m.line == 4]
    assert len(found) > 20
    assert all(m.arc is None for m in found)
    assert found[-1].end == near((2.0, 0.0, 0.0))
    top = max(found, key=lambda m: m.end[1] or 0.0).end
    assert top == pytest.approx((1.0, math.cos(math.pi / 6.0), math.sin(math.pi / 6.0)), abs=2e-3)
    for motion in found:
        x, y, z = motion.end
        assert math.hypot((x or 0.0) - 1.0, (y or 0.0) / math.cos(math.pi / 6.0)) == pytest.approx(1.0, abs=1e-9)
        assert z == pytest.approx((y or 0.0) * math.tan(math.pi / 6.0), abs=1e-9)
    assert (4, "fault", "it is fed and does not stand square to the tilted plane of line 2") in told(text)


def test_machine_coordinates_length_and_home_work_in_a_plane() -> None:
    """Worked: the plane's zero is machine Z 15; with H1 of 80 mm machine Z 200 is 105 above it."""
    found = motions(UP_X + "G43 H1 G0 X1 Y2 Z30\nG53 Z200\nG91 G28 X0\n")
    assert found[-2].end == near((-1.0, -2.0, 105.0))
    assert found[-1].end == near((0.0, -2.0, 105.0)), "machine X 0 is where the plane's zero lies"


def test_leaving_a_plane_moves_nothing() -> None:
    """Worked: at the plane's (1, 2, 3), machine (-1, -2, 18); work zero, 10 from the centre, has turned to Z 10."""
    last = motions(UP_X + "G0 X1 Y2 Z3\nG902\nG0 Z50\n")[-1]
    assert last.start == near((-1.0, -2.0, 8.0))
    assert last.modes.origin_mm == near((0.0, 0.0, 10.0))
    assert last.modes.plane == 0


def test_without_any_zero_of_the_machine_the_plane_still_lies_in_the_work() -> None:
    bare = control(origins_mm={}, centre_mm=None)
    last = motions("G0 X7 Y0 Z100\nG901 X5 Y0 Z0 I0 J0 K90\nG0 Z50\n", bare)[-1]
    # at the work's X 7, 2 mm beyond the plane's zero; no rotary axis has turned, so it is laid along the machine's X
    assert last.start == near((2.0, 0.0, 100.0))
    assert last.modes.plane_shift_mm == (5.0, 0.0, 0.0)
    after = motions(UP_X + "G0 X1 Y2 Z3\nG0 X2\n", bare)
    assert after[-2].start == (None, None, None), "where a turn takes the work is not known"
    assert after[-1].end == near((-2.0, -2.0, 3.0))


@pytest.mark.parametrize(
    ("text", "line", "kind", "says"),
    [
        (UP_X + "T2 M6\n", 4, "fault", "M6 comes while the tilted plane of line 2"),
        (UP_X + "G55\n", 4, "fault", "G55 comes while"),
        (UP_X + "G92 X0\n", 4, "fault", "G92 comes while"),
        (UP_X + "G901 I0 J0 K0\n", 4, "fault", "was not left before"),
        ("G0 X1 Y1 Z1\nG92 X0\nG901 I0 J0 K0\n", 3, "fault", "a shift of G92"),
        ("M901\n", 1, "fault", "none was called"),
        ("G901 X0 I0 J30 P1\n", 1, "unknown", "what P means beside G901"),
        ("G901 X0 I0 J30\nM901 Q2\n", 2, "unknown", "what Q means beside M901"),
        ("G901 I#500 J30\nM901\n", 2, "unknown", "to where M901 turns"),
        ("G0 X0 Y0 Z0\nG901 I0 J30\nG1 Z-1 F100\n", 3, "fault", "does not stand square"),
        ("G0 X-9 Y0 Z0\nG41 D1 G1 X0 Y0 F9\nG901 I0\n", 3, "fault", "the cutter's radius is allowed for"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, line: int, kind: str, says: str) -> None:
    assert any((n, k) == (line, kind) and says in what for n, k, what in told(text)), told(text)


def test_without_its_description_the_call_is_a_word_nobody_declared() -> None:
    bare = msgspec.structs.replace(control(), tilted_plane=None)
    assert any("G901 is not declared" in what for _, _, what in told(UP_X, bare))


# --- on the whole part -----------------------------------------------------------------------------------------
def test_the_part_by_loop_calls_and_tilted_plane_is_clean() -> None:
    decided = given.check(given.WORDED)
    assert decided.value.findings == ()
    assert is_ready(decided.proofs)
    assert decided.value.faces[0].gouge_mm < 0.002


def test_the_part_is_clean_where_the_turn_comes_with_the_call_or_by_words() -> None:
    with_call = msgspec.structs.replace(given.control(), tilted_plane=WITH_CALL)
    assert given.check(given.WORDED.replace("M901\n", ""), knows=with_call).value.findings == ()
    by_words = msgspec.structs.replace(given.control(), tilted_plane=BY_WORDS)
    assert given.check(given.WORDED.replace("M901\n", "G0 A30\n"), knows=by_words).value.findings == ()


def test_the_part_is_clean_without_any_measured_zero() -> None:
    """The control carries the plane along: where work and rotary centre stand in the machine is not needed."""
    stands = msgspec.structs.replace(given.standing(), zero_mm=(None, None, None), centre_mm=None)
    knows = msgspec.structs.replace(given.control(), origins_mm={}, centre_mm=None)
    decided = given.check(given.WORDED, stands=stands, knows=knows)
    assert decided.value.findings == ()
    assert decided.value.faces[0].gouge_mm < 0.002


def test_the_part_in_inches_is_clean_too() -> None:
    text = given.in_inches(given.WORDED).replace("#100=-4", "#100=[-4/25.4]").replace("#100-4", "#100-4/25.4")
    text = text.replace("GE -8", "GE -8.0001/25.4").replace("#18=2", "#18=2/25.4")
    # angles are no lengths
    text = text.replace(f"J{-30 / 25.4:.9f}", "J-30")
    assert given.check(text).value.findings == ()


SEEDED = (
    ("sign of the plane's angle", "J-30", "J30", PLANE, "gouge", "G1 X84 F800"),
    ("sign of the plane's angle, turned by words", "I0 J-30 K0\nM901", "I0 J30 K0\nG0 A30", BY_WORDS, "words",
     "G1 Z-3 F600"),
    ("another angle's letter", "I0 J-30 K0", "I-30 J0 K0", PLANE, "gouge", "G1 X84 F800"),
    ("not turned to the plane", "M901\nM10", "M10", PLANE, "words", "G1 Z-3 F600"),
    ("plane not left before the cutter changes", "G902\nM11", "M11", PLANE, "words", "T1 M6"),
    ("plane's zero on another edge", "X0 Y40 Z0", "X0 Y0 Z0", PLANE, "gouge", "G1 X84 F800"),
    ("argument for another letter", "X6 Y6 Z-22 Q5", "X6 Y6 Z-22 U5", PLANE, "words",
     "G83 X#24 Y#25 Z#26 R#18 Q#17 F#9"),
    ("bottom under another letter", "X6 Y34 Z-22", "X6 Y34 W-22", PLANE, "words", "G83 X#24 Y#25 Z#26 R#18 Q#17 F#9"),
    ("the count of a loop left out", "#100=#100-4\n", "", PLANE, "words", "END1"),
    ("the loop one round too many", "GE -8", "GE -12", PLANE, "gouge", "G3 X30 Y20 Z#100 I1 J0 F400"),
    ("a label that is not there", "N90 G80", "N91 G80", PLANE, "words",
     "IF [[#24 EQ #0] OR [#25 EQ #0]] GOTO 90"),
)  # fmt: skip


@pytest.mark.parametrize("seeded", SEEDED, ids=lambda seeded: seeded[0])
def test_every_seeded_fault_is_found_at_its_line(seeded: tuple[str, str, str, TiltedPlane, str, str]) -> None:
    name, find, put, plane, kind, at = seeded
    text = given.WORDED
    assert find in text
    text = text.replace(find, put, 1)
    if name == "a label that is not there":
        text = text.replace("X50 Y6 Z-22 Q5", "X50 Z-22 Q5", 1)
    knows = msgspec.structs.replace(given.control(), tilted_plane=plane)
    decided = given.check(text, knows=knows)
    assert not is_ready(decided.proofs)
    lines = text.splitlines()
    found = [f for f in decided.value.findings if f.kind == kind]
    assert found, [(f.kind, lines[f.line - 1], f.what) for f in decided.value.findings]
    assert lines[found[0].line - 1] == at, (lines[found[0].line - 1], found[0].what)
