"""What the edges of a pass and of its moves push with over a turn: peaks and means, by both laws of the edge."""

from __future__ import annotations

import numpy as np

from proveout.model.shop import Cutter
from proveout.model.turn_push import PassPush, TurnPush
from proveout.model.work import Pass
from proveout.stages.loads.found import FoundPass
from proveout.stages.loads.milling import MilledMoves, MillingLoad
from proveout.stages.loads.moves import MovesFound

LAWS = 2


def milled_turns(found: MovesFound, milled: MilledMoves) -> TurnPush:
    """The moves of a mill."""
    return TurnPush(
        pass_id=found.loads.pass_id, rows=found.loads.rows, tangential_n=milled.tangential_n,
        radial_n=milled.radial_n, axial_n=milled.axial_n, mean_tangential_n=milled.mean_n[0],
        mean_radial_n=milled.mean_n[1], mean_axial_n=milled.mean_n[2], by_law_n=milled.by_law_n.T.copy(),
    )  # fmt: skip


def bored_turns(found: MovesFound, bound: MillingLoad) -> TurnPush:
    """The moves of a drill, a reamer or a tap, whose edges never leave the metal: the mean is what it is at most."""
    count = len(found.loads.rows)
    round_n, along_n, nothing = np.full(count, bound.tangential_n), np.full(count, bound.axial_n), np.zeros(count)
    return TurnPush(
        pass_id=found.loads.pass_id, rows=found.loads.rows, tangential_n=round_n, radial_n=nothing, axial_n=along_n,
        mean_tangential_n=round_n, mean_radial_n=nothing, mean_axial_n=along_n, by_law_n=np.zeros((count, 0)),
    )  # fmt: skip


def pass_push(found: FoundPass, bound: MillingLoad, cutter: Cutter) -> PassPush:
    """A pass at the hardest of its moves, or as a whole where the replay did not measure them; nothing without moves.

    bound: of the pass as a whole.
    """
    one, moves, turn = found.one, found.moves, found.turn
    if moves is None or turn is None:
        return _told(
            one, cutter, bound, row=0, count=0, across_n=bound.plane_n, feed_mm=one.tooth_feed_mm, bent_mm=None
        )
    loads = moves.loads
    if not len(turn.rows):
        none = MillingLoad(
            tangential_n=0.0, plane_n=0.0, axial_n=0.0, torque_n_mm=0.0, radial_mm=0.0, axial_mm=0.0,
            by_law_n=(0.0,) * len(bound.by_law_n),
        )  # fmt: skip
        return _told(one, cutter, none, row=0, count=0, across_n=0.0, feed_mm=one.tooth_feed_mm, bent_mm=None)
    across = turn.tangential_n if found.milled is None else found.milled.across_n
    means = (turn.mean_tangential_n, turn.mean_radial_n, turn.mean_axial_n)
    hardest = MillingLoad(
        tangential_n=float(turn.tangential_n.max()), plane_n=bound.plane_n, axial_n=float(turn.axial_n.max()),
        torque_n_mm=float(loads.torque_n_mm.max()), radial_mm=0.0, axial_mm=0.0,
        radial_n=float(turn.radial_n.max()),
        mean_n=(float(means[0].max()), float(means[1].max()), float(means[2].max())),
        by_law_n=tuple(turn.by_law_n.max(axis=0).tolist()),
    )  # fmt: skip
    bent = float(loads.deflection_mm.max())
    return _told(
        one, cutter, hardest, row=int(turn.rows[int(np.argmax(across))]), count=len(turn.rows),
        across_n=0.0 if found.milled is None else float(across.max()), feed_mm=float(loads.tooth_feed_mm.max()),
        bent_mm=None if np.isnan(bent) else bent,
    )  # fmt: skip


def _told(
    one: Pass, cutter: Cutter, push: MillingLoad, *, row: int, count: int, across_n: float, feed_mm: float,
    bent_mm: float | None,
) -> PassPush:  # fmt: skip
    """Rounded as plans keep forces. The mean torque is the peak's lever times the mean force."""
    lever = push.torque_n_mm / push.tangential_n if push.tangential_n > 0.0 else cutter.diameter_mm / 2.0
    laws = [round(law, 4) for law in push.by_law_n] + [None] * LAWS
    mean_n_mm = push.mean_n[0] * lever
    return PassPush(
        pass_id=one.id, row=row, moves_count=count, tangential_n=round(push.tangential_n, 4),
        radial_n=round(push.radial_n, 4), across_n=round(across_n, 4), axial_n=round(push.axial_n, 4),
        mean_tangential_n=round(push.mean_n[0], 4), mean_radial_n=round(push.mean_n[1], 4),
        mean_axial_n=round(push.mean_n[2], 4), by_pressure_n=laws[0], by_edges_n=laws[1],
        torque_n_mm=round(push.torque_n_mm, 3), mean_torque_n_mm=round(mean_n_mm, 3),
        power_mw=round(push.torque_n_mm * one.speed_rad_per_s, 3),
        mean_power_mw=round(mean_n_mm * one.speed_rad_per_s, 3), tooth_feed_mm=round(feed_mm, 6),
        bent_mm=None if bent_mm is None else round(bent_mm, 6),
    )  # fmt: skip
