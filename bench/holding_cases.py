"""Random grips and moves near the limit, and two judges that share nothing with the bound: programs and springs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.grip.jaw_patches import Patches, whole_patches
from proveout.grip.move_margins import MoveMargins, move_margins
from proveout.model.fact import Fact
from proveout.model.move_loads import MoveLoads

Floats = NDArray[np.float64]
SIDES, FINE_SIDES = 16, 128
STIFFNESSES = (0.2, 0.45, 0.8, 1.0)
YIELD_MPA = 1e9
NAME = "c1/t/mill 12/rough/levels"
CHUNK = 400


@dataclass(frozen=True)
class GripCase:
    """One clamping with several moves of one pass."""

    loads: MoveLoads
    patches: Patches
    preload_n: Fact
    friction_ratio: Fact
    gap_mm: float

    def margins(self, **changed: Any) -> MoveMargins:
        """What the bound says."""
        given: dict[str, Any] = {
            "preload_n": self.preload_n, "friction_ratio": self.friction_ratio, "jaw_gap_mm": self.gap_mm,
            "yield_mpa": YIELD_MPA, **changed,
        }  # fmt: skip
        return move_margins(self.loads, self.patches, **given)


@dataclass(frozen=True)
class Wrenches:
    """Single loads on single grips, row by row, every number one that the intervals allow."""

    force_n: Floats
    moment_n_mm: Floats
    half_length_mm: Floats
    half_height_mm: Floats
    gap_mm: Floats
    friction_ratio: Floats
    preload_n: Floats
    kept_ratio: Floats

    def __len__(self) -> int:
        return len(self.force_n)

    def rows(self, chosen: Any) -> Wrenches:
        """Some of them."""
        return Wrenches(**{name: getattr(self, name)[chosen] for name in self.__dataclass_fields__})


def loads_of(
    force_low: Any, force_high: Any, at_low: Any, at_high: Any, *, couple: Any = None, axis: Any = (0.0, 0.0, 1.0)
) -> MoveLoads:  # fmt: skip
    """Moves of which nothing else is asked."""
    low = np.atleast_2d(np.asarray(force_low, dtype=np.float64))
    at_low, at_high = (np.atleast_2d(np.asarray(at, dtype=np.float64)) for at in (at_low, at_high))
    count = len(low)
    nothing = np.zeros(count)
    return MoveLoads(
        pass_id=NAME, clamping_id="c1", rows=np.arange(1, count + 1), force_low_n=low,
        force_high_n=np.atleast_2d(np.asarray(force_high, dtype=np.float64)),
        couple_n_mm=nothing if couple is None else np.asarray(couple, dtype=np.float64),
        axis=np.asarray(axis, dtype=np.float64), at_low_mm=at_low, at_high_mm=at_high, cut_low_mm=at_low,
        cut_high_mm=at_high, torque_n_mm=nothing, power_mw=nothing, scale_share=0.5,
        deflection_mm=np.full(count, np.nan), tooth_feed_mm=nothing, radial_mm=nothing, axial_mm=nothing,
    )  # fmt: skip


def interval(low: float, high: float) -> Fact:
    """An invented interval."""
    return Fact(low=low, nominal=0.5 * (low + high), high=high, unit="", source="invented", strength="assumed")


def grip_case(draw: np.random.Generator, *, moves: int, near: bool, width: float = 1.0) -> GripCase:
    """A grip with moves whose reserves lie within a tenth of 1, or anywhere between 0.3 and 5.

    width: of the boxes and intervals, 0 for exact numbers.
    """
    gap = float(draw.uniform(15.0, 120.0))
    long, high = float(draw.uniform(15.0, 120.0)), float(draw.choice([1.5, 3.0, 8.0, 20.0, 40.0]))
    spread = 1.0 - width * draw.uniform(0.0, 0.4, 4)
    top = float(draw.uniform(high, high + 10.0))
    patches = whole_patches(
        length_mm=interval(long * spread[0], long), height_mm=interval(high * spread[1], high), jaw_top_mm=top,
        middle_mm=float(draw.uniform(0.0, 60.0)), aside_mm=float(width * draw.choice([0.0, 5.0])), moves_count=moves,
    )  # fmt: skip
    size = draw.uniform(0.0, 1500.0, (moves, 3)) * (draw.random((moves, 3)) < 0.8)
    size[~size.any(axis=1), 0] = 700.0
    sign = draw.choice([-1.0, 1.0], (moves, 3))
    forces = np.sort(np.stack([sign * size, sign * size * (1.0 - width * draw.uniform(0.0, 2.0, (moves, 3)))]), axis=0)
    middle = float(patches.along_mm[0].mean())
    at = np.column_stack([
        middle + draw.uniform(-0.7, 0.7, moves) * long, draw.uniform(-gap, 0.0, moves),
        top + draw.choice([0.0, 1.0], moves) * draw.uniform(0.0, 50.0, moves),
    ])  # fmt: skip
    box = width * draw.uniform(0.0, 6.0, (moves, 3))
    couple = (draw.random(moves) < 0.2) * draw.uniform(0.0, 2e4, moves)
    axis = (0.0, 0.0, 1.0) if draw.random() < 0.7 else tuple(_unit(draw.normal(size=3)))
    case = GripCase(
        loads=loads_of(forces[0], forces[1], at - box, at + box, couple=couple, axis=axis), patches=patches,
        preload_n=interval(12000.0 * spread[2], 12000.0),
        friction_ratio=interval(0.5 * spread[3] * float(draw.uniform(0.2, 1.0)), 0.5), gap_mm=gap,
    )  # fmt: skip
    wanted = draw.uniform(0.9, 1.1, moves) if near else draw.uniform(0.3, 5.0, moves)
    return _scaled(case, case.margins().reserve_ratio / wanted)


def _unit(vector: Floats) -> Floats:
    return vector / np.linalg.norm(vector)


def _scaled(case: GripCase, share: Floats) -> GripCase:
    loads = case.loads
    scaled = loads_of(
        loads.force_low_n * share[:, None], loads.force_high_n * share[:, None], loads.at_low_mm, loads.at_high_mm,
        couple=loads.couple_n_mm * share, axis=loads.axis,
    )  # fmt: skip
    return GripCase(scaled, case.patches, case.preload_n, case.friction_ratio, case.gap_mm)


def picked(draw: np.random.Generator, case: GripCase, rows: NDArray[np.int64]) -> Wrenches:
    """For each of the rows one load and one patch that the boxes and intervals allow, corners more often than not.

    Friction and preload are at their lower ends.
    """
    loads, patches, count = case.loads, case.patches, len(rows)

    def within(low: Floats, high: Floats) -> Floats:
        share = np.where(draw.random(low.shape) < 0.7, draw.integers(0, 2, low.shape), draw.random(low.shape))
        return low + share * (high - low)

    force = within(loads.force_low_n[rows], loads.force_high_n[rows])
    at = within(loads.at_low_mm[rows], loads.at_high_mm[rows])
    long, high = (within(side[rows, 0], side[rows, 1]) for side in (patches.length_mm, patches.height_mm))
    x, z = (within(place[rows, 0], place[rows, 1]) for place in (patches.along_mm, patches.up_mm))
    lever = at - np.column_stack([x, np.full(count, -0.5 * case.gap_mm), z])
    own = loads.couple_n_mm[rows] * draw.choice([-1.0, 1.0], count)
    return Wrenches(
        force_n=force, moment_n_mm=np.cross(lever, force) + own[:, None] * loads.axis, half_length_mm=long / 2.0,
        half_height_mm=high / 2.0, gap_mm=np.full(count, case.gap_mm),
        friction_ratio=np.full(count, case.friction_ratio.low), preload_n=np.full(count, case.preload_n.low),
        kept_ratio=draw.choice([0.0, 0.5, 1.0], count),
    )  # fmt: skip


def joined(parts: list[Wrenches]) -> Wrenches:
    """One after the other."""
    return Wrenches(
        **{name: np.concatenate([getattr(p, name) for p in parts]) for name in parts[0].__dataclass_fields__}
    )


def cone_columns(half_length: float, half_height: float, gap: float, friction: float, sides: int) -> Floats:
    """(6, 8 sides) force and moment of each edge of each patch corner's inner friction cone; the fixed jaw first."""
    turn = 2.0 * math.pi * np.arange(sides) / sides
    columns = []
    for side in (1.0, -1.0):
        for x in (-half_length, half_length):
            for z in (-half_height, half_height):
                force = np.column_stack([friction * np.cos(turn), np.full(sides, -side), friction * np.sin(turn)])
                columns.append(np.hstack([force, np.cross(np.array([x, side * gap / 2.0, z]), force)]))
    return np.vstack(columns).T


