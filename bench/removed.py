"""What one sub-step took off: the solids before and after, the body between them and which of its faces are walls.

Every volume here is the CAD kernel's, exact for the surfaces of the file. A solid that a sub-step leaves as it was is
known again by its volume and its box. A face of the removed body is a *wall* when metal lies behind it afterwards,
and *open* when the solid ended there before.
"""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_State

from proveout.model.solid import Surface
from proveout.solids.edges import FoundEdge, find_edges
from proveout.solids.faces import surface_of
from proveout.solids.measure import exact_box, volume_of
from proveout.solids.mesh import Mesh, mesh_of
from proveout.solids.shapes import sub_shapes

DEFLECTION_MM, COARSE_MM = 0.0005, 0.005
AROUND_RATIO, AROUND_MM = 1.1, 1.0  # of the body's longest side: so far about it the solids are meshed finely
BEHIND_MM = 0.01  # how far behind a face it is asked whether there is metal
BALANCE_RATIO = 1e-4  # the body against the difference of the volumes: a tenth of what the moves may miss
NOTHING_RATIO = 1e-9  # of the solid before


@dataclass(frozen=True, kw_only=True, eq=False)
class BodyFace:
    """A face of the removed body. normal: (3,) out of the body in the middle of its largest triangle.

    triangles_mm: (t, 3, 3) corners.   inward: the body lies outside of the face's curvature, as round a boss.
    """

    surface: Surface
    inward: bool
    wall: bool
    normal: np.ndarray
    triangles_mm: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Removed:
    """The body that a sub-step took off, and the metal about it as meshes.

    volume_mm3: exact.   before, after: the solid that the sub-step changed, as far about the body as its longest side.
    whole_after: all of it, coarser.   obstacles: the file's other solids, coarser too.   edges: of the body; their
    faces are places in `faces`.   overlapped: another solid of the file lies in the body; it is no obstacle.
    """

    shape: Any
    volume_mm3: float
    faces: tuple[BodyFace, ...]
    edges: tuple[FoundEdge, ...]
    before: Mesh
    after: tuple[Mesh, ...]
    whole_after: tuple[Mesh, ...]
    obstacles: tuple[Mesh, ...]
    overlapped: bool

    @property
    def box_mm(self) -> tuple[np.ndarray, np.ndarray]:
        """Lowest and highest corner of the body."""
        points = np.concatenate([face.triangles_mm.reshape(-1, 3) for face in self.faces])
        return points.min(axis=0), points.max(axis=0)

    def holds(self, point: np.ndarray) -> bool:
        """Whether a point lies within the body."""
        return is_inside(self.shape, point)


@dataclass(frozen=True)
class NotACut:
    """Why no body can be named that the sub-step took off."""

    reason: str


def stock_box(after: Any) -> Any:
    """The block that a solid was cut from when it still reaches all six sides: its box."""
    low, high = exact_box(after)
    return BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Solid()


def is_inside(shape: Any, point: np.ndarray) -> bool:
    """Whether a point lies within one of the solids of a shape."""
    return any(
        BRepClass3d_SolidClassifier(solid, gp_Pnt(*(float(x) for x in point)), 1e-7).State() == TopAbs_State.TopAbs_IN
        for solid in sub_shapes(shape, "solid")
    )


def mesh_within(shape: Any, deflection_mm: float) -> Mesh:
    """A mesh within so much of the shape."""
    return mesh_of(shape, sub_shapes(shape, "face"), deflection_mm=deflection_mm)


def _about(body: Any) -> Any:
    """A block that reaches a little more than the body's longest side beyond the body."""
    low, high = (np.array(corner) for corner in exact_box(body))
    more = AROUND_RATIO * float((high - low).max()) + AROUND_MM
    return BRepPrimAPI_MakeBox(gp_Pnt(*(low - more).tolist()), gp_Pnt(*(high + more).tolist())).Solid()


def _known_by(shape: Any) -> tuple[object, ...]:
    return (round(volume_of(shape), 4), exact_box(shape))


def removed_between(before: Sequence[Any], after: Sequence[Any]) -> Removed | NotACut:
    """The body that a sub-step took off, from the solids before and after it, or why there is none."""
    old_keys, new_keys = [_known_by(s) for s in before], [_known_by(s) for s in after]
    old = [s for s, key in zip(before, old_keys, strict=True) if key not in new_keys]
    new = [s for s, key in zip(after, new_keys, strict=True) if key not in old_keys]
    same = [s for s, key in zip(after, new_keys, strict=True) if key in old_keys]
    if not old and not new:
        return NotACut("the file takes nothing off: the solids are the same before and after")
    if len(old) != 1:
        return NotACut(f"{len(old)} solids of the file change at once")
    if not new:
        return NotACut("a whole solid of the file vanishes")
    difference = volume_of(old[0]) - sum(volume_of(s) for s in new)
    body = old[0]
    for solid in new:
        body = BRepAlgoAPI_Cut(body, solid).Shape()
    volume = volume_of(body)
    if volume <= NOTHING_RATIO * volume_of(old[0]) or abs(volume - difference) > BALANCE_RATIO * volume:
        return NotACut(
            f"the file does not balance: {volume:.1f} mm3 of the solid are gone, its volume fell by {difference:.1f}"
        )
    overlapped = [volume_of(BRepAlgoAPI_Common(body, s).Shape()) > BALANCE_RATIO * volume for s in same]
    about = _about(body)
    near = [BRepAlgoAPI_Common(s, about).Shape() for s in (old[0], *new)]
    return Removed(
        shape=body, volume_mm3=volume, faces=_faces(body, new), before=mesh_within(near[0], DEFLECTION_MM),
        edges=tuple(find_edges(body, sub_shapes(body, "face"), deflection_mm=0.01)),
        after=tuple(mesh_within(s, DEFLECTION_MM) for s in near[1:]), overlapped=any(overlapped),
        whole_after=tuple(mesh_within(s, COARSE_MM) for s in new),
        obstacles=tuple(mesh_within(s, COARSE_MM) for s, over in zip(same, overlapped, strict=True) if not over),
    )  # fmt: skip


def _faces(body: Any, after: Sequence[Any]) -> tuple[BodyFace, ...]:
    mesh = mesh_within(body, DEFLECTION_MM)
    corners = mesh.vertices_mm[mesh.triangles]
    crosses = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    sizes = np.linalg.norm(crosses, axis=1)
    found = []
    for place, face in enumerate(sub_shapes(body, "face")):
        own = np.flatnonzero(mesh.triangle_face == place)
        surface, inward, _ = surface_of(face)
        largest = own[np.argmax(sizes[own])]
        normal = crosses[largest] / sizes[largest]
        behind = corners[largest].mean(axis=0) + BEHIND_MM * normal
        found.append(
            BodyFace(
                surface=surface, inward=inward, wall=any(is_inside(s, behind) for s in after), normal=normal,
                triangles_mm=corners[own],
            )
        )  # fmt: skip
    return tuple(found)
