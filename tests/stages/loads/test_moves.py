"""Loads of single moves worked by hand, and never above the pass that they belong to."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import CUTTERS, MILL, cutter
from stages.loads.test_loads import BLANK, CLAMPING, DRILL, LEANING, MILL_12, NAME, PRESSURE, TAP, proof

from proveout.cutting.edge_coefficients import AL_6000
from proveout.model.limits import Limits
from proveout.model.loads import Loads, PassLoad
from proveout.model.move_cuts import MoveCuts
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import Moves
from proveout.model.pace import Pace
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Pass, PassCut, PassKind, PassPlan, Vector
from proveout.quantities.errors import OutOfRange
from proveout.stages import loads
from proveout.stages.loads.moves import Site, boxes_mm

# two cuts of 30 mm along x at z 10, 6 mm below the top, at two feeds, and a way back in the air
PATH = [
    (10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0), (70.0, -20.0, 10.0, 4.5), (70.0, -20.0, 30.0, 0.0),
]  # fmt: skip


def loaded(
    sections: list[float], *, tool: Cutter = MILL_12, kind: PassKind = "rough", deep: float = 6.0, plunge: float = 0.0,
    tilt: str = "up", path: Any = None, machine: Machine = MILL, alloys: tuple[str, ...] = (),
    widths: dict[str, float] | None = None, measured: bool = True, most: float | None = None,
    told: bool = True, varies: float = 0.0, normals: dict[str, Vector] | None = None, limits: Limits | None = None,
    **changed: Any,
) -> Decision[Loads]:  # fmt: skip
    """One pass, 6 deep and 3.6 wide as planned at 300 rad/s; a section for each of its first moves.

    most: the largest section of the pass, where it is none of theirs.
    """
    array = np.array(path or PATH)
    moves = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
    given_here: dict[str, Any] = {
        "speed_rad_per_s": 300.0, "tooth_feed_mm": 0.06, "radial_mm": 3.6, "axial_mm": 6.0, "face_ids": ("f",),
        **changed,
    }  # fmt: skip
    one = Pass(
        id=NAME, kind=kind, clamping_id="c1", tilt_id=tilt, cutter_id=tool.id, feature="",
        moves_digest=moves.digest, moves_count=len(array), cut_length_mm=1.0, **given_here,
    )  # fmt: skip
    rows = np.arange(1, len(sections) + 1)
    largest = float(np.nan_to_num(sections).max()) if most is None else most
    cut = PassCut(
        pass_id=NAME, removed_mm3=1.0, section_max_mm2=largest, section_p95_mm2=0.0,
        rapid_mm=0.0, body_mm=0.0, low_mm=0.0, high_mm=0.0, tooth_feed_max_mm=0.06, plunge_max_mm2=plunge,
    )  # fmt: skip
    count = len(sections)
    own = MoveCuts(
        pass_id=NAME, rows=rows, removed_mm3=np.nan_to_num(sections) * moves.lengths_mm[:count],
        length_mm=moves.lengths_mm[:count],
        section_mm2=np.array(sections), plunge_mm2=np.full(count, plunge if told else math.nan),
        deep_mm=np.full(count, deep),
        low_mm=np.full(count, 10.0), high_mm=np.full(count, 10.0),
    )  # fmt: skip
    return loads.decide(
        plan=PassPlan(passes=(one,), not_cut=(), moves={moves.digest: moves}), cuts=(cut,), clampings=(CLAMPING,),
        cutters=(tool,), machines=(machine,), pressure_mpa=PRESSURE, exponent_ratio=0.25, blank=BLANK,
        move_cuts=(own,) if measured else (), alloys=alloys, widths_mm=widths,
        raw_varies_mm=varies, normals=normals, limits=limits, run=Run(),
    )  # fmt: skip


def moves_of(found: Decision[Loads]) -> MoveLoads:
    (own,) = found.value.moves
    return own


def test_two_moves_of_one_pass_each_at_its_own_feed() -> None:
    """Worked. 9 mm/s is 0.06284 a tooth, just over the plan's: as the pass. 4.5 is 0.03142.

    h = 0.03142 0.91652 + 0.02 = 0.04879; 6 mm of one tooth by 900 0.04879^0.75 = 0.10380: 560.5 N round.
    """
    own = moves_of(loaded([21.6, 21.6]))
    assert own.rows.tolist() == [1, 2]
    assert own.tooth_feed_mm == pytest.approx([0.062832, 0.031416], rel=1e-4)
    assert own.torque_n_mm[0] == pytest.approx(773.84 * 6.0, rel=1e-4)
    assert own.torque_n_mm[1] == pytest.approx(560.5 * 6.0, rel=1e-3)
    assert own.power_mw == pytest.approx(own.torque_n_mm * 300.0)


def test_the_force_of_a_move_is_any_way_across_and_along() -> None:
    """Worked. Across sqrt(1 + 0.6^2) of 773.84 is 902.45, along tan 45; upright along z."""
    own = moves_of(loaded([21.6, 21.6]))
    assert own.force_high_n[0] == pytest.approx([902.45, 902.45, 773.84], rel=1e-4)
    assert np.array_equal(own.force_low_n, -own.force_high_n)
    assert own.axis.tolist() == [0.0, 0.0, 1.0]
    assert own.couple_n_mm.tolist() == [0.0, 0.0]


def test_a_leaning_axis_shares_its_forces_out() -> None:
    """Worked. At 45 degrees about x: y and z each hold (902.45 + 773.84) / sqrt 2, x the whole across."""
    own = moves_of(loaded([21.6, 21.6], tilt="leaning"))
    both = (902.45 + 773.84) / math.sqrt(2.0)
    assert own.force_high_n[0] == pytest.approx([902.45, both, both], rel=1e-4)
    assert own.axis == pytest.approx([0.0, math.sqrt(0.5), math.sqrt(0.5)])
    # every heading across and either way along lies within the box
    turn = np.linspace(0.0, 2.0 * math.pi, 73)
    side = LEANING.turn[0][:, None] * np.cos(turn) + LEANING.turn[1][:, None] * np.sin(turn)
    for along in (-1.0, 1.0):
        force = 902.45 * side + along * 773.84 * LEANING.turn[2][:, None]
        assert np.all(np.abs(force) <= own.force_high_n[0][:, None] * (1.0 + 1e-4))


def test_the_force_acts_where_edges_can_be_in_the_cut() -> None:
    """Worked. x 10 to 40 and 6 aside; y -20 and 6 aside; z from the tip at 10 to 6 above."""
    own = moves_of(loaded([21.6, 21.6]))
    assert own.at_low_mm[0].tolist() == [4.0, -26.0, 10.0]
    assert own.at_high_mm[0].tolist() == [46.0, -14.0, 16.0]
    shallow = moves_of(loaded([5.0, 5.0], deep=2.0))
    assert shallow.at_high_mm[0, 2] == 12.0


def test_an_arc_reaches_as_far_as_it_bulges() -> None:
    """A half turn about (40, -20) of radius 10 goes out to y -10, and 6 mm of cutter beyond."""
    points = np.array([[50.0, -20.0, 10.0], [30.0, -20.0, 10.0]])
    arcs = np.array([[0.0, 0.0, 0.0], [1.0, -10.0, 0.0]])
    moves = Moves(points=points, feed_mm_per_s=np.array([0.0, 9.0]), arcs=arcs)
    site = Site(clamping=CLAMPING, frame=CLAMPING.tilts[0].frame, blank=None)
    low, high = boxes_mm(moves, np.array([1]), site, reach_mm=6.0, tall_mm=np.array([2.0]))
    assert high[0] == pytest.approx([56.0, -4.0, 12.0], abs=2e-3)
    assert low[0] == pytest.approx([24.0, -26.0, 10.0], abs=2e-3)


def test_a_small_section_pushes_less_than_the_plan_and_never_less_than_it_can() -> None:
    """2.16 mm2 is 6 deep and 0.36 wide, or 0.6 and 3.6: one tooth, of which the helix keeps R arccos(..) / tan 30."""
    own = moves_of(loaded([21.6, 2.16]))
    hardest = 0.0
    for width in np.geomspace(0.36, 3.6, 400):
        h = 0.031416 * 2.0 * math.sqrt(width / 12.0 * (1.0 - width / 12.0)) + 0.02
        edge = min(2.16 / width, 6.0 * math.acos(1.0 - width / 6.0) / math.tan(math.pi / 6.0))
        hardest = max(hardest, edge * 900.0 * h**0.75 * 6.0)
    assert hardest <= own.torque_n_mm[1] < 1.15 * hardest
    assert own.torque_n_mm[1] < 0.5 * own.torque_n_mm[0]


def test_what_the_replay_cannot_tell_counts_as_planned() -> None:
    unknown, planned = moves_of(loaded([math.nan, math.nan])), moves_of(loaded([21.6, 21.6]))
    assert unknown.torque_n_mm == pytest.approx(planned.torque_n_mm)


def test_what_the_replay_cannot_tell_counts_as_the_largest_of_the_pass() -> None:
    """36 mm2 were met somewhere, more than the plan's 21.6; and a plunge of 100 mm2 somewhere."""
    unknown, known = (moves_of(loaded(s, most=36.0)) for s in ([math.nan, math.nan], [36.0, 36.0]))
    assert unknown.torque_n_mm == pytest.approx(known.torque_n_mm)
    assert unknown.torque_n_mm[0] > 1.05 * moves_of(loaded([21.6, 21.6])).torque_n_mm[0]
    # plunging over the whole radius: 1 + 3 sqrt(100 / 36 pi) = 3 teeth, 6 mm each, at 0.0628 + 0.02
    path = [(40.0, -20.0, 12.0, 0.0), (40.0, -20.0, 2.0, 3.0)]
    down = moves_of(loaded([math.nan], most=0.0, plunge=100.0, path=path, told=False, axial_mm=0.1, radial_mm=0.1))
    assert down.force_high_n[0, 2] == pytest.approx(3 * 6 * 900 * 0.04094**0.75, rel=2e-2)


