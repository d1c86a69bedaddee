"""Programs written from moves: read back they are the moves, bit by bit, by each convention of zero after a turn."""

from __future__ import annotations

import math

import foreign_program as given
import msgspec
import numpy as np
import pytest

from proveout.geometry.frames import Frame, triple
from proveout.geometry.turning import turn_of
from proveout.jobs.check_program import control_of
from proveout.jobs.programs import differing_moves, origins_of, standing_of, table_of, where_moves_differ
from proveout.model.checking import Standing
from proveout.model.course import Course, Motion, Turning
from proveout.model.fact import Fact
from proveout.model.moves import Moves
from proveout.model.program_style import ProgramStyle, ZeroAfterTurning
from proveout.model.shop import Machine, Vise
from proveout.model.work import Clamping, Pass, PassPlan, Tilt
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.programs.writing.headings import NUMBERED
from proveout.programs.writing.holes import hole_places, pecked_hole
from proveout.programs.writing.text import fixed, plain
from proveout.programs.writing.writing import Written, write_program, zero_in_machine
from proveout.stages.removal_check.placing import place

CUTTERS = {"mill": given.table().cutters[2], "drill": given.table().cutters[3], "tap": given.table().cutters[4]}
NUMBERS = {"mill": 3, "drill": 7, "tap": 12}
STYLE = msgspec.structs.replace(
    given.STYLE,
    opening=("G21 G17 G40 G49 G80 G90 G94",),
    closing=("G53 G0 Y0", "M30"),
    before_change=("G53 G0 Z0", "M5"),
)
A_RAD, C_RAD = math.radians(30.0), math.radians(-117.123)


def fact(value: float) -> Fact:
    return Fact(low=value, nominal=value, high=value, unit="mm", source="a test", strength="assumed")


def tilt(name: str, a: float, c: float) -> Tilt:
    axes = turn_of(a_rad=a, c_rad=c)
    x, y, z = (triple(row) for row in axes)
    return Tilt(id=name, frame=Frame(x=x, y=y, z=z, origin_mm=(0.0, 0.0, 0.0)), a_rad=a, c_rad=c)


ZERO_TEXT = "X0 left end at the stop, Y0 fixed jaw face"
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw",
    frame=Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0)),
    tilts=(tilt("upright", 0.0, 0.0), tilt("turned", A_RAD, C_RAD)), jaw_top_mm=3.0, patch_length_mm=fact(60.0),
    patch_height_mm=fact(3.0), gap_mm=42.0, grip_faces=(), seat_text="", zero_text=ZERO_TEXT, makes_faces=(),
    makes_holes=(), removes_grip=False, jaw_middle_mm=30.0,
)  # fmt: skip
VISE = Vise(
    id="vise", machines=("mill",), opening_max_mm=150.0, jaw_length_mm=125.0, jaw_height_mm=40.0, preload_n=None,
    rating_n=None, torque_n_mm=None, stands_mm=(300.1, -203.0, -242.4),
)  # fmt: skip


def moves_of(*rows: tuple[float, float, float, float]) -> Moves:
    table = np.array(rows)
    return Moves(points=table[:, :3].copy(), feed_mm_per_s=table[:, 3].copy())


MILLED = moves_of(
    (-10.0, 5.001, 40.0, 0.0), (-10.0, 5.001, 12.345, 0.0), (-10.0, 5.001, 9.999, 7.0), (60.003, 5.001, 9.999, 21.7),
    (60.003, 7.777, 9.999, 21.7), (0.1, 7.777, 9.999, 21.7), (0.1, 7.777, 40.0, 0.0), (3.0, 3.0, 40.0, 0.0),
    (3.0, 3.0, 15.0, 0.0), (3.003, 3.0, 14.0, 5.0), (3.003, 3.0, 40.0, 0.0),
)  # fmt: skip
DRILLED = moves_of(
    (10.5, 4.25, 40.0, 0.0), (10.5, 4.25, 20.801, 0.0), (10.5, 4.25, 3.299, 3.151), (10.5, 4.25, 40.0, 0.0),
    (20.5, 4.25, 40.0, 0.0), (20.5, 4.25, 20.801, 0.0), (20.5, 4.25, 3.299, 3.151), (20.5, 4.25, 40.0, 0.0),
)  # fmt: skip
BORED = Moves(
    points=np.array(
        [
            [12.5, 4.25, 40.0], [12.5, 4.25, 21.0], [12.5, 4.25, 20.5], [12.5, 4.25, 18.037], [12.5, 4.25, 18.037],
            [9.086, 5.664, 18.037], [9.086, 5.664, 40.0],
        ]
    ),
    feed_mm_per_s=np.array([0.0, 0.0, 3.0, 4.0, 8.0, 8.0, 0.0]),
    arcs=np.array(
        [
            [0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, -2.0, 0.0], [1.0, -2.0, 0.0], [-1.0, -2.0, 0.0],
            [0.0, 0.0, 0.0],
        ]
    ),
)  # fmt: skip
PECKED = moves_of(
    (10.5, 4.25, 40.0, 0.0), (10.5, 4.25, 21.301, 0.0), (10.5, 4.25, 16.251, 3.151), (10.5, 4.25, 21.301, 0.0),
    (10.5, 4.25, 16.751, 0.0), (10.5, 4.25, 11.201, 3.151), (10.5, 4.25, 21.301, 0.0), (10.5, 4.25, 11.701, 0.0),
    (10.5, 4.25, 9.3, 3.151), (10.5, 4.25, 21.301, 0.0), (10.5, 4.25, 40.0, 0.0),
)  # fmt: skip
TAPPED = moves_of(
    (10.5, 4.25, 40.0, 0.0), (10.5, 4.25, 22.0, 0.0), (10.5, 4.25, 8.0, 13.2625), (10.5, 4.25, 22.0, 13.2625),
    (10.5, 4.25, 40.0, 0.0),
)  # fmt: skip


