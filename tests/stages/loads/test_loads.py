"""Bounds on force, torque and power of hand-made passes, worked by hand, and what is said when something is unknown."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import CUTTERS, MILL, cutter, fact

from proveout.cutting.edge_models import edge_ratio
from proveout.geometry.frames import Frame, frame_looking_down
from proveout.model.loads import Loads
from proveout.model.moves import Moves
from proveout.model.proof import Decision, Proof, is_ready
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Blank, Clamping, Pass, PassCut, PassPlan, Tilt
from proveout.stages import loads
from proveout.stages.loads.milling import engagements_mm

NAME = "p"
PRESSURE = fact(600.0, 700.0, 900.0, "MPa")
FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
LEANING = frame_looking_down(up=(0.0, 1.0, 1.0), along=(1.0, 0.0, 0.0), origin_mm=(0.0, 0.0, 0.0))
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw", frame=FRAME,
    tilts=(Tilt(id="up", frame=FRAME, a_rad=0.0, c_rad=0.0), Tilt(id="leaning", frame=LEANING, a_rad=0.8, c_rad=0.0)),
    jaw_top_mm=3.0, patch_length_mm=fact(78, 80, 80, "mm"), patch_height_mm=fact(2, 3, 3, "mm"), gap_mm=40.0,
    grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False, jaw_middle_mm=40.0,
)  # fmt: skip
BLANK = Blank(
    bar_id="none", length_axis=0, low_mm=(0.0, -40.0, 0.0), high_mm=(80.0, 0.0, 20.0), cut_length_mm=80.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.2,
)  # fmt: skip
MILL_12 = next(c for c in CUTTERS if c.id == "mill 12")
DRILL = next(c for c in CUTTERS if c.id == "drill 6.6")
TAP = cutter("tap M6", "tap", 6.0, 20.0, 40.0, pitch_mm=1.0)
LINE = [(10.0, -20.0, 10.0, 0.0), (70.0, -20.0, 10.0, 20.0)]
HOLE = [(60.0, -10.0, 12.0, 0.0), (60.0, -10.0, 2.0, 3.0)]


def bound(
    tool: Cutter = MILL_12, *, kind: str = "rough", section: float | None = 21.6, feed: float = 0.0,
    plunge: float = 0.0, path: list[tuple[float, float, float, float]] | None = None, machine: Machine = MILL,
    tilt: str = "up", blank: Blank | None = None, **changed: Any,
) -> Decision[Loads]:  # fmt: skip
    """One pass: 6 mm deep, 3.6 mm wide, 0.06 mm a tooth, 300 rad/s; measured as planned unless told otherwise."""
    array = np.array(path or (HOLE if kind in ("drill", "tap", "ream", "peck", "spot") else LINE))
    moves = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
    given_here: dict[str, Any] = {
        "speed_rad_per_s": 300.0, "tooth_feed_mm": 0.06, "radial_mm": 3.6, "axial_mm": 6.0, **changed,
    }  # fmt: skip
    one = Pass(
        id=NAME, kind=kind, clamping_id="c1", tilt_id=tilt, cutter_id=tool.id, feature="", face_ids=(),  # type: ignore[arg-type]
        moves_digest=moves.digest, moves_count=len(array), cut_length_mm=1.0, **given_here,
    )  # fmt: skip
    cut = PassCut(
        pass_id=NAME, removed_mm3=1.0, section_max_mm2=section or 0.0, section_p95_mm2=0.0, rapid_mm=0.0, body_mm=0.0,
        low_mm=0.0, high_mm=0.0, tooth_feed_max_mm=feed, plunge_max_mm2=plunge,
    )  # fmt: skip
    return loads.decide(
        plan=PassPlan(passes=(one,), not_cut=(), moves={moves.digest: moves}),
        cuts=() if section is None else (cut,), clampings=(CLAMPING,), cutters=(tool,), machines=(machine,),
        pressure_mpa=PRESSURE, exponent_ratio=0.25, blank=blank, run=Run(),
    )  # fmt: skip


def proof(found: Decision[Any], ending: str) -> Proof:
    return next(p for p in found.proofs if p.id.endswith(ending))


def test_a_milling_pass_worked_by_hand() -> None:
    """Worked. arccos(1 - 2 0.3) = 1.1593: 1.1593 3 / 2 pi = 0.55, so one tooth; its 6 mm are all in the cut.

    h = 0.06 2 sqrt(0.3 0.7) + 0.02 = 0.07499; 0.07499^0.75 = 0.14330; F_t = 6 900 0.14330 = 773.8 N.
    Across F_t sqrt(1 + 0.6^2) = 902.5; along F_t tan 45 = 773.8; torque 773.8 6 = 4643; power 4643 300 = 1.393e6 mW,
    at the motor 1.393 / 0.75 = 1.857 kW at most, and at least 1.393 / 1.0 by the least pressure, 600 of 900.
    """
    found = bound()
    load = found.value.passes[0]
    assert load.tangential_n == pytest.approx(773.84, abs=0.1)
    assert load.plane_n == pytest.approx(902.45, abs=0.1)
    assert load.axial_n == pytest.approx(773.84, abs=0.1)
    assert load.torque_n_mm == pytest.approx(4643.0, abs=0.5)
    assert load.power_mw == pytest.approx(1.3929e6, rel=1e-4)
    power = proof(found, "power")
    assert power.verdict == "holds"
    assert power.found_high == pytest.approx(1.8572, abs=2e-4)
    assert power.found_low == 0.0  # nobody measured its moves: nothing of it is sure


def test_a_drill_worked_by_hand() -> None:
    """Worked. K = 1.01 1.3 = 1.313, f = 0.12: 570 K 6.6 0.12^0.85 = 814.7 N; K 6.6^2 (0.63 + 16.84 0.12) 10 = 1516."""
    load = bound(DRILL, kind="drill").value.passes[0]
    assert load.axial_n == pytest.approx(814.7, abs=0.1)
    assert load.torque_n_mm == pytest.approx(1516.1, abs=0.2)
    assert load.plane_n == 0.0


def test_a_tap_worked_by_hand() -> None:
    """Worked. 2 800 MPa 1^2 6 / 8000 = 1.2 N m, twice the sharp tap's; 1200 / 3 = 400 N along the axis."""
    load = bound(TAP, kind="tap").value.passes[0]
    assert load.torque_n_mm == pytest.approx(1200.0)
    assert load.axial_n == pytest.approx(400.0)


