"""Programs followed: modes, offsets, cycles, subprograms, parameters; values worked by hand unless said otherwise."""

from __future__ import annotations

import math

import pytest

from proveout.model.course import Course, Event, Motion, Turning
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow

KNOWN = Control(powers_on=(*REPORT_DEFAULTS, "G21"), origins_mm={1: (100.0, -50.0, -200.0), 2: (110.0, -50.0, -190.0)},
                lengths_mm={1: 80.0, 2: 90.0}, cutter=1, a_sign=1)  # fmt: skip


def course_of(text: str, control: Control = KNOWN) -> Course:
    return follow(read_program(text), control)


def motions(text: str, control: Control = KNOWN) -> list[Motion]:
    return [item for item in course_of(text, control).items if isinstance(item, Motion)]


def ends(text: str, control: Control = KNOWN) -> list[tuple[float | None, ...]]:
    return [motion.end for motion in motions(text, control)]


def told(text: str, control: Control = KNOWN) -> list[tuple[int, str, str]]:
    return [(note.line, note.kind, note.what) for note in course_of(text, control).notes]


def test_modes_stay_until_another_of_their_group_comes() -> None:
    found = motions("G0 X1 Y2 Z3\nX4\nG1 F60 Y5\nZ1\nG0 Z9\n")
    assert [m.kind for m in found] == ["rapid", "rapid", "feed", "feed", "rapid"]
    assert found[-1].end == (4.0, 5.0, 9.0)
    assert found[2].feed_mm_per_s == pytest.approx(1.0)


def test_increments_count_from_where_the_tip_is() -> None:
    assert ends("G0 X10 Y0 Z0\nG91 X5\nX5 Y-2\nG90 X0\n") == [
        (10.0, 0.0, 0.0), (15.0, 0.0, 0.0), (20.0, -2.0, 0.0), (0.0, -2.0, 0.0),
    ]  # fmt: skip


def test_inches_are_taken_for_every_number_of_their_block() -> None:
    found = motions("G20 G1 X1 Y0 Z0 F10\nG21 X50\n")
    assert found[0].end == pytest.approx((25.4, 0.0, 0.0))
    assert found[0].feed_mm_per_s == pytest.approx(254.0 / 60.0)
    assert found[1].end[0] == 50.0


def test_another_work_offset_moves_the_zero_and_not_the_machine() -> None:
    """Worked: system 2 lies 10 mm further along X and Z, so the same place has 10 mm less there."""
    last = motions("G0 X0 Y0 Z0\nG55\nG0 Y1\n")[-1]
    assert last.start == pytest.approx((-10.0, 0.0, -10.0))
    assert last.modes.origin_mm == (110.0, -50.0, -190.0)


def test_g10_sets_a_zero_and_g92_shifts_all() -> None:
    last = motions("G0 X5 Y0 Z0\nG10 L2 P1 X90\nG0 Y1\n")[-1]
    assert last.start[0] == pytest.approx(15.0)
    # printed in the report's 3.5.18: at X4 the word G92 X7 shifts by -3, and G92 X9 behind it makes it -5
    shifted = motions("G0 X4 Y0 Z0\nG92 X7\nG92 X9\nG0 Y1\n")[-1]
    assert shifted.start[0] == 9.0
    assert shifted.modes.origin_mm[0] == 100.0 - 5.0
    back = motions("G0 X4 Y0 Z0\nG92 X9\nG92.2\nG0 Y1\nG92.3\nG0 Y2\nG92.1\nG92.3\nG0 Y3\n")
    assert [m.start[0] for m in back[1:]] == pytest.approx([4.0, 9.0, 4.0])


def test_the_length_offset_lowers_what_z_means() -> None:
    """Worked: the machine stands still, so with H1 of 80 mm Z reads 80 mm less."""
    last = motions("G0 X0 Y0 Z100\nG43 H1\nG0 Y1\n")[-1]
    assert last.start[2] == pytest.approx(20.0)
    assert (last.modes.length_number, last.modes.length_mm) == (1, 80.0)
    assert motions("G43 H1 G0 X0 Y0 Z20\nG49\nG0 Y1\n")[-1].start[2] == pytest.approx(100.0)


def test_machine_coordinates_and_home() -> None:
    """Worked: machine X 0 is X -100 of the first offset; Z 0 is Z 200, less the length in force."""
    assert ends("G0 X0 Y0 Z0\nG53 X0\nG43 H1\nG53 Z-10\n")[1:] == [
        (-100.0, 0.0, 0.0), (-100.0, 0.0, pytest.approx(110.0)),
    ]  # fmt: skip
    home = motions("G43 H1 G0 X0 Y0 Z0\nG91 G28 Z5\n")
    assert home[1].end == (0.0, 0.0, 5.0)
    assert home[2].end == pytest.approx((0.0, 0.0, 120.0))
    assert home[2].to_top


