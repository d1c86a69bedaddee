"""Ways through the metal of a level on which a cutter is never engaged wider than a target."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.stages.passes.areas import COARSE_MM, area_of, grown, length_of, opened

Array = NDArray[np.float64]

PITCH_RATIO = 1.0 / 24.0
"""Distance of the nodes, in radii of the cutter."""
NODES_MOST = 3_000_000
STEP_RATIO = 0.08
"""A step of a walk, in radii."""
APART_RATIO = 0.2
"""Distance of the places looked at for a new start, in radii."""
RIM_COUNT = 96
SKIN_MM = 0.01
"""Metal thinner than this at the border of what is to be cut is let stand."""
BEND_RATIO = 0.35
"""Tightest bend towards the metal, in radii."""
STRAIGHT_RATIO = 0.012
STRAIGHT_MOST_MM = 0.01
"""What a way may be straightened by: a share of the target, at most so much."""
GRAZED_MM = 0.02
"""Ways through what is cleared may come this much into metal at the side."""
BESIDE_MM = 0.01
"""The same along a border."""
NEAR_RATIO = 0.35
"""A border is followed where metal reaches so far from it, as a share of the target; less is a ridge."""
LANDING_MM = 0.15
"""Least air round the cutter where it is set down."""
SHORT_RATIO = 0.4
"""A walk that takes less than this, in radii times the target, gives its start up until something near by changes."""
WALKS_MOST = 4000
EFFORT_NODES, EFFORT_A_POINT = 4, 30
"""What nodes and points of a way cost, in triangles of the work gone through."""
LEAST_MM2 = 0.05
HELIX_RATIO = 0.8
HELIX_LEAST_RATIO = 0.3
"""Radius of a helix down into the metal, in radii: wanted and least."""
LOOP_RATIO = 0.6
"""Least length of a ring to go down along in a narrow place, in radii."""
KEPT_COUNT = 128
"""Ways kept in case the same level is asked for again: a plan's rounds change few of them."""


