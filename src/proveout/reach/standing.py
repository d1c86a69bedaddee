"""Which points of a target each cutter touches from a direction without its shank or holder meeting anything.

Exact geometry decides whether the end fits (`rooms`); a map of heights exactly over its pixels' middles decides
whether the whole cutter can stand where it would touch: coarse to search with, fine to verify with. Such a map sees no
metal where there is none, and misses what lies less than a pixel inside the cutter: what it says is true of a cutter
one pixel thinner at the most.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.shop import Cutter
from proveout.quantities.errors import OutOfRange
from proveout.reach.outline import Tip, along_flank, stacked, tip_of
from proveout.reach.reaching import BARE, HeightMap
from proveout.reach.rooms import AWAY, FLOOR, LEVEL, WALL, Rooms, bends, outreached, too_narrow

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
FINE_MM = 0.1
TILE_MM = 80.0
ASIDE_MM = 0.02
ABOVE_MM = 0.02
"""Metal may seem to stand into a cutter by so much, from the side and from below: the mesh's chords."""
SLIM_MM = 0.04
"""A shank thinner than its flutes by no less goes along a wall that stands higher than the flutes reach."""
BEHIND_RATIO = 1.5
"""Pixels behind a wall's point: there the middle of the pixel is surely under its metal."""

REACHED, TURNED_AWAY, TOO_WIDE, TOO_HOLLOW, TOO_TALL, END_MEETS, BODY_MEETS, HELD_MEETS = range(8)


@dataclass(frozen=True)
class Relief:
    """One map with its highest blocks, as the kernels take it."""

    shape: HeightMap
    blocks: Floats
    large: Floats

    @property
    def arrays(self) -> tuple[Floats, Floats, Floats, float, float, float]:
        """The kernels' first arguments."""
        s = self.shape
        return s.heights, self.blocks, self.large, s.low_x_mm, s.low_y_mm, s.pitch_mm


def relief(
    corners: Floats, *, frame: Frame, pitch_mm: float, low: Floats, high: Floats, over: Relief | None = None
) -> Relief:
    """Heights of triangles (t, 3, 3) in `frame`, over a window low..high of x and y; nothing stands beyond it.

    Middles of pixels lie at odd halves of the pitch, so that the maps of one frame fall on each other.   over: a map
    within the window whose heights are kept.
    Raises:   OutOfRange when pitch_mm is not above 0.
    """
    from proveout.reach.kernels.heights import raster_middles
    from proveout.reach.kernels.standing import BLOCK, LARGE, highest_blocks

    if pitch_mm <= 0.0:
        raise OutOfRange("A height map needs a pitch above zero", value=f"{pitch_mm} mm")
    first = np.floor(low / pitch_mm).astype(np.int64)
    nx, ny = (max(1, int(v)) for v in np.ceil(high / pitch_mm).astype(np.int64) - first)
    heights = np.full((nx, ny), BARE)
    if over is not None:
        i, j = np.round(np.array([over.shape.low_x_mm, over.shape.low_y_mm]) / pitch_mm).astype(np.int64) - first
        kept = over.shape.heights
        heights[i : i + kept.shape[0], j : j + kept.shape[1]] = kept
    low_x, low_y = (float(v) * pitch_mm for v in first)
    raster_middles(np.ascontiguousarray(corners), low_x, low_y, pitch_mm, heights)
    shape = HeightMap(frame=frame, low_x_mm=low_x, low_y_mm=low_y, pitch_mm=pitch_mm, heights=heights)
    return Relief(shape=shape, blocks=highest_blocks(heights, BLOCK), large=highest_blocks(heights, LARGE))


def box_of(corners: Floats) -> tuple[Floats, Floats]:
    """Least and greatest x and y of triangles (t, 3, 3)."""
    x, y = corners[:, :, 0], corners[:, :, 1]
    return np.array([x.min(), y.min()]), np.array([x.max(), y.max()])


