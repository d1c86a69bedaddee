"""The part's mesh as short text for a page: whole numbers of 16 bits, triangles in runs of one face each."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.target import Target

MOST_TRIANGLES = 90_000  # about 1.9 MB of page
STEPS = 65534


def joined(vertices_mm: NDArray[np.float64], triangles: NDArray[np.int32], *, pitch_mm: float) -> tuple[Any, Any, Any]:
    """Vertices within one cell of a grid become one; triangles that fall flat go.

    Returns the vertices (v, 3), the triangles (t, 3) and the places (t,) that the kept triangles had before.
    """
    cell = np.floor(vertices_mm / pitch_mm).astype(np.int64)
    _, first, new_of = np.unique(cell, axis=0, return_index=True, return_inverse=True)
    turned = new_of.reshape(-1)[triangles]
    flat = (turned[:, 0] == turned[:, 1]) | (turned[:, 1] == turned[:, 2]) | (turned[:, 2] == turned[:, 0])
    kept = np.flatnonzero(~flat)
    return vertices_mm[first], turned[kept].astype(np.int32), kept


def _packed(array: NDArray[Any], kind: str) -> str:
    return base64.b64encode(np.ascontiguousarray(array.astype(kind)).tobytes()).decode("ascii")


def mesh_data(target: Target, *, most_triangles: int = MOST_TRIANGLES) -> dict[str, Any]:
    """Mesh of the target for the page's own drawing program.

    Keys: step_mm and low_mm (vertex = low + whole number * step), vertices (int16, little-endian, base64), wide (are
    triangle corners 32 bits), triangles, runs: how many triangles each face of target.face_ids has, in order.
    """
    vertices, triangles, face = target.vertices_mm, target.triangles, target.triangle_face
    size = float((vertices.max(axis=0) - vertices.min(axis=0)).max()) if len(vertices) else 1.0
    pitch = size / 1500.0
    while len(triangles) > most_triangles:
        vertices, triangles, kept = joined(vertices, triangles, pitch_mm=pitch)
        face = face[kept]
        pitch *= 1.4
    order = np.argsort(face, kind="stable")
    runs = np.bincount(face, minlength=len(target.face_ids))
    low = vertices.min(axis=0)
    step = size / STEPS
    whole = np.round((vertices - low) / step) - 32767
    wide = len(vertices) > 65535
    return {
        "step_mm": step,
        "low_mm": [float(v) for v in low],
        "vertices": _packed(whole, "<i2"),
        "wide": wide,
        "triangles": _packed(triangles[order], "<u4" if wide else "<u2"),
        "runs": [int(n) for n in runs],
    }
