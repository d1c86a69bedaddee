"""Jaws, seat, bed and table as metal that no cutter, shank, holder or head may meet, at whatever tilt.

They turn with the work, so in the work's frame they stand still.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.model.checking import Obstacle
from proveout.model.course import Axes
from proveout.model.cutter import Piece
from proveout.model.shop import Machine, Vise
from proveout.model.work import Clamping
from proveout.removal.meeting import inside_mm
from proveout.stages.removal_check.near import may_meet

Floats = NDArray[np.float64]
TOUCH_MM = 0.02
"""What comes less deep than this into metal only touches it."""
FIXED, MOVING, SEAT, BED, TABLE = "fixed jaw", "moving jaw", "seat", "vise's bed", "table"
OTHER = "moving jaw of the vise's other side"
OF_JAWS = (FIXED, MOVING, SEAT, OTHER)


def bodies_about(clamping: Clamping, vise: Vise, machine: Machine | None, zero_mm: Axes) -> tuple[Obstacle, ...]:
    """Everything described that the work stands in and on, in the clamping's frame.

    zero_mm: machine coordinates of the spindle's nose where it touches the work's zero, None where nobody measured.
    """
    return standing_bodies(
        vise, machine, middle_mm=(clamping.jaw_middle_mm, 0.0, 0.0), gap_mm=clamping.gap_mm,
        jaw_top_mm=clamping.jaw_top_mm, zero_mm=zero_mm, seats_mm=clamping.seats_mm,
        below_mm=clamping.below_mm,
    )  # fmt: skip


def standing_bodies(
    vise: Vise, machine: Machine | None, *, middle_mm: tuple[float, float, float], gap_mm: float, jaw_top_mm: float,
    zero_mm: Axes, seats_mm: Sequence[tuple[float, float]] = (),
    below_mm: float = 0.0,
) -> tuple[Obstacle, ...]:  # fmt: skip
    """Jaws and seat, and bed and table where they are described, in the work's frame with the machine's directions.

    middle_mm: the middle of the fixed jaw's face at the height of the seat.   jaw_top_mm: of the jaws above the seat.
    seats_mm: from and to across the jaws, counted from the fixed jaw's face; () for a seat all the way.   below_mm: how
    far down it is free between them.
    """
    found = list(_jaws(vise, middle_mm, gap_mm, jaw_top_mm, seats_mm or ((-gap_mm, 0.0),), below_mm))
    x, y, seat = middle_mm
    foot = None
    if vise.bed is not None:
        bed = vise.bed
        back, half = y + bed.behind_mm, bed.width_mm / 2.0
        foot = seat - bed.foot_mm
        found.append(
            Obstacle(
                name=BED, low_mm=(x - half, back - bed.length_mm, foot), high_mm=(x + half, back, seat - bed.below_mm)
            )
        )
    table = _table(machine, zero_mm, foot)
    return (*found, table) if table is not None else tuple(found)


def _jaws(
    vise: Vise, middle_mm: tuple[float, float, float], gap_mm: float, jaw_top_mm: float,
    seats_mm: Sequence[tuple[float, float]], below_mm: float,
) -> tuple[Obstacle, ...]:  # fmt: skip
    x, y, seat = middle_mm
    low, high = x - vise.jaw_length_mm / 2.0, x + vise.jaw_length_mm / 2.0
    floor, top, deep = seat - vise.jaw_height_mm, seat + jaw_top_mm, vise.jaw_deep_mm
    back = y + vise.fixed_deep_mm
    tops = [(near, far, seat) for near, far in seats_mm]
    if len(tops) > 1:
        tops.append((-gap_mm, 0.0, seat - below_mm))
    foot = min(floor, seat - below_mm - 1.0)
    found = (
        Obstacle(name=FIXED, low_mm=(low, y, floor), high_mm=(high, back, top)),
        Obstacle(name=MOVING, low_mm=(low, y - gap_mm - deep, floor), high_mm=(high, y - gap_mm, top)),
        *(
            Obstacle(name=SEAT, low_mm=(low, y + near, foot), high_mm=(high, y + far, height))
            for near, far, height in tops
        ),
    )  # fmt: skip
    if not vise.has_middle_jaw:
        return found
    # where it stands depends on what it holds: as far as it can open
    far = back + vise.opening_max_mm + deep
    return (*found, Obstacle(name=OTHER, low_mm=(low, back, floor), high_mm=(high, far, top), is_sure=False))


def _table(machine: Machine | None, zero_mm: Axes, foot_mm: float | None) -> Obstacle | None:
    """The table in the work's frame; None where it is not described, or nothing tells how far below it lies.

    Where nobody measured how far aside it stands it is taken to reach as far as the machine travels, and is not sure.
    """
    table = machine.table if machine is not None else None
    if machine is None or table is None:
        return None
    zero_x, zero_y, zero_z = zero_mm
    top = foot_mm if table.top_z_mm is None or zero_z is None else table.top_z_mm - zero_z
    if top is None:
        return None
    pivot = machine.rotary.pivot_in_machine_mm if machine.rotary is not None else None
    middle = table.middle_mm if table.middle_mm is not None or pivot is None else pivot[:2]
    is_sure = middle is not None and zero_x is not None and zero_y is not None
    x, y = (
        (middle[0] - zero_x, middle[1] - zero_y)
        if middle is not None and zero_x is not None and zero_y is not None
        else (0.0, 0.0)
    )
    wide, deep = (
        (size / 2.0 if is_sure else size / 2.0 + travel)
        for size, travel in zip(table.size_mm, machine.travel_mm[:2], strict=True)
    )
    return Obstacle(
        name=TABLE, low_mm=(x - wide, y - deep, top - table.thickness_mm), high_mm=(x + wide, y + deep, top),
        is_round=table.shape == "round" and is_sure, is_sure=is_sure,
    )  # fmt: skip


def unlooked(obstacles: Sequence[Obstacle], machine: Machine | None) -> tuple[str, ...]:
    """What could be struck and is in no description, or stands nobody knows where, so that nothing looks at it."""
    names = {obstacle.name for obstacle in obstacles}
    known = {
        "the jaws": FIXED in names, "the vise's bed": BED in names, "the table": TABLE in names,
        "the spindle's head": machine is not None and machine.head is not None,
    }  # fmt: skip
    return tuple(name for name, is_known in known.items() if not is_known)


class Body:
    """An obstacle that pieces of a cutter are held against."""

    def __init__(self, obstacle: Obstacle) -> None:
        self.name, self.is_sure, self.is_round = obstacle.name, obstacle.is_sure, obstacle.is_round
        self.low, self.high = np.array(obstacle.low_mm), np.array(obstacle.high_mm)

    def met_mm(self, pieces: Sequence[Piece], axis: Floats, starts_mm: Floats, ends_mm: Floats) -> Floats:
        """(n,) how far inside the body a piece comes on each move; 0 where it only touches.

        axis: unit vector from tip to shank, starts_mm, ends_mm (n, 3), all in the work's frame.
        """
        met = np.zeros(len(starts_mm))
        if not pieces:
            return met
        rows = np.flatnonzero(may_meet(pieces, axis, starts_mm, ends_mm, self.low, self.high))
        if len(rows):
            met[rows] = inside_mm(
                pieces=pieces, axis=axis, starts_mm=starts_mm[rows], ends_mm=ends_mm[rows], low_mm=self.low,
                high_mm=self.high, is_round=self.is_round, least_mm=TOUCH_MM,
            )  # fmt: skip
        return met

    def cells(self, size_mm: float) -> tuple[Floats, Floats]:
        """Low and high corners (n, 3) of boxes of at most size_mm a side that hold the whole body between them."""
        low, high = boxes_of(self.low, self.high, size_mm)
        if not self.is_round:
            return low, high
        middle, radius = 0.5 * (self.low + self.high)[:2], 0.5 * float(self.high[0] - self.low[0])
        nearest = np.clip(middle, low[:, :2], high[:, :2]) - middle
        kept = np.hypot(nearest[:, 0], nearest[:, 1]) <= radius
        return low[kept], high[kept]


def boxes_of(low_mm: Floats, high_mm: Floats, size_mm: float) -> tuple[Floats, Floats]:
    """A box divided into boxes of at most size_mm a side: low and high corners (n, 3)."""
    counts = np.maximum(1, np.ceil((high_mm - low_mm) / size_mm - 1e-9)).astype(int)
    index = np.stack(np.meshgrid(*(np.arange(n) for n in counts), indexing="ij"), axis=-1).reshape(-1, 3)
    step = (high_mm - low_mm) / counts
    return low_mm + index * step, low_mm + (index + 1) * step
