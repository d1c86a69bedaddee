"""Removal by intervals against booleans of solids: the same moves on the same blank, on a growing prefix.

The program winds down into a block of 90 x 22 x 18 mm in turns with a flat cutter of 10 mm, 4000 moves of about 2 mm.
The baseline is the quickest way of solid booleans known to us: the hull of each move's two cutters, all hulls
subtracted in one batch. Its circles have 32 corners, which favours it: each wall is up to 0.024 mm off.
"""

from __future__ import annotations

import math

import manifold3d
import numpy as np
from yardstick import is_full, line, paired, seconds_of, yardstick_s

from proveout.model.cutter import Piece
from proveout.removal.comparing import point_deviation
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut

LOW = np.zeros(3)
HIGH = np.array([90.0, 22.0, 18.0])
RADIUS_MM = 5.0
CUTTER = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=25.0, r_low_mm=RADIUS_MM, r_high_mm=RADIUS_MM),)
TILTED = np.array([0.0, 0.5, math.sqrt(0.75)])
UPRIGHT = np.array([0.0, 0.0, 1.0])
SIDES = 32
MOVES = 4000
PREFIXES = (50, 100, 200)
PITCH_MM = 0.2


def program() -> tuple[np.ndarray, np.ndarray]:
    """Starts and ends (4000, 3) of turns that go down 0.4 mm at a time."""
    turn = np.linspace(0.0, 40.0 * math.pi, MOVES + 1)
    depth = 0.4 * np.ceil(np.linspace(0.01, 20.0, MOVES + 1))
    points = np.column_stack([45.0 + 38.0 * np.cos(turn), 11.0 + 7.0 * np.sin(turn), 18.0 - depth])
    return points[:-1], points[1:]


def by_intervals(starts: np.ndarray, ends: np.ndarray, axis: np.ndarray = UPRIGHT, pitch: float = PITCH_MM) -> Fields:
    """The block after the moves, as intervals."""
    work = Fields.from_box(low_mm=LOW, high_mm=HIGH, pitch_mm=pitch)
    cut(work, pieces=CUTTER, axis=axis, starts_mm=starts, ends_mm=ends)
    return work


def by_booleans(starts: np.ndarray, ends: np.ndarray) -> float:
    """Volume of the block after the moves, as a solid."""
    turn = 2.0 * math.pi * np.arange(SIDES) / SIDES
    rim = RADIUS_MM * np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    shape = np.vstack([rim, rim + np.array([0.0, 0.0, 25.0])])
    hulls = [
        manifold3d.Manifold.hull_points(np.vstack([shape + start, shape + end]))
        for start, end in zip(starts, ends, strict=True)
    ]
    block = manifold3d.Manifold.cube(HIGH)
    return manifold3d.Manifold.batch_boolean([block, *hulls], manifold3d.OpType.Subtract).volume()


def deviation_speed() -> tuple[int, float]:
    """Points judged and seconds, against a mesh of 20 000 triangles through the middle of the work."""
    ball = manifold3d.Manifold.sphere(8.0, 280).translate([45.0, 11.0, 9.0]).to_mesh()
    vertices = np.asarray(ball.vert_properties, dtype=float)[:, :3]
    triangles = np.asarray(ball.tri_verts)
    draw = np.random.default_rng(1)
    points = draw.normal(size=(400_000, 3))
    points *= (8.0 + draw.uniform(-0.3, 0.3, (len(points), 1))) / np.linalg.norm(points, axis=1, keepdims=True)
    points = points[np.lexsort(np.round(points, 1).T)] + [45.0, 11.0, 9.0]  # in the order of a field: ray by ray

    def judge(some: np.ndarray) -> None:
        point_deviation(
            some,
            vertices=vertices,
            triangles=triangles,
            triangle_face=np.zeros(len(triangles), dtype=int),
            face_offset_mm=np.zeros(1),
        )

    judge(points[:10])
    return len(points), min(seconds_of(lambda: judge(points)) for _ in range(3))


def main() -> None:
    """Measure and print the line."""
    starts, ends = program()
    yard = yardstick_s()
    by_intervals(starts[:20], ends[:20])
    figures: dict[str, float] = {"yardstick_s": yard}
    ratios: dict[str, float] = {}
    spread: dict[str, list[float]] = {}
    prefixes = (*PREFIXES, 400, 800) if is_full() else PREFIXES
    repeats = 0
    for count in prefixes:
        some, to = starts[:count], ends[:count]
        found = paired(lambda a=some, b=to: by_intervals(a, b), lambda a=some, b=to: by_booleans(a, b))
        key = f"booleans_over_intervals_{count}_moves"
        ratios[key] = round(found["ratio"], 2)
        spread[key] = [round(end, 2) for end in found["spread"]]
        figures[f"intervals_{count}_moves_s"] = round(found["subject_s"], 5)
        figures[f"booleans_{count}_moves_s"] = round(found["baseline_s"], 5)
        repeats = found["repeats"]
    cases = {"upright": (UPRIGHT, PITCH_MM), "tilted": (TILTED, PITCH_MM)}
    if is_full():
        cases["upright_fine"] = (UPRIGHT, 0.1)
    for name, (axis, pitch) in cases.items():
        taken = sorted(seconds_of(lambda a=axis, p=pitch: by_intervals(starts, ends, a, p)) for _ in range(3))
        figures[f"{name}_4000_moves_s"] = round(taken[1], 4)
        figures[f"{name}_4000_moves_yardsticks"] = round(taken[1] / yard, 3)
        figures[f"{name}_moves_per_s"] = round(MOVES / taken[1])
    points, taken_s = deviation_speed()
    figures["deviation_points_per_s"] = round(points / taken_s)
    figures["deviation_400000_points_yardsticks"] = round(taken_s / yard, 3)
    print(
        line(
            name="removal",
            figures=figures,
            ratios=ratios,
            targets={
                "upright_moves_per_s": ("at least", 3000.0),
                "deviation_points_per_s": ("at least", 500_000.0),
                f"booleans_over_intervals_{prefixes[-1]}_moves": ("at least", 10.0),
            },
            repeats=repeats,
            spread=spread,
            excluded=["compilation of the kernels: they are called once before anything is timed"],
        )
    )


if __name__ == "__main__":
    main()
