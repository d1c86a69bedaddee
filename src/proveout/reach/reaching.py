"""Which points of a solid a cutter, its shank and its holder can touch from one direction.

A height map decides what depth, holder and jaws allow, to within a pixel; exact fits (a corner's radius, a hole's
diameter) are decided elsewhere from the geometry. The map is searched coarsely; what was really cut is proved later
by replaying the moves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame, frame_looking_down
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
MAP_SIDE_MAX = 640
BARE = -1.0e9
COARSE = 4


@dataclass(frozen=True)
class HeightMap:
    """heights (nx, ny) float64 of the shape seen along -z of `frame`, mm; BARE where there is nothing."""

    frame: Frame
    low_x_mm: float
    low_y_mm: float
    pitch_mm: float
    heights: Floats


@dataclass(frozen=True)
class Stick:
    """A cutter as reach sees it: radius at the tip, how far the narrow part sticks out, radius above."""

    radius_mm: float
    stick_out_mm: float
    holder_radius_mm: float


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


def _wide(heights: Floats, *, radius_px: float) -> Floats:
    """The highest value within a large disc, by blocks of COARSE pixels: never too low, at most a block wide."""
    nx, ny = heights.shape
    padded = np.full((-(-nx // COARSE) * COARSE, -(-ny // COARSE) * COARSE), BARE)
    padded[:nx, :ny] = heights
    blocks = padded.reshape(padded.shape[0] // COARSE, COARSE, padded.shape[1] // COARSE, COARSE).max(axis=(1, 3))
    # two pixels lie in blocks at most (distance + COARSE - 1) / COARSE apart along each side
    across = math.sqrt(2.0) * (COARSE - 1) / COARSE + 1e-9
    wide = widened(blocks, radius_px=radius_px / COARSE + across, highest=True)
    return np.repeat(np.repeat(wide, COARSE, axis=0), COARSE, axis=1)[:nx, :ny]


def lowest_touch(shape: HeightMap, stick: Stick) -> Floats:
    """(nx, ny) the lowest height that some part of the cutter's end can bring to each pixel, mm.

    The tip may stand at a centre no lower than the shape under its disc, nor so low that the holder meets the shape.
    """
    tip = widened(shape.heights, radius_px=stick.radius_mm / shape.pitch_mm, highest=True)
    wide = _wide(shape.heights, radius_px=stick.holder_radius_mm / shape.pitch_mm)
    centre = np.maximum(tip, wide - stick.stick_out_mm)
    # one pixel more than the radius: a face that ends at a wall shares its last pixel with the wall
    return widened(centre, radius_px=stick.radius_mm / shape.pitch_mm + 1.0, highest=False)


def is_touched(
    shape: HeightMap, lowest: Floats, points_mm: Floats, normals: Floats, *, slack_mm: float
) -> NDArray[np.bool_]:
    """(n,) whether the cutter's end comes down to each surface point from this side.

    Args:     lowest: from lowest_touch.   points_mm, normals: (n, 3) in the part frame.   slack_mm: allowed height
              error. A point of a wall is asked for one pixel in front of the wall, where the cutter's flank comes.
    """
    seen = shape.frame.into(points_mm)
    out = normals @ shape.frame.turn.T
    flat = out[:, :2]
    size = np.linalg.norm(flat, axis=1, keepdims=True)
    away = np.divide(flat, size, out=np.zeros_like(flat), where=size > 0.05)
    place = seen[:, :2] + away * shape.pitch_mm
    i = np.floor((place[:, 0] - shape.low_x_mm) / shape.pitch_mm).astype(int)
    j = np.floor((place[:, 1] - shape.low_y_mm) / shape.pitch_mm).astype(int)
    nx, ny = shape.heights.shape
    i, j = np.clip(i, 0, nx - 1), np.clip(j, 0, ny - 1)
    # a face that looks down cannot be met from above
    faces_up = out[:, 2] > -1e-3
    slope = np.where(size[:, 0] > 0.05, 0.0, 1.0)
    allowed = slack_mm + slope * shape.pitch_mm * 0.25
    tilt = np.where(out[:, 2] > 1e-3, size[:, 0] / np.maximum(out[:, 2], 1e-3), 0.0)
    steep = np.minimum(tilt, 6.0) * shape.pitch_mm * 1.5
    return faces_up & (lowest[i, j] <= seen[:, 2] + allowed + np.where(out[:, 2] < 0.9998, steep, 0.0))
