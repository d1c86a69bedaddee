"""The target: the solid to machine to, before coat, as a mesh whose faces are moved inward by their offsets."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

CUSP_MM = 0.01
"""Height of the ridges that may stand between two lines of a ball, where nobody says. Common practice, no source."""


class Target(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The mesh every cutting stage works to, in the part frame.

    vertices_mm (v, 3) float64, triangles (t, 3) int32 seen from outside, triangle_face (t,) int32 into face_ids.
    face_offset_mm (f,): how far each face lies inside the finished solid, mm, >= 0 inward.
    volume_mm3: of this mesh.  mesh_is_closed: as read; an open mesh can be drawn but not proved.
    cusp_mm: height that may stand between two lines of a ball on sloping and curved faces.
    """

    vertices_mm: NDArray[np.float64]
    triangles: NDArray[np.int32]
    triangle_face: NDArray[np.int32]
    face_ids: tuple[str, ...]
    face_offset_mm: NDArray[np.float64]
    volume_mm3: float
    mesh_deflection_mm: float
    mesh_is_closed: bool
    cusp_mm: float = CUSP_MM


class AsBought(msgspec.Struct, frozen=True, kw_only=True):
    """Sides of the part that stay as bar or saw left them, as "-z", and the faces that lie in them.

    low_mm, high_mm: along x, y and z what the sawn piece may measure where both sides stay; None where nobody said.
    half_mm: likewise half the width of the narrowest written size that hangs on one of both sides; None for none.
    edge_mm: what edges are broken by at the most, None where nobody said.
    """

    sides: tuple[str, ...] = ()
    face_ids: tuple[str, ...] = ()
    low_mm: tuple[float | None, float | None, float | None] = (None, None, None)
    high_mm: tuple[float | None, float | None, float | None] = (None, None, None)
    half_mm: tuple[float | None, float | None, float | None] = (None, None, None)
    edge_mm: float | None = None

    def has(self, axis: int) -> tuple[bool, bool]:
        """Whether the low and the high side along an axis stay."""
        return f"-{'xyz'[axis]}" in self.sides, f"+{'xyz'[axis]}" in self.sides


NOTHING_BOUGHT = AsBought()