def one_pass(kind: str, cutter: str, tilt_id: str, moves: Moves, speed_per_min: float = 9000.0) -> Pass:
    return Pass(
        id=f"c1/{tilt_id}/{cutter}/{kind}/x", kind=kind, clamping_id="c1", tilt_id=tilt_id, cutter_id=cutter,  # type: ignore[arg-type]
        feature="Ø5 hole (left)", face_ids=(), speed_rad_per_s=speed_per_min * math.pi / 30.0, tooth_feed_mm=0.05,
        radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest, moves_count=len(moves.points), cut_length_mm=1.0,
    )  # fmt: skip


PASSES = (
    one_pass("rough", "mill", "upright", MILLED), one_pass("drill", "drill", "upright", DRILLED),
    one_pass("peck", "drill", "upright", PECKED), one_pass("tap", "tap", "upright", TAPPED, 795.75),
    one_pass("ream", "drill", "upright", TAPPED, 2000.0), one_pass("bore", "mill", "turned", BORED),
    one_pass("finish wall", "mill", "turned", MILLED),
    one_pass("drill", "drill", "turned", DRILLED),
)  # fmt: skip
PLAN = PassPlan(passes=PASSES, not_cut=(), moves={m.digest: m for m in (MILLED, DRILLED, PECKED, TAPPED, BORED)})


def machine(style: ProgramStyle) -> Machine:
    return msgspec.structs.replace(given.machine(), program=style)


def written(style: ProgramStyle = STYLE, vise: Vise = VISE) -> Written:
    return write_program(
        title="EX-1", clamping=CLAMPING, machine=machine(style), vise=vise, passes=PASSES, moves=PLAN.moves,
        cutters=CUTTERS, numbers=NUMBERS,
    )  # fmt: skip


def followed(text: str, style: ProgramStyle) -> tuple[Course, Standing]:
    mill = machine(style)
    standing = standing_of(CLAMPING, mill, VISE)
    control = control_of(mill, table_of(NUMBERS, CUTTERS, mill), origins_mm=origins_of(mill, standing))
    return follow(read_program(text), control), standing


@pytest.mark.parametrize("counts", [1, -1])
@pytest.mark.parametrize("has_cycles", [True, False])
def test_read_back_the_program_is_the_plan(*, has_cycles: bool, counts: int) -> None:
    style = msgspec.structs.replace(STYLE, has_cycles=has_cycles, a_sign=counts, c_sign=counts)
    text = written(style).text
    course, _ = followed(text, style)
    assert not course.notes
    assert course.ended
    assert differing_moves(course, CLAMPING, PASSES, PLAN, NUMBERS) == 0
    assert ("G81" in text) == has_cycles
    assert "G84" in text
    assert ("G85" in text) == has_cycles
    assert text.isascii()


def test_a_program_with_numbered_headings_says_whose_numbers_they_are() -> None:
    headings = {PASSES[1].id: "drill, hole 7"}
    named = write_program(
        title="EX-1", clamping=CLAMPING, machine=machine(STYLE), vise=VISE, passes=PASSES, moves=PLAN.moves,
        cutters=CUTTERS, numbers=NUMBERS, headings=headings,
    ).text  # fmt: skip
    bare = written().text
    assert "(PASS 2: DRILL, HOLE 7)" in named
    assert "(PASS 2: DRILL D5 HOLE LEFT)" in bare
    assert f"({NUMBERED})" in named
    assert NUMBERED not in bare


