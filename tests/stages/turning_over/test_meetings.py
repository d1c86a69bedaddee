"""Steps and sizes over two clampings, every sum worked by hand."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from shapes import box, cut_box, drilled, fact, solid_of
from stages.turning_over.turned import (
    BAR,
    BLOCK,
    FIRST,
    MEASURED_MILL,
    MEASURED_VISE,
    SECOND,
    TURNED,
    clamping,
    job,
    one_pass,
    only,
    side,
    turned,
)

from proveout.geometry.frames import frame_looking_down
from proveout.model.job import Coat
from proveout.model.plan import Finishing, Window
from proveout.model.shop import Probe, Rotary
from proveout.model.turned import ErrorLine
from proveout.model.work import Tilt
from proveout.stages.turning_over.chain import gathered

BACK, TOP, WALL = side(BLOCK, "-z"), side(BLOCK, "+z"), side(BLOCK, "+y")
FACES_BACK = one_pass(SECOND, "face", BACK)
WALL_AGAIN = one_pass(SECOND, "finish wall", WALL)


def window(text: str, low: float, high: float, **more: Any) -> Finishing:
    one = Window(
        balloon=7, text=text, kind="length", finished_low_mm=low, finished_high_mm=high, before_low_mm=low,
        before_high_mm=high, width_mm=high - low, is_masked=False, face_ids=(BACK, TOP),
        **{"is_critical": False, **more},
    )  # fmt: skip
    return Finishing(offset_mm={f.id: 0.0 for f in BLOCK.faces}, windows=(one,), coated_area_mm2=0.0, plugs=())


def test_the_back_of_a_block_lies_off_its_top_by_what_adds_up() -> None:
    """Worked, high ends: three cutter lengths (top, back, and the top again as the seat) 3 x 0.012; zero 0.010; lift
    0.015; seat 0.1 mm/m over 80 mm 0.008; upright by the jaw's 0.2 mm/m over 40 mm 0.008; bow 0.06 (80/120)^2, up to
    0.027: 0.104. Low ends: 3 x 0.002 + 0.002 = 0.008: the work is thicker than the piece that was measured."""
    found = turned(FACES_BACK)
    (meeting,) = found.value.meetings
    assert (meeting.kind, meeting.clamping_ids, meeting.size_mm, meeting.lacks) == ("size", ("c1", "c2"), 20.0, ())
    assert meeting.off_mm is not None
    assert meeting.off_mm.high == pytest.approx(0.104, abs=1e-9)
    assert meeting.off_mm.low == pytest.approx(0.008, abs=1e-9)
    assert sum(x.count * x.each_mm.high for x in meeting.lines) == pytest.approx(0.104, abs=1e-9)
    assert {x.count for x in meeting.lines if "length of a cutter" in x.text} == {3}
    proof = only(found, "size over two clampings")
    # 20 mm of class m: 0.2 either way; nobody wrote the size, so it does not block
    assert (proof.verdict, proof.limit, proof.blocks_release) == ("holds", 0.2, False)


def test_a_written_size_has_half_its_window_and_blocks_when_it_is_critical() -> None:
    """Worked: 0.104 against 0.104 and 0.1039: the one holds, the other is not shown, as 0.008 is not above it."""
    just = only(turned(FACES_BACK, finishing=window("20 ±0.104", 19.896, 20.104)), "size over two clampings")
    assert (just.verdict, just.subject) == ("holds", "size 7")
    tight = window("20 ±0.1039", 19.8961, 20.1039, is_critical=True)
    short = only(turned(FACES_BACK, finishing=tight), "size over two clampings")
    assert (short.verdict, short.blocks_release) == ("not shown", True)
    hopeless = only(turned(FACES_BACK, finishing=window("20 ±0.007", 19.993, 20.007)), "size over two clampings")
    assert (hopeless.verdict, hopeless.blocks_release) == ("fails", False)
    # made at 20, so a window from 19.9 to 20.2 has 0.1 of room, not 0.15
    lopsided = only(turned(FACES_BACK, finishing=window("20 +0.2/-0.1", 19.9, 20.2)), "size over two clampings")
    assert lopsided.limit == pytest.approx(0.1)


def test_a_written_size_that_rests_on_what_nobody_said_has_no_room() -> None:
    unsaid = only(
        turned(FACES_BACK, finishing=window("20 ±0.2", 19.8, 20.2, is_decided=False)), "size over two clampings"
    )
    assert (unsaid.verdict, unsaid.limit) == ("not shown", None)


def test_a_coat_takes_room_from_the_general_tolerance() -> None:
    """Worked: build-up 0.018 to 0.033 a face, so two faces vary by 0.015 about their middle: 0.2 - 0.015. The block is
    made 2 x 0.0255 smaller."""
    coat = Coat(
        process="hard", thickness_mm=fact(0.04, 0.05, 0.06, "mm"), build_up_ratio=fact(0.45, 0.5, 0.55, "ratio"),
        etch_mm=fact(0.0, 0.0, 0.0, "mm"),
    )  # fmt: skip
    bare = window("", 0.0, 0.0)
    every = tuple(f.id for f in BLOCK.faces)
    coated = msgspec.structs.replace(bare, windows=(), offset_mm=dict.fromkeys(every, 0.0255), coated_faces=every)
    found = turned(FACES_BACK, asked=job(coat=coat), finishing=coated)
    assert found.value.meetings[0].limit_mm == pytest.approx(0.185)
    assert found.value.meetings[0].size_mm == pytest.approx(19.949)
    unsaid = turned(FACES_BACK, asked=job(coat=msgspec.structs.replace(coat, etch_mm=None)), finishing=coated)
    # an etch that nobody said takes up to 0.025 a face: they vary by 0.040 about their middle
    assert unsaid.value.meetings[0].limit_mm == pytest.approx(0.16)
    # an etch that takes off what builds up moves no face, and the coat varies all the same
    even = msgspec.structs.replace(coated, offset_mm=dict.fromkeys(every, 0.0))
    assert turned(FACES_BACK, asked=job(coat=coat), finishing=even).value.meetings[0].limit_mm == pytest.approx(0.185)
    none = msgspec.structs.replace(coated, coated_faces=())
    assert turned(FACES_BACK, asked=job(coat=coat), finishing=none).value.meetings[0].limit_mm == pytest.approx(0.2)


def test_a_wall_cut_in_two_clampings_has_a_step() -> None:
    """Worked, high ends: cutter sides of both cuts and of the wall at the fixed jaw 3 x 0.015; zero 0.010; seating
    0.015; out of upright 0.2 mm/m over 20 mm 0.004; jaw out of line 0.2 mm/m over 80 mm 0.016; bow 0.027: 0.117.
    Between the walls the same again, as a size."""
    found = turned(WALL_AGAIN)
    meeting, size = found.value.meetings
    assert (meeting.kind, meeting.face_ids) == ("step", (WALL,))
    assert meeting.off_mm is not None
    assert meeting.off_mm.high == pytest.approx(0.117, abs=1e-9)
    assert size.kind == "size"
    assert size.off_mm == meeting.off_mm
    # class m over the 40 mm across: 0.3
    assert (only(found, ":step").verdict, only(found, ":step").limit) == ("holds", 0.3)


def test_a_step_that_the_owner_limits_blocks_and_nobody_knows_without_a_limit() -> None:
    written = only(turned(WALL_AGAIN, asked=job(step_max_mm=0.1)), ":step")
    assert (written.verdict, written.blocks_release, written.limit) == ("not shown", True, 0.1)
    wider = only(turned(WALL_AGAIN, asked=job(step_max_mm=0.117)), ":step")
    assert (wider.verdict, wider.blocks_release) == ("holds", True)
    silent = only(turned(WALL_AGAIN, asked=job(general_tolerance=None)), ":step")
    assert (silent.verdict, silent.blocks_release, silent.found_high) == ("not shown", False, 0.117)
    assert "step_max_mm" in silent.decides


@pytest.mark.parametrize(
    ("machine", "vise", "bars", "asks"),
    [
        ({"zero_error_mm": None}, {}, (BAR,), "zero_error_mm of mill"),
        ({"length_error_mm": None}, {}, (BAR,), "length_error_mm of mill"),
        ({}, {"lift_mm": None}, (BAR,), "lift_mm of vise"),
        ({}, {"seat_slope_mm_per_m": None}, (BAR,), "seat_slope_mm_per_m of vise"),
        ({}, {"jaw_slope_mm_per_m": None}, (BAR,), "jaw_slope_mm_per_m of vise"),
        ({}, {}, (msgspec.structs.replace(BAR, faced_bow_mm=None),), "faced_bow_mm"),
        ({}, {}, (), "faced_bow_mm"),
    ],
)
def test_each_figure_that_nobody_measured_leaves_it_open(machine: Any, vise: Any, bars: Any, asks: str) -> None:
    found = turned(
        FACES_BACK, machines=(msgspec.structs.replace(MEASURED_MILL, **machine),),
        vises=(msgspec.structs.replace(MEASURED_VISE, **vise),), bars=bars,
    )  # fmt: skip
    proof = only(found, "size over two clampings")
    assert (proof.verdict, proof.found_high, found.value.meetings[0].off_mm) == ("not shown", None, None)
    assert asks in proof.decides


def test_sides_and_seating_do_not_matter_to_a_thickness() -> None:
    loose = turned(
        FACES_BACK, machines=(msgspec.structs.replace(MEASURED_MILL, side_error_mm=None),),
        vises=(msgspec.structs.replace(MEASURED_VISE, repeat_mm=None),),
    )  # fmt: skip
    assert only(loose, "size over two clampings").found_high == 0.104


def test_without_a_figure_of_the_zero_the_probe_s_error_stands_for_it() -> None:
    """Worked: 0.004 in place of 0.010: 0.098."""
    probe = Probe(error_mm=fact(0.001, 0.002, 0.004, "mm"), ball_mm=4.0, stylus_mm=40.0, body_mm=25.0)
    mill = msgspec.structs.replace(MEASURED_MILL, zero_error_mm=None, has_probe=True, probe=probe)
    assert only(turned(FACES_BACK, machines=(mill,)), "size over two clampings").found_high == pytest.approx(0.098)


def test_a_third_clamping_hangs_on_the_second_where_the_second_cut_what_it_stands_on() -> None:
    """Worked: clamping 3 lies as 1 does and stands on the back that 2 cut; it faces the top again. Against 1, high
    ends: lengths of both top cuts, of the back cut in 2, and of the top that 2 stood on: 4 x 0.012; zero and lift of 3
    and of 2: 2 x 0.025; slopes of both over 80 and 40 mm: 2 x 0.016; bow at both seats: 2 x 0.027. 0.184."""
    third = clamping(3, FIRST.frame)
    found = turned(FACES_BACK, one_pass(third, "face", TOP), clampings=(FIRST, SECOND, third))
    step = next(m for m in found.value.meetings if m.kind == "step")
    assert (step.face_ids, step.clamping_ids) == ((TOP,), ("c1", "c3"))
    assert step.off_mm is not None
    assert step.off_mm.high == pytest.approx(0.184, abs=1e-9)
    assert {x.text for x in step.lines} >= {"zero Z of operation 2", "zero Z of operation 3"}


def test_what_stands_on_a_face_that_nobody_finished_is_not_known() -> None:
    """The top, on which clamping 2 stands, is only roughed: across, the work hangs on the fixed jaw's wall alone."""
    bare = turned(FACES_BACK, one_pass(SECOND, "finish floor", TOP), WALL_AGAIN, own=(
        one_pass(FIRST, "rough", TOP), one_pass(FIRST, "finish wall", WALL, side(BLOCK, "-x"), side(BLOCK, "+x")),
    ))  # fmt: skip
    step = next(m for m in bare.value.meetings if m.kind == "step")
    assert step.off_mm is not None
    under = clamping(2, FIRST.frame)  # stands on the back, which nobody finishes
    lost = turned(one_pass(under, "face", TOP), clampings=(FIRST, under))
    assert "how the face on the seat in operation 2 lies" in only(lost, ":step").decides


