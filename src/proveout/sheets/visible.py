"""Where each face of a solid shows in a view: what an eye far away sees of it, on a fine grid."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.solid import Point, Solid

Array = NDArray[np.float64]
CELLS = 900  # along the longer side of the picture
FACING = 0.12  # a face seen more edge-on than this is not counted as seen


@dataclass(frozen=True)
class Seen:
    """One face in one view: the point of it farthest from its seen border, and how far that is (mm, in the view)."""

    at_mm: tuple[float, float]
    room_mm: float


@dataclass(frozen=True)
class Sight:
    """A solid seen from far away.

    right, up, towards: unit vectors of the page and towards the viewer.  depth: (rows, columns) largest height towards
    the viewer in each cell, -inf where the view misses the solid.  owner: index of the face seen, -1 for none.
    low_mm: page place of the first cell's corner.
    """

    right: Array
    up: Array
    towards: Array
    depth: Array
    owner: NDArray[np.int32]
    low_mm: Array
    cell_mm: float

    def page(self, points: Array) -> Array:
        """(n, 2) page places of (n, 3) points of the part."""
        return np.column_stack([points @ self.right, points @ self.up])

    def shows(self, point: Point, *, hair_mm: float) -> bool:
        """Whether nothing lies between the viewer and a point of the part."""
        place = (self.page(np.array([point]))[0] - self.low_mm) / self.cell_mm
        row, column = int(np.floor(place[1])), int(np.floor(place[0]))
        if not (0 <= row < self.depth.shape[0] and 0 <= column < self.depth.shape[1]):
            return True
        return bool(self.depth[row, column] <= float(np.dot(point, self.towards)) + hair_mm)


def look(solid: Solid, *, view_direction: Point, up: Point) -> Sight:
    """The solid seen along view_direction (viewer to part) with up pointing up the page."""
    towards = -_unit(np.array(view_direction, np.float64))
    upright = np.array(up, np.float64)
    upright = _unit(upright - towards * float(np.dot(towards, upright)))
    right = np.cross(upright, towards)
    corners = solid.vertices_mm[solid.triangles]
    flat = np.stack([corners @ right, corners @ upright], axis=2)
    heights_mm = corners @ towards
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    cell = float((high - low).max()) / CELLS
    low = low - cell
    columns, rows = (int(n) for n in np.ceil((high - low) / cell) + 2)
    depth = np.full(rows * columns, -np.inf)
    owner = np.full(rows * columns, -1, np.int32)
    ab, ac = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    facing = ab[:, 0] * ac[:, 1] - ac[:, 0] * ab[:, 1] > 0.0  # the rest look away: the solid is closed
    order = np.flatnonzero(facing)[np.argsort(-solid.triangle_face[facing], kind="stable")]
    which, place, height = _raster((flat[order] - low) / cell, heights_mm[order], columns)
    np.maximum.at(depth, place, height)
    on_top = height == depth[place]
    owner[place[on_top]] = solid.triangle_face[order][which[on_top]]  # of equals the first face is written last
    return Sight(
        right=right, up=upright, towards=towards, depth=depth.reshape(rows, columns),
        owner=owner.reshape(rows, columns), low_mm=low, cell_mm=cell,
    )  # fmt: skip


def facing_ratios(solid: Solid, sight: Sight) -> Array:
    """By face index, how squarely its best-turned piece looks at the viewer: 1 head-on, 0 edge-on or away."""
    corners = solid.vertices_mm[solid.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    areas = np.linalg.norm(normals, axis=1)
    facing = np.zeros(len(solid.faces))
    np.maximum.at(facing, solid.triangle_face, (normals @ sight.towards) / np.maximum(areas, 1e-12))
    return facing


def seen_faces(solid: Solid, sight: Sight) -> dict[int, Seen]:
    """By face index, each face that shows: the middle of its roomiest seen patch."""
    from scipy.ndimage import distance_transform_edt, find_objects

    facing = facing_ratios(solid, sight)
    found: dict[int, Seen] = {}
    for index, box in enumerate(find_objects(sight.owner + 1)):
        if box is None or facing[index] < FACING:
            continue
        mask = np.pad(sight.owner[box] == index, 1)
        room = np.asarray(distance_transform_edt(mask))
        row, column = np.unravel_index(int(room.argmax()), room.shape)
        at = (
            sight.low_mm
            + (np.array([box[1].start + int(column) - 1, box[0].start + int(row) - 1], np.float64) + 0.5)
            * sight.cell_mm
        )
        found[index] = Seen(
            at_mm=(float(at[0]), float(at[1])), room_mm=(float(room.max()) - 0.5) * sight.cell_mm
        )  # fmt: skip
    return found


def hatch_lines(sight: Sight, index: int, *, step_mm: float, slope: int) -> list[Array]:
    """Strokes at 45 degrees over what a view shows of one face, (2, 2) page mm each."""
    rows, columns = np.nonzero(sight.owner == index)
    if len(rows) == 0:
        return []
    step = max(1, round(step_mm * math.sqrt(2.0) / sight.cell_mm))
    across = columns - slope * rows
    on = (across % step) == 0
    rows, columns, across = rows[on], columns[on], across[on]
    order = np.lexsort((rows, across))
    rows, columns, across = rows[order], columns[order], across[order]
    breaks = np.flatnonzero((np.diff(across) != 0) | (np.diff(rows) != 1)) + 1
    firsts = np.concatenate([[0], breaks]).astype(int)
    lasts = np.concatenate([breaks - 1, [len(rows) - 1]]).astype(int)
    if len(rows) == 0:
        return []
    cells = np.stack([np.column_stack([columns[k], rows[k]]) for k in (firsts, lasts)], axis=1) + 0.5
    return list(sight.low_mm + cells * sight.cell_mm)


def _unit(vector: Array) -> Array:
    return vector / float(np.linalg.norm(vector))


def _raster(flat: Array, heights: Array, columns: int) -> tuple[NDArray[np.int64], NDArray[np.int64], Array]:
    """Triangle, cell (row * columns + column) and height of every cell whose middle lies in a triangle.

    flat: (t, 3, 2) corners in cells.  heights: (t, 3) at the corners.  Rows first, then the run of cells in each row.
    """
    low = np.ceil(flat[:, :, 1].min(axis=1) - 0.5).astype(np.int64)
    high = np.floor(flat[:, :, 1].max(axis=1) - 0.5).astype(np.int64)
    which = np.repeat(np.arange(len(flat)), np.maximum(high - low + 1, 0))
    rows = low[which] + _within(np.maximum(high - low + 1, 0))
    middle = rows + 0.5
    left, right = np.full(len(which), np.inf), np.full(len(which), -np.inf)
    for one in range(3):
        a, b = flat[which, one], flat[which, (one + 1) % 3]
        rise = b[:, 1] - a[:, 1]
        share = (middle - a[:, 1]) / np.where(np.abs(rise) < 1e-12, 1.0, rise)
        meets = (np.abs(rise) >= 1e-12) & (share >= 0.0) & (share <= 1.0)
        place = a[:, 0] + share * (b[:, 0] - a[:, 0])
        left = np.where(meets, np.minimum(left, place), left)
        right = np.where(meets, np.maximum(right, place), right)
    met = left <= right
    which, rows, left, right = which[met], rows[met], left[met], right[met]
    first = np.ceil(left - 0.5).astype(np.int64)
    counts = np.maximum(np.floor(right - 0.5).astype(np.int64) - first + 1, 0)
    a, ab, ac = flat[:, 0], flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    up_b, up_c = heights[:, 1] - heights[:, 0], heights[:, 2] - heights[:, 0]
    area = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    area = np.where(np.abs(area) < 1e-12, 1e-12, area)
    along_row = ((ac[:, 1] * up_b - ab[:, 1] * up_c) / area)[which]  # the height rises so much from cell to cell
    along_column = ((ab[:, 0] * up_c - ac[:, 0] * up_b) / area)[which]
    begins = heights[which, 0] + along_row * (first + 0.5 - a[which, 0]) + along_column * (rows + 0.5 - a[which, 1])
    step = _within(counts)
    height = np.repeat(begins, counts) + np.repeat(along_row, counts) * step
    return np.repeat(which, counts), np.repeat(rows * columns + first, counts) + step, height


def _within(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """0, 1, ... for each count in turn."""
    starts = np.cumsum(counts) - counts
    return np.arange(int(counts.sum())) - np.repeat(starts, counts)
