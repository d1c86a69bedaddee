"""Shadows of bodies as areas, and a bounded memory for those of the target."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any

import numpy as np

from proveout.geometry.frames import Frame
from proveout.geometry.upward import Upward
from proveout.model.target import Target
from proveout.stages.passes.areas import DUST_MM, area_of, nothing

KEPT_MAX = 4000
"""Entries of the memory: the target's shadows and their offsets, a few kB each."""


class Memory:
    """Results of pure functions under all that they depend on; the oldest goes when full. It never changes a result."""

    def __init__(self, most: int = KEPT_MAX) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """What was made under this key, made now when it is not kept."""
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        value = make()
        self._kept[key] = value
        if len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return value

    def clear(self) -> None:
        """Forgets everything."""
        self._kept.clear()


MEMORY = Memory()
"""Shared by the tilts and rounds of one process: a target's shadow does not depend on limits or on the work."""


def content_key(target: Target, frame: Frame) -> tuple[Hashable, ...]:
    """Names a target's mesh in a frame by content."""
    whole = hashlib.sha256(np.ascontiguousarray(target.vertices_mm).tobytes())
    whole.update(np.ascontiguousarray(target.triangles).tobytes())
    return (whole.digest(), frame.x, frame.y, frame.z, frame.origin_mm)


def upward_of(body: Any) -> Upward:
    """The upward triangles of a body of the boolean library."""
    mesh = body.to_mesh64()
    return Upward(np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts))


def shadow_of(upward: Upward, z_mm: float, *, grid_mm: float = 0.0) -> Any:
    """The shadow of what lies above a height, as an area; its corners on a grid when one is given.

    The rims of work cut in many steps lie a few tenths of a micrometre beside each other: on a grid they fall together,
    and what would be thousands of slivers takes itself away. What zigzags by no more than the grid is drawn straight:
    offsets of such rims take a hundred times as long.
    """
    contours = upward.contours_above(z_mm)
    if grid_mm > 0.0:
        contours = [np.round(contour / grid_mm) * grid_mm for contour in contours]
    return area_of(contours).simplify(max(DUST_MM, grid_mm)) if contours else nothing()