def test_a_turned_table_adds_its_pivot_and_both_ends_of_an_inclined_cutter() -> None:
    """Worked: the back cut 30 deg off upright: 0.012 cos 30 + 0.015 sin 30 + pivot 0.015 in place of 0.012:
    0.12489, up to 0.125."""
    tilted = frame_looking_down(
        up=(0.0, -math.sin(math.pi / 6), -math.cos(math.pi / 6)), along=(-1.0, 0.0, 0.0), origin_mm=TURNED.origin_mm
    )
    second = clamping(2, TURNED, tilts=(Tilt(id="a30", frame=tilted, a_rad=math.pi / 6, c_rad=0.0),))
    rotary = Rotary(
        a_low_rad=-1.0, a_high_rad=1.0, c_is_continuous=True, pivot_in_machine_mm=None,
        pivot_error_mm=fact(0.0, 0.006, 0.015, "mm"), brake_torque_n_mm=None, tilt_s=1.0,
    )  # fmt: skip
    mill = msgspec.structs.replace(MEASURED_MILL, kind="3+2", rotary=rotary)
    found = turned(one_pass(second, "finish surface", BACK, tilt="a30"), clampings=(FIRST, second), machines=(mill,))
    assert found.value.meetings[0].off_mm is not None
    assert found.value.meetings[0].off_mm.high == pytest.approx(0.125)
    unknown = msgspec.structs.replace(mill, rotary=msgspec.structs.replace(rotary, pivot_error_mm=None))
    lost = turned(one_pass(second, "finish surface", BACK, tilt="a30"), clampings=(FIRST, second), machines=(unknown,))
    assert "pivot_error_mm" in only(lost, "size over two clampings").decides


