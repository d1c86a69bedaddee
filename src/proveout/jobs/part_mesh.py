"""The finished part as a mesh with a name for every face, and what the plan leaves on each."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.jobs.design import read_part
from proveout.jobs.store import Store
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.quantities.canonical import digest_of

SMOOTH_COS = 0.985
"""Faces that meet at less than 10 degrees have no edge drawn between them."""


class PartMesh(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """vertices_mm (v, 3), part frame, of one face each; triangles (t, 3); face (v,) of each vertex; edges (e, 2).

    face_ids: in the order of the numbers in `face`.   centres_mm: (f, 3) a place on each face.
    """

    vertices_mm: NDArray[np.float64]
    triangles: NDArray[np.int32]
    face: NDArray[np.int32]
    edges: NDArray[np.int32]
    face_ids: tuple[str, ...]
    centres_mm: NDArray[np.float64]


def solid_of(plan: Plan, step: Path, job: Job | None, *, store: Store, run: Run) -> Solid:
    """The part's exact solid, as the plan has read it."""
    return read_part(
        step, digest=plan.inputs.get("step", digest_of(step.read_bytes().hex())),
        solid_name="" if job is None else job.part.solid, store=store, run=run, named=plan.part.step,
    ).solid  # fmt: skip


def part_mesh(solid: Solid) -> PartMesh:
    """The solid's own mesh, parted by faces; edges lie where two faces meet at an angle.

    Centres lie on the triangle of a face that holds half of its area before it, so that a number can be pinned there.
    """
    vertices, triangles, face = solid.vertices_mm, solid.triangles, solid.triangle_face
    pairs, new_of = np.unique(
        face.repeat(3).astype(np.int64) * (len(vertices) + 1) + triangles.ravel(), return_inverse=True
    )  # fmt: skip
    owner, old = np.divmod(pairs, len(vertices) + 1)
    parted = new_of.reshape(-1, 3).astype(np.int32)
    p, q, r = (vertices[triangles[:, n]] for n in range(3))
    normals = np.cross(q - p, r - p)
    area = np.linalg.norm(normals, axis=1)
    normals = normals / np.where(area > 0.0, area, 1.0)[:, None]
    centres = np.zeros((len(solid.faces), 3))
    for index in range(len(solid.faces)):
        rows = np.flatnonzero(face == index)
        if len(rows):
            at = rows[min(int(np.searchsorted(np.cumsum(area[rows]), area[rows].sum() / 2.0)), len(rows) - 1)]
            centres[index] = (p[at] + q[at] + r[at]) / 3.0
    return PartMesh(
        vertices_mm=vertices[old], triangles=parted, face=owner.astype(np.int32),
        edges=_borders(triangles, parted, face, normals, len(vertices)), face_ids=tuple(f.id for f in solid.faces),
        centres_mm=centres,
    )  # fmt: skip


def _borders(
    triangles: NDArray[np.int32], parted: NDArray[np.int32], face: NDArray[np.int32], normals: NDArray[np.float64],
    count: int,
) -> NDArray[np.int32]:  # fmt: skip
    """Edges of the mesh between two faces, or within one that has a crease, where the normals differ."""
    whole = triangles.astype(np.int64)
    ends = np.concatenate([whole[:, [0, 1]], whole[:, [1, 2]], whole[:, [2, 0]]])
    shown = np.concatenate([parted[:, [0, 1]], parted[:, [1, 2]], parted[:, [2, 0]]])
    owner = np.tile(np.arange(len(triangles)), 3)
    code = ends.min(axis=1) * count + ends.max(axis=1)
    order = np.argsort(code, kind="stable")
    same = np.flatnonzero(code[order][1:] == code[order][:-1])
    one, two = owner[order[same]], owner[order[same + 1]]
    turn = (normals[one] * normals[two]).sum(axis=1)
    bent = np.where(face[one] != face[two], turn < SMOOTH_COS, turn < 0.6)
    return np.asarray(shown[order[same[bent]]], dtype=np.int32)
