"""A mesh of the clamp jaw and slow, obvious hidden-line drawings of it, so that the sheets can be tried alone."""

from __future__ import annotations

import itertools
import math
from typing import Any

import fixture_names
import fixture_plan as fixture
import manifold3d
import numpy as np

from proveout.model.plan import Plan
from proveout.model.solid import Drawing
from proveout.model.target import Target
from proveout.sheets.picture import ClampingDrawings, View, end_view, operator_view


def jaw_target() -> Target:
    """The jaw as a closed mesh with its twelve faces named; edges of 0.8 mm are left sharp."""
    top_y = 22.0 - 18.0 * math.tan(math.radians(20.0))
    profile = manifold3d.CrossSection([np.array([[0.0, 0.0], [22.0, 0.0], [top_y, 18.0], [0.0, 18.0]])])
    body = manifold3d.Manifold.extrude(profile, 90.0).transform(
        np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    )
    manifold3d.set_circular_segments(32)

    def slot(x: float, length: float, width: float, low: float) -> Any:
        ends = [
            manifold3d.CrossSection.circle(width / 2).translate((x + s * (length - width) / 2, 9.0)) for s in (-1, 1)
        ]
        return manifold3d.Manifold.extrude(
            ends[0] + ends[1] + manifold3d.CrossSection.batch_hull(ends), 30.0
        ).translate((0, 0, low))

    for x in (22.0, 67.0):
        body = body - slot(x, 14.0, 6.6, -1.0) - slot(x, 18.4, 11.0, 11.5)
    hole = manifold3d.Manifold.cylinder(13.0, 2.5).rotate((-90, 0, 0)).translate((45.5, -1.0, 9.0))
    mesh = (body - hole).to_mesh()
    vertices = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.asarray(mesh.tri_verts, dtype=np.int32)
    corner = vertices[triangles]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    middle = corner.mean(axis=1)
    face = np.full(len(triangles), fixture.FACES.index(fixture.ROUND), dtype=np.int32)
    planes = {
        fixture.TOP: (normal[:, 2] > 0.99) & (middle[:, 2] > 17.9),
        fixture_names.BOTTOM: normal[:, 2] < -0.99,
        fixture.BACK: (normal[:, 1] < -0.99) & (middle[:, 1] < 0.01),
        fixture_names.LEFT: (normal[:, 0] < -0.99) & (middle[:, 0] < 0.01),
        fixture_names.RIGHT: (normal[:, 0] > 0.99) & (middle[:, 0] > 89.9),
        fixture.FLANK: (normal[:, 1] > 0.9) & (normal[:, 2] > 0.3),
    }
    inside = ~np.any(list(planes.values()), axis=0)
    deep = inside & (middle[:, 2] < 11.4) & (np.abs(normal[:, 2]) < 0.5)
    drilled = inside & (np.abs(middle[:, 0] - 45.5) < 3.0)
    for name, chosen in (
        (fixture.SINK_A, inside & (middle[:, 0] < 44)),
        (fixture.SINK_B, inside & (middle[:, 0] > 47)),
        (fixture.SLOT_A, deep & (middle[:, 0] < 44)),
        (fixture.SLOT_B, deep & (middle[:, 0] > 47)),
        (fixture.TAPPED, drilled),
        *planes.items(),
    ):
        face[chosen] = fixture.FACES.index(name)
    return Target(
        vertices_mm=vertices,
        triangles=triangles,
        triangle_face=face,
        face_ids=fixture.FACES,
        face_offset_mm=np.full(len(fixture.FACES), 0.025),
        volume_mm3=float((body - hole).volume()),
        mesh_deflection_mm=0.03,
        mesh_is_closed=True,
    )


def _creases(target: Target) -> np.ndarray:
    """Edges (n, 2, 3) where two triangles meet at more than 25 degrees."""
    corner = target.vertices_mm[target.triangles]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    met: dict[tuple[int, int], list[int]] = {}
    for index, (a, b, c) in enumerate(target.triangles.tolist()):
        for p, q in ((a, b), (b, c), (c, a)):
            met.setdefault((min(p, q), max(p, q)), []).append(index)
    sharp = [pair for pair, (i, j) in sorted(met.items()) if normal[i] @ normal[j] < math.cos(math.radians(25.0))]
    return target.vertices_mm[np.array(sharp)]


def drawing(target: Target, view: View, *, step_mm: float = 1.0) -> Drawing:
    """Creases cut into short pieces, each hidden when a triangle lies between it and the eye."""
    eye = np.array(view.towards_viewer)
    corner = target.vertices_mm[target.triangles]
    a, u, v = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    h = np.cross(eye, v)
    det = np.einsum("ij,ij->i", u, h)
    usable = np.abs(det) > 1e-9
    a, u, v, h, det = a[usable], u[usable], v[usable], h[usable], det[usable]

    def is_hidden(point: np.ndarray) -> bool:
        s = point + 0.02 * eye - a
        p = np.einsum("ij,ij->i", s, h) / det
        q = np.cross(s, u)
        r = q @ eye / det
        t = np.einsum("ij,ij->i", v, q) / det
        return bool(np.any((p > 1e-6) & (r > 1e-6) & (p + r < 1 - 1e-6) & (t > 0.05)))

    seen, hidden = [], []
    for start, end in _creases(target):
        pieces = max(1, math.ceil(float(np.linalg.norm(end - start)) / step_mm))
        at = np.linspace(start, end, pieces + 1)
        states = [is_hidden((p + q) / 2) for p, q in itertools.pairwise(at)]
        first = 0
        for i in range(1, pieces + 1):
            if i == pieces or states[i] != states[first]:
                (hidden if states[first] else seen).append(view.flat(at[[first, i]]))
                first = i
    away = (-view.towards_viewer[0], -view.towards_viewer[1], -view.towards_viewer[2])
    return Drawing(view_direction=away, up=view.up, visible_mm=tuple(seen), hidden_mm=tuple(hidden))


def drawings(plan: Plan) -> dict[str, ClampingDrawings]:
    """Both drawings of every clamping."""
    target = jaw_target()
    return {
        clamping.id: ClampingDrawings(
            operator=drawing(target, operator_view(clamping)), end=drawing(target, end_view(clamping))
        )
        for clamping in plan.clampings
    }