def test_soft_jaws_cut_in_place_have_no_slope_but_their_own_cut() -> None:
    """Worked: the slopes' 0.016 go, the length of the pocket's cutter 0.012 comes; without a pocket nobody knows."""
    formed = clamping(2, TURNED, needs_form=True)
    lost = only(turned(FACES_BACK, clampings=(FIRST, formed)), "size over two clampings")
    assert "pocket" in lost.decides
    form: Any = msgspec.defstruct("Form", ["clamping_id"])("c2")
    known = turned(FACES_BACK, clampings=(FIRST, formed), forms=(form,))
    assert only(known, "size over two clampings").found_high == pytest.approx(0.1)


def test_faces_of_one_plane_meet_though_a_slot_lies_between_them() -> None:
    split = solid_of(cut_box(box(80.0, 40.0, 20.0), (30.0, -1.0, 15.0), (50.0, 41.0, 21.0)))
    tops = split.faces_on("+z")
    assert len(tops) == 2
    own = (
        one_pass(FIRST, "face", tops[0]), one_pass(FIRST, "finish wall", *(side(split, s) for s in ("-x", "+x", "-z"))),
    )  # fmt: skip
    found = turned(one_pass(SECOND, "finish floor", tops[1]), solid=split, own=own)
    alone = turned(one_pass(FIRST, "finish floor", tops[1]), solid=split, own=own)
    assert [set(m.face_ids) for m in found.value.meetings if m.kind == "step"] == [set(tops)]
    assert [m for m in alone.value.meetings if m.kind == "step"] == []