def test_the_top_of_z_is_known_as_such_without_its_height() -> None:
    bare = Control(powers_on=(*REPORT_DEFAULTS, "G21"), begins_at_top=True, lengths_mm={1: 80.0})
    found = motions("G53 G0 Z0\nG0 X1 Y2\nG43 H1 Z50\nG0 Z2\n", bare)
    assert [(m.from_top, m.to_top) for m in found] == [(True, True), (True, True), (True, False), (False, False)]
    assert found[1].end == (1.0, 2.0, None)
    assert found[2].end == (1.0, 2.0, 50.0)


@pytest.mark.parametrize("home", ["G91 G28 Z0", "G91 G28 X0 Y0 Z0", "G53 G0 Z0", "G28"])
def test_the_ways_to_the_top_before_anything_is_known(home: str) -> None:
    bare = Control(powers_on=(*REPORT_DEFAULTS, "G21"), begins_at_top=True, lengths_mm={1: 80.0})
    found = motions(f"{home}\nG90 G0 X1 Y2\nG43 H1 Z50\n{home}\n", bare)
    assert all(m.from_top and m.to_top for m in found[:-2])
    assert [(m.from_top, m.to_top) for m in found[-2:]] == [(True, False), (False, True)]


def test_a_cycle_keeps_its_numbers_and_goes_back_to_its_height() -> None:
    """Worked: three holes, the third after G99 leaves the tip at R."""
    text = "G0 X0 Y0 Z50\nG81 X1 Y0 Z-5 R2 F120\nX2\nG99 X3\nG80\n"
    assert ends(text)[1:] == [
        (1.0, 0.0, 50.0), (1.0, 0.0, 2.0), (1.0, 0.0, -5.0), (1.0, 0.0, 50.0),
        (2.0, 0.0, 50.0), (2.0, 0.0, 2.0), (2.0, 0.0, -5.0), (2.0, 0.0, 50.0),
        (3.0, 0.0, 50.0), (3.0, 0.0, 2.0), (3.0, 0.0, -5.0), (3.0, 0.0, 2.0),
    ]  # fmt: skip


def test_a_cycle_is_repeated_in_increments() -> None:
    """Printed (3.5.16.2, example 2): from (1, 2, 3), G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3."""
    found = ends("G0 X1 Y2 Z3 F100\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\n")[1:]
    wanted = [(1.0, 2.0, 4.8)]
    for n in (1, 2, 3):
        x, y = 1.0 + 4.0 * n, 2.0 + 5.0 * n
        wanted += [(x, y, 4.8), (x, y, 4.2), (x, y, 4.8)]
    assert found == [pytest.approx(w) for w in wanted]


def test_a_tap_goes_back_with_the_spindle_reversed() -> None:
    items = course_of("M3 S500 F500 G0 X0 Y0 Z10\nG84 X0 Y0 Z-5 R2\nG80\n").items
    up = next(m for m in items if isinstance(m, Motion) and m.kind == "feed" and (m.end[2] or 0.0) > 0.0)
    assert up.modes.spindle == "left"
    assert [m.modes.spindle for m in items if isinstance(m, Event)][-1] == "right"


def test_rotary_axes_turn_and_carry_the_zero_along() -> None:
    """Worked: the zero 10 mm beyond the centre along Y stands, turned by 90 degrees about X, 10 mm above it."""
    carried = Control(
        powers_on=(*REPORT_DEFAULTS, "G21"), origins_mm={1: (0.0, 10.0, 0.0)}, centre_mm=(0.0, 0.0, 0.0), cutter=1,
        zero_after_turning="carried by the control", a_sign=-1,
    )  # fmt: skip
    items = course_of("G0 X0 Y0 Z0\nA-90\nX1\n", carried).items
    turn = next(item for item in items if isinstance(item, Turning))
    assert turn.after.turned_rad[0] == pytest.approx(math.pi / 2.0)
    last = items[-1]
    assert isinstance(last, Motion)
    assert last.modes.origin_mm == pytest.approx((0.0, 0.0, 10.0), abs=1e-12)
    assert last.start == pytest.approx((0.0, 10.0, -10.0), abs=1e-12)


