"""What each promised face asks of a cutter at its tilt: how it is met, the largest radius, how deep it lies."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet, Seen, facets_of, hollow_radius_mm, touching_faces
from proveout.model.reach import ReachedBy
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Clamping, Tilt
from proveout.stages.cutters.room import Room

Array = NDArray[np.float64]

CORNER_RATIO = 0.8
"""A cutter's radius is at most this share of the inside corner it cuts, so that it sweeps round it."""
SAME_MM = 1e-4
"""Radii, gaps and depths nearer than this are one: what a mesh says differs so much from export to export."""
ROOM_RATIO = 0.97
"""A tilt has room for a face when a cutter can stand over this share of the places tried."""
RANK: dict[Seen, int] = {"floor": 0, "wall": 0, "inclined": 1, "cone": 1, "curved": 2, "under": 3, "away": 9}
SAME_WAY = 1.0 - 1e-9
ANGLE_RAD = math.radians(0.1)
"""An undercut cutter's flank agrees with the face it cuts within this."""


class Need(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """One face at one tilt.

    corner_mm: smallest inside-corner radius along it seen from the cutter, None for none.
    gap_mm: smallest distance to the wall across, None when open.  depth_mm: from the target's top to its foot.
    tall_mm: its own height.
    """

    face_id: str
    facet: Facet
    seen: Seen
    corner_mm: float | None
    gap_mm: float | None
    depth_mm: float
    tall_mm: float

    @property
    def radius_mm(self) -> float:
        """Largest cutter radius: 0.8 of the corner and 0.8 of half the gap, inf when nothing bounds it."""
        bounds = [CORNER_RATIO * v for v in (self.corner_mm, self.gap_mm / 2.0 if self.gap_mm else None) if v]
        return min(bounds, default=float("inf"))

    @property
    def widest_mm(self) -> float:
        """The radius that just enters: corner and half the gap themselves."""
        bounds = [v for v in (self.corner_mm, self.gap_mm / 2.0 if self.gap_mm else None) if v]
        return min(bounds, default=float("inf"))


class TiltFaces:
    """The target's faces as one tilt meets them."""

    def __init__(
        self, *, target: Target, tilt: Tilt, body: Any, touching: list[set[int]], clamping: Clamping | None = None
    ) -> None:
        self.tilt = tilt
        self.number = 0 if clamping is None else clamping.number
        self._clamping = clamping
        self._room: Room | None = None
        self.points: Array = tilt.frame.into(target.vertices_mm)
        self.triangles = target.triangles
        self.face_ids = target.face_ids
        self.facets = facets_of(
            points_mm=self.points,
            triangles=target.triangles,
            triangle_face=target.triangle_face,
            count=len(target.face_ids),
        )
        self.top_mm = float(self.points[:, 2].max())
        self._touching = touching
        frame = tilt.frame
        turn = frame.turn
        self._body = (
            None if body is None else body.transform(np.column_stack([turn, -turn @ np.array(frame.origin_mm)]))
        )
        self._hollow: dict[int, float | None] = {}

    def height_mm(self, point_mm: tuple[float, float, float]) -> float:
        """Height of a place of the part in the tilt's frame."""
        return float(self.tilt.frame.into([point_mm])[0, 2])

    def need(self, index: int) -> Need:
        """What the face of that index asks."""
        facet = self.facets[index]
        seen = facet.seen
        corner = self._corner(index) if seen in ("floor", "wall") else None
        gap = self._gap(facet) if seen == "wall" and facet.is_flat else None
        return Need(
            face_id=self.face_ids[index],
            facet=facet,
            seen=seen,
            corner_mm=corner,
            gap_mm=gap,
            depth_mm=self.top_mm - float(facet.low_mm[2]),
            tall_mm=float(facet.high_mm[2] - facet.low_mm[2]),
        )

    def shoulders_of(self, own: set[str]) -> list[str]:
        """Floors that touch two faces of a hole and no face that is not the hole's, sorted."""
        inside = {k for k, f in enumerate(self.face_ids) if f in own}
        return sorted(
            self.face_ids[k]
            for k, near in enumerate(self._touching)
            if self.facets[k].seen == "floor" and k not in inside and len(near) > 1 and near <= inside
        )

    def room_share(self, index: int, cutters: tuple[Cutter, ...]) -> float:
        """Share of a face that the longest fitting cutter can stand over; 1 where that is not asked."""
        facet = self.facets[index]
        if facet.is_ceiling:
            return 1.0 if any(c.kind == "T-slot" for c in cutters) else 0.0
        if facet.seen == "away":
            return 0.0
        if facet.seen == "under":
            return 1.0 if any(is_undercut_by(facet, c) for c in cutters) else 0.0
        if self._clamping is None:
            return 1.0
        kind = "end mill" if facet.seen in ("floor", "wall") else "ball"
        fit = [c for c in cutters if c.kind == kind]
        if kind == "end mill":
            most = self.need(index).widest_mm
            fit = [c for c in fit if c.diameter_mm / 2.0 <= most + SAME_MM]
        if not fit:
            return 0.0
        return self._over(self._clamping).share(facet, max(fit, key=lambda c: (c.stick_out_mm, c.diameter_mm, c.id)))

    def holder_free(self, cutter: Cutter, tip_mm: tuple[float, float, float]) -> bool:
        """Whether holder, target and jaws leave each other alone with the tip at a place of the tilt's frame."""
        return self._clamping is None or self._over(self._clamping).holder_free(*tip_mm, cutter)

    def _over(self, clamping: Clamping) -> Room:
        if self._room is None:
            self._room = Room(points=self.points, triangles=self.triangles, clamping=clamping, tilt=self.tilt)
        return self._room

    def _corner(self, index: int) -> float | None:
        facet = self.facets[index]
        radii = [self._radius(index)]
        for other in sorted(self._touching[index]):
            # a hole or corner that lies below a floor does not bound the cutter that runs over that floor
            if facet.seen == "floor" and float(self.facets[other].high_mm[2]) < float(facet.high_mm[2]) + 1e-3:
                continue
            if self.facets[other].seen == "wall" and self._meets_smoothly(index, other):
                radii.append(self._radius(other))
        return min((r for r in radii if r is not None), default=None)

    def _meets_smoothly(self, index: int, other: int) -> bool:
        """A floor meets every wall above it; a wall only the corners that run on from it."""
        first, second = self.facets[index], self.facets[other]
        if first.seen == "floor":
            return True
        a = self.points[np.unique(self.triangles[first.rows])]
        b = self.points[np.unique(self.triangles[second.rows])]
        return bool(min(a[:, 2].max(), b[:, 2].max()) - max(a[:, 2].min(), b[:, 2].min()) > 1e-3)

    def _radius(self, index: int) -> float | None:
        if index not in self._hollow:
            self._hollow[index] = hollow_radius_mm(
                facet=self.facets[index], points_mm=self.points, triangles=self.triangles
            )
        return self._hollow[index]

    def _gap(self, facet: Facet) -> float | None:
        """Least free distance straight out from a wall, at three places along each of its triangles' middles."""
        if self._body is None:
            return None
        order = facet.rows[:8]
        reach = float(np.ptp(self.points, axis=0).max()) + 1.0
        found: list[float] = []
        for row in order:
            corners = self.points[self.triangles[row]]
            for weights in ((1 / 3, 1 / 3, 1 / 3), (0.8, 0.1, 0.1), (0.1, 0.8, 0.1), (0.1, 0.1, 0.8)):
                start = np.array(weights) @ corners + 1e-4 * facet.normal
                hits = self._body.ray_cast(tuple(start), tuple(start + reach * facet.normal))
                across = [
                    reach * float(h.distance) for h in hits if float(np.dot(np.array(h.normal), facet.normal)) < -0.7
                ]
                if across:
                    found.append(min(across))
        return min(found, default=None)


def touching_of(target: Target) -> list[set[int]]:
    """Neighbours of every face."""
    return touching_faces(triangles=target.triangles, triangle_face=target.triangle_face, count=len(target.face_ids))


def is_undercut_by(facet: Facet, cutter: Cutter) -> bool:
    """The flat face leans under by the angle of this undercut cutter's flank."""
    lean = math.asin(max(0.0, min(1.0, -float(facet.normal[2]))))
    return cutter.kind == "undercut" and facet.is_flat and abs(cutter.tip_angle_rad - lean) <= ANGLE_RAD


def tilt_for(
    index: int, tilts: list[TiltFaces], cutters: tuple[Cutter, ...], rolled: tuple[ReachedBy, ...] = ()
) -> tuple[TiltFaces, bool]:  # fmt: skip
    """The tilt that meets a face best: as a floor or a wall, then inclined; ties to the earlier tilt.

    One at which target or jaws keep the longest fitting cutter off the face comes after those with room;
    the answer's second part says whether there is room.   rolled: what balls reach of a round face, as the choice of
    clampings found it; where it is told nothing else says whether there is room.
    """
    met = (t for t in tilts if t.facets[index].seen != "away" or t.facets[index].is_ceiling)
    ranked = sorted(met, key=lambda t: RANK[t.facets[index].seen])
    best, most = (ranked or tilts)[0], -1.0
    for tilt in ranked:
        share = tilt.room_share(index, cutters)
        if rolled and tilt.facets[index].seen == "curved":
            share = max((b.reached_ratio for b in balls_at(tilt, rolled)), default=0.0)
        if share >= ROOM_RATIO:
            return tilt, True
        if share > most + 1e-9:
            best, most = tilt, share
    return best, False


def under_by(
    tilt: TiltFaces, face_id: str, cutters: tuple[Cutter, ...], reached: dict[str, tuple[ReachedBy, ...]]
) -> list[Cutter]:  # fmt: skip
    """T-slot cutters for a ceiling, best first: those that reach most of it, then the highest head, the widest.

    reached: by face, as the choice of clampings found it; where nothing is told of a T-slot cutter all are named.
    """
    heads = {c.id: c for c in cutters if c.kind == "T-slot"}
    shares = {b.cutter_id: b.reached_ratio for b in balls_at(tilt, reached.get(face_id, ())) if b.cutter_id in heads}
    named = [heads[i] for i in shares] if shares else list(heads.values())
    return sorted(named, key=lambda c: (-shares.get(c.id, 0.0), -c.flute_length_mm, -c.diameter_mm, c.id))


def balls_at(tilt: TiltFaces, rolled: tuple[ReachedBy, ...]) -> list[ReachedBy]:
    """What balls reach of a face at a tilt, the most first."""
    z = np.array(tilt.tilt.frame.z)
    return [b for b in rolled if b.clamping_number == tilt.number and float(z @ np.array(b.direction)) > SAME_WAY]


def order_of(clamping: Clamping) -> tuple[int, str]:
    """Clampings in working order."""
    return (clamping.number, clamping.id)