def test_metal_that_does_not_stand_that_high_is_not_cut() -> None:
    """With 2 mm above the tip, 5 mm2 is at most 2 deep; as planned it could be 6."""
    assert np.all(moves_of(loaded([5.0, 5.0], deep=2.0)).torque_n_mm < moves_of(loaded([5.0, 5.0])).torque_n_mm)


def test_a_pass_is_the_envelope_of_its_moves() -> None:
    found = loaded([10.0, 21.6], deep=3.0)
    (load,), own = found.value.passes, moves_of(found)
    (whole,) = loaded([10.0, 21.6], measured=False).value.passes
    assert load.power_mw == pytest.approx(own.power_mw.max(), rel=1e-6)
    assert load.height_mm == 13.0
    for name in ("tangential_n", "plane_n", "axial_n", "torque_n_mm", "power_mw", "height_mm", "along_mm", "across_mm"):
        assert getattr(load, name) <= getattr(whole, name)
    none = loaded([math.nan], path=[(0.0, 0.0, 50.0, 0.0), (1.0, 0.0, 50.0, 1.0)])
    assert none.value.passes[0].plane_n > 0.0


def test_a_pass_whose_moves_meet_nothing_asks_for_nothing() -> None:
    found = loaded([0.0, 0.0])
    assert moves_of(found).torque_n_mm.max() < 1e-6 * moves_of(loaded([21.6, 21.6])).torque_n_mm.max()