class Stretch(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A part of a way: `line` (n, 2).

    kind: cut; link, through what is cleared; helix, a closed ring to go down along; jump, to a place apart where
    the cutter stands clear (one point).
    """

    kind: Literal["cut", "link", "helix", "jump"]
    line: Array


class Way(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """All stretches in order, and the nodes (n, 2), `pitch_mm` apart, round which metal may be left.

    effort_count: what finding it cost, in triangles of the work gone through.
    """

    stretches: tuple[Stretch, ...]
    doubtful: Array
    pitch_mm: float
    effort_count: int


def engaged_way(
    *, obstacle: Any, todo: Any, standing: Any, radius_mm: float, engagement_mm: float, here: Array | None = None
) -> Way:  # fmt: skip
    """Finds the way: from the open side where there is one, from what is cleared, else down a helix.

    Args:     obstacle: area where the axis may not stand.   todo: the metal, reachable past the obstacle.
              standing: all metal there is; `todo` may leave some of it out.   engagement_mm: width wanted, above 0, at
              most the radius.   here: where the cutter stands.
    """
    return _kept_way(_Asked(obstacle, todo, standing, radius_mm, engagement_mm, here))


class _Asked:
    """What a way is asked for, equal to another one where every number of it is."""

    def __init__(
        self, obstacle: Any, todo: Any, standing: Any, radius_mm: float, engagement_mm: float, here: Array | None
    ) -> None:
        areas = (obstacle, todo, standing)
        self.level: tuple[Any, ...] = (*areas, radius_mm, engagement_mm)
        self.here = here
        rings = tuple(tuple(np.asarray(ring).tobytes() for ring in area.to_polygons()) for area in areas)
        self.key = (rings, radius_mm, engagement_mm, None if here is None else here.tobytes())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


@lru_cache(maxsize=KEPT_COUNT)
def _kept_way(asked: _Asked) -> Way:
    way = _Level(*asked.level).run(asked.here)
    asked.level = ()  # only the numbers are kept
    for array in (way.doubtful, *(one.line for one in way.stretches)):
        array.setflags(write=False)
    return way


class _Level:
    def __init__(self, obstacle: Any, todo: Any, standing: Any, radius_mm: float, engagement_mm: float) -> None:
        from proveout.geometry.kernels.blocks import blocks_of
        from proveout.geometry.kernels.engagement import signed_field

        self.radius, self.most = radius_mm, engagement_mm
        self.obstacle, self.bounds = obstacle, todo.bounds()
        x_low, y_low, x_high, y_high = todo.bounds()
        margin = 2.4 * radius_mm
        size = (x_high - x_low + 2.0 * margin, y_high - y_low + 2.0 * margin)
        self.pitch = max(PITCH_RATIO * radius_mm, math.sqrt(size[0] * size[1] / NODES_MOST))
        shape = (math.ceil(size[0] / self.pitch) + 1, math.ceil(size[1] / self.pitch) + 1)
        self.grid = np.array([x_low - margin, y_low - margin, self.pitch])
        self.todo = signed_field(*_rings(todo), self.grid, shape, 3.0 * self.pitch)
        self.metal = self.todo - SKIN_MM
        # strips too thin for the nodes are seen as thicker, so that ways keep off them
        thin = standing - opened(standing, 0.75 * self.pitch)
        standing = standing + grown(thin, 0.75 * self.pitch, chord_mm=COARSE_MM)
        self.standing = signed_field(*_rings(standing), self.grid, shape, 3.0 * self.pitch) - SKIN_MM
        self.metal_blocks, self.standing_blocks = blocks_of(self.metal), blocks_of(self.standing)
        self.free = -signed_field(*_rings(obstacle), self.grid, shape, 1.5 * radius_mm)
        turns = 2.0 * math.pi * np.arange(RIM_COUNT) / RIM_COUNT
        self.rim = np.column_stack([np.cos(turns), np.sin(turns)])
        self.apart = APART_RATIO * radius_mm
        nodes = (int(size[0] / self.apart) + 1, int(size[1] / self.apart) + 1)
        self.given_up, self.bare = np.zeros(nodes, dtype=np.bool_), np.zeros(nodes, dtype=np.bool_)
        self.bare_near, self.clear = np.zeros(nodes, dtype=np.bool_), np.zeros(nodes, dtype=np.bool_)
        self.begun: set[int] = set()
        self.came = np.full(nodes, -2, dtype=np.int64)
        self.queue = np.empty(nodes[0] * nodes[1], dtype=np.int64)
        self.room = np.empty((int(40.0 * size[0] * size[1] / (engagement_mm * radius_mm)) + 4000, 2))
        self.straight = min(STRAIGHT_MOST_MM, STRAIGHT_RATIO * engagement_mm)

    def run(self, here: Array | None) -> Way:
        stretches: list[Stretch] = []
        here, is_down = self._round(stretches, here, is_down=False, is_last=False)
        self.given_up[:] = False
        self.begun.clear()
        self._round(stretches, here, is_down=is_down, is_last=True)
        # a node deeper in what is cleared than half a diagonal lies in a cell that one disc covers
        doubtful = np.argwhere((self.metal > -0.75 * self.pitch) & (self.todo > -0.75 * self.pitch))
        effort = self.metal.size // EFFORT_NODES + EFFORT_A_POINT * sum(len(one.line) for one in stretches)
        nodes: Array = np.asarray(self.grid[:2] + self.pitch * doubtful, dtype=np.float64)
        return Way(stretches=tuple(stretches), doubtful=nodes, pitch_mm=self.pitch, effort_count=effort)

    def _round(
        self, stretches: list[Stretch], here: Array | None, *, is_down: bool, is_last: bool
    ) -> tuple[Array | None, bool]:
        """Walks until no start is left; returns where the cutter stands and whether it is down there."""
        for _ in range(WALKS_MOST):
            found = self._next(here, is_reached=is_down)
            if found is None and is_down:
                is_down = False
                continue
            if found is None:
                circle = None if is_last else self._helix(here)
                if circle is None:
                    break
                stretches.append(Stretch(kind="helix", line=circle))
                self._cover(circle)
                here, is_down = circle[-1], True
                continue
            link, node = found
            line, taken = self._walk(link[-1], self._turn_at(link[-1]))
            self._look_again(line, self.metal, self.metal_blocks)
            if taken < SHORT_RATIO * self.radius * self.most and node not in self.begun:
                self.begun.add(node)  # once more, from there on instead of from upstream
            elif is_last or taken < SHORT_RATIO * self.radius * self.most:
                self.given_up[divmod(node, self.given_up.shape[1])] = True
            else:
                self._give_back(line)
            if len(line) < 2:
                continue
            if not is_down:
                stretches.append(Stretch(kind="jump", line=link[:1]))
            stretches.append(Stretch(kind="link", line=link))
            self._clear(line, self.standing, self.standing_blocks)
            stretches.append(Stretch(kind="cut", line=straightened(line, self.straight)))
            here, is_down = line[-1], True
        return here, is_down

    def _next(self, here: Array | None, *, is_reached: bool) -> tuple[Array, int] | None:
        """A way through cleared places to where a walk can begin; its first place may be gone down at."""
        from proveout.geometry.kernels.engagement import touches, walk_beside
        from proveout.geometry.kernels.starts import start_in_line, start_in_reach

        spot = self.grid[:2] if here is None else here
        metal, standing = (self.metal, self.metal_blocks), (self.standing, self.standing_blocks)
        bodies = (*metal, *standing, self.free, self.grid, self.rim, self.given_up, self.apart)
        x, y = float(spot[0]), float(spot[1])
        if is_reached:
            node = start_in_reach(
                *bodies, x, y, self.radius - GRAZED_MM, self.bare_near, self.clear, self.came, self.queue
            )  # fmt: skip
        else:
            node = start_in_line(*bodies, x, y, self.radius + LANDING_MM, self.bare)
        if node < 0:
            return None
        places = [self._place(node)]
        back = node
        while is_reached and back >= 0:
            back = int(self.came[divmod(back, self.given_up.shape[1])])
            places.append(self._place(back) if back >= 0 else np.asarray(spot))
        places.reverse()
        facing = -1
        for share in (0.5, 1.0, 1.5):
            facing = touches(
                *metal, self.grid, self.rim, places[-1][0], places[-1][1], self.radius + share * self.apart
            )  # fmt: skip
            if facing >= 0:
                break
        ahead = self.rim[facing]
        close = self._closed_up(places[-1], ahead)
        # upstream, so that the walk takes the whole of the border
        turn = math.atan2(ahead[1], ahead[0]) - math.pi / 2.0
        self.room[0], count = close, 1
        if node not in self.begun:
            count = walk_beside(
                *standing, self.free, self.grid, self.rim, float(close[0]), float(close[1]), turn, self.radius,
                STEP_RATIO * self.radius, BESIDE_MM, NEAR_RATIO * self.most,
                STEP_RATIO / BEND_RATIO, self.room,
            )  # fmt: skip
        return self._pulled(np.vstack([*places, self.room[:count]])), node

    def _place(self, node: int) -> Array:
        i, j = divmod(node, self.given_up.shape[1])
        return self.grid[:2] + self.apart * np.array([i, j])

    def _closed_up(self, place: Array, ahead: Array) -> Array:
        """The place moved towards the metal until the disc touches it or may not go on."""
        from proveout.geometry.kernels.engagement import at, touches

        low, high = 0.0, 2.0 * self.apart
        for _ in range(10):
            middle = 0.5 * (low + high)
            x, y = place + middle * ahead
            if (
                at(self.free, self.grid, x, y) >= 0.0
                and touches(self.standing, self.standing_blocks, self.grid, self.rim, x, y, self.radius) < 0
            ):
                low = middle
            else:
                high = middle
        return place + low * ahead

    def _turn_at(self, place: Array) -> float:
        """The direction in which the metal lies on the right."""
        from proveout.geometry.kernels.engagement import touches

        for reach in (0.02, 0.1, 0.3, 0.6):
            facing = touches(
                self.metal, self.metal_blocks, self.grid, self.rim, place[0], place[1], self.radius * (1.0 + reach)
            )  # fmt: skip
            if facing >= 0:
                return math.atan2(self.rim[facing, 1], self.rim[facing, 0]) + math.pi / 2.0
        return 0.0

    def _walk(self, start: Array, turn: float) -> tuple[Array, float]:
        from proveout.geometry.kernels.engagement import walk

        count, taken = walk(
            self.metal, self.metal_blocks, self.free, self.grid, self.rim, float(start[0]), float(start[1]), turn,
            self.radius, STEP_RATIO * self.radius, self.most, STEP_RATIO / BEND_RATIO, self.room,
        )  # fmt: skip
        return self.room[:count].copy(), taken

    def _give_back(self, line: Array) -> None:
        """Places given up near new ground may be tried again."""
        low = np.floor((line.min(axis=0) - 2.0 * self.radius - self.grid[:2]) / self.apart).astype(int)
        high = np.ceil((line.max(axis=0) + 2.0 * self.radius - self.grid[:2]) / self.apart).astype(int) + 1
        i, j = np.maximum(low, 0)
        self.given_up[i : high[0], j : high[1]] = False
        self.begun.clear()

    def _cover(self, line: Array) -> None:
        self._clear(line, self.metal, self.metal_blocks)
        self._clear(line, self.standing, self.standing_blocks)

    def _clear(self, line: Array, field: Array, blocks: NDArray[np.bool_]) -> None:
        from proveout.geometry.kernels.engagement import cover_line

        cover_line(field, self.grid, line, self.radius)
        self._look_again(line, field, blocks)

    def _look_again(self, line: Array, field: Array, blocks: NDArray[np.bool_]) -> None:
        from proveout.geometry.kernels.blocks import look_again

        look_again(field, blocks, self.grid, line, self.radius + 2.0 * self.pitch)

    def _helix(self, here: Array | None) -> Array | None:
        """A circle to go down along, where there is most room in metal that is left; None when there is none."""
        nodes = np.argwhere(self.metal > 0.0)
        if len(nodes) * self.pitch**2 < LEAST_MM2:
            return None
        room = self.free[nodes[:, 0], nodes[:, 1]]
        if here is not None:
            away = np.linalg.norm(self.grid[:2] + self.pitch * nodes - here, axis=1)
            room = room - 1e-6 * away
        best = int(np.argmax(room))
        radius = float(self.free[nodes[best, 0], nodes[best, 1]])
        radius = min(radius, HELIX_RATIO * self.radius)
        centre = self.grid[:2] + self.pitch * nodes[best]
        if radius < HELIX_LEAST_RATIO * self.radius:
            return self._narrow(centre) if radius > 0.0 else None
        count = max(24, math.ceil(math.pi / math.acos(1.0 - min(0.5, self.straight / radius))))
        turns = 2.0 * math.pi * np.arange(count + 1) / count
        return centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])

    def _narrow(self, place: Array) -> Array | None:
        """The ring round the free places about one, where these are narrow all over and hold nothing cleared."""
        from proveout.geometry.kernels.engagement import at

        x_low, y_low, x_high, y_high = self.bounds
        box = [(x_low, y_low), (x_high, y_low), (x_high, y_high), (x_low, y_high)]
        for piece in (area_of([np.array(box)]) - self.obstacle).decompose():
            b = piece.bounds()
            if not (b[0] <= place[0] <= b[2] and b[1] <= place[1] <= b[3]):
                continue
            if not grown(piece, -HELIX_LEAST_RATIO * self.radius, chord_mm=COARSE_MM).is_empty():
                continue
            ring = max((np.asarray(c, dtype=np.float64) for c in piece.to_polygons()), key=len)
            ring = straightened(np.vstack([ring, ring[:1]]), 2.0 * self.straight)
            if length_of(ring) > LOOP_RATIO * self.radius and all(at(self.metal, self.grid, *p) > 0.0 for p in ring):
                return ring
        return None

    def _pulled(self, line: Array) -> Array:
        """The way pulled straight as far as it stays clear."""
        from proveout.geometry.kernels.starts import pulled

        return line[
            pulled(
                self.standing, self.standing_blocks, self.free, self.grid, self.rim, line, self.radius - GRAZED_MM
            )
        ]  # fmt: skip


def straightened(line: Array, within_mm: float) -> Array:
    """A polyline without the points that lie within a distance of those kept."""
    import shapely

    if len(line) < 3:
        return line
    return np.asarray(shapely.LineString(line).simplify(within_mm, preserve_topology=False).coords)


def _rings(area: Any) -> tuple[Array, NDArray[np.int64]]:
    rings = [np.asarray(r, dtype=np.float64) for r in area.to_polygons() if len(r) >= 3]
    if not rings:
        return np.zeros((0, 2)), np.zeros(1, dtype=np.int64)
    return np.vstack(rings), np.concatenate([[0], np.cumsum([len(r) for r in rings])]).astype(np.int64)
