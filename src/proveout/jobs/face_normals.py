"""Which way the flat faces of a target look."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from proveout.model.target import Target
from proveout.model.work import Vector

FLAT_COS = 1.0 - 1e-9
DIGITS = 9


def flat_normals(target: Target, face_ids: Collection[str]) -> dict[str, Vector]:
    """Outward normals of those of the faces whose triangles all look the same way, in the part's frame."""
    found: dict[str, Vector] = {}
    if not face_ids:
        return found
    corners = target.vertices_mm[target.triangles]
    for index, face_id in enumerate(target.face_ids):
        if face_id not in face_ids:
            continue
        own = corners[target.triangle_face == index]
        areas = np.cross(own[:, 1] - own[:, 0], own[:, 2] - own[:, 0])
        sizes = np.linalg.norm(areas, axis=1)
        areas, sizes = areas[sizes > 0.0], sizes[sizes > 0.0]
        total = areas.sum(axis=0)
        if not len(areas) or not np.linalg.norm(total) > 0.0:
            continue
        normal = total / np.linalg.norm(total)
        if bool(np.all(areas @ normal >= FLAT_COS * sizes)):
            x, y, z = (round(float(v), DIGITS) + 0.0 for v in normal)
            found[face_id] = (x, y, z)
    return found