@settings(max_examples=60, deadline=None)
@given(
    sections=st.lists(st.floats(0.0, 200.0), min_size=2, max_size=2), deep=st.floats(0.01, 30.0),
    plunge=st.floats(0.0, 113.0), tool=st.sampled_from(["mill 12", "face 50", "ball", "corner"]),
    alloys=st.sampled_from([(), ("6061-T6",), ("7075-T6",)]), tilt=st.sampled_from(["up", "leaning"]),
)  # fmt: skip
def test_no_move_has_more_than_its_pass_as_a_whole(
    sections: list[float], deep: float, plunge: float, tool: str, alloys: tuple[str, ...], tilt: str
) -> None:
    own_cutter = {
        "ball": cutter("ball", "ball", 8.0, 16.0, 30.0), "corner": cutter("corner", "end mill", 8.0, 16.0, 30.0,
        corner_radius_mm=1.0),
    }.get(tool) or next(c for c in CUTTERS if c.id == tool)  # fmt: skip
    given_: dict[str, Any] = {"tool": own_cutter, "deep": deep, "plunge": plunge, "alloys": alloys, "tilt": tilt}
    found, whole = loaded(sections, **given_), loaded(sections, measured=False, **given_).value.passes[0]
    own, load = moves_of(found), found.value.passes[0]
    for name in PassLoad.__struct_fields__[3:11]:
        assert getattr(load, name) <= getattr(whole, name) * (1.0 + 1e-9), name
    assert own.torque_n_mm.max() <= whole.torque_n_mm * (1.0 + 1e-6)
    assert np.linalg.norm(own.force_high_n, axis=1).max() <= 2.0 * math.hypot(whole.plane_n, whole.axial_n) + 1e-3
    assert 0.0 < own.scale_share <= 1.0


