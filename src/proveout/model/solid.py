"""The finished solid as it was read: faces, edges, a welded mesh and exact measures, without any kernel type."""

from __future__ import annotations

from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.pmi import Pmi

SIDES = ("+x", "-x", "+y", "-y", "+z", "-z")
ON_SIDE_MM = 0.01

Point = tuple[float, float, float]
SurfaceKind = Literal["plane", "cylinder", "cone", "sphere", "torus", "other"]
EdgeKind = Literal["line", "circle", "other"]
Convexity = Literal["convex", "concave", "smooth"]


class Surface(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The unbounded surface that carries a face, in a form that does not depend on how the file wrote it.

    plane: axis is the outward normal of the face, origin_mm the foot of the part origin on the plane.
    cylinder: axis is the direction whose last non-zero component of (x, y, z) is positive; origin_mm the axis
    point nearest to the part origin.
    cone: origin_mm is the apex, axis points to growing radius, half_angle_rad in (0, pi/2), radius_mm 0.
    sphere: origin_mm the centre, axis (0, 0, 1).  torus: origin_mm the centre, radius_mm the large radius,
    minor_radius_mm the tube's, axis signed like the cylinder's.  other: all zero, axis (0, 0, 1).
    """

    kind: SurfaceKind
    origin_mm: Point
    axis: Point
    radius_mm: float = 0.0
    half_angle_rad: float = 0.0
    minor_radius_mm: float = 0.0


class Face(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One face of the solid, addressed by kind, size and place.

    id: stable text such as "plane +z 18.000 #a1b2c3"; the same under another export of the same solid.
    index: place in Solid.faces and value in Solid.triangle_face; faces are sorted by id.
    normal: outward unit normal at (or, for a closed face, nearest on the surface to) the centroid.
    inward: the material lies on the outside of the curvature (hole wall, inside corner, dish); False for planes.
    low_mm, high_mm: box of the face, from its mesh.
    along_low_mm, along_high_mm: extent of the face along surface.axis measured from surface.origin_mm.
    turn_rad: angle that the face covers about its axis, 2 pi for a closed hole; 0 for plane and other.
    surface_group: index of the first face of the chain of touching faces that lie on one and the same surface
    (the two halves of a split hole share it); its own index when it stands alone.
    edge_indices: places in Solid.edges, ascending.
    brep_index: 0-based order of the face in Solid.brep.
    """

    id: str
    index: int
    surface: Surface
    area_mm2: float
    centroid_mm: Point
    normal: Point
    inward: bool
    low_mm: Point
    high_mm: Point
    along_low_mm: float
    along_high_mm: float
    turn_rad: float
    surface_group: int
    edge_indices: tuple[int, ...]
    brep_index: int


class Edge(msgspec.Struct, frozen=True, kw_only=True, eq=False, forbid_unknown_fields=True):
    """One edge between two faces; seams of a closed face and edges without length are left out.

    faces: the two face indices, ascending (both the same when a face meets itself in a crease).
    convexity: convex when the material fills less than half the turn (an outside corner), concave when more.
    turn_rad: angle between the two outward normals at the sample point that decided convexity, 0 when smooth.
    points_mm: (k, 3) float64 along the edge, a straight edge has its two ends, a closed one repeats its start.
    radius_mm, centre_mm, axis: of a circle; radius 0 otherwise.
    """

    id: str
    index: int
    faces: tuple[int, int]
    kind: EdgeKind
    length_mm: float
    convexity: Convexity
    turn_rad: float
    points_mm: NDArray[np.float64]
    radius_mm: float = 0.0
    centre_mm: Point = (0.0, 0.0, 0.0)
    axis: Point = (0.0, 0.0, 1.0)


class Solid(msgspec.Struct, frozen=True, kw_only=True, eq=False, forbid_unknown_fields=True):
    """One solid in mm, in the frame of its file (the part frame). Compare two by digest.

    vertices_mm (v, 3) float64, triangles (t, 3) int32 counter-clockwise seen from outside, triangle_face (t,) int32:
    mesh with shared vertices, all three read-only; mesh_is_closed: every edge of it is used once in each sense.
    mesh_deflection_mm: largest distance asked of the mesher between mesh and surface, edge_tolerance_max_mm comes on
    top: the widest gap that the file itself allows along an edge.
    low_mm, high_mm: exact box of the solid alone.   volume_mm3, area_mm2: exact, not of the mesh.
    brep: the exact solid in the kernel's own binary form, for work in a child process.
    digest: sha256 of the geometry (places of faces and edges, areas, centroids, volume); not of the mesh or the name.
    The ids survive another export of the same solid, the digest need not.
    unit_declared: length unit named in the file ("mm", "inch", "m", ...), "" when it names none.
    is_valid: the kernel's own check of the solid found nothing.
    """

    name: str
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    vertices_mm: NDArray[np.float64]
    triangles: NDArray[np.int32]
    triangle_face: NDArray[np.int32]
    volume_mm3: float
    area_mm2: float
    low_mm: Point
    high_mm: Point
    brep: bytes
    digest: str
    unit_declared: str
    edge_tolerance_max_mm: float
    mesh_deflection_mm: float
    mesh_is_closed: bool
    is_valid: bool

    @property
    def size_mm(self) -> Point:
        """Lengths of the box along x, y and z."""
        low, high = self.low_mm, self.high_mm
        return (high[0] - low[0], high[1] - low[1], high[2] - low[2])

    def face(self, face_id: str) -> Face:
        """The face of that id; KeyError when there is none."""
        for face in self.faces:
            if face.id == face_id:
                return face
        raise KeyError(face_id)

    def faces_on(self, side: str) -> tuple[str, ...]:
        """Ids of the flat faces that lie in one side of the box, as "-z"; none where nothing flat is outermost."""
        axis, sign = "xyz".index(side[1]), 1.0 if side[0] == "+" else -1.0
        edge = (self.high_mm if sign > 0.0 else self.low_mm)[axis]
        return tuple(
            face.id
            for face in self.faces
            if face.surface.kind == "plane"
            and sign * face.normal[axis] > 1.0 - 1e-9
            and abs(face.centroid_mm[axis] - edge) <= ON_SIDE_MM
        )


class OtherSolid(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A solid of the same file that was not taken: enough to name it and ask."""

    name: str
    low_mm: Point
    high_mm: Point
    volume_mm3: float


class ReadSolid(msgspec.Struct, frozen=True, kw_only=True, eq=False, forbid_unknown_fields=True):
    """What reading a file gave: the solid taken, the others by name (largest first), and warnings to show the owner.

    Each warning is one sentence.  unit_is_doubtful: the size is implausible, so the unit is to be asked about.
    pmi: what the file writes about faces of the solid; None when it writes nothing.
    """

    solid: Solid
    other_solids: tuple[OtherSolid, ...]
    warnings: tuple[str, ...]
    unit_is_doubtful: bool
    pmi: Pmi | None = None


class Drawing(msgspec.Struct, frozen=True, kw_only=True, eq=False, forbid_unknown_fields=True):
    """A parallel projection with hidden lines found: polylines (k, 2) float64 in mm, x to the right, y up.

    A part point p lies at (dot(p, right), dot(p, up)): no shift, the part origin is the drawing's origin.
    right = cross(view_direction, up), and up as made square to the view.
    """

    view_direction: Point
    up: Point
    visible_mm: tuple[NDArray[np.float64], ...]
    hidden_mm: tuple[NDArray[np.float64], ...]
