"""Cutter radius compensation: the tip's path beside a contour that a program gives (G41 left of it, G42 right).

Meaning:  NIST report 6556, 3.5.10 and appendix B: the first move ends where the cutter touches the contour's first
          point beside the line it comes on; round an outside corner the tip goes in an arc about the corner.
Departs:  at an inside corner the tip turns where both paths beside the contour meet (common practice, no source; the
          report's own control refuses such corners). Where they do not meet the corner is narrower than the cutter: a
          fault, and the paths are left as they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import msgspec

from proveout.geometry.arcs import XY, Arc
from proveout.model.course import Event, Motion, Note, Turning

SAME_MM = 1e-9
SAME_RAD = 1e-7
Flat = tuple[float, float]


@dataclass(frozen=True)
class Beside:
    """A move of the contour.  side: 1 with the tip to its left, -1 to its right.  radius_mm: how far."""

    motion: Motion
    side: int
    radius_mm: float


@dataclass(frozen=True)
class _Piece:
    """One move of the path beside the contour in the XY plane: a straight one when turn_rad is 0.

    corner: the contour's point at its end, about which the tip goes round an outside corner.
    """

    of: Beside
    start: Flat
    end: Flat
    corner: Flat
    centre: Flat = (0.0, 0.0)
    turn_rad: float = 0.0

    def way_at(self, point: Flat) -> Flat:
        """Unit direction of the piece at one of its points."""
        if self.turn_rad == 0.0:
            return _unit(self.start, self.end)
        x, y = point[0] - self.centre[0], point[1] - self.centre[1]
        size = math.hypot(x, y) or 1.0
        sense = math.copysign(1.0, self.turn_rad)
        return -sense * y / size, sense * x / size


Item = Motion | Turning | Event


def beside_the_contour(items: Iterable[Item | Beside], tell: Callable[[Note], None]) -> list[Item]:
    """The items with every stretch of contour replaced by the path beside it.

    Formula:  a line moves sideways by r; an arc of radius R about c becomes one of R - s r, s = 1 where the tip lies
              towards the centre and -1 where it lies away from it.
    Args:     items: in order.   tell: takes what is wrong.
    Returns:  motions, turns and events in order; a motion that follows a contour begins where the tip really is.
    Valid:    lines and arcs of the XY plane, also with Z; moves of Z alone keep the tip's place in the plane.
    Source:   nist-program-report (appendix B).
    Departs:  inside corners, as said above.
    Checked:  tests/programs/test_radius.py
    """
    done: list[Item] = []
    stretch: list[Item | Beside] = []
    tip: Flat | None = None
    is_after = False
    for item in [*items, None]:
        if isinstance(item, Beside) or (stretch and isinstance(item, Event)):
            stretch.append(item)
            continue
        if stretch:
            tip = _stretch(stretch, done, tell)
            is_after = tip is not None
            stretch = []
        if item is None:
            break
        if isinstance(item, Motion) and is_after and tip is not None:
            follows, tip = _from_the_tip(item, tip)
            done.append(follows)
            is_after = tip is not None
            continue
        done.append(item)
    return done


def _from_the_tip(motion: Motion, tip: Flat) -> tuple[Motion, Flat | None]:
    """A motion after a contour begins where the tip is, and an axis that it does not name stays there."""
    held = motion.start[0] == motion.end[0], motion.start[1] == motion.end[1]
    x, y = (tip[k] if held[k] else motion.end[k] for k in range(2))
    moved = msgspec.structs.replace(motion, start=(tip[0], tip[1], motion.start[2]), end=(x, y, motion.end[2]))
    return moved, (x, y) if (held[0] or held[1]) and x is not None and y is not None else None


def _stretch(stretch: list[Item | Beside], done: list[Item], tell: Callable[[Note], None]) -> Flat | None:
    """Put the path beside one stretch of contour into `done`; where the tip then is in the plane, None if unknown."""
    groups: list[list[_Piece]] = []  # each move of the contour with the arc round its corner
    slots: list[int | Item | Beside] = []
    for item in stretch:
        if not isinstance(item, Beside):
            slots.append(item)
            continue
        start, end = item.motion.start, item.motion.end
        if None in (start[0], start[1], end[0], end[1]):
            _tell(tell, item, "unknown", "where the contour lies is not known")
            slots.append(item.motion)
            continue
        one = (float(start[0] or 0.0), float(start[1] or 0.0))
        two = (float(end[0] or 0.0), float(end[1] or 0.0))
        if item.motion.arc is None and math.dist(one, two) <= SAME_MM:
            slots.append(item)  # along Z alone: it goes down where the tip is
            continue
        piece = _beside(item, one, two, tell) if groups else _entry(item, one, two, tell)
        if groups:
            groups[-1][-1], corner, piece = _join(groups[-1][-1], piece, tell)
            groups[-1].extend(corner)
        slots.append(len(groups))
        groups.append([piece])
    tip: Flat | None = None
    for slot in slots:
        if isinstance(slot, int):
            heights = _heights(groups[slot])
            for piece, (low, high) in zip(groups[slot], heights, strict=True):
                done.append(_motion(piece, low, high))
                tip = piece.end
        elif isinstance(slot, Beside):
            motion = slot.motion
            x, y = (motion.start[0], motion.start[1]) if tip is None else tip
            done.append(msgspec.structs.replace(motion, start=(x, y, motion.start[2]), end=(x, y, motion.end[2])))
        else:
            done.append(slot)
    return tip


def _entry(item: Beside, start: Flat, end: Flat, tell: Callable[[Note], None]) -> _Piece:
    """The first move: from where the tip is to where the cutter touches the contour's first point."""
    radius = item.radius_mm
    away = math.dist(start, end)
    if item.motion.arc is not None:
        _tell(tell, item, "fault", "compensation for the cutter's radius begins on an arc")
        return _plain(item, start, end)
    if away <= radius:
        _tell(
            tell, item, "fault",
            f"the first move beside the contour is {away:.4f} mm long; more than the radius, {radius:g} mm, is needed",
        )  # fmt: skip
        return _plain(item, start, end)
    angle = math.atan2(end[1] - start[1], end[0] - start[0]) + item.side * math.asin(radius / away)
    way = math.cos(angle), math.sin(angle)
    return _Piece(of=item, start=start, end=_aside(end, way, item.side * radius), corner=end)