def test_a_hole_drilled_from_both_sides_is_tried_all_round_and_roughing_meets_nothing() -> None:
    holed = solid_of(drilled(box(80.0, 40.0, 20.0), at=(40, 20, 21), along=(0, 0, -1), dia=10.0, deep=30))
    wall = next(f.id for f in holed.faces if f.surface.kind == "cylinder")
    found = turned(one_pass(FIRST, "drill", wall), one_pass(SECOND, "drill", wall), solid=holed)
    (step,) = [m for m in found.value.meetings if m.kind == "step"]
    # along x or y alone: sides 2 + 1 x 0.015, zero, seating, slopes; both at once are worse than either
    assert step.off_mm is not None
    assert step.off_mm.high > 0.117
    # class m of the bore's 10 mm
    assert step.limit_mm == 0.2
    rough = turned(one_pass(FIRST, "drill", wall), one_pass(SECOND, "rough", wall), solid=holed)
    assert [m for m in rough.value.meetings if m.kind == "step"] == []


def test_lines_alike_are_counted_and_others_of_one_name_added_up() -> None:
    """Worked: twice 0.012 stay two of 0.012; 0.012 and 0.006 make one of 0.018."""
    long, half = fact(0.002, 0.006, 0.012, "mm"), fact(0.001, 0.003, 0.006, "mm")
    a, b = ErrorLine(text="a", each_mm=long), ErrorLine(text="b", each_mm=half)
    alike = gathered([a, b, a])
    assert [(x.text, x.count, x.each_mm.high) for x in alike] == [("a", 2, 0.012), ("b", 1, 0.006)]
    (mixed,) = gathered([ErrorLine(text="a", each_mm=long), ErrorLine(text="a", each_mm=half)])
    assert (mixed.count, mixed.each_mm.low, mixed.each_mm.high) == (1, pytest.approx(0.003), pytest.approx(0.018))


def test_one_clamping_has_nothing_to_turn_over() -> None:
    found = turned(clampings=(FIRST,))
    assert (found.value.meetings, found.value.bows, found.proofs) == ((), (), ())
