"""Maps of heights along a direction, and what is highest or lowest within a disc about every pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame, frame_looking_down
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
MAP_SIDE_MAX = 640
BARE = -1.0e9


@dataclass(frozen=True)
class HeightMap:
    """heights (nx, ny) float64 of the shape seen along -z of `frame`, mm; BARE where there is nothing."""

    frame: Frame
    low_x_mm: float
    low_y_mm: float
    pitch_mm: float
    heights: Floats


def look_frame(direction: tuple[float, float, float]) -> Frame:
    """A frame in the part frame that looks down on `direction`: z = direction, x along part x where it can."""
    along = (1.0, 0.0, 0.0) if abs(direction[0]) < 0.9 else (0.0, 1.0, 0.0)
    return frame_looking_down(up=direction, along=along, origin_mm=(0.0, 0.0, 0.0))


def height_map(
    vertices_mm: Floats, triangles: NDArray[np.int32], *, frame: Frame, pitch_mm: float, margin_mm: float
) -> HeightMap:
    """Height map of a mesh seen from +z of `frame`, with a bare margin all round.

    Args:     vertices_mm (v, 3) in the part frame.   pitch_mm: pixel, > 0; made coarser where the map would have
              more than MAP_SIDE_MAX pixels a side.   margin_mm: >= 0.
    """
    from proveout.reach.kernels.heights import raster

    if pitch_mm <= 0.0:
        raise OutOfRange("A height map needs a pitch above zero", value=f"{pitch_mm} mm")
    seen = frame.into(vertices_mm)
    low = seen[:, :2].min(axis=0) - margin_mm
    high = seen[:, :2].max(axis=0) + margin_mm
    pitch = max(pitch_mm, float((high - low).max()) / MAP_SIDE_MAX)
    shape = np.ceil((high - low) / pitch).astype(int) + 1
    heights = np.full((int(shape[0]), int(shape[1])), BARE)
    raster(np.ascontiguousarray(seen[triangles]), float(low[0]), float(low[1]), pitch, heights)
    return HeightMap(frame=frame, low_x_mm=float(low[0]), low_y_mm=float(low[1]), pitch_mm=pitch, heights=heights)


def disc_rows(radius_px: float) -> NDArray[np.int64]:
    """Half widths of the rows of a disc of pixels whose centres lie within the radius."""
    r = int(np.floor(radius_px))
    offsets = np.arange(-r, r + 1)
    return np.floor(np.sqrt(np.maximum(radius_px**2 - offsets**2, 0.0))).astype(np.int64)


def widened(heights: Floats, *, radius_px: float, highest: bool) -> Floats:
    """The map's highest (or lowest) value within a disc about every pixel."""
    from proveout.reach.kernels.heights import widen

    out = np.empty_like(heights)
    widen(heights, disc_rows(radius_px), 1.0 if highest else -1.0, out)
    return out