def _plain(item: Beside, start: Flat, end: Flat) -> _Piece:
    arc = item.motion.arc
    if arc is None:
        return _Piece(of=item, start=start, end=end, corner=end)
    return _Piece(of=item, start=start, end=end, corner=end, centre=arc.centre_mm, turn_rad=arc.turn_rad)


def _beside(item: Beside, start: Flat, end: Flat, tell: Callable[[Note], None]) -> _Piece:
    """One move of the contour, moved sideways."""
    by = item.side * item.radius_mm
    arc = item.motion.arc
    if arc is None:
        way = _unit(start, end)
        return _Piece(of=item, start=_aside(start, way, by), end=_aside(end, way, by), corner=end)
    if arc.plane != XY:
        _tell(tell, item, "fault", "an arc of another plane stands in a contour beside which the cutter goes")
        return _plain(item, start, end)
    radius = arc.radius_mm - by * math.copysign(1.0, arc.turn_rad)
    if radius <= SAME_MM:
        _tell(
            tell, item, "fault",
            f"the cutter's radius of {item.radius_mm:g} mm does not go into an arc of {arc.radius_mm:g} mm",
        )  # fmt: skip
        return _plain(item, start, end)
    share = radius / arc.radius_mm
    one, two = (_between(arc.centre_mm, point, share) for point in (start, end))
    return _Piece(of=item, start=one, end=two, corner=end, centre=arc.centre_mm, turn_rad=arc.turn_rad)


def _join(before: _Piece, after: _Piece, tell: Callable[[Note], None]) -> tuple[_Piece, list[_Piece], _Piece]:
    """Bring the end of one piece and the start of the next together."""
    if math.dist(before.end, after.start) <= 1e-6:
        return before, [], replace(after, start=before.end)
    side = after.of.side
    one, two = before.way_at(before.end), after.way_at(after.start)
    turn = math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])
    if side * turn > SAME_RAD and side * turn < math.pi - SAME_RAD:
        met = _meeting(before, after)
        if met is None:
            _tell(tell, after.of, "fault", "an inside corner of the contour is narrower than the cutter")
            return before, [], replace(after, start=before.end) if after.turn_rad == 0.0 else after
        return _ending(before, met), [], _beginning(after, met)
    # round the outside of the corner, about the contour's own point
    begin = math.atan2(before.end[1] - before.corner[1], before.end[0] - before.corner[0])
    stop = math.atan2(after.start[1] - before.corner[1], after.start[0] - before.corner[0])
    swing = -side * ((side * (begin - stop)) % (2.0 * math.pi))
    corner = _Piece(
        of=before.of, start=before.end, end=after.start, corner=before.corner, centre=before.corner, turn_rad=swing
    )
    return before, [corner] if swing != 0.0 else [], after


def _meeting(before: _Piece, after: _Piece) -> Flat | None:
    """Where two pieces meet on the parts of them that are left, nearest to the corner; None where they do not."""
    found = [
        point for point in _crossings(before, after)
        if _share(before, point) is not None and _share(after, point) is not None
    ]  # fmt: skip
    return min(found, key=lambda point: math.dist(point, before.corner), default=None)