@pytest.mark.parametrize("back_mm", [0.5, 0.254, None])
def test_pecks_are_the_controls_own_cycle_where_it_comes_back_as_planned(back_mm: float | None) -> None:
    style = msgspec.structs.replace(STYLE, peck_back_mm=back_mm)
    text = written(style).text
    assert ("G99 G83 X10.5 Y4.25 Z9.3 R21.301 Q5.05 F189.06" in text) == (back_mm == 0.5)
    head = text[: text.index("G21")]
    assert ("(G83 BACKS OFF 0.5 MM: CHECK THE SETTING OF THE CONTROL)" in head) == (back_mm == 0.5)
    assert ("BACKS OFF" in text) == (back_mm == 0.5)
    course, _ = followed(text, style)
    assert not course.notes
    assert differing_moves(course, CLAMPING, PASSES, PLAN, NUMBERS) == 0


def test_a_control_that_comes_back_otherwise_is_found() -> None:
    """Written for a control that goes on half a millimetre above, followed by one that goes on a quarter above."""
    style = msgspec.structs.replace(STYLE, peck_back_mm=0.5)
    course, _ = followed(written(style).text, msgspec.structs.replace(style, peck_back_mm=0.254))
    assert differing_moves(course, CLAMPING, PASSES, PLAN, NUMBERS) == 2


@pytest.mark.parametrize(("row", "height"), [(2, 16.25), (4, 16.7), (5, 11.2), (7, 12.0), (9, 21.0), (10, 39.0)])
def test_pecks_that_are_not_even_are_no_cycle(row: int, height: float) -> None:
    found = pecked_hole("peck", PECKED, back_mm=0.5)
    assert found is not None
    assert (found.r_row, found.bottom_row, found.peck_mm) == (1, 8, pytest.approx(5.05))
    points = PECKED.points.copy()
    points[row, 2] = height
    assert pecked_hole("peck", Moves(points=points, feed_mm_per_s=PECKED.feed_mm_per_s), back_mm=0.5) is None
    feeds = PECKED.feed_mm_per_s.copy()
    feeds[5] = 2.0
    assert pecked_hole("peck", Moves(points=PECKED.points, feed_mm_per_s=feeds), back_mm=0.5) is None
    assert pecked_hole("drill", PECKED, back_mm=0.5) is None


@pytest.mark.parametrize(("has_cycles", "back_mm"), [(True, None), (True, 0.5), (False, None)])
def test_every_move_of_a_pass_stands_at_the_line_that_is_told(*, has_cycles: bool, back_mm: float | None) -> None:
    """By the reader: a motion of that very line ends at that very point."""
    style = msgspec.structs.replace(STYLE, has_cycles=has_cycles, peck_back_mm=back_mm)
    made = written(style)
    course, _ = followed(made.text, style)
    ends = {(item.line, tuple(item.end)) for item in course.items if isinstance(item, Motion)}
    assert set(made.lines) == {one.id for one in PASSES}
    for one in PASSES:
        points, lines = PLAN.moves[one.moves_digest].points.tolist(), made.lines[one.id]
        assert len(lines) == len(points)
        assert list(lines) == sorted(lines)
        for point, line in zip(points[1:], lines[1:], strict=True):
            assert (line, tuple(point)) in ends


@pytest.mark.parametrize(
    "find",
    [
        "X60.003 F",
        "Z9.999",
        "Z12.345",
        "G98 G81 X10.5",
        "R22.",
        "F1302.",
        "A30.",
        "X0.1",
        "S9000",
        "T3 M6",
        "G3 X",
        "I-2.",
        "G2 X",
        "Z18.037 I",
    ],
)
def test_one_changed_word_is_found(find: str) -> None:
    changes = {
        "I-2.": "I-2.001",
        "G3 X": "G2 X",
        "G2 X": "G3 X",
        "S9000": "S9001",
        "T3 M6": "T7 M6",
        "X60.003 F": "X60.004 F",
        "G98 G81 X10.5": "G98 G81 X10.6",
    }
    text = written().text
    assert find in text
    changed = text.replace(find, changes.get(find, find[0] + "1" + find[1:]), 1)
    course, _ = followed(changed, STYLE)
    count, line = where_moves_differ(course, CLAMPING, PASSES, PLAN, NUMBERS)
    assert count > 0
    at = next(
        k for k, (old, new) in enumerate(zip(text.splitlines(), changed.splitlines(), strict=True), 1) if old != new
    )
    assert line is not None
    assert line >= at, "nothing before the changed line differs"
    if find not in ("S9000", "T3 M6", "A30."):
        assert line == at


def test_the_head_names_the_zero_that_the_setup_sheet_names() -> None:
    assert "(G54: X0 LEFT END AT THE STOP, Y0 FIXED JAW FACE)" in written().text