def test_subprograms_are_called_repeated_and_left() -> None:
    text = "G0 X0 Y0 Z0\nM98 P7 L3\nM98 P8\nM30\nO7\nG91 X1\nM99\nO8\nG90 Y5\nM98 P7\nM99\n"
    assert [e[:2] for e in ends(text)][1:] == [(1.0, 0.0), (2.0, 0.0), (3.0, 0.0), (3.0, 5.0), (4.0, 5.0)]
    assert course_of(text).ended


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("M98 P9\n", "unknown", "subprogram 9 is not in this file"),
        ("M98\n", "unknown", "it has no P"),
        ("M99\n", "fault", "outside a subprogram"),
        ("O1\nM98 P1\n", "fault", "deep"),
        ("O1\nG0 X0\nO2\nM30\n", "fault", "runs on into the next"),
        ("G0 G1 X5\n", "fault", "exclude each other"),
        ("G80\nX5\n", "fault", "G80 allows no motion"),
        ("G1 X5\n", "fault", "no F gives one"),
        ("G93 G1 X5\n", "fault", "in its block"),
        ("G0 X0 Y0 Z0\nG2 F100 X5 Y5\n", "fault", "where its centre lies"),
        ("G0 X0 Y0 Z0\nG2 F100 X5 K2\n", "fault", "another plane"),
        ("G0 X0 Y0 Z0\nG2 F100 X5 R5 I1\n", "fault", "both a radius and a centre"),
        ("G0 X0 Y0 Z0\nG81 X1 Z-5 F100\n", "fault", "needs its R"),
        ("G0 X0 Y0 Z0\nG83 X1 Z-5 R2 F100\n", "fault", "Q above 0"),
        ("G0 X0 Y0 Z0\nG81 X1 Z-5 R2 L0 F100\n", "fault", "how often"),
        ("G4\n", "fault", "G4 needs a P"),
        ("M6\n", "fault", "no T names one"),
        ("G43\n", "fault", "G43 needs an H"),
        ("G43 H7\n", "unknown", "no length is known for H7"),
        ("G10 L2 P12 X0\n", "fault", "P from 1 to 9"),
        ("G10 L20 P1 X0\n", "unknown", "known with L2 alone"),
        ("G30 Z0\n", "unknown", "where G30 goes"),
        ("G123 X5\n", "unknown", "G123 is not declared"),
        ("U5\n", "unknown", "U is not declared"),
        ("G0 B20\n", "unknown", "B is no axis"),
        ("S-5\n", "fault", "below 0"),
        ("G1 F-2 X5\n", "fault", "moves nothing"),
        ("G92\n", "fault", "names no axis"),
        ("#1=#2\n", "unknown", "parameter 2 was not set"),
        ("G0 X[1/0]\n", "unknown", "is no number"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, kind: str, says: str) -> None:
    assert any(k == kind and says in what for _, k, what in told(text)), told(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("X5\n", "an axis is named, and no G0, G1"),
        ("G0 X5\n", "an axis is named, and no G90, G91"),
        ("G0 X5\n", "a length is written, and no G20, G21"),
        ("G1 X5 F100\n", "a feed is needed, and no G93, G94"),
        ("G0 G90 G21 X0 Y0 Z0\nG2 I5 F100 G94\n", "G2 needs a plane, and no G17, G18 or G19"),
    ],
)
def test_where_a_mode_is_unknown_at_the_start_it_is_told_once(text: str, says: str) -> None:
    found = [what for _, kind, what in told(text * 2, Control()) if says in what and kind == "unknown"]
    assert len(found) == 1


def test_own_words_do_what_is_declared() -> None:
    control = Control(
        powers_on=(*REPORT_DEFAULTS, "G21"), cutter=1,
        meanings={"M10": "clamp A", "M11": "unclamp A", "G31": "probe", "M70": "harmless", "G160": "retract"},
    )  # fmt: skip
    course = course_of("M70\nM11\nG0 X0 Y0 Z0\nM10\nG31 Z-5 F60\nG160\nX5\n", control)
    assert not course.notes
    found = [item for item in course.items if isinstance(item, Motion)]
    assert [m.modes.a_held for m in found] == [False, True, True, True]
    assert [m.kind for m in found] == ["rapid", "probe", "rapid", "rapid"]
    assert found[2].to_top
    assert found[3].from_top


def test_parameters_are_set_behind_their_block() -> None:
    """Printed in the report's sample program: #3=5.0 X#3 takes what #3 held before."""
    assert ends("#3=7 G0 X0 Y0 Z0\n#3=5.0 X#3\nX#3\n") == [(0.0, 0.0, 0.0), (7.0, 0.0, 0.0), (5.0, 0.0, 0.0)]


def test_blocks_can_be_skipped() -> None:
    program = read_program("G0 X0 Y0 Z0\n/X5\nY1\n")
    kept, left = follow(program, KNOWN), follow(program, KNOWN, skips=True)
    assert [len([i for i in c.items if isinstance(i, Motion)]) for c in (kept, left)] == [3, 2]


def test_inverse_time_and_feed_by_the_turn() -> None:
    """Worked: F2 is half a minute for 60 mm; 0.1 mm a turn at 1200 turns a minute is 2 mm a second."""
    found = motions("G0 X0 Y0 Z0\nG93 G1 X60 F2\nG95 S1200 M3 G1 X0 F0.1\n")
    assert found[1].feed_mm_per_s == pytest.approx(2.0)
    assert found[2].feed_mm_per_s == pytest.approx(2.0)


def test_a_program_without_end_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.programs.reading.running.BLOCKS_MOST", 500)
    assert any("does it ever end" in what for _, _, what in told("M98 P7 L9999999\nM30\nO7\nG91 G0 X1\nM99\n"))


def test_comments_may_stand_before_the_first_program_number() -> None:
    assert told("%\n(PART)\nO1000\nG0 X1 Y0 Z0\nM30\n") == []


@pytest.mark.parametrize("call", ["M98 P7 L0", "G65 P7 L0", "M98 P7 L1.5"])
def test_a_call_that_controls_take_differently_is_told(call: str) -> None:
    notes = told(f"G0 X0 Y0 Z0\n{call}\nM30\nO7\nG91 X1\nM99\n")
    assert [(line, kind) for line, kind, _ in notes] == [(2, "unknown")]
    assert "controls differ" in notes[0][2]
