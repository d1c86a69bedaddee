"""Bounds on what each pass asks of cutter, spindle and grip."""

from __future__ import annotations

import msgspec

from proveout.model.move_loads import MoveLoads
from proveout.model.shop import Noun
from proveout.model.turn_push import PassPush, TurnPush


class PassLoad(Noun, frozen=True, kw_only=True):
    """One pass at its worst, in the clamping's frame.

    plane_n: bound on the force across the cutter axis, in any direction.  axial_n: along the axis, either way.
    torque_n_mm: about the cutter axis.  power_mw: at the spindle.  height_mm: highest point of the cut above the seat.
    along_mm, across_mm: farthest from the middle between the jaws.  is_tilted: the axis is not the clamping's z.
    radial_mm, axial_mm: the engagement the bound was taken at.
    """

    pass_id: str
    clamping_id: str
    is_tilted: bool
    tangential_n: float
    plane_n: float
    axial_n: float
    torque_n_mm: float
    power_mw: float
    height_mm: float
    along_mm: float
    across_mm: float
    radial_mm: float
    axial_mm: float


class Loads(msgspec.Struct, frozen=True, kw_only=True):
    """Bounds of every pass, and of the moves of every pass where the replay measured them (empty where it did not).

    A pass is the envelope of its moves.  turns: of the same moves, over a turn of the cutter.  pushes: the hardest of
    them, of every pass.
    """

    passes: tuple[PassLoad, ...]
    moves: tuple[MoveLoads, ...] = ()
    turns: tuple[TurnPush, ...] = ()
    pushes: tuple[PassPush, ...] = ()
