"""Peaks and means over a turn of the moves of a pass, by both laws of the edge, worked by hand."""

from __future__ import annotations

import math

import pytest
from stages.loads.test_loads import DRILL, TAP
from stages.loads.test_moves import loaded

from proveout.cutting.edge_coefficients import AL_6000
from proveout.model.loads import Loads
from proveout.model.proof import Decision
from proveout.model.shop import Cutter
from proveout.model.turn_push import PassPush, TurnPush
from proveout.model.work import PassKind

# a path of two moves down and one level; 12 mm cutter of 3 edges at 300 rad/s
DOWN = [(10.0, -20.0, 16.0, 0.0), (10.0, -20.0, 10.0, 9.0), (10.0, -20.0, 4.0, 9.0), (10.0, -20.0, 30.0, 0.0)]


def turn_of(found: Decision[Loads]) -> TurnPush:
    (own,) = found.value.turns
    return own


def push_of(found: Decision[Loads]) -> PassPush:
    (own,) = found.value.pushes
    return own


def test_mean_and_peak_of_two_moves_worked_by_hand() -> None:
    """Worked. 21.6 mm2 is 6 deep and 3.6 wide of 12: over theta = arccos(1 - 0.6) = 1.15928 rad of the turn.

    h_m = 2 f_z 0.3 / theta: 0.03105 of the pass's own 0.06, which no move exceeds; 0.01626 of 0.0314. In the cut on the
    mean 3 6 theta / 2 pi = 3.32108 mm of edge by 900 h_m^0.75: 221.1 and 136.1 N. The peaks are 773.8 and 560.5.
    """
    own = turn_of(loaded([21.6, 21.6]))
    theta = math.acos(1.0 - 2.0 * 3.6 / 12.0)
    in_cut = 3.0 * 6.0 * theta / (2.0 * math.pi)
    worked = [in_cut * 900.0 * (0.6 * feed / theta) ** 0.75 for feed in (0.06, 0.0314159)]
    assert [in_cut, *worked] == pytest.approx([3.32108, 221.1, 136.1], rel=1e-3)
    assert own.mean_tangential_n == pytest.approx(worked, rel=1e-4)
    assert own.mean_radial_n == pytest.approx([0.6 * one for one in worked], rel=1e-4)
    assert own.tangential_n == pytest.approx([773.84, 560.5], rel=1e-3)
    assert own.radial_n == pytest.approx(0.6 * own.tangential_n)
    assert own.by_law_n[:, 0] == pytest.approx(own.tangential_n)


def test_a_pass_is_told_at_the_hardest_of_its_moves() -> None:
    found = loaded([10.0, 21.6])
    own, push = turn_of(found), push_of(found)
    (load,), (moves,) = found.value.passes, found.value.moves
    assert (push.row, push.moves_count) == (int(own.rows[moves.force_high_n[:, 0].argmax()]), 2)
    assert push.tangential_n == pytest.approx(own.tangential_n.max(), abs=1e-4)
    assert push.mean_tangential_n == pytest.approx(own.mean_tangential_n.max(), abs=1e-4)
    assert (push.across_n, push.torque_n_mm, push.power_mw) == (load.plane_n, load.torque_n_mm, load.power_mw)
    # the mean of the torque has the same lever of 6 mm, the power the same 300 rad/s
    assert push.mean_torque_n_mm == pytest.approx(6.0 * push.mean_tangential_n, abs=1e-2)
    assert push.mean_power_mw == pytest.approx(300.0 * push.mean_torque_n_mm, rel=1e-5)
    assert push.bent_mm == pytest.approx(moves.deflection_mm.max(), abs=1e-6)
    assert push.tooth_feed_mm == pytest.approx(moves.tooth_feed_mm.max(), abs=1e-6)