class Look:
    """A part looked at along a direction with a map of one pitch, tile by tile, for one set of cutters.

    part (t, 3, 3): its triangles in `frame`, the look frame.   asked (n,): the points of `rooms` to look at, all unless
    given.   names: whether the end alone is told from shank and holder where something is met.
    """

    def __init__(
        self, frame: Frame, part: Floats, rooms: Rooms, cutters: tuple[Cutter, ...], *, pitch_mm: float,
        asked: Bools | None = None, names: bool = False,
    ) -> None:  # fmt: skip
        self.frame, self.part, self.rooms, self.pitch_mm, self.names = frame, part, rooms, pitch_mm, names
        self._rows = np.flatnonzero((rooms.way != AWAY) & (np.True_ if asked is None else asked))
        self._margin = max((float(stacked(c)[:, 3:].max()) + c.diameter_mm for c in cutters), default=0.0)
        self._deep = max((c.diameter_mm for c in cutters), default=0.0)
        self._known: dict[str, tuple[NDArray[np.int8], Bools]] = {}

    @cached_property
    def tiles(self) -> list[tuple[NDArray[np.int64], Floats, Floats, Relief]]:
        """The points of each tile of the map, its window, and the heights that cutters at these points can meet."""
        rows = self._rows
        side = TILE_MM * self.pitch_mm / FINE_MM
        places = np.floor(self.rooms.points[rows, :2] / side).astype(np.int64)
        out: list[tuple[NDArray[np.int64], Floats, Floats, Relief]] = []
        least, most = box_of(self.part)
        for tile in np.unique(places, axis=0) if len(rows) else ():
            own = rows[(places == tile).all(axis=1)]
            spots = self.rooms.points[own, :2]
            low, high = spots.min(axis=0) - self._margin, spots.max(axis=0) + self._margin
            ground = relief(
                self.part, frame=self.frame, pitch_mm=self.pitch_mm, low=np.maximum(low, least),
                high=np.minimum(high, most),
            )  # fmt: skip
            out.append((own, low, high, ground))
        return out

    def past(self, held: Floats) -> list[Relief] | None:
        """The tiles' heights with the triangles (t, 3, 3) of what holds the part; None where all of it lies too low."""
        if not len(self._rows) or held[:, :, 2].max() <= self.rooms.points[self._rows, 2].min() - self._deep:
            return None
        least, most = box_of(held)
        out: list[Relief] = []
        for _, low, high, ground in self.tiles:
            shape = ground.shape
            begin = np.array([shape.low_x_mm, shape.low_y_mm])
            end = begin + np.array(shape.heights.shape) * shape.pitch_mm
            window = np.minimum(np.maximum(low, least), begin), np.maximum(np.minimum(high, most), end)
            out.append(
                relief(
                    held, frame=self.frame, pitch_mm=self.pitch_mm, low=window[0] + 1e-6, high=window[1] - 1e-6,
                    over=ground,
                )
            )  # fmt: skip
        return out

    @cached_property
    def in_sight(self) -> Bools:
        """(n,) points over which, a little off the face, nothing stands: what is not among them no cutter touches."""
        out = np.zeros(len(self.rooms.points), dtype=np.bool_)
        wide = 0.71 * self.pitch_mm
        needle = np.array([(0.0, 0.0, 1.0, wide, wide)])
        for rows, _, _, ground in self.tiles:
            normals = self.rooms.normals[rows]
            across = np.hypot(normals[:, 0], normals[:, 1])
            # a leaning face itself rises by so much within a pixel
            lift = np.where(self.rooms.way[rows] == WALL, 0.0, across / np.maximum(normals[:, 2], 0.1))
            off = np.column_stack([normals[:, :2], 1.5 * lift]) * self.pitch_mm
            out[rows] = free_at(ground, self.rooms.points[rows] + off, needle, aside_mm=0.0)
            out[rows] |= self.rooms.way[rows] == FLOOR
        return out

    def of(self, cutter: Cutter, asked: Bools, held: list[Relief] | None = None) -> NDArray[np.int8]:
        """(n,) REACHED, or the first reason why not, at the points asked about; TURNED_AWAY elsewhere.

        Args:     held: from `past`, when something holds the part.
        """
        known, done = self._known.setdefault(
            cutter.id,
            (np.full(len(self.rooms.points), TURNED_AWAY, dtype=np.int8), np.zeros(len(asked), dtype=np.bool_)),
        )
        tips, pieces = along_flank(tip_of(cutter)), stacked(cutter)
        out = np.full(len(asked), TURNED_AWAY, dtype=np.int8)
        for index, (rows, _, _, ground) in enumerate(self.tiles):
            new = rows[asked[rows] & ~done[rows]]
            if len(new):
                known[new], done[new] = self._judged(ground, cutter, new), True
            own = rows[asked[rows]]
            out[own] = known[own]
            left = own[out[own] == REACHED]
            if held is not None and len(left):
                free = np.any([_free(held[index], self.rooms, left, tip, pieces) for tip in tips], axis=0)
                out[left[~free]] = HELD_MEETS
        return out

    def stands_over(self, rows: NDArray[np.int64]) -> Floats:
        """How high the metal right behind points (indices) of walls stands over them; 0 for other points."""
        out = np.zeros(len(rows))
        for own, _, _, ground in self.tiles:
            pick = np.isin(rows, own)
            out[pick] = _stands_over(ground, self.rooms.at(rows[pick]))
        return out

    def _judged(self, ground: Relief, cutter: Cutter, rows: NDArray[np.int64]) -> NDArray[np.int8]:
        """The verdicts of one cutter at points of one tile, past the part alone: the best of its flank's places."""
        out = np.full(len(rows), TURNED_AWAY, dtype=np.int8)
        for tip in along_flank(tip_of(cutter)):
            left = np.flatnonzero(out != REACHED)
            if len(left):
                out[left] = self._judged_by(ground, cutter, tip, rows[left])
        return out

    def _judged_by(self, ground: Relief, cutter: Cutter, tip: Tip, rows: NDArray[np.int64]) -> NDArray[np.int8]:
        rooms = self.rooms.at(rows)
        pieces = stacked(cutter)
        out = np.full(len(rows), REACHED, dtype=np.int8)
        if cutter.shank_diameter_mm > cutter.diameter_mm - SLIM_MM:
            out[_stands_over(ground, rooms) > cutter.shank_from_mm + ABOVE_MM] = TOO_TALL
        out[too_narrow(rooms, tip)] = TOO_WIDE
        out[~bends(rooms, tip)] = TOO_HOLLOW
        if tip.kind == "cone":
            out[~_lean_agrees(tip, rooms.normals)] = TURNED_AWAY
        left = np.flatnonzero(out == REACHED)
        if len(left):
            out[left[~_free(ground, self.rooms, rows[left], tip, pieces)]] = BODY_MEETS
        left = np.flatnonzero(out == BODY_MEETS)
        if self.names and len(left):
            ends = pieces[: len(cutter.cutting)]
            out[left[~_free(ground, self.rooms, rows[left], tip, ends)]] = END_MEETS
        return out


