"""A ring and a box with their numbers, coats and jobs, for the tests of finishing."""

from __future__ import annotations

import math
from itertools import product

import numpy as np

from proveout.geometry.mesh import mesh_volume_mm3
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Job, Order, PartText, Size
from proveout.model.plan import Window
from proveout.model.proof import Decision, Proof
from proveout.model.solid import Face, Point, Solid, Surface
from proveout.model.work import FaceNote, Hole, HoleStep, Survey
from proveout.stages.finishing.decide import FinishingResult, decide


def coat(share_low: float = 0.45, share_high: float = 0.55) -> Coat:
    return Coat(
        process="hard coat",
        thickness_mm=Fact(low=0.04, nominal=0.05, high=0.06, unit="mm", source="job", strength="owner's guess"),
        build_up_ratio=Fact(
            low=share_low, nominal=0.5, high=share_high, unit="ratio", source="job", strength="common practice"
        ),
        etch_mm=exact_fact(0.0, "mm", "job", "owner's guess"),
    )


def job_of(
    *sizes: Size, coat: Coat | None = None, masked: tuple[int, ...] = (), general: str | None = "m", edge: float = 0.8
) -> Job:
    return Job(
        part=PartText(number="EX-1", name="example", revision="A", step="x.step"),
        order=Order(quantity=10),
        coat=coat,
        sizes=sizes,
        masked_balloons=masked,
        show_faces=(),
        general_tolerance=general,  # type: ignore[arg-type]
        edge_break_mm=edge,
        other_finishers=(),
    )


def face(index: int, id: str, surface: Surface, area: float, *, normal: Point, inward: bool = False) -> Face:
    return Face(
        id=id, index=index, surface=surface, area_mm2=area, centroid_mm=surface.origin_mm, normal=normal,
        inward=inward, low_mm=(0.0, 0.0, 0.0), high_mm=(0.0, 0.0, 0.0), along_low_mm=0.0, along_high_mm=8.0,
        turn_rad=0.0, surface_group=index, edge_indices=(), brep_index=index,
    )  # fmt: skip


def solid_of(faces: list[Face], vertices: np.ndarray, triangles: np.ndarray, owner: np.ndarray) -> Solid:
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    return Solid(
        name="x", faces=tuple(faces), edges=(), vertices_mm=vertices, triangles=triangles, triangle_face=owner,
        volume_mm3=mesh_volume_mm3(vertices, triangles), area_mm2=sum(f.area_mm2 for f in faces),
        low_mm=tuple(low), high_mm=tuple(high), brep=b"", digest="0", unit_declared="mm", edge_tolerance_max_mm=0.0,
        mesh_deflection_mm=0.01, mesh_is_closed=True, is_valid=True,
    )  # fmt: skip


def ring_part() -> tuple[Solid, Survey]:
    """A ring, bore 20 mm, outside 30 mm, 8 mm high: balloon 1 the bore, 2 the bottom, 3 the outside, 4 the top."""
    count = 72
    turn = 2.0 * math.pi * np.arange(count) / count
    rings = [(10.0, 0.0), (10.0, 8.0), (15.0, 0.0), (15.0, 8.0)]
    vertices = np.concatenate(
        [np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(count, z)]) for r, z in rings]
    )
    triangles, owner = [], []
    for i in range(count):
        j = (i + 1) % count
        corner = [(k * count + i, k * count + j) for k in range(4)]
        (ib, jb), (it, jt), (ob, pb), (ot, pt) = corner
        for index, (a, b, c, d) in enumerate([(ib, it, jt, jb), (ib, jb, pb, ob), (ob, pb, pt, ot), (it, ot, pt, jt)]):
            triangles += [(a, b, c), (a, c, d)]
            owner += [index, index]
    zero, up = (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    ends = math.pi * (15.0**2 - 10.0**2)
    faces = [
        face(0, "bore", Surface(kind="cylinder", origin_mm=zero, axis=up, radius_mm=10.0), math.pi * 20.0 * 8.0,
             normal=(-1.0, 0.0, 0.0), inward=True),
        face(1, "bottom", Surface(kind="plane", origin_mm=zero, axis=(0.0, 0.0, -1.0)), ends, normal=(0.0, 0.0, -1.0)),
        face(2, "outside", Surface(kind="cylinder", origin_mm=zero, axis=up, radius_mm=15.0), math.pi * 30.0 * 8.0,
             normal=(1.0, 0.0, 0.0)),
        face(3, "top", Surface(kind="plane", origin_mm=(0.0, 0.0, 8.0), axis=up), ends, normal=up),
    ]  # fmt: skip
    solid = solid_of(faces, vertices, np.array(triangles, np.int32), np.array(owner, np.int32))
    step = HoleStep(kind="cylinder", diameter_mm=20.0, depth_low_mm=0.0, depth_high_mm=8.0, face_ids=("bore",))
    hole = Hole(
        id="hole 20", balloon=1, entry_mm=(0.0, 0.0, 8.0), outward=up, steps=(step,), is_through=True, bottom="open"
    )
    notes = [
        FaceNote(face_id=f.id, index=f.index, balloon=f.index + 1, kind=f.surface.kind, area_mm2=f.area_mm2)
        for f in faces
    ]
    return solid, Survey(faces=tuple(notes), holes=(hole,), directions=(), access=(), unreached=())


def box_part() -> tuple[Solid, Survey]:
    """A 10 x 20 x 30 box at the origin, faces -x +x -y +y -z +z under balloons 1 to 6."""
    size = (10.0, 20.0, 30.0)
    vertices = np.array([[size[0] * x, size[1] * y, size[2] * z] for x, y, z in product((0, 1), repeat=3)], float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))], np.int32)
    owner = np.repeat(np.arange(6, dtype=np.int32), 2)
    faces = []
    for index in range(6):
        axis, sign = index // 2, -1.0 if index % 2 == 0 else 1.0
        normal = tuple(sign if k == axis else 0.0 for k in range(3))
        origin = tuple(size[k] if k == axis and sign > 0 else 0.0 for k in range(3))
        area = math.prod(size) / size[axis]
        name = f"{'-' if sign < 0 else '+'}{'xyz'[axis]}"
        surface = Surface(kind="plane", origin_mm=origin, axis=normal)  # type: ignore[arg-type]
        faces.append(face(index, name, surface, area, normal=normal))  # type: ignore[arg-type]
    notes = [
        FaceNote(face_id=f.id, index=f.index, balloon=f.index + 1, kind="plane", area_mm2=f.area_mm2) for f in faces
    ]
    survey = Survey(faces=tuple(notes), holes=(), directions=(), access=(), unreached=())
    return solid_of(faces, vertices, triangles, owner), survey


def bore(*, text: str = "H8", **more: object) -> Decision[FinishingResult]:
    solid, survey = ring_part()
    return decide(solid=solid, survey=survey, job=job_of(Size(balloon=1, text=text), **more))  # type: ignore[arg-type]


def proof(decision: Decision[FinishingResult], id: str) -> Proof:
    return next(p for p in decision.proofs if p.id == id)


def only_window(decision: Decision[FinishingResult]) -> Window:
    (window,) = decision.value.finishing.windows
    return window
