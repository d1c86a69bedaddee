"""Near-symmetry: the part turned about an axis falls on itself but for so little that nobody sees it."""

from __future__ import annotations

import math

import numpy as np

from proveout.geometry.mesh import face_samples
from proveout.geometry.nearest import Nearness
from proveout.model.features import Feature
from proveout.model.solid import Solid
from proveout.stages.concerns.measured import Measured, label

SEEN_MM = 3.0
"""A difference that a person sees at a glance. Common practice, no source."""
SAME_MM = 0.02
"""A difference up to this is none: the part is symmetric, and any of the turns is right."""
SAMPLES = 48
QUARTER_RATIO = 0.05
"""A quarter turn is asked about where the two sides differ by no more than this share."""
NAMES_MOST = 3


def turns_of(solid: Solid) -> list[tuple[int, float]]:
    """Axis (0 x, 1 y, 2 z) and angle of the turns that bring the box of the solid on itself, or nearly so."""
    size = solid.size_mm
    found = [(axis, math.pi) for axis in range(3)]
    for axis in range(3):
        a, b = (size[k] for k in range(3) if k != axis)
        if abs(a - b) <= QUARTER_RATIO * max(a, b):
            found += [(axis, math.pi / 2.0), (axis, -math.pi / 2.0)]
    return found


def measure_symmetry(solid: Solid, features: tuple[Feature, ...]) -> list[Measured]:
    """Largest distance of the turned surface from the surface itself, turn by turn, where it is small but not nought.

    The turns are those about the middle of the box, along x, y and z of the part.
    """
    points, _, index = face_samples(
        solid.vertices_mm, solid.triangles, solid.triangle_face, faces_count=len(solid.faces), per_face=SAMPLES
    )
    points = np.vstack([points, solid.vertices_mm])
    owner = np.concatenate([index, np.full(len(solid.vertices_mm), -1)])
    middle = 0.5 * (np.array(solid.low_mm) + np.array(solid.high_mm))
    near = Nearness(solid.vertices_mm, solid.triangles, radius_mm=SEEN_MM * 1.05)
    name_of = {id: label(f) for f in reversed(features) for id in f.face_ids if not f.within}
    out: list[Measured] = []
    for axis, angle in turns_of(solid):
        turned = (points - middle) @ _turn(axis, angle).T + middle
        apart = near.distances(turned)
        worst = float(apart.max())
        if not SAME_MM < worst < SEEN_MM:
            continue
        rows = (apart > 0.5 * worst) & (owner >= 0)
        ids = tuple(sorted({solid.faces[i].id for i in owner[rows]}))
        where = list(dict.fromkeys(name_of[i] for i in ids if i in name_of))[:NAMES_MOST]
        words = f", at {', '.join(where)}" if where else ""
        degrees = f"{abs(math.degrees(angle)):.0f}°"
        out.append(
            Measured(
                kind="near symmetry", subject=f"turned {degrees} about {'xyz'[axis]}", face_ids=ids,
                found=round(worst, 4), limit=SEEN_MM, sense="at least", unit="mm",
                text=f"Turned {degrees} about {'xyz'[axis]} the part lies on itself but for {worst:.2g} mm{words}: it "
                "may be put in the wrong way round and nobody sees it.",
                change="make it fully symmetric, or make the difference one that is seen, such as a chamfer at one "
                "corner",
            )
        )  # fmt: skip
    return out


def _turn(axis: int, angle_rad: float) -> np.ndarray:
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    out = np.eye(3)
    i, j = (axis + 1) % 3, (axis + 2) % 3
    out[i, i], out[i, j], out[j, i], out[j, j] = c, -s, s, c
    return out
