"""What a pass is sure to push with, worked by hand from what the replay saw go."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import MILL, cutter
from stages.loads.test_loads import BLANK, CLAMPING, DRILL, MILL_12, NAME, PRESSURE, TAP

from proveout.model.move_cuts import MoveCuts
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import Moves
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.sure_push import SureEdges, SureThrust
from proveout.model.work import Pass, PassCut, PassKind, PassPlan
from proveout.stages import loads

DISC = math.pi * DRILL.diameter_mm**2 / 4.0
DOWN = [(60.0, -10.0, 12.0, 0.0), (60.0, -10.0, 2.0, 3.0)]
ALONG = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0)]


def sure_of(
    path: Any, *, tool: Cutter = MILL_12, kind: PassKind = "rough", section: float = 21.6, plunge: float = 0.0,
    removed: float | None = None, varies: float = 0.0, tilt: str = "up", arcs: Any = None,
) -> MoveLoads:  # fmt: skip
    """Loads of one move, 6 mm deep, that took so much."""
    array = np.array(path)
    moves = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
    if arcs is not None:
        moves = msgspec.structs.replace(moves, arcs=np.array(arcs, dtype=float))
    one = Pass(
        id=NAME, kind=kind, clamping_id="c1", tilt_id=tilt, cutter_id=tool.id, feature="", face_ids=("f",),
        moves_digest=moves.digest, moves_count=len(array), cut_length_mm=1.0, speed_rad_per_s=300.0,
        tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0,
    )  # fmt: skip
    length = moves.lengths_mm[:1]
    cuts = MoveCuts(
        pass_id=NAME, rows=np.array([1]), length_mm=length, section_mm2=np.array([section]),
        removed_mm3=length * (max(section, plunge) if removed is None else removed), plunge_mm2=np.array([plunge]),
        deep_mm=np.array([6.0]), low_mm=np.array([10.0]), high_mm=np.array([10.0]),
    )  # fmt: skip
    whole = PassCut(
        pass_id=NAME, removed_mm3=1.0, section_max_mm2=section, section_p95_mm2=0.0, rapid_mm=0.0, body_mm=0.0,
        low_mm=0.0, high_mm=0.0, tooth_feed_max_mm=0.06, plunge_max_mm2=plunge,
    )  # fmt: skip
    (found,) = loads.decide(
        plan=PassPlan(passes=(one,), not_cut=(), moves={moves.digest: moves}), cuts=(whole,), clampings=(CLAMPING,),
        cutters=(tool,), machines=(MILL,), pressure_mpa=PRESSURE, exponent_ratio=0.25, blank=BLANK, move_cuts=(cuts,),
        raw_varies_mm=varies, run=Run(),
    ).value.moves  # fmt: skip
    return found


def drilled(**changed: Any) -> SureThrust:
    found = sure_of(DOWN, **{"tool": DRILL, "kind": "drill", "section": 0.0, "plunge": DISC, **changed}).sure
    assert isinstance(found, SureThrust)
    return found


def test_a_drill_in_solid_metal_pushes_at_least_as_a_sharp_one_in_soft_metal() -> None:
    """Worked. Bound 814.7 N and 1516.1 N mm; 1 / 1.3 for a sharp edge is more than 600 / 900 for the metal."""
    found = drilled()
    assert found.is_whole.tolist() == [True]
    assert (found.thrust_low_n, found.thrust_high_n) == (pytest.approx(543.1, abs=0.1), pytest.approx(814.7, abs=0.1))
    assert found.torque_low_n_mm == pytest.approx(1516.1 * 600.0 / 900.0, abs=0.2)


def test_a_drill_that_follows_a_hole_or_is_mostly_in_the_air_is_sure_of_nothing() -> None:
    assert drilled(plunge=0.94 * DISC).is_whole.tolist() == [False]
    assert drilled(removed=0.49 * DISC).is_whole.tolist() == [False]
    assert drilled(plunge=math.nan).is_whole.tolist() == [False]
    others: tuple[tuple[Cutter, PassKind], ...] = ((TAP, "tap"), (MILL_12, "ream"))
    for tool, kind in others:
        assert sure_of(DOWN, tool=tool, kind=kind, section=0.0, plunge=DISC).sure is None


def edges(path: Any = ALONG, **changed: Any) -> SureEdges:
    found = sure_of(path, **changed).sure
    assert isinstance(found, SureEdges)
    return found


def test_of_a_section_nine_tenths_are_sure_less_what_the_bar_may_lack() -> None:
    """Worked. 0.9 x 21.6 = 19.44 mm2; a bar that may be 0.2 mm smaller: deep 6.2, so less 0.2 (6.2 + 12) = 3.64."""
    assert edges().section_low_mm2[0] == pytest.approx(19.44)
    assert edges().section_high_mm2[0] == pytest.approx(24.0)
    assert edges(varies=0.2).section_low_mm2[0] == pytest.approx(15.8)
    assert edges(varies=0.2).section_high_mm2[0] == pytest.approx(27.64)
    # metal over half the way only: at some moment as much as on the average
    assert edges(removed=10.8).section_low_mm2[0] == pytest.approx(9.72)


def test_the_edges_push_between_a_sharp_cutter_and_a_dull_one() -> None:
    """Worked. 9 mm/s at 300 rad/s is 0.18850 a turn. Least: 600 x 0.1885^0.75 = 171.7 N/mm, one tooth taking it all.

    Most: three teeth of 900 x 0.062832^0.75 = 112.95: 338.9.
    """
    found = edges()
    assert found.turn_feed_mm[0] == pytest.approx(0.1885, abs=1e-4)
    assert found.chips_mm[-1] == pytest.approx(found.turn_feed_mm[0])
    teeth = MILL_12.flutes_count
    assert found.tangential_low_n_per_mm[-1] == pytest.approx(600.0 * 0.1885**0.75, rel=1e-3)
    assert found.tangential_high_n_per_mm[-1] == pytest.approx(900.0 * teeth * (0.1885 / teeth) ** 0.75, rel=1e-3)
    assert found.radial_high_n_per_mm == pytest.approx(0.6 * found.tangential_high_n_per_mm)


def test_the_way_and_the_axis_stand_in_the_clampings_frame() -> None:
    found = edges()
    assert found.way[0] == pytest.approx([1.0, 0.0, 0.0])
    assert found.axis_low_mm[0] == pytest.approx([10.0, -20.0, 10.0])
    assert found.axis_high_mm[0] == pytest.approx([40.0, -20.0, 16.0])
    # leaning by 45 degrees about x, a way along the tilt's own y goes down in z
    s = math.sqrt(0.5)
    leaning = edges([(10.0, 0.0, 10.0, 0.0), (10.0, 5.0, 10.0, 9.0)], tilt="leaning")
    assert np.abs(leaning.way[0]) == pytest.approx([0.0, s, s])
    assert abs(float(leaning.way[0] @ np.array([0.0, s, s]))) < 1e-9


def test_nothing_is_sure_of_arcs_ramps_and_other_forms() -> None:
    half_turn = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0)]
    assert edges(half_turn, arcs=[(0, 0, 0), (1, 15.0, 0.0)]).section_low_mm2.tolist() == [0.0]
    assert edges([(10.0, -20.0, 12.0, 0.0), (40.0, -20.0, 10.0, 9.0)]).section_low_mm2.tolist() == [0.0]
    assert edges(section=math.nan, removed=21.6).section_low_mm2.tolist() == [0.0]
    ball = cutter("ball 12", "ball", 12.0, 20.0, 40.0)
    assert sure_of(ALONG, tool=ball).sure is None
