"""Which way the flat faces of a target look."""

from __future__ import annotations

from collections.abc import Collection

from proveout.geometry.facets import facets_of
from proveout.model.target import Target
from proveout.model.work import Vector

DIGITS = 9


def flat_normals(target: Target, face_ids: Collection[str]) -> dict[str, Vector]:
    """Outward normals of those of the faces that are flat, in the part's frame."""
    if not face_ids:
        return {}
    facets = facets_of(
        points_mm=target.vertices_mm, triangles=target.triangles, triangle_face=target.triangle_face,
        count=len(target.face_ids),
    )  # fmt: skip
    found: dict[str, Vector] = {}
    for face_id, facet in zip(target.face_ids, facets, strict=True):
        if face_id in face_ids and facet.is_flat and len(facet.rows):
            x, y, z = (round(float(v), DIGITS) + 0.0 for v in facet.normal)
            found[face_id] = (x, y, z)
    return found