def test_a_section_larger_than_planned_is_taken_as_the_worse_of_deeper_and_wider() -> None:
    """Worked. 36 mm2: 6 deep and 6 wide gives 6 900 0.08^0.75 = 812 N; 10 deep and 3.6 wide 10 900 0.1433 = 1290 N."""
    load = bound(section=36.0).value.passes[0]
    assert load.tangential_n == pytest.approx(1289.7, abs=0.2)
    assert (load.axial_mm, load.radial_mm) == (10.0, 3.6)


def test_a_section_beyond_a_full_slot_is_carried_by_the_depth() -> None:
    """6 mm deep and 12 mm wide is 72 mm2; 144 mm2 cannot be less than 12 mm deep."""
    pairs = engagements_mm(_pass(), _cut(144.0), MILL_12)
    assert pairs[0] == (12.0, 12.0)
    assert all(axial * radial == pytest.approx(144.0) for axial, radial in pairs)
    # a slot: of 2 helical teeth one is in at every height at every moment, h = 0.06 + 0.02, 12 mm deep
    assert bound(section=144.0).value.passes[0].tangential_n >= 12 * 900 * 0.08**0.75


def _pass() -> Pass:
    return Pass(
        id=NAME, kind="rough", clamping_id="c1", tilt_id="up", cutter_id="mill 12", feature="", face_ids=(),
        speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0, moves_digest="", moves_count=2,
        cut_length_mm=1.0,
    )  # fmt: skip


