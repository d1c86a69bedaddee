"""Roughing with limited engagement, measured by what each stretch of move removes, against loops along the contours.

Every shape is a block cut at one level by two programs: the way of limited engagement and the loops of `clear`, at the
same width, feeds and entries.  The radial engagement of a stretch of at most 0.75 mm is the volume it removes over its
length and the depth of the level, and counts with its length where it cuts.  The time is that of a machine with 5 m/s2;
its bound is the area over width times feed.  The jaw's levels have the sizes of examples/solids/clamp_jaw.py.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
from yardstick import line, yardstick_s

from proveout.model.cutter import Piece
from proveout.model.moves import Moves
from proveout.motion.chain_time import chain_times_s
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut
from proveout.stages.passes.areas import COARSE_MM, area_of, disc, grown
from proveout.stages.passes.clearing import clear
from proveout.stages.passes.laying import take_level
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import LOOSE_FIT_MM, Track
from proveout.stages.passes.view import TiltView
from proveout.stages.timing.cycle import arcs_of

WALL_MM = 0.3
PITCH_MM = 0.1
STRETCH_MM = 0.75
LEAST_RATIO = 0.02
"""Stretches that meet less than this share of the target cut nothing."""
ACCEL_MM_PER_S2, RAPID_MM_PER_S, STOP_RAD, JUMP_MM_PER_S = 5000.0, 400.0, math.radians(60.0), 20.0
SPEEDS = Speeds(
    speed_rad_per_s=972.0, tooth_feed_mm=0.08, feed_mm_per_s=37.0, ramp_mm_per_s=18.5, plunge_mm_per_s=11.0,
    air_mm_per_s=111.0, slot_mm_per_s=22.2,
)  # fmt: skip
FAR = 90.0


@dataclass(frozen=True)
class Case:
    """What must stand and the block, as areas seen from above; the cutter and how it is to cut."""

    stand: Any
    block: Any
    radius_mm: float = 6.0
    engagement_mm: float = 2.4
    depth_mm: float = 12.0

    def areas(self) -> tuple[Any, Any]:
        """Where the axis may not stand, and what is to be cut, as roughing makes them."""
        radius = self.radius_mm
        obstacle = grown(self.stand, radius + WALL_MM, chord_mm=COARSE_MM)
        obstacle = grown(grown(obstacle, 0.05 * radius, chord_mm=COARSE_MM), -0.05 * radius, chord_mm=COARSE_MM)
        return obstacle, self.block - grown(obstacle, -radius, chord_mm=COARSE_MM)


def box(x_low: float, y_low: float, x_high: float, y_high: float) -> Any:
    """A rectangle as an area."""
    return area_of([np.array([[x_low, y_low], [x_high, y_low], [x_high, y_high], [x_low, y_high]])])


def rounded(length: float, width: float, corner: float) -> Any:
    """A rectangle with round corners about the origin."""
    x, y = length / 2.0 - corner, width / 2.0 - corner
    return grown(box(-x, -y, x, y), corner)


def shapes() -> dict[str, Case]:
    """All that is cut."""
    world, block = box(-FAR, -FAR, FAR, FAR), box(-50.0, -32.0, 50.0, 32.0)
    islands = rounded(90.0, 60.0, 8.0)
    islands = islands - disc(x_mm=-20.0, y_mm=5.0, radius_mm=8.0) - disc(x_mm=18.0, y_mm=-8.0, radius_mm=6.0)
    islands = islands - box(15.0, 10.0, 24.0, 18.0)
    angle = rounded(80.0, 50.0, 6.5) - box(-5.0, -5.0, 60.0, 60.0)
    jaw, jaw_block = grown(box(2.0, 2.0, 88.0, 13.5), 2.0), box(-1.0, -2.0, 91.5, 23.5)
    slots = [rounded(18.4, 11.0, 5.5 - 1e-3).translate((x, 9.0)) for x in (22.0, 67.0)]
    return {
        "boss_on_open_block": Case(rounded(30.0, 22.0, 4.0), block),
        "closed_pocket": Case(world - rounded(70.0, 50.0, 8.0), block),
        "narrow_pocket": Case(world - rounded(80.0, 18.0, 8.9), block),
        "pocket_with_islands": Case(world - islands, block),
        "angled_pocket": Case(world - angle, block),
        "jaw_outline": Case(jaw, jaw_block, radius_mm=8.0, engagement_mm=6.4, depth_mm=3.0),
        "jaw_counterbores": Case(world - slots[0] - slots[1], jaw_block, 2.5, 1.0, 6.3),
    }


def standing(case: Case) -> Any:
    """The block alone as the work of a view: what laying the moves asks of one."""
    import manifold3d

    view = TiltView.__new__(TiltView)
    view.work = manifold3d.Manifold.extrude(case.block, case.depth_mm).translate((0.0, 0.0, -case.depth_mm))
    view.effort_count = 0
    view.clear_mm = 5.0
    view._upward, view._metal_kept, view._zones_kept = None, {}, {}  # noqa: SLF001 - a bare view, without a part
    return view


def limited(case: Case) -> Moves:
    """The program of limited engagement."""
    track, (obstacle, todo) = Track(resolution_mm=0.001, clear_mm=5.0, fit_mm=LOOSE_FIT_MM), case.areas()
    take_level(
        view=standing(case), track=track, speeds=SPEEDS, z_mm=-case.depth_mm, obstacle=obstacle, todo=todo,
        standing=todo, radius_mm=case.radius_mm, engagement_mm=case.engagement_mm, depth_mm=case.depth_mm, thin_mm=0.05,
    )  # fmt: skip
    return track.moves()


def along_contours(case: Case) -> Moves:
    """The program of loops."""
    track, (obstacle, todo) = Track(resolution_mm=0.001, clear_mm=5.0, fit_mm=LOOSE_FIT_MM), case.areas()
    clear(
        view=standing(case), track=track, speeds=SPEEDS, z_mm=-case.depth_mm, obstacle=obstacle, todo=todo,
        radius_mm=case.radius_mm, step_mm=case.engagement_mm, depth_mm=case.depth_mm,
    )  # fmt: skip
    return track.moves()


def judge(moves: Moves, case: Case) -> dict[str, float]:
    """What a program really does to the block."""
    x_low, y_low, x_high, y_high = case.block.bounds()
    fields = Fields.from_box(
        low_mm=np.array([x_low, y_low, -case.depth_mm]), high_mm=np.array([x_high, y_high, 0.0]), pitch_mm=PITCH_MM
    )  # fmt: skip
    whole = _volume(fields)
    radius = case.radius_mm
    cutter = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=radius, r_high_mm=radius),)
    starts, ends, feeds = _divided(moves)
    fed = feeds > 0.0
    removed = np.zeros(len(starts))
    removed[fed] = np.median(
        cut(fields, pieces=cutter, axis=np.array([0.0, 0.0, 1.0]), starts_mm=starts[fed], ends_mm=ends[fed]), axis=1
    )  # fmt: skip
    lengths = np.linalg.norm(ends - starts, axis=1)
    # what stands above the tip was cut to a layer before, or is the block's whole depth
    level = fed & (np.abs(starts[:, 2] + case.depth_mm) < 1e-6) & (np.abs(ends[:, 2] + case.depth_mm) < 1e-6)
    met = np.where(lengths > 0.0, removed / np.maximum(lengths, 1e-12), 0.0) / case.depth_mm / case.engagement_mm
    found: dict[str, float] = {}
    for name, rows in (("level", level & (met > LEAST_RATIO)), ("all", fed & (met > LEAST_RATIO))):
        if not rows.any():
            found |= {f"{name}_p{percent}_ratio": 0.0 for percent in (50, 95, 99)} | {f"{name}_most_ratio": 0.0}
            continue
        order = np.argsort(met[rows])
        share = np.cumsum(lengths[rows][order]) / lengths[rows].sum()
        for percent in (50, 95, 99):
            at = min(int(np.searchsorted(share, percent / 100.0)), len(order) - 1)
            found[f"{name}_p{percent}_ratio"] = float(met[rows][order][at])
        found[f"{name}_most_ratio"] = float(met[rows].max())
    _, todo = case.areas()
    gone = whole - _volume(fields)
    found["left_ratio"] = max(0.0, 1.0 - gone / (float(todo.area()) * case.depth_mm))
    feed = np.where(moves.feed_mm_per_s > 0.0, moves.feed_mm_per_s, np.inf)
    times = chain_times_s(
        moves.points, feed, arcs=arcs_of(moves),
        rapid_mm_per_s=RAPID_MM_PER_S, accel_mm_per_s2=ACCEL_MM_PER_S2, stop_angle_rad=STOP_RAD,
        jump_mm_per_s=JUMP_MM_PER_S,
    )  # fmt: skip
    taken = float(times.sum())
    found["time_s"] = taken
    found["time_over_bound"] = taken / (float(todo.area()) / (case.engagement_mm * SPEEDS.feed_mm_per_s))
    found["moves_count"] = len(moves.points)
    return found


def _volume(fields: Fields) -> float:
    sums = []
    for k in range(3):
        spans, counts = fields.spans[k], fields.counts[k]
        valid = np.arange(spans.shape[1])[None, :] < counts[:, None]
        sums.append(float(((spans[:, :, 1] - spans[:, :, 0]) * valid).sum()) * fields.cell_area_mm2(k))
    return float(np.median(sums))


def _divided(moves: Moves) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Moves in parts of at most STRETCH_MM: starts, ends and feeds."""
    moves = moves.straight(within_mm=0.002)
    starts, ends, feeds = moves.points[:-1], moves.points[1:], moves.feed_mm_per_s[1:]
    counts = np.maximum(1, np.ceil(np.linalg.norm(ends - starts, axis=1) / STRETCH_MM - 1e-9)).astype(int)
    counts[feeds <= 0.0] = 1
    owner = np.repeat(np.arange(len(starts)), counts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    way = (ends - starts)[owner]
    low, high = (step / counts[owner])[:, None], ((step + 1) / counts[owner])[:, None]
    return starts[owner] + low * way, starts[owner] + high * way, feeds[owner]


def main() -> None:
    """Print what every shape shows, then the line."""
    yard = yardstick_s()
    figures: dict[str, float] = {"yardstick_s": round(yard, 4)}
    worst = 0.0
    limited(shapes()["closed_pocket"])
    for name, case in shapes().items():
        for way, make in (("limited", limited), ("contours", along_contours)):
            begin = time.perf_counter()
            program = make(case)
            taken = time.perf_counter() - begin
            found = judge(program, case)
            found["planning_s"] = taken
            print(
                f"{name:20s} {way:9s} a_e/target p50 {found['level_p50_ratio']:.2f} p95 {found['level_p95_ratio']:.2f} "
                f"p99 {found['level_p99_ratio']:.2f} most {found['level_most_ratio']:.2f}, with entries p99 "
                f"{found['all_p99_ratio']:.2f} most {found['all_most_ratio']:.2f}; {found['time_s']:.1f} s = "
                f"{found['time_over_bound']:.2f} x bound; left {100.0 * found['left_ratio']:.3f} %; "
                f"{found['moves_count']:.0f} moves planned in {taken:.2f} s"
            )
            figures |= {f"{name}_{way}_{key}": round(value, 4) for key, value in found.items()}
        worst = max(worst, figures[f"{name}_limited_all_p99_ratio"])
    figures["limited_worst_p99_ratio"] = worst
    print(
        line(
            name="roughing",
            figures=figures,
            targets={"limited_worst_p99_ratio": ("at most", 1.2)},
            excluded=["compilation of the kernels: one way is found before any is timed"],
        )
    )


if __name__ == "__main__":
    main()