def _stands_over(ground: Relief, rooms: Rooms) -> Floats:
    """How high the metal right behind each point of a wall stands over it; 0 for other points."""
    shape = ground.shape
    behind = rooms.points[:, :2] - rooms.normals[:, :2] * BEHIND_RATIO * shape.pitch_mm
    i = np.floor((behind[:, 0] - shape.low_x_mm) / shape.pitch_mm).astype(np.int64)
    j = np.floor((behind[:, 1] - shape.low_y_mm) / shape.pitch_mm).astype(np.int64)
    nx, ny = shape.heights.shape
    top = shape.heights[np.clip(i, 0, nx - 1), np.clip(j, 0, ny - 1)]
    return np.where(rooms.way == WALL, np.maximum(top - rooms.points[:, 2], 0.0), 0.0)


def _lean_agrees(tip: Tip, normals: Floats) -> Bools:
    """Whether each face leans as a cone's flank does, within 0.1 degree."""
    lean = np.arcsin(np.clip(normals[:, 2], -1.0, 1.0))
    return np.abs(lean - tip.half_rad) <= np.radians(0.1)


def free_at(
    ground: Relief, tips: Floats, pieces: Floats, *, aside_mm: float = ASIDE_MM
) -> Bools:  # fmt: skip
    """(n,) whether pieces (p, 5), as from `stacked`, stand free with their tip at places (n, 3) of the look frame."""
    from proveout.reach.kernels.standing import stand_all

    out = np.zeros(len(tips), dtype=np.bool_)
    reach = float(pieces[:, 3:].max())
    stand_all(*ground.arrays, np.ascontiguousarray(tips), reach, pieces, aside_mm, ABOVE_MM, out)
    return out


