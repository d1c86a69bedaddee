"""Every way in which a body stands on a seat between two jaws and stays there when they close.

A body that is pressed down stands on a facet of its convex hull. Jaws that close on it turn it about the upright until
the distance between them is a least one: then an edge of the hull of what lies between seat and jaw tops, seen from
above, is flush with one jaw, and what touches the other jaw lies across from that edge. These are found one by one;
nothing is sampled.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import triple
from proveout.grip.kernels.standing import broad_facets
from proveout.model.loading import Pose

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
CONTACT_MM = 0.01
"""Points of a body so near to a plane touch it: flats that differ by less are one."""
STAND_MM, STAND_RATIO = 3.0, 0.5
"""Common practice, no source: a facet so wide, and by that share of the body's smallest size, is stood on though the
middle of mass lies beside it, as a hand holds it."""
TURNED_DEG = tuple(sorted({round(360.0 * k / n, 6) for n in (2, 3, 4, 5, 6, 7, 8, 12) for k in range(1, n)}))
"""Turns in which a pocket with so many like sides takes the work."""
ODD_DEG = (3.0, 11.0, 37.0, 97.0)
"""Turns that only a round pocket takes: they stand for all."""
HALF_TURNS = ((1.0, 1.0, 1.0), (-1.0, -1.0, 1.0), (1.0, -1.0, -1.0), (-1.0, 1.0, -1.0))
FLUSH_MM = 3.0
"""Common practice, no source: a side so long finds its own way against a jaw; a shorter one is a corner."""
ALIKE_RAD = 8e-3
"""Facets and sides that differ by less than this, half a degree, count as one: the largest stands for all."""
SAME_RAD, SAME_MM = ALIKE_RAD, 0.05


@dataclass(frozen=True, kw_only=True)
class Body:
    """What is put in. points_mm: (n, 3) of its surface, every corner of its hull among them.  edges: (m, 2) rows of
    points joined by a straight line of its surface, (0, 2) where the points lie close enough without.  middle_mm: (3,)
    of its mass.
    """

    points_mm: Floats
    edges: Integers
    middle_mm: Floats

    @cached_property
    def hull(self) -> Any:
        """The convex hull of its points."""
        from scipy.spatial import ConvexHull

        return ConvexHull(self.points_mm)

    @property
    def corners_mm(self) -> Floats:
        """(k, 3) corners of its hull."""
        return self.points_mm[self.hull.vertices]

    def moved(self, turn: Floats, shift_mm: Floats) -> Body:
        """The body turned and shifted."""
        return Body(
            points_mm=self.points_mm @ turn.T + shift_mm, edges=self.edges, middle_mm=self.middle_mm @ turn.T + shift_mm
        )


@dataclass(frozen=True, kw_only=True)
class Vise:
    """Jaws that close along y on a seat at z = 0, the fixed jaw's face at y = 0 and the other one below it.

    top_mm: of the jaws.   opening_mm: the widest gap.   low_mm, high_mm: ends of the jaws along x.   stop_mm: x of a
    flat stop that work is pushed against, None without one.
    """

    top_mm: float
    opening_mm: float
    low_mm: float
    high_mm: float
    stop_mm: float | None


def seated_poses(body: Body, vise: Vise, *, is_formed: bool = False) -> tuple[Pose, ...]:
    """Every pose that seats, in a fixed order.

    Args:     is_formed: the jaws are cut to a shape that may carry work where no facet would; how the body lies in its
              own frame, upside down too, and turned about the upright as like sides or a round allow, are then poses
              as well.
    Returns:  poses with the body on the seat, against the fixed jaw, and at the stop from either side of it, or in the
              middle of where it may slide to. The middle of its mass lies between the ends of the jaws.
    Valid:    bodies of any shape; poses nearer than half a degree count as one. One that stands on a corner or an edge
              is not seated, nor one that a chip lifts.
    """
    found: list[Pose] = []
    corners = body.corners_mm
    for turn in _formed_turns() if is_formed else ():
        floor, held = _held(body, turn, vise.top_mm)
        found.extend(_laid(body, corners, turn, held, float(np.ptp(held[:, 1])), floor, vise))
    for down in standing_normals(body):
        upright = _frame_of(-down)
        floor, held = _held(body, upright, vise.top_mm)
        ring = hull_ring(held)
        for angle, gap in closing_angles(ring):
            if gap > vise.opening_mm + CONTACT_MM:
                continue
            c, s = np.cos(angle), np.sin(angle)
            turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ upright
            for pose in _laid(body, corners, turn, ring @ np.array([[c, s], [-s, c]]), gap, floor, vise):
                if not _is_among(pose, found):
                    found.append(pose)
    return tuple(found)


def _formed_turns() -> list[Floats]:
    """(3, 3) half turns first, then each way up turned about the upright."""
    found = [np.diag(signs) for signs in HALF_TURNS]
    for angle in (*TURNED_DEG, *ODD_DEG):
        if angle != 180.0:
            c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
            about = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
            found += [about, about @ np.diag(HALF_TURNS[2])]
    return found


def standing_normals(body: Body) -> list[Floats]:
    """Outward normals (3,) of the facets of the hull that it can stand on, the largest facet first."""
    hull, corners = body.hull, body.corners_mm
    sides = body.points_mm[hull.simplices]
    areas = np.linalg.norm(np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0]), axis=1) / 2.0
    normals = hull.equations[:, :3]
    small = float(np.ptp(corners, axis=0).min())
    order = np.lexsort((normals[:, 2], normals[:, 1], normals[:, 0], -np.round(areas, 4)))
    normals = normals[order] / np.linalg.norm(normals[order], axis=1)[:, None]
    wide = max(STAND_MM, STAND_RATIO * small)
    broad = broad_facets(normals, corners, body.middle_mm, float(np.cos(ALIKE_RAD)), CONTACT_MM, STAND_MM, wide)
    kept: list[Floats] = []
    for normal in normals[broad]:
        heights = corners @ normal
        if _stands(corners[heights >= float(heights.max()) - CONTACT_MM], normal, body.middle_mm, wide):
            kept.append(normal)
    return kept


def closing_angles(ring: Floats) -> list[tuple[float, float]]:
    """Turns about the upright at which jaws come to rest on points seen from above, and the gap between them.

    Args:     ring: (k, 2) as from `hull_ring`, of what lies between the jaws; they close along y.
    Returns:  (angle in radians, gap in mm): turned by the angle an edge is flush with the upper or the lower jaw and
              something of the other side lies across from it.
    """
    if len(ring) < 3:
        return []
    found: list[tuple[float, float]] = []
    sides = np.roll(ring, -1, axis=0) - ring
    sizes = np.hypot(*sides.T)
    seen: list[float] = []
    for at in np.lexsort((np.arange(len(ring)), -np.round(sizes, 4))):
        along = sides[at]
        heading = float(np.arctan2(along[1], along[0]))
        if sizes[at] < FLUSH_MM or any(abs(_turned(heading - other)) < ALIKE_RAD for other in seen):
            continue
        seen.append(heading)
        # the outward normal of an edge of a ring that runs against the clock looks to its right
        outward = np.arctan2(-along[0], along[1])
        for wanted in (np.pi / 2.0, -np.pi / 2.0):
            angle = _turned(float(wanted - outward))
            turned = ring @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
            low, high = float(turned[:, 1].min()), float(turned[:, 1].max())
            upper = turned[turned[:, 1] > high - CONTACT_MM, 0]
            lower = turned[turned[:, 1] < low + CONTACT_MM, 0]
            if max(upper.min(), lower.min()) <= min(upper.max(), lower.max()) + CONTACT_MM:
                found.append((angle, high - low))
    return found


def _turned(angle: float) -> float:
    """The angle within half a turn."""
    return float((angle + np.pi) % (2.0 * np.pi) - np.pi)


def hull_ring(points_mm: Floats) -> Floats:
    """Corners (k, 2) of the smallest convex outline round points (n, 2), against the clock, without those on sides."""
    from scipy.spatial import ConvexHull, QhullError

    if len(points_mm) < 3:
        return points_mm
    try:
        ring = points_mm[ConvexHull(points_mm).vertices]
    except QhullError:  # all in one line
        return points_mm[:0]
    kept = [i for i in range(len(ring)) if _corner_height(ring[i - 1], ring[i], ring[(i + 1) % len(ring)]) > 1e-6]
    return ring[kept]


def _corner_height(before: Floats, here: Floats, after: Floats) -> float:
    way = after - before
    size = max(float(np.hypot(*way)), 1e-12)
    return abs(float(way[0] * (here - before)[1] - way[1] * (here - before)[0])) / size


def _stands(touching: Floats, normal: Floats, middle: Floats, wide: float) -> bool:
    """Whether the middle of mass lies over what touches, or that is wide enough to be held on by hand."""
    flat = touching @ _frame_of(normal).T
    ring = hull_ring(flat[:, :2])
    if len(ring) < 3:
        return False
    at = (_frame_of(normal) @ middle)[:2]
    sides = np.roll(ring, -1, axis=0) - ring
    inward = np.column_stack([-sides[:, 1], sides[:, 0]]) / np.linalg.norm(sides, axis=1)[:, None]
    if float(((at - ring) * inward).sum(axis=1).min()) >= -CONTACT_MM:
        return True
    widths = [(float((ring @ n).max() - (ring @ n).min())) for n in inward]
    return min(widths) >= wide


def _held(body: Body, turn: Floats, top: float) -> tuple[float, Floats]:
    """How high the lowest point of a turned body lies, and what lies between seat and jaw tops.

    Returns:  mm, and (n, 2) points whose hull seen from above is that of all of it.
    """
    heights = body.points_mm @ turn[2]
    floor = float(heights.min())
    heights -= floor
    own = body.points_mm[heights <= top + CONTACT_MM] @ turn[:2].T
    if not len(body.edges):
        return floor, own
    one, two = heights[body.edges[:, 0]], heights[body.edges[:, 1]]
    crosses = (one - top) * (two - top) < 0.0
    share = ((top - one) / np.where(crosses, two - one, 1.0))[crosses, None]
    first, last = (body.points_mm[body.edges[crosses, end]] @ turn[:2].T for end in (0, 1))
    return floor, np.vstack([own, first + share * (last - first)])


def _laid(
    body: Body, corners: Floats, turn: Floats, held: Floats, gap: float, floor: float, vise: Vise
) -> list[Pose]:  # fmt: skip
    """The poses of one turn: against the fixed jaw, and at the stop from either side or slid along the jaws.

    corners: of the body's hull.   held: (n, 2) of what lies between the jaws, turned.
    """
    along = corners @ turn[0]
    low, high, middle = float(along.min()), float(along.max()), float(body.middle_mm @ turn[0])
    y, z = -float(held[:, 1].max()), -floor
    rows = (triple(turn[0]), triple(turn[1]), triple(turn[2]))
    if vise.stop_mm is None:
        first, last = vise.low_mm - middle, vise.high_mm - middle
        x = (first + last) / 2.0
        slide = (round(first - x, 6), round(last - x, 6))
        return [Pose(turn=rows, shift_mm=triple((x, y, z)), gap_mm=round(gap, 6), slide_mm=slide)]
    return [
        Pose(turn=rows, shift_mm=triple((x, y, z)), gap_mm=round(gap, 6))
        for x in (vise.stop_mm - low, vise.stop_mm - high)
        if vise.low_mm <= middle + x <= vise.high_mm
    ]


def _frame_of(up: Floats) -> Floats:
    """Rows of a right-handed frame whose z is `up`, chosen by `up` alone."""
    helper = np.zeros(3)
    helper[int(np.argmin(np.abs(np.round(up, 9))))] = 1.0
    x = np.cross(helper, up)
    x = x / np.linalg.norm(x)
    return np.array([x, np.cross(up, x), up])


def _is_among(pose: Pose, others: list[Pose]) -> bool:
    if not others:
        return False
    turns = np.abs(np.array([one.turn for one in others]) - np.array(pose.turn)).max(axis=(1, 2))
    shifts = np.abs(np.array([one.shift_mm for one in others]) - np.array(pose.shift_mm)).max(axis=1)
    return bool(((turns < SAME_RAD) & (shifts < SAME_MM)).any())