@settings(max_examples=60, deadline=None)
@given(section=st.floats(0.01, 60.0), more=st.floats(1.0, 2.0), deep=st.floats(0.1, 20.0))
def test_more_metal_never_lowers_a_moves_force(section: float, more: float, deep: float) -> None:
    less, heavy = (moves_of(loaded([s, 60.0 * 2.0], deep=deep)) for s in (section, section * more))
    # the steps of widths shift with the section: a step is at most a sixteenth part of the range
    assert heavy.torque_n_mm[0] >= less.torque_n_mm[0] * 0.9


def test_of_a_known_family_the_harder_of_both_laws_counts() -> None:
    """Worked. 0.36 wide, 0.38 by run-out, at 0.0063 a tooth: chip 0.0063 0.3412 = 0.00214, by three teeth 0.00643.

    By pressure 900 0.00643^0.75 = 20.4 N/mm; by its edge 820.3 0.00643 + 33.8 = 39.1: the dull edge rubs harder.
    """
    path = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 0.9), (70.0, -20.0, 10.0, 0.9)]
    thin: dict[str, Any] = {"path": path, "radial_mm": 0.36, "tooth_feed_mm": 0.0063}
    one, both = (moves_of(loaded([2.16, 2.16], alloys=alloys, **thin)) for alloys in ((), ("6061-T6",)))
    h = 0.9 * 2.0 * math.pi / 900.0 * 2.0 * math.sqrt(0.03 * 0.97) * 3.0
    edge = 6.0 * math.acos(1.0 - 0.38 / 6.0) / math.tan(math.pi / 6.0)
    by_edge = edge * (AL_6000.dull.tangential_mpa * h + AL_6000.dull.edge_tangential_n_per_mm) * 6.0
    assert both.torque_n_mm[0] == pytest.approx(by_edge, rel=1e-2)
    assert both.torque_n_mm[0] > 1.5 * one.torque_n_mm[0]
    assert both.scale_share < one.scale_share


