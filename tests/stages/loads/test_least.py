"""What moves are sure to ask for, worked by hand and held against edges that are turned step by step."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from shapes import MILL
from stages.loads.test_moves import DRILL, MILL_12, loaded, moves_of, proof

from proveout.cutting.edge_models import RUNOUT_MM
from proveout.model.shop import Cutter

STEADY = [
    (10.0, -20.0, 10.0, 0.0), (20.0, -20.0, 10.0, 9.0), (40.0, -20.0, 10.0, 9.0), (70.0, -20.0, 10.0, 9.0),
    (70.0, -20.0, 30.0, 0.0),
]  # fmt: skip


def test_the_torque_that_is_sure_worked_by_hand() -> None:
    """Worked. 0.9 21.6 = 19.44 mm2 at 0.1885 mm a turn; the thickest chip 0.06283 + 0.02 = 0.08283: 600 0.08283^-0.25 =
    1118.4 MPa; 1118.4 19.44 0.1885 / 2 pi = 652.3 N mm. Across, arc of 3.6 in 12: cos a = 0.4, a / 2 = 0.5796;
    652.3 / 6 (0.8367 - 0.6 0.5477) = 55.2 N of at most 902.5: 0.0612. The tip bends by 0.0612 0.3386 / 3 210 / 650 =
    0.00223 mm. The other move has 10 mm2 and half the feed."""
    own = moves_of(loaded([21.6, 10.0], kind="finish wall"))
    assert own.least_torque_n_mm is not None
    assert own.least_torque_n_mm[0] == pytest.approx(652.3, rel=1e-3)
    half = 600.0 * (0.031416 + 0.02) ** -0.25 * 9.0 * 0.094248 / (2.0 * math.pi)
    assert own.least_torque_n_mm[1] == pytest.approx(half, rel=1e-3)
    assert own.shares[0] == pytest.approx(0.0612, rel=2e-3)


def test_power_fails_where_a_move_is_sure_to_ask_for_more() -> None:
    """Worked. 652.3 300 = 0.1957 kW at the edge, all of which the motor gives at the best efficiency."""
    for power_mw, verdict in ((0.2e6, "not shown"), (0.19e6, "fails")):
        found = proof(
            loaded([10.0, 21.6, 21.6], path=STEADY, machine=msgspec.structs.replace(MILL, power_mw=power_mw)), ":power"
        )
        assert (found.verdict, found.found_low) == (verdict, pytest.approx(0.1957, abs=2e-4))


def test_what_the_replay_could_not_tell_is_sure_of_nothing() -> None:
    own = moves_of(loaded([math.nan, 21.6]))
    assert own.least_torque_n_mm is not None
    assert own.least_torque_n_mm[0] == 0.0
    assert own.shares[0] == 0.0
    # where the blank may be smaller all round by 1 mm less is sure: 19.44 - 1 (6 + 12)
    less = moves_of(loaded([21.6, 21.6], varies=1.0))
    assert less.least_torque_n_mm is not None
    assert less.least_torque_n_mm[0] == pytest.approx(652.3 * (19.44 - 19.0) / 19.44, rel=2e-3)


def test_a_ball_pushes_across_by_nothing_that_is_sure_and_still_asks_for_torque() -> None:
    ball = msgspec.structs.replace(MILL_12, kind="ball", corner_radius_mm=6.0)
    own = moves_of(loaded([21.6, 21.6], tool=ball))
    assert own.least_torque_n_mm is not None
    assert own.least_torque_n_mm[0] > 600.0
    assert own.shares.tolist() == [0.0, 0.0]


def test_only_a_drill_in_solid_metal_is_sure_of_its_torque() -> None:
    disc = math.pi * DRILL.diameter_mm**2 / 4.0
    down = [(60.0, -10.0, 20.0, 0.0), (60.0, -10.0, 2.0, 2.0)]
    whole = moves_of(loaded([disc], tool=DRILL, kind="drill", path=down, plunge=disc))
    thin = moves_of(loaded([0.3 * disc], tool=DRILL, kind="drill", path=down, plunge=0.3 * disc))
    assert whole.least_torque_n_mm is not None
    assert thin.least_torque_n_mm is not None
    assert whole.least_torque_n_mm[0] == pytest.approx(whole.scale_share * whole.torque_n_mm[0])
    assert whole.shares[0] == whole.scale_share
    assert (thin.least_torque_n_mm[0], thin.shares[0]) == (0.0, 0.0)


def test_edges_turned_step_by_step_ask_for_no_less() -> None:
    """Random cuts: the mean torque and the greatest force across of leaning edges by the law of a sharp edge, teeth
    that stand out by up to the run-out; what is told as sure is no more than either."""
    draw = np.random.default_rng(8)
    for _ in range(60):
        wide, deep, feed = draw.uniform(0.3, 12.0), draw.uniform(1.0, 6.0), draw.uniform(3.0, 9.0)
        path = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, feed), (70.0, -20.0, 10.0, feed)]
        own = moves_of(loaded([wide * deep, wide * deep], path=path, radial_mm=wide, axial_mm=deep, deep=deep))
        torque, across = turned(
            MILL_12, wide, deep, feed, lean=draw.uniform(0.0, 0.8), out=draw.uniform(0.0, RUNOUT_MM)
        )
        assert own.least_torque_n_mm is not None
        assert own.least_torque_n_mm[0] <= torque
        assert own.shares[0] * float(np.linalg.norm(own.force_high_n[0][:2])) / math.sqrt(2.0) <= across * 1.0001


def turned(tool: Cutter, wide: float, deep: float, feed: float, *, lean: float, out: float) -> tuple[float, float]:
    """Mean torque and greatest force across of a turn, by 600 MPa at 1 mm and exponent 0.25, 0.6 of it off the wall."""
    teeth, radius = tool.flutes_count, tool.diameter_mm / 2.0
    each = feed * 2.0 * math.pi / 300.0 / teeth
    arc = math.acos(1.0 - min(2.0, wide / radius))
    heights = (np.arange(40) + 0.5) / 40.0 * deep
    stands = np.zeros(teeth)
    stands[0] = out
    torques, forces = [], []
    for turn in np.linspace(0.0, 2.0 * math.pi, 180, endpoint=False):
        at = turn + 2.0 * math.pi * np.arange(teeth)[:, None] / teeth - heights[None, :] * math.tan(lean) / radius
        at %= 2.0 * math.pi
        before = np.roll(stands, 1)
        chip = np.where(at < arc, np.maximum(each * np.sin(at) + (stands - before)[:, None], 0.0), 0.0)
        push = np.where(chip > 0.0, 600.0 * np.maximum(chip, 1e-9) ** 0.75, 0.0) * deep / 40.0
        torques.append(float(push.sum()) * radius)
        x = (push * (np.cos(at) - 0.6 * np.sin(at))).sum()
        y = (push * (np.sin(at) + 0.6 * np.cos(at))).sum()
        forces.append(math.hypot(float(x), float(y)))
    return float(np.mean(torques)), max(forces)