def _free(ground: Relief, rooms: Rooms, rows: NDArray[np.int64], tip: Tip, pieces: Floats) -> Bools:
    """Whether the pieces stand free where the end touches each point."""
    from proveout.reach.kernels.standing import stand_over

    out = np.zeros(len(rows), dtype=np.bool_)
    reach = float(pieces[:, 3:].max())
    floor = rooms.way[rows] == FLOOR
    over = floor if tip.kind in ("flat", "corner") else np.zeros(len(rows), dtype=bool)
    pick = np.flatnonzero(over)
    if len(pick):
        found = np.zeros(len(pick), dtype=np.bool_)
        points = np.ascontiguousarray(rooms.points[rows[pick]])
        middles = np.ascontiguousarray(rooms.middle[rows[pick]])
        stand_over(
            *ground.arrays, points, middles, tip.flat_mm, 0.5 * ground.shape.pitch_mm, reach, pieces, ASIDE_MM,
            ABOVE_MM, found,
        )  # fmt: skip
        out[pick] = found
    pick = np.flatnonzero(~over)
    if len(pick):
        out[pick] = free_at(ground, touching(rooms.points[rows[pick]], rooms.normals[rows[pick]], tip), pieces)
    return out


def touching(points: Floats, normals: Floats, tip: Tip) -> Floats:
    """Places (n, 3) of the tip where the end touches points with outward normals, the freest ones; all in one frame."""
    across = np.hypot(normals[:, 0], normals[:, 1])
    level = normals[:, :2] / np.maximum(across, 1e-12)[:, None]
    up = np.where(np.abs(normals[:, 2]) <= LEVEL, 0.0, normals[:, 2])
    lean = np.where(up == 0.0, 1.0, across)
    if tip.kind == "cone":
        drop = (tip.ring_mm - tip.flat_mm) / np.tan(tip.half_rad)
        return np.column_stack([points[:, :2] + tip.ring_mm * level, points[:, 2] - drop])
    ring = (tip.radius_mm - tip.corner_mm) * (lean > 1e-9) + tip.corner_mm * lean
    height = points[:, 2] + tip.corner_mm * (up - 1.0)
    return np.column_stack([points[:, :2] + ring[:, None] * level, height])


def short_flutes(cutter: Cutter, rooms: Rooms) -> Bools:
    """(n,) walls higher than the flutes of a cutter whose shank is as thick: it would rub before it is down."""
    if cutter.shank_diameter_mm <= cutter.diameter_mm - SLIM_MM:
        return np.zeros(len(rooms.points), dtype=np.bool_)
    return outreached(rooms, flute_mm=cutter.shank_from_mm)


def needed_out_mm(look: Look, rows: NDArray[np.int64], *, radius_mm: float, holder_mm: float) -> float:
    """The least stick-out with which a holder clears the part where a flat end of a radius touches points (indices)."""
    most = 0.0
    tip = Tip("flat", radius_mm, flat_mm=radius_mm)
    for own, _, _, ground in look.tiles:
        pick = rows[np.isin(rows, own)]
        shape = ground.shape
        points = look.rooms.points[pick]
        tips = touching(points, look.rooms.normals[pick], tip)
        tips[look.rooms.way[pick] == FLOOR, :2] = look.rooms.middle[pick][look.rooms.way[pick] == FLOOR]
        nx, ny = shape.heights.shape
        for x, y, z in tips:
            i, j = (x - shape.low_x_mm) / shape.pitch_mm - 0.5, (y - shape.low_y_mm) / shape.pitch_mm - 0.5
            r = holder_mm / shape.pitch_mm
            i_low, i_high = max(0, math.ceil(i - r)), min(nx, math.floor(i + r) + 1)
            j_low, j_high = max(0, math.ceil(j - r)), min(ny, math.floor(j + r) + 1)
            if i_low >= i_high or j_low >= j_high:
                continue
            window = shape.heights[i_low:i_high, j_low:j_high]
            off = np.hypot(np.arange(i_low, i_high)[:, None] - i, np.arange(j_low, j_high)[None] - j)
            most = max(most, float(window[off <= r].max(initial=-np.inf)) - float(z))
    return most


def mills_first(cutters: tuple[Cutter, ...]) -> tuple[Cutter, ...]:
    """Milling cutters from the narrowest to the widest, one of each outline."""
    seen: set[tuple[object, ...]] = set()
    out: list[Cutter] = []
    for cutter in sorted(
        (c for c in cutters if c.kind in ("end mill", "ball")), key=lambda c: (c.diameter_mm, -c.stick_out_mm, c.id)
    ):
        key = (
            cutter.kind == "ball", round(cutter.diameter_mm, 3), round(cutter.corner_radius_mm, 3),
            round(cutter.stick_out_mm, 1), round(cutter.flute_length_mm, 1), round(cutter.holder_diameter_mm, 1),
        )  # fmt: skip
        if key not in seen:
            seen.add(key)
            out.append(cutter)
    return tuple(out)