def test_a_drill_pushes_along_and_turns() -> None:
    """Worked. As the pass: 814.7 N either way along the axis, 1516 N mm of couple, nothing across."""
    path = [(60.0, -10.0, 12.0, 0.0), (60.0, -10.0, 2.0, 3.0)]
    own = moves_of(loaded([30.0], tool=DRILL, kind="drill", path=path))
    assert own.force_high_n[0] == pytest.approx([0.0, 0.0, 814.7], abs=0.1)
    assert own.force_low_n[0] == pytest.approx([0.0, 0.0, -814.7], abs=0.1)
    assert own.couple_n_mm[0] == pytest.approx(1516.1, abs=0.2)
    assert own.at_low_mm[0].tolist() == [60.0, -10.0, 2.0]
    assert own.at_high_mm[0].tolist() == [60.0, -10.0, 12.0]
    assert np.isnan(own.deflection_mm).all()
    tap = moves_of(loaded([math.nan], tool=TAP, kind="tap", path=path))
    assert (tap.couple_n_mm[0], tap.force_high_n[0, 2]) == (pytest.approx(1200.0), pytest.approx(400.0))
    assert tap.scale_share == pytest.approx(0.5)


def test_a_drill_cuts_as_far_out_as_it_is_wide_and_as_high_as_its_point() -> None:
    """Worked. Half the diameter about (60, -10), from the tip at 2 to the point's foot; the force stays put."""
    path = [(60.0, -10.0, 12.0, 0.0), (60.0, -10.0, 2.0, 3.0)]
    own = moves_of(loaded([30.0], tool=DRILL, kind="drill", path=path))
    half = DRILL.diameter_mm / 2.0
    point = half / math.tan(DRILL.tip_angle_rad / 2.0)
    assert point > 0.5
    assert own.cut_low_mm[0] == pytest.approx([60.0 - half, -10.0 - half, 2.0])
    assert own.cut_high_mm[0] == pytest.approx([60.0 + half, -10.0 + half, min(12.0 + point, BLANK.high_mm[2])])
    assert own.at_high_mm[0].tolist() == [60.0, -10.0, 12.0]
    # a reamer is as wide at its tip; a mill's force acts wherever it cuts
    reamed = moves_of(loaded([30.0], tool=MILL_12, kind="ream", path=path))
    assert reamed.cut_high_mm[0] == pytest.approx([66.0, -4.0, 12.0])
    milled = moves_of(loaded([21.6, 21.6]))
    assert np.array_equal(milled.cut_low_mm, milled.at_low_mm)
    assert np.array_equal(milled.cut_high_mm, milled.at_high_mm)


def test_the_cutter_bends_by_its_stick_out() -> None:
    """Worked. Flutes 26 of 38 mm at 0.8 12 = 9.6: I 416.9; shank 12: 1017.9; F 902.45 at 210 GPa, three times.

    (26^3 / 416.9 + (38^3 - 26^3) / 1017.9) / 630 000 902.45 = (42.16 + 36.64) 1.4325e-3 = 0.1129; by 3 is 0.3386.
    """
    own = moves_of(loaded([21.6, 21.6]))
    assert own.deflection_mm[0] == pytest.approx(0.3386, rel=2e-3)


def test_a_cutter_of_carbide_bends_less() -> None:
    """Worked. 500 GPa in place of 210 at the soft end: 0.3386 210 / 500 = 0.1422."""
    carbide = msgspec.structs.replace(MILL_12, made_of="carbide")
    assert moves_of(loaded([21.6, 21.6], tool=carbide)).deflection_mm[0] == pytest.approx(0.1422, rel=2e-3)
    steel = msgspec.structs.replace(MILL_12, made_of="high-speed steel")
    assert moves_of(loaded([21.6, 21.6], tool=steel)).deflection_mm[0] == pytest.approx(0.3386, rel=2e-3)