def test_a_move_more_is_found() -> None:
    text = written().text.replace("M30", "G1 X5. F100\nM30", 1)
    assert differing_moves(followed(text, STYLE)[0], CLAMPING, PASSES, PLAN, NUMBERS) == 1


@pytest.mark.parametrize("zero", ["carried by the control", "at the rotation centre", "an offset for each tilt"])
def test_by_every_convention_the_tip_comes_to_the_same_places(zero: ZeroAfterTurning) -> None:
    """The places in the machine differ by what a written digit leaves off; the plan's points are those in the tilt."""
    style = msgspec.structs.replace(STYLE, zero_after_turning=zero)
    text = written(style).text
    course, standing = followed(text, style)
    assert not course.notes
    table = table_of(NUMBERS, CUTTERS, machine(style))
    planned = [tuple(row) for one in PASSES for row in PLAN.moves[one.moves_digest].points[1:].tolist()]
    ends = []
    for item in course.items:
        if isinstance(item, Motion) and None not in item.end and not (item.from_top or item.to_top):
            placed = place(item.modes, standing, table)
            assert not placed.why
            ends.append(tuple(np.array(item.end, dtype=float) + placed.shift_mm))
    at = 0
    for point in planned:
        while at < len(ends) and not np.allclose(ends[at], point, atol=0.0011):
            at += 1
        assert at < len(ends), point


def test_the_rotary_axes_turn_at_the_top_with_open_brakes() -> None:
    course, _ = followed(written().text, STYLE)
    turns = [item for item in course.items if isinstance(item, Turning)]
    assert len(turns) == 2
    for turn in turns:
        assert turn.from_top
        assert turn.before.a_held is False
        assert turn.before.c_held is False
    assert turns[0].after.turned_rad == pytest.approx((A_RAD, 0.0, C_RAD), abs=1e-6)
    assert turns[1].after.turned_rad == (0.0, 0.0, 0.0)
    feeds = [item for item in course.items if isinstance(item, Motion) and item.kind == "feed"]
    assert all(motion.modes.a_held is not False for motion in feeds)


def test_what_was_not_measured_makes_no_program() -> None:
    style = msgspec.structs.replace(STYLE, zero_after_turning="at the rotation centre")
    unmeasured = msgspec.structs.replace(VISE, stands_mm=None)
    found = written(style, unmeasured)
    assert found.text == ""
    assert "stands_x_mm" in found.why
    assert written(STYLE, unmeasured).text
    bare = write_program(
        title="EX-1", clamping=CLAMPING, machine=msgspec.structs.replace(given.machine(), program=None), vise=VISE,
        passes=PASSES, moves=PLAN.moves, cutters=CUTTERS, numbers=NUMBERS,
    )  # fmt: skip
    assert bare.text == ""
    assert "[machine.program]" in bare.why


def test_work_zero_lies_where_the_jaws_middle_puts_it() -> None:
    """Worked: the jaws' middle is X 30 of the work, so its zero lies 30 mm to the left of the vise's place."""
    assert zero_in_machine(CLAMPING, VISE) == pytest.approx((270.1, -203.0, -242.4))


def test_holes_that_are_no_cycle_are_written_move_by_move() -> None:
    assert hole_places("drill", DRILLED) == [(1, 2, 3), (5, 6, 7)]
    assert hole_places("tap", TAPPED) == [(1, 2, 4)]
    assert hole_places("rough", DRILLED) is None
    assert hole_places("drill", MILLED) is None
    assert hole_places("tap", DRILLED) is None
    assert hole_places("ream", TAPPED) == [(1, 2, 4)]
    assert hole_places("ream", DRILLED) is None
    pecked = moves_of(
        (0.0, 0.0, 40.0, 0.0), (0.0, 0.0, 21.0, 0.0), (0.0, 0.0, 15.0, 3.0), (0.0, 0.0, 21.0, 0.0),
        (0.0, 0.0, 15.5, 0.0), (0.0, 0.0, 9.0, 3.0), (0.0, 0.0, 40.0, 0.0),
    )  # fmt: skip
    assert hole_places("drill", pecked) is None


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12.0, "12."),
        (-0.0004, "0."),
        (0.5, "0.5"),
        (-3.125, "-3.125"),
        (1e-9, "0."),
        (100.0, "100."),
        (-0.001, "-0.001"),
    ],
)
def test_numbers_have_their_point_and_no_dead_digits(value: float, text: str) -> None:
    assert fixed(value, 3) == text


def test_comments_hold_what_every_control_shows() -> None:
    assert plain("Ø5 hole (left) at 30°, äöé #%;") == "D5 HOLE LEFT AT 30 DEG, AOE"
