"""Faces that look straight down: a wide head on a thin neck, brought in level from where nothing stands over it."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.choice import LIP_RATIO
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import area_of, clipped, grown, is_ring, rings_of, shape_of, swath_of
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.task import Task, feature_of, is_empty
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import BODY_GAP_MM, TiltView
from proveout.stages.passes.walls import foot_of

Array = NDArray[np.float64]
NECK_GAP_MM = 0.1 * BODY_GAP_MM
ENTRY_MM = 0.1
"""Air round the head on its way down."""
INTO_MM = 0.01
"""What the part has so near to the ends of the head is touched by them, not met."""
NEAR_MM, ALONG_MM = 0.03, 0.3
SKIN_MM = 0.1
"""Metal left on a ceiling or floor is looked for so far from it."""
DONE_RATIO = 0.98
SAME_MM = 2e-3
STAGES_MOST = 200


class Room(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """What lies under ceilings of one height over one floor. wanted: the ceilings seen from above."""

    ceilings: tuple[Facet, ...]
    top_mm: float
    floor_mm: float
    wanted: Any


def under_ceilings(task: Task, *, cutter: Cutter) -> None:
    """Cuts the promised ceilings with a T-slot cutter, and the walls and floors of the rooms under them."""
    for room in rooms_of(task):
        task.check(f"under {task.face_ids[room.ceilings[0].index]}")
        high = room.top_mm - room.floor_mm
        if cutter.flute_length_mm > high + SAME_MM:
            for facet in room.ceilings:
                task.reasons[task.face_ids[facet.index]] = (
                    f"the head of {cutter.id} is {cutter.flute_length_mm:g} mm high, the room under the face {high:.3f}"
                )
            continue
        _cut(task, room, cutter)


def rooms_of(task: Task) -> list[Room]:
    """The open ceilings of a tilt by their height and that of what lies under them, highest first."""
    found: dict[tuple[float, float], list[Facet]] = {}
    for facet in task.open_facets("away"):
        if facet.is_ceiling:
            top = float(facet.high_mm[2])
            found.setdefault((round(top, 3), round(_floor_mm(task.view, facet), 3)), []).append(facet)
    rooms = []
    for (_, floor), facets in sorted(found.items(), reverse=True):
        wanted = area_of([])
        for facet in facets:
            wanted = wanted + task.view.outline(facet)
        top = float(facets[0].high_mm[2])
        rooms.append(Room(ceilings=tuple(facets), top_mm=top, floor_mm=floor, wanted=wanted))
    return rooms


def _floor_mm(view: TiltView, facet: Facet) -> float:
    """Height of the highest that the part has straight under a ceiling; -inf where it has nothing."""
    depth = float(facet.high_mm[2]) - float(view.low_mm[2]) + 1.0
    best = -math.inf
    for row in facet.rows:
        middle = view.points[view.triangles[row]].mean(axis=0) - [0.0, 0.0, SAME_MM]
        for hit in view.body.ray_cast(tuple(middle), tuple(middle - [0.0, 0.0, depth])):
            best = max(best, float(middle[2] - depth * hit.distance))
    return best


def levels_mm(*, top_mm: float, floor_mm: float, head_mm: float) -> list[float]:
    """Heights of the tip from the floor up: the last puts the head's upper end to the ceiling.

    Worked: a room 6 high and a head of 4: at 0 and at 2. Without a floor the last alone.
    """
    last = top_mm - head_mm
    if math.isinf(floor_mm) or last - floor_mm < SAME_MM:
        return [last]
    count = math.ceil((top_mm - floor_mm) / head_mm - 1e-6)
    return [floor_mm + (last - floor_mm) * k / (count - 1) for k in range(count)]


def _cut(task: Task, room: Room, cutter: Cutter) -> None:
    view, head = task.view, cutter.flute_length_mm
    speeds, track = task.speeds(cutter), task.track()
    stage = task.limit("radial_ratio", cutter, LIP_RATIO) * cutter.diameter_mm
    walls, floors = _beside(task, room)
    feet = {f.index: foot_of(view, f) for f in walls}
    for z in levels_mm(top_mm=room.top_mm, floor_mm=room.floor_mm, head_mm=head):
        lines, last = _level(view, track, speeds, cutter, room, z, stage_mm=stage)
        view.cut(swath_of(lines, cutter.diameter_mm / 2.0), above_mm=z, below_mm=z + head)
        for line in last:
            for index, foot in feet.items():
                feet[index] = foot.difference(_beside_line(line, cutter.diameter_mm / 2.0 + NEAR_MM))
    made: list[Facet] = []
    for facet, low, high in [
        *((f, room.top_mm - SKIN_MM, room.top_mm - INTO_MM) for f in room.ceilings),
        *((f, room.floor_mm + INTO_MM, room.floor_mm + SKIN_MM) for f in floors),
    ]:
        outline = view.outline(facet)
        size, left = float(outline.area()), float((outline ^ slab(view.work, low, high)).area())
        _book(task, facet, made, cutter, 1.0 - left / max(size, 1e-9))
    for facet in walls:
        whole = float(foot_of(view, facet).length)
        _book(task, facet, made, cutter, 1.0 - float(feet[facet.index].length) / max(whole, 1e-9))
    ids = task.ids(made or room.ceilings)
    task.add(
        kind="undercut", cutter=cutter, feature=feature_of(ids, "ceilings"), face_ids=ids, track=track, speeds=speeds,
        radial_mm=min(stage, cutter.diameter_mm), axial_mm=min(head, room.top_mm - room.floor_mm),
    )  # fmt: skip


def _book(task: Task, facet: Facet, made: list[Facet], cutter: Cutter, share: float) -> None:
    """Whether a face is made, or what share of it."""
    face_id = task.face_ids[facet.index]
    if share >= DONE_RATIO:
        task.done.add(facet.index)
        task.reasons.pop(face_id, None)
        made.append(facet)
    else:
        task.reasons[face_id] = (
            f"{cutter.id} comes under {100.0 * max(share, 0.0):.0f} % of the face; its neck, its way in, jaws or square"
            " corners forbid the rest"
        )


def _beside(task: Task, room: Room) -> tuple[list[Facet], list[Facet]]:
    """The promised walls and floors without a pass that bound the room."""
    view = task.view
    near = shape_of(grown(room.wanted, 0.05))
    walls = [
        f for f in task.open_facets("wall")
        if float(f.low_mm[2]) > room.floor_mm - SAME_MM and float(f.high_mm[2]) < room.top_mm + SAME_MM
        and near.intersects(foot_of(view, f))
    ]  # fmt: skip
    floors = [
        f for f in task.open_facets("floor")
        if abs(float(f.high_mm[2]) - room.floor_mm) < SAME_MM and not is_empty(view.outline(f) ^ room.wanted)
    ]  # fmt: skip
    return walls, floors


def slab(body: Any, low_mm: float, high_mm: float) -> Any:
    """What a body has between two heights, seen from above."""
    return body.trim_by_plane((0.0, 0.0, 1.0), low_mm).trim_by_plane((0.0, 0.0, -1.0), -high_mm).project()


def blocked_at(view: TiltView, cutter: Cutter, z_mm: float) -> Any:
    """Where the tip may not stand at a height: head against the part, neck, shank and holder against the work."""
    radius, over = cutter.diameter_mm / 2.0, z_mm + cutter.flute_length_mm
    area = grown(slab(view.body, z_mm + INTO_MM, over - INTO_MM), radius)
    collar = max(z_mm + cutter.stick_out_mm, over)
    behind = collar if cutter.neck_length_mm is None else z_mm + cutter.shank_from_mm
    for body in (view.body, view.work):
        area = area + grown(slab(body, over + INTO_MM, behind), cutter.neck_or_shank_mm / 2.0 + NECK_GAP_MM)
        if behind < collar:
            area = area + grown(slab(body, behind, collar), cutter.shank_diameter_mm / 2.0 + NECK_GAP_MM)
    return area + view.held_off(z_mm, cutter=cutter, radius_mm=radius)


def _level(
    view: TiltView, track: Track, speeds: Speeds, cutter: Cutter, room: Room, z: float, *, stage_mm: float
) -> tuple[list[Array], list[Array]]:  # fmt: skip
    """Lays one height, from outside in; returns all ways gone there, and those along the walls."""
    import shapely

    radius, head = cutter.diameter_mm / 2.0, cutter.flute_length_mm
    blocked = blocked_at(view, cutter, z)
    view.effort_count += view.body.num_tri() + view.work.num_tri()
    forbidden = shape_of(grown(blocked, -NEAR_MM / 3.0))
    shapely.prepare(forbidden)
    standing = slab(view.work, z + INTO_MM, z + head - INTO_MM) - slab(view.body, z + INTO_MM, z + head - INTO_MM)
    standing = standing ^ grown(room.wanted, ENTRY_MM)
    window = grown(room.wanted, 4.0 * radius + 5.0, chord_mm=0.01)
    entry = shape_of((window - blocked) - grown(view.metal(z) + view.shadow(z), radius + ENTRY_MM))
    zones = [grown(standing, radius), grown(room.wanted, radius - min(ALONG_MM, 0.1 * radius))]
    count = 0
    while count < STAGES_MOST and not (zones[0] - grown(blocked, (count + 1) * stage_mm)).is_empty():
        count += 1
    gone: list[Array] = []
    last: list[Array] = []
    for step in range(count, -1, -1):
        rings = rings_of(grown(blocked, step * stage_mm))
        pieces = clipped(rings, shape_of(zones[0] if step else zones[1]), least_mm=0.1)
        for piece in pieces:
            way = _way(piece, entry, forbidden)
            if way is None:
                continue
            into, line, out = way
            met = standing - swath_of(gone, radius)
            feed = speeds.slot_mm_per_s if step == count else speeds.feed_mm_per_s
            x, y = (float(v) for v in into[0])
            track.enter(x_mm=x, y_mm=y, z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
            link = speeds.air_mm_per_s if is_empty(swath_of([into], radius) ^ met) else speeds.slot_mm_per_s
            track.along(into, z_mm=z, feed_mm_per_s=min(link, speeds.air_mm_per_s))
            track.along(line, z_mm=z, feed_mm_per_s=feed)
            track.along(out, z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
            gone += [into, line]
            if step == 0:
                last.append(line)
    return gone, last


def _way(piece: Array, entry: Any, forbidden: Any) -> tuple[Array, Array, Array] | None:
    """From a place where the head came down to a piece, along it, and out again: lines; None without such a place."""
    if entry.is_empty:
        return None
    if is_ring(piece):
        for first in _turns(piece):
            line = np.vstack([piece[first:-1], piece[: first + 1]])
            into = _link(line[0], entry, forbidden)
            if into is not None:
                return into, line, into[::-1]
        return None
    for line in (piece, piece[::-1]):
        into = _link(line[0], entry, forbidden)
        if into is not None:
            out = _link(line[-1], entry, forbidden)
            # where its end leads nowhere it goes back the way it came
            return into, line, (np.vstack([line[::-1], into[::-1]]) if out is None else out[::-1])
    return None


def _turns(ring: Array) -> list[int]:
    """Places of a ring at which it may begin, well apart."""
    return sorted({int(v) for v in np.linspace(0, len(ring) - 2, min(len(ring) - 1, 48))})


def _link(goal: Array, entry: Any, forbidden: Any) -> Array | None:
    """The straight way from the nearest place of entry to a goal, None where something stands in it."""
    import shapely

    line = shapely.shortest_line(entry, shapely.Point(goal))
    way = np.asarray(line.coords)
    if len(way) < 2 or forbidden.intersects(line):
        return None
    return np.vstack([way[0], goal])


def _beside_line(line: Array, by_mm: float) -> Any:
    import shapely

    return shapely.LineString(line).buffer(by_mm)