@pytest.mark.parametrize(("width", "verdict"), [(0.8, "holds"), (0.2, "not shown"), (0.004, "fails")])
def test_the_wall_error_is_held_against_half_the_narrowest_size(width: float, verdict: str) -> None:
    """0.339 mm at most; at least 0.00223, as worked in test_least.py. Half of the widths 0.4, 0.1, 0.002.

    Its row leaves no feed to choose: shorter steps down the wall are asked for, of its depth of 6 mm. Those are 0.5
    diameters; 0.1 of 0.339 is 0.295, and no step is by more than to 0.3: 0.15.
    """
    found = loaded([21.6, 10.0], kind="finish wall", widths={"f": width, "other": 0.001})
    wall = proof(found, "wall error")
    assert (wall.verdict, wall.blocks_release) == (verdict, True)
    step = wall.tighten
    assert (None if step is None else (step.subject, step.quantity, step.bound)) == (
        None if verdict == "holds" else ("c1/mill 12", "wall_ratio", 0.15)
    )
    assert wall.subject == NAME
    assert "move 1 of this pass" in wall.claim
    told = {name.partition(",")[0]: fact for name, fact in wall.basis.inputs.items()}
    flutes, out = told["a"].nominal, told["L"].nominal
    of_flutes, of_shank = (math.pi * d**4 / 64.0 for d in (told["c"].nominal * told["D"].nominal, told["d"].nominal))
    bent = (flutes**3 / of_flutes + (out**3 - flutes**3) / of_shank) / 3.0
    most = told["giving way"].high * told["F"].high * bent / told["E"].low
    least = told["giving way"].low * told["F"].low * bent / told["E"].high
    assert (wall.found_low, wall.found_high) == (pytest.approx(least, rel=1e-3), pytest.approx(most, rel=1e-3))
    assert wall.found_low == pytest.approx(0.00223, abs=1e-5)
    assert not any(p.id.endswith("wall error") for p in loaded([21.6, 10.0], kind="finish wall").proofs)
    assert not any(p.id.endswith("wall error") for p in loaded([21.6, 10.0], widths={"f": width}).proofs)


@pytest.mark.parametrize(("limit", "verdict"), [(0.4, "holds"), (0.1, "not shown"), (0.002, "fails")])
def test_bending_that_nothing_holds_blocks_release(limit: float, verdict: str) -> None:
    """As the wall error: between 0.00223 and 0.339 mm, and here nothing is left to choose."""
    pace = Pace(speed_by="", feed_by="", depth_by="", axial_ratio=0.1, feed_floor_ratio=0.3, bent_over_mm=limit)
    sized = {"f": 2.0 * limit}
    found = loaded([21.6, 10.0], kind="finish wall", pace=pace, widths=sized)
    bends = proof(found, "bends at the thinnest chip")
    assert (bends.verdict, bends.blocks_release, bends.limit) == (verdict, True, limit)
    assert (bends.found_low, bends.found_high) == (pytest.approx(0.00223, abs=1e-5), pytest.approx(0.339, abs=1e-3))
    # a pass whose moves nobody measured: not shown either
    blind = loaded([21.6, 10.0], kind="finish wall", pace=pace, measured=False, widths=sized)
    told = proof(blind, "bends at the thinnest chip")
    assert (told.verdict, told.blocks_release) == ("not shown", True)
    # nobody wrote a size: it is said, and blocks nothing
    told = proof(loaded([21.6, 10.0], kind="finish wall", pace=pace), "bends at the thinnest chip")
    assert (told.verdict, told.blocks_release) == (verdict, False)
    held = msgspec.structs.replace(pace, bent_over_mm=None)
    for other in (None, held):
        proofs = loaded([21.6, 10.0], kind="finish wall", pace=other).proofs
        assert not any(p.id.endswith("bends at the thinnest chip") for p in proofs)


def test_a_chip_thinner_than_the_edge_is_round_rubs() -> None:
    """Worked. 0.36 wide: h = f_z 0.3412. At 0.06283 it is 0.0214, at 0.00628 (0.9 mm/s) 0.00214, below 0.005."""
    good: dict[str, Any] = {"kind": "finish wall", "radial_mm": 0.36}
    found = proof(loaded([2.16, 2.16], **good), "thinnest chip")
    assert (found.verdict, found.blocks_release) == ("holds", False)
    assert found.found_low == pytest.approx(0.031416 * 0.3412, rel=1e-3)
    slow = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0), (70.0, -20.0, 10.0, 0.9)]
    bad = proof(loaded([2.16, 2.16], path=slow, **good), "thinnest chip")
    assert bad.verdict == "fails"
    assert "move 2 of this pass" in bad.claim