def _crossings(one: _Piece, two: _Piece) -> list[Flat]:
    if one.turn_rad == 0.0 and two.turn_rad == 0.0:
        a, b = one.way_at(one.start), two.way_at(two.start)
        cross = a[0] * b[1] - a[1] * b[0]
        if abs(cross) < 1e-12:
            return []
        x, y = two.start[0] - one.start[0], two.start[1] - one.start[1]
        along = (x * b[1] - y * b[0]) / cross
        return [(one.start[0] + along * a[0], one.start[1] + along * a[1])]
    if one.turn_rad != 0.0 and two.turn_rad != 0.0:
        return _of_circles(one.centre, math.dist(one.centre, one.start), two.centre, math.dist(two.centre, two.start))
    line, arc = (one, two) if one.turn_rad == 0.0 else (two, one)
    way, radius = line.way_at(line.start), math.dist(arc.centre, arc.start)
    x, y = line.start[0] - arc.centre[0], line.start[1] - arc.centre[1]
    half = x * way[0] + y * way[1]
    under = half * half - (x * x + y * y - radius * radius)
    if under < 0.0:
        return []
    return [
        (line.start[0] + t * way[0], line.start[1] + t * way[1])
        for t in (-half - math.sqrt(under), -half + math.sqrt(under))
    ]


def _of_circles(one: Flat, one_mm: float, two: Flat, two_mm: float) -> list[Flat]:
    apart = math.dist(one, two)
    if apart < 1e-12 or apart > one_mm + two_mm or apart < abs(one_mm - two_mm):
        return []
    along = (one_mm**2 - two_mm**2 + apart**2) / (2.0 * apart)
    aside = math.sqrt(max(0.0, one_mm**2 - along**2))
    x, y = (two[0] - one[0]) / apart, (two[1] - one[1]) / apart
    foot = (one[0] + along * x, one[1] + along * y)
    return [(foot[0] - aside * y, foot[1] + aside * x), (foot[0] + aside * y, foot[1] - aside * x)]


def _share(piece: _Piece, point: Flat) -> float | None:
    """How far along the piece a point on its line lies, 0..1; None where it lies beyond an end."""
    if piece.turn_rad == 0.0:
        length = math.dist(piece.start, piece.end)
        way = piece.way_at(piece.start)
        share = ((point[0] - piece.start[0]) * way[0] + (point[1] - piece.start[1]) * way[1]) / length
    else:
        share = _swing(piece, point) / piece.turn_rad
    return share if -1e-9 <= share <= 1.0 + 1e-9 else None


def _swing(piece: _Piece, point: Flat) -> float:
    """The turn from the start of an arc to a point on it, in the sense of the arc."""
    begin = math.atan2(piece.start[1] - piece.centre[1], piece.start[0] - piece.centre[0])
    there = math.atan2(point[1] - piece.centre[1], point[0] - piece.centre[0])
    if piece.turn_rad > 0.0:
        return (there - begin) % (2.0 * math.pi)
    return -((begin - there) % (2.0 * math.pi))


def _ending(piece: _Piece, at: Flat) -> _Piece:
    if piece.turn_rad == 0.0:
        return replace(piece, end=at)
    return replace(piece, end=at, turn_rad=_swing(piece, at))


def _beginning(piece: _Piece, at: Flat) -> _Piece:
    if piece.turn_rad == 0.0:
        return replace(piece, start=at)
    return replace(piece, start=at, turn_rad=piece.turn_rad - _swing(piece, at))


def _heights(group: list[_Piece]) -> list[tuple[float | None, float | None]]:
    """Z at both ends of each piece of a group: the move rises, the corner behind it stays level."""
    start, end = group[0].of.motion.start[2], group[0].of.motion.end[2]
    return [(start, end), *((end, end) for _ in group[1:])]


def _motion(piece: _Piece, low_mm: float | None, high_mm: float | None) -> Motion:
    motion = piece.of.motion
    arc = None
    if piece.turn_rad != 0.0:
        arc = Arc(XY, piece.centre, math.dist(piece.centre, piece.start), piece.turn_rad)
    return msgspec.structs.replace(
        motion, start=(piece.start[0], piece.start[1], low_mm), end=(piece.end[0], piece.end[1], high_mm), arc=arc
    )


def _unit(start: Flat, end: Flat) -> Flat:
    length = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _aside(point: Flat, way: Flat, by: float) -> Flat:
    """A point moved to the left of a way."""
    return point[0] - by * way[1], point[1] + by * way[0]


def _between(centre: Flat, point: Flat, share: float) -> Flat:
    return centre[0] + share * (point[0] - centre[0]), centre[1] + share * (point[1] - centre[1])


def _tell(tell: Callable[[Note], None], item: Beside, kind: str, what: str) -> None:
    tell(Note(line=item.motion.line, column=1, kind="fault" if kind == "fault" else "unknown", what=what))