def test_both_laws_stand_side_by_side_where_the_family_is_known() -> None:
    """Worked. 6 deep, 3.6 wide: chips of 0.06 0.91652 + 0.02 = 0.07499 on 6 mm of edge; 900 0.07499^0.75 by pressure.

    By the edges 820.3 0.07499 + 33.8 = 95.31 N/mm: 571.9 N against 773.8, and the larger counts.
    """
    unknown = push_of(loaded([21.6]))
    assert unknown.by_edges_n is None
    both = push_of(loaded([21.6], alloys=("6061-T6",)))
    chip = 0.06 * 2.0 * math.sqrt(0.3 - 0.09) + 0.02
    edges_mm = unknown.tangential_n / (900.0 * chip**0.75)
    k = AL_6000.dull
    assert both.by_pressure_n == pytest.approx(edges_mm * 900.0 * chip**0.75, rel=1e-4)
    assert both.by_edges_n == pytest.approx(edges_mm * (k.tangential_mpa * chip + k.edge_tangential_n_per_mm), rel=1e-4)
    assert both.by_edges_n is not None
    assert both.by_pressure_n is not None
    assert both.tangential_n == pytest.approx(max(both.by_pressure_n, both.by_edges_n), rel=1e-6)
    assert both.by_pressure_n != both.by_edges_n
    # of every move, a light one too, the harder of its own two
    own = turn_of(loaded([21.6, 6.0], alloys=("6061-T6",)))
    assert own.by_law_n.max(axis=1) == pytest.approx(own.tangential_n)
    assert (own.by_law_n[:, 1] < 0.9 * own.by_law_n[:, 0]).all()


def test_what_never_leaves_the_metal_has_its_peak_all_the_time() -> None:
    """A plunge on the end edges, a drill and a tap."""
    down = push_of(loaded([0.0, 0.0], path=DOWN, plunge=100.0))
    assert down.mean_tangential_n == pytest.approx(down.tangential_n)
    assert down.mean_axial_n == pytest.approx(down.axial_n)
    bores: tuple[tuple[Cutter, PassKind], ...] = ((DRILL, "drill"), (TAP, "tap"))
    for tool, kind in bores:
        bored = push_of(loaded([0.0, 0.0], path=DOWN, tool=tool, kind=kind))
        assert bored.tangential_n == bored.mean_tangential_n > 0.0
        assert bored.axial_n == bored.mean_axial_n > 0.0
        assert (bored.radial_n, bored.across_n, bored.bent_mm) == (0.0, 0.0, None)
        assert (bored.by_pressure_n, bored.by_edges_n) == (None, None)
        assert bored.mean_torque_n_mm == pytest.approx(bored.torque_n_mm, abs=1e-3)


def test_without_the_replays_moves_the_pass_is_told_as_a_whole() -> None:
    found = loaded([21.6], measured=False)
    assert found.value.turns == ()
    push, (load,) = push_of(found), found.value.passes
    assert (push.row, push.moves_count, push.bent_mm) == (0, 0, None)
    assert (push.tangential_n, push.across_n, push.axial_n) == (load.tangential_n, load.plane_n, load.axial_n)
    assert 0.0 < push.mean_tangential_n < push.tangential_n


def test_moves_that_meet_nothing_push_with_nothing() -> None:
    push = push_of(loaded([], most=21.6))
    assert (push.tangential_n, push.across_n, push.mean_axial_n, push.by_pressure_n) == (0.0, 0.0, 0.0, 0.0)


def test_the_proof_of_power_tells_both_laws_and_the_mean() -> None:
    found = loaded([21.6], alloys=("6061-T6",))
    push = push_of(found)
    inputs = next(p for p in found.proofs if p.id.endswith(":power")).basis.inputs
    assert inputs["F_t by k_c1.1 alone"].nominal == push.by_pressure_n
    assert inputs["F_t by K_tc and K_te alone"].nominal == push.by_edges_n
    assert inputs["F_t, mean over a turn"].nominal == push.mean_tangential_n
    assert inputs["T, mean over a turn"].nominal == push.mean_torque_n_mm
    assert push.mean_torque_n_mm < push.torque_n_mm