def is_balanced(wrench: Wrenches, row: int, *, sides: int = SIDES) -> bool:
    """Whether corner forces within such cones hold the load, at the preload the jaws have.

    The force across is shared as kept_ratio says: 0, the jaw that it leaves loses all of it; 1, that jaw keeps its
    preload; balance gives the other.
    """
    from scipy.optimize import linprog

    preload, across = float(wrench.preload_n[row]), float(wrench.force_n[row, 1])
    columns = cone_columns(
        float(wrench.half_length_mm[row]), float(wrench.half_height_mm[row]), float(wrench.gap_mm[row]),
        float(wrench.friction_ratio[row]), sides,
    )  # fmt: skip
    half = columns.shape[1] // 2
    # the fixed jaw presses towards -y: a force along +y goes against it
    kept = preload - (1.0 - float(wrench.kept_ratio[row])) * abs(across)
    fixed = kept + abs(across) if across > 0.0 else kept
    matrix = np.vstack([columns, np.concatenate([np.ones(half), np.zeros(half)])])
    wanted = np.concatenate([-wrench.force_n[row], -wrench.moment_n_mm[row], [fixed]])
    scale = np.array([1.0, 1.0, 1.0, 0.02, 0.02, 0.02, 1.0]) / preload
    answer = linprog(np.zeros(columns.shape[1]), A_eq=matrix * scale[:, None], b_eq=wanted * scale, method="highs")
    return bool(answer.status == 0)