def _cut(section: float) -> PassCut:
    return PassCut(
        pass_id=NAME, removed_mm3=1.0, section_max_mm2=section, section_p95_mm2=0.0, rapid_mm=0.0, body_mm=0.0,
        low_mm=0.0, high_mm=0.0,
    )  # fmt: skip


@given(st.floats(0.1, 300.0), st.floats(0.0, 1.0))
def test_a_larger_section_never_lowers_the_force(section: float, more: float) -> None:
    small, large = bound(section=section).value.passes[0], bound(section=section * (1.0 + more)).value.passes[0]
    for name in ("tangential_n", "plane_n", "axial_n", "torque_n_mm", "power_mw"):
        assert getattr(large, name) >= getattr(small, name) * (1.0 - 1e-6)


def test_a_pass_that_was_not_measured_counts_as_a_slot_over_the_whole_flute() -> None:
    load = bound(section=None).value.passes[0]
    assert (load.axial_mm, load.radial_mm) == (26.0, 12.0)
    assert load.plane_n > 2.0 * bound().value.passes[0].plane_n


def test_metal_met_at_three_times_the_feed_counts_with_that_feed() -> None:
    """Worked. f_z 0.18: h = 0.18 0.91652 + 0.02 = 0.18497; 0.18497^0.75 = 0.28205; 6 900 0.28205 = 1523 N."""
    assert bound(feed=0.18).value.passes[0].tangential_n == pytest.approx(1523.1, abs=0.3)


def test_a_plunge_is_bound_by_its_end_edges() -> None:
    """Worked. Full disc, 3 teeth over R = 6 each, f_z = 3 2 pi / (300 3) = 0.02094, h = 0.04094: 3 6 900 0.09102."""
    path = [(40.0, -20.0, 12.0, 0.0), (40.0, -20.0, 2.0, 3.0)]
    load = bound(section=0.0, plunge=113.0, path=path, axial_mm=0.1, radial_mm=0.1).value.passes[0]
    assert load.axial_n == pytest.approx(3 * 6 * 900 * 0.04094**0.75, rel=2e-3)
    brushing = bound(section=0.0, plunge=0.1, path=path, axial_mm=0.1, radial_mm=0.1).value.passes[0]
    assert brushing.axial_n < 0.1 * load.axial_n


def test_slanted_and_round_edges_are_longer_than_their_depth() -> None:
    """Worked. A ball of 8 mm 0.5 deep: 4 arccos(0.875) / 0.5 = 4.04; a cone of 90 degrees: sqrt 2."""
    ball = cutter("ball 8", "ball", 8.0, 16.0, 30.0)
    assert edge_ratio(ball, axial_mm=np.array(0.5)) == pytest.approx(4.0428, abs=1e-3)
    assert edge_ratio(ball, axial_mm=np.array(10.0)) == pytest.approx((2.0 * math.pi + 6.0) / 10.0)
    bevel = cutter("bevel", "edge break", 6.0, 6.0, 25.0, tip_angle_rad=math.pi / 2.0)
    assert edge_ratio(bevel, axial_mm=np.array(1.0)) == pytest.approx(math.sqrt(2.0))
    assert edge_ratio(MILL_12, axial_mm=np.array(1.0)) == 1.0
    flat = bound(cutter("flat 8", "end mill", 8.0, 16.0, 30.0), axial_mm=0.5, radial_mm=0.6, section=0.3).value.passes[
        0
    ]
    round_end = bound(ball, axial_mm=0.5, radial_mm=0.6, section=0.3).value.passes[0]
    assert round_end.plane_n > 3.9 * flat.plane_n
    # the push off a ball's surface points along the axis as well
    assert round_end.axial_n == pytest.approx(1.6 * round_end.tangential_n, rel=1e-6)


