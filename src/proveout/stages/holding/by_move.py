"""The grip at every move of every pass of one clamping: which move asks most, of what patch, and how it would go."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.grip.jaw_patches import Patches, remaining_patches, whole_patches
from proveout.grip.move_margins import MoveMargins, move_margins
from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.shop import Noun
from proveout.model.work import Vector
from proveout.stages.holding.gripping import RESERVE_MAX, Grip, Hold, down

WAYS = {
    "slide": "slides along the jaws", "lift": "lifts out of the jaws", "tip": "tips about a line along the jaws",
    "swing": "swings about a line across the jaws", "turn": "turns about the upright",
}  # fmt: skip


class Moved(Noun, frozen=True, kw_only=True):
    """One move at its worst corner.

    row: the point of the pass's moves at which it ends.  share: least over greatest force.  force_n, moment_n_mm: about
    the middle between the patches.
    at_low_mm, at_high_mm: where the cut acts.  length_mm, height_mm: of the patch that is left, low and high.
    """

    row: int
    share: float
    force_n: Vector
    moment_n_mm: Vector
    at_low_mm: Vector
    at_high_mm: Vector
    length_mm: tuple[float, float]
    height_mm: tuple[float, float]


class MoveHold(Noun, frozen=True, kw_only=True):
    """The grip at the hardest move of one pass.

    way: how the work would go, in words.  pressure_mpa, pressed: the greatest pressure of the pass and the move that
    makes it.  has_shrunk: a move up to here has cut metal where jaw and work meet, so that no bound for the whole patch
    is one.  area_least_mm2: of the patch, over all its moves.  radial_mm, axial_mm: engagement of the move.
    """

    hold: Hold
    moved: Moved
    way: str
    pressure_mpa: float
    pressed: Moved
    has_shrunk: bool
    area_least_mm2: float
    radial_mm: float
    axial_mm: float


def hold_by_move(grip: Grip, moves: list[MoveLoads], loads: list[PassLoad]) -> dict[str, MoveHold]:
    """The hardest move of each pass that meets metal, by pass; empty while patch or jaw force are not known.

    Args:     moves: those of one clamping, in the order of work: what one pass cuts away beside the jaws is gone for
              the next.   loads: of the same passes: no move pushes harder across its axis, or along it.
    Valid:    where the friction is not known only the pressure is one that may be told.
    """
    moves = [one for one in moves if len(one.rows)]
    if grip.force_n is None or not grip.has_patch or not moves:
        return {}
    whole, rest = _patches(grip, moves)
    wholes = {load.pass_id: load for load in loads}
    found: dict[str, MoveHold] = {}
    begin = 0
    for one in moves:
        here = slice(begin, begin + len(one.rows))
        begin = here.stop
        found[one.pass_id] = _hold(grip, one, wholes[one.pass_id], _rows(whole, here), _rows(rest, here))
    return found


def _patches(grip: Grip, moves: list[MoveLoads]) -> tuple[Patches, Patches]:
    """The patch of every move of the clamping, one after the other: as if nothing were cut beside it, and as it is."""
    clamping = grip.clamping
    whole = whole_patches(
        length_mm=clamping.patch_length_mm, height_mm=clamping.patch_height_mm, jaw_top_mm=clamping.jaw_top_mm,
        middle_mm=clamping.jaw_middle_mm, aside_mm=grip.off_middle_mm, moves_count=sum(len(m.rows) for m in moves),
    )  # fmt: skip
    rest = remaining_patches(
        whole, at_low_mm=np.concatenate([m.cut_low_mm for m in moves]),
        at_high_mm=np.concatenate([m.cut_high_mm for m in moves]), jaw_top_mm=clamping.jaw_top_mm,
        jaw_gap_mm=clamping.gap_mm,
    )  # fmt: skip
    return whole, rest


def _rows(patches: Patches, here: slice) -> Patches:
    return Patches(**{name: getattr(patches, name)[here] for name in Patches.__struct_fields__})


def _hold(grip: Grip, loads: MoveLoads, load: PassLoad, whole: Patches, rest: Patches) -> MoveHold:
    force, friction, gap = grip.force_n, grip.friction_ratio, grip.clamping.gap_mm
    assert force is not None
    worst = move_margins(
        loads, rest, preload_n=force, friction_ratio=0.0 if friction is None else friction, jaw_gap_mm=gap,
        yield_mpa=grip.yield_mpa, across_n=load.plane_n, along_n=load.axial_n,
    )  # fmt: skip
    best = move_margins(
        loads, _largest(whole), preload_n=force.high, friction_ratio=0.0 if friction is None else friction.high,
        jaw_gap_mm=gap, yield_mpa=grip.yield_mpa.high, across_n=load.plane_n, along_n=load.axial_n,
        scale_ratio=loads.shares,
    )  # fmt: skip
    row, pressed = int(np.argmin(worst.reserve_ratio)), int(np.argmax(worst.pressure_mpa))
    least, hardest = worst.worst, _moved(loads, worst, rest, row, 0)
    low = max(0.0, min(RESERVE_MAX, float(worst.reserve_ratio[row])))
    high = max(low, min(RESERVE_MAX, float(best.reserve_ratio.min())))
    return MoveHold(
        hold=Hold(
            pass_id=loads.pass_id, clamping_id=loads.clamping_id, reserve_low=down(low), reserve_high=round(high, 4),
            mode=worst.mode_of(least), margin=down(float(worst.margins[least].min())),
        ),
        moved=hardest, way=_way(hardest, gap),
        pressure_mpa=float(worst.pressure_mpa[pressed]), pressed=_moved(loads, worst, rest, pressed, 1),
        has_shrunk=any(
            getattr(rest, side)[-1, 0] < getattr(whole, side)[-1, 0] for side in ("length_mm", "height_mm")
        ),
        area_least_mm2=float((rest.length_mm[:, 0] * rest.height_mm[:, 0]).min()),
        radial_mm=float(loads.radial_mm[row]), axial_mm=float(loads.axial_mm[row]),
    )  # fmt: skip


def _largest(whole: Patches) -> Patches:
    """The patch at its best: as long and as high as it can be, in the middle of where it may lie."""
    top = whole.up_mm[:, 1] + whole.height_mm[:, 0] / 2.0
    return Patches(
        length_mm=whole.length_mm[:, (1, 1)], height_mm=whole.height_mm[:, (1, 1)],
        along_mm=np.repeat(whole.along_mm.mean(axis=1)[:, None], 2, axis=1),
        up_mm=np.repeat((top - whole.height_mm[:, 1] / 2.0)[:, None], 2, axis=1),
    )  # fmt: skip


def _moved(loads: MoveLoads, worst: MoveMargins, patches: Patches, row: int, which: int) -> Moved:
    x, y, z, about_x, about_y, about_z = (float(v) for v in worst.wrench[row, which])
    return Moved(
        row=int(loads.rows[row]), share=float(loads.shares[row]), force_n=(x, y, z),
        moment_n_mm=(about_x, about_y, about_z), at_low_mm=_triple(loads.at_low_mm[row]),
        at_high_mm=_triple(loads.at_high_mm[row]), length_mm=_pair(patches.length_mm[row]),
        height_mm=_pair(patches.height_mm[row]),
    )  # fmt: skip


def _triple(values: np.ndarray) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])


def _pair(values: np.ndarray) -> tuple[float, float]:
    return float(values[0]), float(values[1])


def _way(moved: Moved, gap_mm: float) -> str:
    """The plain way to go that spends most of the friction: a force on both jaws, or a moment's couple of forces."""
    (along, _, up), (tip, swing, turn) = moved.force_n, moved.moment_n_mm
    radius = math.hypot(moved.length_mm[0], moved.height_mm[0]) / 2.0
    spent = {
        "slide": abs(along), "lift": abs(up), "tip": 2.0 * abs(tip) / gap_mm, "swing": 3.0 * abs(swing) / radius,
        "turn": 2.0 * abs(turn) / gap_mm,
    }  # fmt: skip
    return WAYS[max(spent, key=lambda name: spent[name])]


def better_of(by_pass: Hold, by_move: MoveHold | None) -> tuple[Hold, bool]:
    """Two true bounds of one pass: the better of both, and whether that is the one by moves.

    Where metal is cut beside the jaws the bound for the whole patch is none.
    """
    if by_move is None:
        return by_pass, False
    own = by_move.hold
    if by_move.has_shrunk:
        return own, True
    is_by_move = own.reserve_low >= by_pass.reserve_low
    high = max(own.reserve_high, by_pass.reserve_high)
    return msgspec.structs.replace(own if is_by_move else by_pass, reserve_high=high), is_by_move