def refused_by_programs(wrenches: Wrenches) -> list[int]:
    """Rows that no corner forces hold: 16-sided cones first, 128-sided ones where those are too narrow."""
    narrow = [row for row in range(len(wrenches)) if not is_balanced(wrenches, row)]
    return [row for row in narrow if not is_balanced(wrenches, row, sides=FINE_SIDES)]


def used_on_springs(wrenches: Wrenches, stiffness: float, *, along: int = 12, up: int = 8) -> Floats:
    """(n,) greatest shear over friction times pressure on a grid of springs over both patches; inf where one opens.

    Rigid work on springs of stiffness 1 across and `stiffness` along a face, each with its share of the preload; the
    jaws share the force across as kept_ratio says.
    """
    found = [_used(wrenches.rows(slice(at, at + CHUNK)), stiffness, along, up) for at in range(0, len(wrenches), CHUNK)]
    return np.concatenate(found) if found else np.zeros(0)


def _used(one: Wrenches, stiffness: float, along: int, up: int) -> Floats:
    x, z = np.meshgrid(2.0 * (np.arange(along) + 0.5) / along - 1.0, 2.0 * (np.arange(up) + 0.5) / up - 1.0)
    x, z, count = np.tile(x.ravel(), 2), np.tile(z.ravel(), 2), 2 * along * up
    side = np.repeat([1.0, -1.0], along * up)
    spots = np.stack([
        one.half_length_mm[:, None] * x, one.gap_mm[:, None] / 2.0 * side, one.half_height_mm[:, None] * z
    ], axis=2)  # fmt: skip
    motion = np.zeros((*spots.shape[:2], 3, 6))  # what a small motion of the work does to a spot
    motion[..., 0, 0] = motion[..., 1, 1] = motion[..., 2, 2] = 1.0
    motion[..., 0, 4], motion[..., 0, 5] = spots[..., 2], -spots[..., 1]
    motion[..., 1, 3], motion[..., 1, 5] = -spots[..., 2], spots[..., 0]
    motion[..., 2, 3], motion[..., 2, 4] = spots[..., 1], -spots[..., 0]
    springs = np.array([stiffness, 1.0, stiffness])
    matrix = np.einsum("nsai,a,nsaj->nij", motion, springs, motion)
    load = np.hstack([one.force_n, one.moment_n_mm])
    moved = np.linalg.solve(matrix, load[:, :, None])[:, :, 0]
    on_work = -springs * np.einsum("nsai,ni->nsa", motion, moved)
    per = count / 2
    extra = (0.5 - one.kept_ratio) * np.abs(one.force_n[:, 1]) / per
    pressure = one.preload_n[:, None] / per - side * on_work[..., 1] - extra[:, None]
    shear = np.hypot(on_work[..., 0], on_work[..., 2])
    with np.errstate(divide="ignore", invalid="ignore"):
        used = (shear / (one.friction_ratio[:, None] * pressure)).max(axis=1)
    return np.where((pressure > 0.0).all(axis=1), used, np.inf)