def test_an_unknown_rated_speed_is_not_shown_and_blocks() -> None:
    unknown = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=None)
    found = proof(bound(unknown), "rated speed")
    assert (found.verdict, found.blocks_release) == ("not shown", True)
    assert "read the highest permitted speed" in found.decides
    assert not is_ready(bound(unknown).proofs)
    assert is_ready(bound().proofs)


def test_a_spindle_faster_than_the_cutter_is_rated_for_fails() -> None:
    slow = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=299.0)
    assert proof(bound(slow), "rated speed").verdict == "fails"
    same = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=300.0)
    assert proof(bound(same), "rated speed").verdict == "holds"
    fast_cutter = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=9000.0)
    slow_machine = msgspec.structs.replace(MILL, speed_max_rad_per_s=250.0)
    assert proof(bound(fast_cutter, machine=slow_machine), "rated speed").verdict == "fails"


@pytest.mark.parametrize(("power_mw", "verdict"), [(1.9e6, "holds"), (1.8e6, "not shown"), (0.9e6, "not shown")])
def test_power_over_the_machines_is_not_shown_while_nobody_measured_the_moves(power_mw: float, verdict: str) -> None:
    """1.857 kW at the highest cutting pressure and least efficiency."""
    found = proof(bound(machine=msgspec.structs.replace(MILL, power_mw=power_mw)), "power")
    assert found.verdict == verdict
    assert found.blocks_release
    assert found.subject == "p"


def test_a_spindle_that_lacks_power_asks_for_a_lighter_cut() -> None:
    """It has 1.1 kW of the 1.857 kW asked, 0.592: 0.98 of that in hundredths leaves 0.58 of half the D."""
    remedy = proof(bound(machine=msgspec.structs.replace(MILL, power_mw=1.1e6)), "power").tighten
    assert remedy is not None
    assert (remedy.quantity, remedy.bound) == ("axial_ratio", pytest.approx(0.29))
    assert proof(bound(), "power").tighten is None


def test_a_drill_beyond_the_makers_table_is_not_shown() -> None:
    large = cutter("drill 45", "drill", 45.0, 90.0, 120.0, tip_angle_rad=2.0, flutes_count=2)
    found = bound(large, kind="drill")
    assert proof(found, "drill table").verdict == "not shown"
    assert not is_ready(found.proofs)
    assert not any(p.id.endswith("drill table") for p in bound(DRILL, kind="drill").proofs)
    assert proof(bound(DRILL, kind="drill", tooth_feed_mm=0.6), "drill table").verdict == "not shown"


def test_the_force_acts_at_the_edges_and_never_outside_the_blank() -> None:
    """The tip runs from x 10 to 70 at y -20; edges reach 6 mm farther, x -+36 from the middle; the top lies at 16."""
    load = bound().value.passes[0]
    assert (load.along_mm, load.across_mm, load.height_mm) == (36.0, 6.0, 16.0)
    far = [(-50.0, -20.0, 18.0, 0.0), (130.0, -20.0, 18.0, 20.0)]
    assert bound(path=far).value.passes[0].along_mm == 96.0
    kept = bound(path=far, blank=BLANK).value.passes[0]
    assert (kept.along_mm, kept.height_mm) == (40.0, 20.0)
    hole = bound(DRILL, kind="drill").value.passes[0]
    assert (hole.along_mm, hole.across_mm, hole.height_mm) == (20.0, 10.0, 12.0)


def test_a_leaning_cutter_is_told_apart_and_reaches_higher() -> None:
    """Worked. Tip at 10 along an axis leaning 45 degrees: (10 + 6) / sqrt 2 + what lies aside, and 6 mm more."""
    upright, leaning = bound().value.passes[0], bound(tilt="leaning").value.passes[0]
    assert (upright.is_tilted, leaning.is_tilted) == (False, True)
    seen = LEANING.out_of(np.array([[10.0, -20.0, 16.0], [70.0, -20.0, 16.0], [10.0, -20.0, 10.0]]))
    assert leaning.height_mm == pytest.approx(float(seen[:, 2].max()) + 6.0, abs=1e-3)
