"""Threads that are milled, and holes that are reamed: chosen, laid, and where their tips go."""

from __future__ import annotations

import math
from typing import Any

import manifold3d
import numpy as np
import pytest

from proveout.stages.passes.sizing import swings_mm
from proveout.stages.passes.threading import section_width_mm

DEEP = 15.0


def with_hole(kit: Any, size_mm: float, extra: tuple[Any, ...], *, low_mm: float = -4.5, **more: Any) -> Any:
    """The plan of a through hole of a size in a block 15 mm thick, by the small shop and some more cutters."""
    bore = manifold3d.Manifold.cylinder(40.0, size_mm / 2.0, size_mm / 2.0, 192).translate((15.0, 15.0, -5.0))
    body = manifold3d.Manifold.cube((30.0, 30.0, DEEP)) - bore

    def name(middle: Any, normal: Any) -> str:
        near = np.hypot(middle[0] - 15.0, middle[1] - 15.0) < size_mm / 2.0 + 0.1
        return "bore" if near and abs(normal[2]) < 0.5 else kit.by_plane(middle, normal)

    hole = kit.hole_of("h", entry=(15.0, 15.0, DEEP), steps=(("cylinder", size_mm, 0.0, DEEP, "bore"),))
    frame = kit.upright(low=(0.0, 0.0, low_mm), high_y=32.0)
    return kit.planned(
        target=kit.target_of(body, name), holes=(hole,), blank=kit.blank_of((-2.0, -2.0, low_mm), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
        cutters=(*kit.SHOP, *extra), **more,
    )  # fmt: skip


def comb(kit: Any) -> Any:
    return kit.cutter(
        "TM4.8", "thread mill", 4.8, flute_length_mm=12.0, stick_out_mm=25.0, shank_diameter_mm=3.4, pitch_mm=1.25
    )


def of_kind(result: Any, kind: str) -> Any:
    return next(one for one in result.passes if one.kind == kind)


def in_hole(result: Any, one: Any) -> Any:
    """Tips (n, 3) from the middle of the hole, z from the block's lower face."""
    frame = next(t.frame for c in result.clampings for t in c.tilts if t.id == one.tilt_id)
    return frame.out_of(result.moves(one).points) - np.array([15.0, 15.0, 0.0])


def test_a_thread_without_a_tap_is_milled_upward_to_its_major_diameter(kit: Any) -> None:
    """Worked: M8 and a cutter of 4.8: the axis swings (8 - 4.8) / 2 = 1.6; nine rows of 1.25 cover 11.25 of 15."""
    result = with_hole(kit, 6.65, (comb(kit),), threads={"h": "M8"})
    one = of_kind(result, "mill thread")
    tips = in_hole(result, one)
    away = np.hypot(tips[:, 0], tips[:, 1])
    assert away.max() == pytest.approx(1.6, abs=0.002)
    on = np.flatnonzero(away > 1.599)
    turn = np.unwrap(np.arctan2(tips[on, 1], tips[on, 0]))
    # by a turn to the left each rise is a pitch: a right-hand thread, cut in climb
    starts = np.flatnonzero(np.diff(on) > 1)
    assert len(starts) == 1, "two lengths of the cutter"
    first = slice(0, int(starts[0]) + 1)
    assert turn[first][-1] - turn[first][0] == pytest.approx(2.0 * math.pi, abs=0.15)
    assert tips[on[first]][-1, 2] - tips[on[first]][0, 2] == pytest.approx(1.25, abs=0.04)
    assert tips[on[0], 2] < 0.0, "begins below the through hole's end"
    assert float(tips[on, 2].max()) + 12.0 > DEEP, "and ends above its mouth"
    low = tips[away < 1e-6]
    assert (np.diff(low[:, 2]) != 0.0).all()


@pytest.mark.parametrize(("thread", "pitch", "size"), [("M8", 1.25, 6.65), ("M8x0.75", 0.75, 7.2)])
def test_a_row_of_teeth_goes_up_turn_by_turn(kit: Any, thread: str, pitch: float, size: float) -> None:
    """Also where two of the thread's pitches go into the length of the one row."""
    single = kit.cutter(
        "TM4", "thread mill", 4.0, flute_length_mm=2.2, stick_out_mm=25.0, shank_diameter_mm=2.4, pitch_mm=1.5
    )
    result = with_hole(kit, size, (single,), threads={"h": thread})
    one = of_kind(result, "mill thread")
    assert one.cutter_id == "TM4"
    tips = in_hole(result, one)
    away = np.hypot(tips[:, 0], tips[:, 1])
    on = tips[away > 1.999 - 1e-3]
    turns = float(np.ptp(np.unwrap(np.arctan2(on[:, 1], on[:, 0]))) / (2.0 * math.pi))
    assert float(np.ptp(on[:, 2])) == pytest.approx(pitch * turns, rel=0.01)
    assert on[:, 2].min() < 0.0
    assert on[:, 2].max() > DEEP


def test_a_thread_mill_too_wide_for_the_hole_is_not_chosen(kit: Any) -> None:
    wide = kit.cutter("TM6.4", "thread mill", 6.4, flute_length_mm=12.0, stick_out_mm=25.0, pitch_mm=1.25)
    result = with_hole(kit, 6.65, (wide,), threads={"h": "M8"})
    assert all(p.kind != "mill thread" for p in result.passes)
    assert any("no tap M8" in n.reason for n in result.choice.without)


def test_a_thread_that_could_not_be_laid_is_named_though_its_hole_is_made(kit: Any) -> None:
    """A tap of 10 mm of flutes and a thick shank: its shank would meet the hole's wall."""
    short = kit.cutter("T8", "tap", 8.0, flute_length_mm=6.0, stick_out_mm=26.0, shank_diameter_mm=9.0, pitch_mm=1.25)
    result = with_hole(kit, 6.65, (short,), threads={"h": "M8"})
    assert all(p.kind != "tap" for p in result.passes)
    assert [(n.subject, n.face_ids) for n in result.decision.value.not_cut] == [("h", ())]
    every = next(p for p in result.decision.proofs if p.id.endswith("every-face"))
    assert every.verdict == "not shown"
    assert "shank of T8" in every.decides


def test_the_width_of_cut_is_the_rings_volume_over_the_way_of_the_axis() -> None:
    """Worked: D 8, d 4.8, t 0.8119: pi/4 (64 - 6.3762^2) / (pi 3.2) = 1.824 mm."""
    found = section_width_mm(major_mm=8.0, depth_mm=0.8119, cutter_mm=4.8)
    assert found == pytest.approx(math.pi / 4.0 * (64.0 - 6.3762**2) / (math.pi * 3.2), rel=1e-6)
    assert found == pytest.approx(1.8237, abs=1e-3)


def reamer(kit: Any) -> Any:
    return kit.cutter("RM7", "reamer", 7.0, flutes_count=6, flute_length_mm=30.0, stick_out_mm=50.0)


def test_a_narrow_window_is_drilled_and_reamed_where_there_is_a_reamer(kit: Any) -> None:
    """Worked: Ø6.6 leaves 0.4 of Ø7; the reamer goes 1.0 + 0.5 beyond the far side and comes back at its feed."""
    result = with_hole(kit, 7.0, (reamer(kit),), widths_mm={"h": 0.022})
    used = {u.role: u.cutter_id for u in result.choice.uses if u.subjects == ("h",)}
    assert (used["drill"], used["ream"]) == ("DR6.6", "RM7")
    one = of_kind(result, "ream")
    tips = in_hole(result, one)
    assert tips[:, 2].min() == pytest.approx(-1.5, abs=1e-3)
    feeds = result.moves(one).feed_mm_per_s
    bottom = int(np.argmin(tips[:, 2]))
    assert feeds[bottom] == feeds[bottom + 1] > 0.0
    kinds = [p.kind for p in result.passes if p.feature == "h"]
    assert kinds.index("drill" if "drill" in kinds else "peck") < kinds.index("ream")


@pytest.mark.parametrize(("size_mm", "widths"), [(7.0, {"h": 0.022}), (6.65, None)])
def test_nothing_finishes_a_hole_that_the_drill_had_no_room_for(kit: Any, size_mm: float, widths: Any) -> None:
    """The seat lies 1.8 mm below the hole: a drill's point wants 2.5, reamer and end mill 1.5 and 0.5."""
    result = with_hole(kit, size_mm, (reamer(kit),), low_mm=-1.8, widths_mm=widths)
    assert {u.role for u in result.choice.uses if u.subjects == ("h",)} >= {"drill"}
    assert {p.kind for p in result.passes if p.feature.startswith("h")} <= {"spot"}
    assert [n.subject for n in result.decision.value.not_cut] == ["h"]
    assert "seat or jaws allow" in result.decision.value.not_cut[0].reason


def test_a_narrow_window_without_a_reamer_is_milled_round_and_a_wide_one_drilled(kit: Any) -> None:
    narrow = with_hole(kit, 6.6, (), widths_mm={"h": 0.022})
    assert {u.role for u in narrow.choice.uses if u.subjects == ("h",)} == {"bore"}
    unsure = with_hole(kit, 6.6, (), widths_mm={"h": 0.0})
    (use,) = (u for u in unsure.choice.uses if u.subjects == ("h",))
    assert use.role == "bore"
    assert "no width of the window is sure" in use.why
    wide = with_hole(kit, 6.6, (), widths_mm={"h": 0.2})
    assert "drill" in {u.role for u in wide.choice.uses if u.subjects == ("h",)}


def test_a_hole_milled_round_gets_a_turn_at_its_size_with_little_left(kit: Any) -> None:
    """Worked: EM5 in Ø8 swings 1.5; the helix swings 0.15 less and the last turn is fed 1.5 / 4 of the feed."""
    result = with_hole(kit, 8.0, (), widths_mm={"h": 0.03})
    one = of_kind(result, "bore")
    tips = in_hole(result, one)
    away, feeds = np.hypot(tips[:, 0], tips[:, 1]), result.moves(one).feed_mm_per_s
    tool = result.cutter(one)
    swing = 4.0 - tool.diameter_mm / 2.0
    on = away > swing - 0.001
    assert away.max() == pytest.approx(swing, abs=0.0015)
    down = np.diff(tips[:, 2], prepend=tips[0, 2]) < -1e-9
    bent = away > 0.2
    assert away[down & bent & (feeds > 0.0)].max() == pytest.approx(swing - 0.15, abs=0.0015)
    assert feeds[on].max() == pytest.approx(one.speed_rad_per_s / (2 * math.pi) * 3 * one.tooth_feed_mm * swing / 4.0)


def test_drills_are_fed_what_their_maker_says_an_edge(kit: Any) -> None:
    """Worked: two edges of 0.05 mm; the depth is fed at tooth feed times edges times turns, as the sheet says."""
    result = with_hole(kit, 6.6, ())
    for kind in ("spot", "drill"):
        one = of_kind(result, kind)
        tool, moves = result.cutter(one), result.moves(one)
        down = int(np.argmin(moves.points[:, 2]))
        wanted = tool.tooth_feed_mm * tool.flutes_count * one.speed_rad_per_s / (2.0 * math.pi)
        assert moves.feed_mm_per_s[down] == pytest.approx(wanted)


def test_a_wide_round_leaves_no_core_in_its_middle(kit: Any) -> None:
    """Worked: EM5 in Ø20 swings 7.5 by a radius of 2.5: four helices at most 2.25 apart, no core stands."""
    assert swings_mm(7.35, radius_mm=2.5) == pytest.approx([1.8375, 3.675, 5.5125, 7.35])
    assert swings_mm(2.0, radius_mm=2.5) == [2.0]
    bore = manifold3d.Manifold.cylinder(40.0, 3.3, 3.3, 192).translate((15.0, 15.0, -5.0))
    bore += manifold3d.Manifold.cylinder(20.0, 10.0, 10.0, 192).translate((15.0, 15.0, 9.0))
    body = manifold3d.Manifold.cube((30.0, 30.0, DEEP)) - bore

    def name(middle: Any, normal: Any) -> str:
        away = np.hypot(middle[0] - 15.0, middle[1] - 15.0)
        if away < 10.1 and abs(normal[2]) < 0.5:
            return "bore" if away < 5.0 else "wide"
        return "step" if away < 10.1 and normal[2] > 0.5 else kit.by_plane(middle, normal)

    steps = (("cylinder", 20.0, 0.0, 6.0, "wide"), ("cylinder", 6.6, 6.0, DEEP, "bore"))
    hole = kit.hole_of("h", entry=(15.0, 15.0, DEEP), steps=steps)
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    result = kit.planned(
        target=kit.target_of(body, name), holes=(hole,), blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
        cutters=tuple(c for c in kit.SHOP if c.id not in ("EM12", "EM10", "EM6")),
    )  # fmt: skip
    one = of_kind(result, "counterbore")
    assert one.cutter_id == "EM5"
    _, struck = kit.replayed(result, "op1")
    assert struck <= 1e-6
    left = kit.removal_of(result, above_mm=0.5, pitch_mm=0.25)
    assert max(left["step"]) < 0.02
    assert max(left["wide"]) < 0.02
