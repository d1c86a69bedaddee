"""Rigid frames: `a_from_b` takes coordinates in b to coordinates in a."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]


class Frame(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A right-handed rigid frame seen from its parent.

    x, y, z: unit axes of this frame in the parent's coordinates.  origin_mm: its origin in the parent, mm.
    """

    x: tuple[float, float, float]
    y: tuple[float, float, float]
    z: tuple[float, float, float]
    origin_mm: tuple[float, float, float]

    def __post_init__(self) -> None:
        turn = np.array([self.x, self.y, self.z])
        if not np.allclose(turn @ turn.T, np.eye(3), atol=1e-9) or np.linalg.det(turn) < 0.0:
            raise OutOfRange("A frame needs three right-handed unit axes", value=f"{self.x} {self.y} {self.z}")

    @property
    def turn(self) -> Array:
        """(3, 3) rows are this frame's axes in the parent: multiplies parent directions into this frame."""
        return np.array([self.x, self.y, self.z], dtype=np.float64)

    def into(self, points_in_parent_mm: Any) -> Array:
        """Points (n, 3) of the parent in this frame, mm."""
        points = np.asarray(points_in_parent_mm, dtype=np.float64)
        return (points - np.array(self.origin_mm)) @ self.turn.T

    def out_of(self, points_in_frame_mm: Any) -> Array:
        """Points (n, 3) of this frame in the parent, mm."""
        points = np.asarray(points_in_frame_mm, dtype=np.float64)
        return points @ self.turn + np.array(self.origin_mm)


def clean(value: float) -> float:
    """Minus zero and dust below 1e-12 become zero, so that equal geometry has equal bytes."""
    return 0.0 if abs(value) < 1e-12 else float(value)


def triple(vector: Any) -> tuple[float, float, float]:
    """A vector as three cleaned floats."""
    v = np.asarray(vector, dtype=np.float64).reshape(3)
    return (clean(v[0]), clean(v[1]), clean(v[2]))


def frame_looking_down(*, up: Any, along: Any, origin_mm: Any) -> Frame:
    """The frame whose z is `up` and whose x is `along` made square to it.

    Args:     up, along: directions in the parent, not parallel.   origin_mm: in the parent.
    Raises:   OutOfRange when the two are parallel.
    """
    z = np.asarray(up, dtype=np.float64) / np.linalg.norm(up)
    x = np.asarray(along, dtype=np.float64) - z * float(np.dot(along, z))
    size = float(np.linalg.norm(x))
    if size < 1e-9:
        raise OutOfRange("The direction along must not be parallel to up", value=f"{triple(along)}")
    x = x / size
    y = np.cross(z, x)
    return Frame(x=triple(x), y=triple(y), z=triple(z), origin_mm=triple(origin_mm))