def test_power_names_its_worst_move_and_what_is_not_known_of_the_spindle() -> None:
    found = proof(loaded([1.0, 21.6]), ":power")
    assert "move 2 of its pass" in found.claim
    assert found.subject == NAME
    assert "only its rated power counts" in found.basis.formula


@pytest.mark.parametrize(("torque", "verdict"), [(6.5, "holds"), (6.0, "not shown"), (0.6, "fails")])
def test_torque_is_held_against_what_lasts_at_that_speed(torque: float, verdict: str) -> None:
    """Worked. 773.84 6 = 4.643 N m, at the motor 6.191, at least 0.652, as worked in test_least.py; half way between
    two speeds the mean counts."""
    curve = ((200.0, 1200.0 * torque), (400.0, 800.0 * torque))
    found = loaded([21.6, 10.0], machine=msgspec.structs.replace(MILL, torque_curve=curve))
    torque_proof = proof(found, ":torque")
    assert (torque_proof.verdict, torque_proof.limit) == (verdict, pytest.approx(torque))
    assert torque_proof.blocks_release
    assert torque_proof.found_high == pytest.approx(6.1907, abs=2e-3)
    assert (torque_proof.tighten is None) == (verdict == "holds")
    told = torque_proof.basis.inputs
    assert told["D"].nominal == 12.0
    assert torque_proof.found_high == pytest.approx(told["T"].high / told["efficiency"].low / 1000.0, abs=1e-3)
    assert torque_proof.found_low == pytest.approx(told["T"].low / told["efficiency"].high / 1000.0, abs=1e-3)
    assert "only its rated power" not in proof(found, ":power").basis.formula


def test_a_speed_outside_the_curve_has_no_torque_known() -> None:
    curve = ((400.0, 9000.0), (800.0, 5000.0))
    found = proof(loaded([21.6, 10.0], machine=msgspec.structs.replace(MILL, torque_curve=curve)), ":torque")
    assert (found.verdict, found.blocks_release) == ("not shown", True)
    assert not any(p.id.endswith(":torque") for p in loaded([21.6, 10.0]).proofs)


def test_arrays_of_different_length_are_refused() -> None:
    own = moves_of(loaded([21.6, 21.6]))
    with pytest.raises(OutOfRange):
        msgspec.structs.replace(own, torque_n_mm=np.zeros(3))
    with pytest.raises(OutOfRange):
        msgspec.structs.replace(own, scale_share=1.2)


def test_a_blank_larger_than_nominal_is_cut_deeper_and_higher() -> None:
    """Worked. Metal 2 mm above the tip at z 10 ends at 12, on a bar 0.5 larger at 12.5; clipped at 20.5 in place of 20.

    Along x the mill's 6 mm about 76 end at 80 and 80.5; so does the bound of the pass as a whole.
    """
    shallow = [moves_of(loaded([3.0, 3.0], deep=2.0, varies=v)).at_high_mm[0, 2] for v in (0.0, 0.5)]
    assert shallow == [12.0, 12.5]
    high = [(40.0, -20.0, 17.0, 0.0), (76.0, -20.0, 17.0, 9.0)]
    for varies, ends in ((0.0, (80.0, 20.0)), (0.5, (80.5, 20.5))):
        own = moves_of(loaded([21.6], path=high, varies=varies))
        assert (own.at_high_mm[0, 0], own.at_high_mm[0, 2]) == ends
        whole = loaded([21.6], path=high, varies=varies, measured=False).value.passes[0]
        assert (whole.along_mm, whole.height_mm) == (ends[0] - 40.0, ends[1])
