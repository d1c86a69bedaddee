"""What is known of the loads of a plan when its proofs are made."""

from __future__ import annotations

import math

import msgspec

from proveout.cutting.edge_coefficients import CoefficientRange
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import MoveAt
from proveout.model.shop import Cutter, Machine
from proveout.model.turn_push import PassPush, TurnPush
from proveout.model.work import Clamping, Pass, PassPlan
from proveout.stages.loads.milling import MilledMoves
from proveout.stages.loads.moves import MovesFound


class FoundPass(msgspec.Struct, frozen=True, kw_only=True):
    """One pass: its bound, and its moves where the replay measured them.

    turn, push: of its moves and of the pass over a turn of the cutter.
    """

    one: Pass
    load: PassLoad
    moves: MovesFound | None = None
    milled: MilledMoves | None = None
    turn: TurnPush | None = None
    push: PassPush | None = None

    @property
    def least_torque_n_mm(self) -> float:
        """What some move of it is sure to ask for; 0 where nobody measured them."""
        least = None if self.moves is None else self.moves.loads.least_torque_n_mm
        return 0.0 if least is None or not len(least) else min(float(least.max()), self.load.torque_n_mm)


def move_at(found: FoundPass, at: int) -> MoveAt | None:
    """The move of a pass that a proof rests on, by its place among those that meet metal."""
    return None if found.moves is None else MoveAt(pass_id=found.one.id, row=int(found.moves.loads.rows[at]))


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """All passes, and what their proofs rest on; clampings, cutters and machines by id."""

    plan: PassPlan
    clampings: dict[str, Clamping]
    cutters: dict[str, Cutter]
    machines: dict[str, Machine]
    pressure_mpa: Fact
    exponent_ratio: float
    coefficients: CoefficientRange | None
    limits: Limits
    found: tuple[FoundPass, ...]

    def machine_of(self, one: Pass) -> Machine:
        """The machine that a pass is cut on."""
        return self.machines[self.clampings[one.clamping_id].machine_id]


def drill_size_mm(one: Pass, cutter: Cutter) -> float:
    """The width a drill cuts: its own, for a spot what its cone takes; never below the table's 1 mm."""
    if one.kind != "spot":
        return max(1.0, cutter.diameter_mm)
    return max(1.0, min(cutter.diameter_mm, 2.0 * max(one.axial_mm, 0.5) * math.tan(cutter.tip_angle_rad / 2.0)))
