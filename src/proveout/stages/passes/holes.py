"""Holes: spot, drill, peck, counterbore, bore, tap, and the broken edge of a hole's mouth."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.geometry.facets import Facet
from proveout.model.choice import DRILL_MATCH_MM
from proveout.model.shop import Cutter
from proveout.model.work import Hole, HoleStep
from proveout.stages.passes.areas import disc, grown
from proveout.stages.passes.clearing import RAMP_TAN
from proveout.stages.passes.pecking import peck
from proveout.stages.passes.sizing import (
    LEFT_MM,
    SPLIT_MM,
    finish_round,
    inner_ratio,
    once_round,
    spot_looks,
    swings_mm,
)
from proveout.stages.passes.task import Task
from proveout.stages.passes.track import Track

THROUGH_MM = 0.5
"""How far past a through hole's far side the full diameter goes."""
PECK_RATIO = 3.0
"""Deeper than this many diameters a hole is pecked, one diameter at a time."""
FILL_MM = 0.02
METAL_STAYS = "metal stays"
"""Ends the reason of a hole that was drilled too narrow."""
SPOT_RATIO = 0.8
RIM_SECTORS = 8
SHOULDER_MM = 0.2
"""The target's shoulder lies within this of the solid's: a coat moves it by less."""
CHORDS_MM = 0.03
"""A hole's mesh lies within this of its circle, and a drill within this of its hole."""


class Seat(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A hole in the tilt's frame, steps from the cutter's side inward: (step, top z, low z, target diameter)."""

    hole: Hole
    x_mm: float
    y_mm: float
    steps: tuple[tuple[HoleStep, float, float, float], ...]
    rim_low_mm: float

    @property
    def drilled(self) -> tuple[HoleStep, float, float, float] | None:
        """The smallest cylinder, None when there is no cylinder."""
        sizes = [s for s in self.steps if s[0].kind == "cylinder"]
        return min(sizes, key=lambda s: s[3]) if sizes else None

    @property
    def top_mm(self) -> float:
        """Upper end of the hole."""
        return max(s[1] for s in self.steps)

    @property
    def low_mm(self) -> float:
        """Lower end of the hole."""
        return min(s[2] for s in self.steps)


def seat_of(task: Task, hole: Hole, *, offsets_mm: dict[str, float]) -> Seat | None:
    """The hole as this tilt meets it, None when its axis is not along the cutter or it is not open on this side."""
    frame = task.view.frame
    axis = frame.turn @ np.array(hole.outward)
    if abs(abs(float(axis[2])) - 1.0) > 1e-5:
        return None
    up = float(axis[2]) > 0.0
    if not up and not hole.is_through:
        return None
    entry = frame.into([hole.entry_mm])[0]
    steps = []
    for step in hole.steps:
        first, second = float(step.depth_low_mm), float(step.depth_high_mm)
        high = float(entry[2]) - first if up else float(entry[2]) + second
        low = float(entry[2]) - second if up else float(entry[2]) + first
        offset = max((offsets_mm.get(f, 0.0) for f in step.face_ids), default=0.0)
        steps.append((step, high, low, step.diameter_mm + 2.0 * offset))
    steps.sort(key=lambda s: (-s[1], -s[3]))
    facets = [task.view.facets[task.view.index_of[f]] for f in steps[0][0].face_ids if f in task.view.index_of]
    return Seat(
        hole=hole,
        x_mm=float(entry[0]),
        y_mm=float(entry[1]),
        steps=tuple(steps),
        rim_low_mm=_rim_low(task, facets, steps[0][1]),
    )


def _rim_low(task: Task, facets: list[Facet], top: float) -> float:
    """Lowest point of the mouth's rim: below `top` where the entry face is inclined."""
    if not facets:
        return top
    rows = np.concatenate([f.rows for f in facets])
    used = task.view.points[np.unique(task.view.triangles[rows])]
    centre = (used[:, :2].min(axis=0) + used[:, :2].max(axis=0)) / 2.0
    turn = np.arctan2(used[:, 1] - centre[1], used[:, 0] - centre[0])
    sector = np.floor((turn + math.pi) / (2.0 * math.pi) * RIM_SECTORS).astype(int) % RIM_SECTORS
    return min([top, *(float(used[sector == k, 2].max()) for k in np.unique(sector))])


def fill(task: Task, seats: list[Seat]) -> None:
    """Keeps other passes out of the holes that are drilled or bored here, as far up as the mouth is closed all round.

    Where the mouth is a step, in the wall of a pocket, say, the pocket's cutter must come over its lower part.
    """
    for seat in seats:
        for _, high, _, diameter in seat.steps:
            top = min(max(high, seat.top_mm), seat.rim_low_mm) if high >= seat.top_mm - 1e-6 else high
            task.view.fills.append((seat.x_mm, seat.y_mm, diameter / 2.0 + FILL_MM, top))


def spot(task: Task, seat: Seat, *, cutter: Cutter) -> None:
    """A small cone that starts the drill, or the whole countersink when the spot cutter has its angle and size."""
    if seat.drilled is None:
        return
    start = seat.top_mm if drills_first(seat) else seat.drilled[1]
    start = min(start, seat.rim_low_mm) if start == seat.top_mm else start
    half = cutter.tip_angle_rad / 2.0
    width = SPOT_RATIO * min(seat.drilled[3], cutter.diameter_mm)
    depth = max(0.2, (width - cutter.tip_diameter_mm) / 2.0 / math.tan(half))
    z = max(start - depth, seat.drilled[2])
    steps = [(z + depth * k / 4.0, width / 2.0 * k / 4.0) for k in range(1, 5)]
    steps += spot_looks(z_mm=z + depth, low_mm=width / 2.0, high_mm=cutter.diameter_mm / 2.0, half_rad=half)
    if any(_met(task, seat, height, radius) for height, radius in steps):
        return  # a mouth deep in another hole: the drill must find its own way, guided by the hole above
    body = body_room(task, seat, cutter, z)
    if body:
        task.reasons[seat.hole.id] = f"{body}, so nothing starts the drill on its place"
        return
    speeds, track = task.speeds(cutter), task.track()
    into(task, track, seat, start, cutter, speeds.air_mm_per_s)
    track.feed(seat.x_mm, seat.y_mm, z, speeds.feed_mm_per_s)
    task.add(
        kind="spot",
        cutter=cutter,
        feature=seat.hole.id,
        face_ids=(),
        track=track,
        speeds=speeds,
        radial_mm=width / 2.0,
        axial_mm=start - z,
    )


def drill(task: Task, seat: Seat, *, cutter: Cutter) -> bool:
    """Drills the smallest step to its depth; False (with the reason kept) when seat, jaws or reach forbid it."""
    if seat.drilled is None:
        return False
    _, high, low, diameter = seat.drilled
    radius = cutter.diameter_mm / 2.0
    tip = (radius - cutter.tip_diameter_mm / 2.0) / math.tan(max(cutter.tip_angle_rad, 0.1) / 2.0)
    if seat.hole.is_through:
        foot = min(low, seat.low_mm)
        goal = foot - tip - run_out_mm(task, seat, foot, radius)
        least = low - tip
    else:
        goal = least = low if seat.hole.bottom == "flat" else low - _cone_mm(seat, cutter)
    floor = floor_of(task, seat, cutter, goal)
    if floor > least + 1e-6:
        task.reasons[seat.hole.id] = (
            f"the tip of {cutter.id} must go to z {least:.2f} mm but seat or jaws allow {floor:.2f} mm"
        )
        return False
    goal = max(goal, floor)
    body = body_room(task, seat, cutter, goal)
    if not body and _met(task, seat, low + 0.01, radius):
        body = f"{cutter.id} would cut a neighbour on its way into the hole"
    if body:
        task.reasons[seat.hole.id] = body
        return False
    speeds, track = task.speeds(cutter), task.track()
    start = into(task, track, seat, high, cutter, speeds.air_mm_per_s)
    deep = high - low > PECK_RATIO * cutter.diameter_mm
    if deep:
        peck(task, track, at_mm=(seat.x_mm, seat.y_mm), start_mm=start, goal_mm=goal, cutter=cutter)
    else:
        track.feed(seat.x_mm, seat.y_mm, goal, speeds.feed_mm_per_s)
    ids = step_faces(seat, diameter)
    task.add(
        kind="peck" if deep else "drill",
        cutter=cutter,
        feature=seat.hole.id,
        face_ids=ids,
        track=track,
        speeds=speeds,
        radial_mm=radius,
        axial_mm=cutter.diameter_mm if deep else high - goal,
    )
    task.drilled.add(seat.hole.id)
    is_whole = cutter.diameter_mm > diameter - DRILL_MATCH_MM - 1e-6
    if is_whole:
        mark(task, ids)
    else:
        task.reasons[seat.hole.id] = f"{cutter.id} is smaller than the hole Ø{diameter:.3f} mm: {METAL_STAYS}"
    made = diameter if is_whole else cutter.diameter_mm
    task.view.cut(disc(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=made / 2.0), above_mm=goal + tip)
    return is_whole


def _cone_mm(seat: Seat, cutter: Cutter) -> float:
    """How far below the smallest step's end the tip comes to the target's cone at the bottom.

    The solid's cone begins at the step's own size, whatever the drill's; the target's faces lie along their normals.
    """
    half = max(cutter.tip_angle_rad, 0.1) / 2.0
    size = seat.drilled[0].diameter_mm if seat.drilled is not None else cutter.diameter_mm
    cones = [s for s in seat.steps if s[0].kind == "cone" and s[2] <= seat.low_mm + 1e-6]
    grown = max((s[3] - s[0].diameter_mm for s in cones), default=0.0)
    return (size - cutter.tip_diameter_mm) / 2.0 / math.tan(half) + grown / 2.0 / math.sin(half)


def bore(task: Task, seat: Seat, *, cutter: Cutter, from_smallest: bool, is_sizing: bool = False) -> bool:
    """Mills the steps round with an end mill: down in a helix, then once round at the size over the whole height.

    from_smallest: no drill went first, so the smallest step is milled as well.   is_sizing: only that one, after one.
    """
    if is_sizing and seat.hole.id not in task.drilled:
        return False  # why not stands with the drill
    radius = cutter.diameter_mm / 2.0
    speeds = task.speeds(cutter)
    smallest = seat.drilled
    is_whole = True
    for step, high, foot, diameter in seat.steps:
        is_smallest = smallest is not None and foot == smallest[2]
        if step.kind != "cylinder" or (is_smallest and not from_smallest) or (is_sizing and not is_smallest):
            continue
        swing = diameter / 2.0 - radius
        last = foot <= seat.low_mm + 1e-6
        shoulders = [] if last else _shoulders(task, seat, foot, diameter)
        low = min([foot, *(float(f.high_mm[2]) for f in shoulders)])
        goal = low - (run_out_mm(task, seat, low, diameter / 2.0) if last and seat.hole.is_through else 0.0)
        floor = floor_of(task, seat, cutter, goal, extra_mm=max(swing, 0.0))
        reason = ""
        if swing < -1e-6:
            reason = f"{cutter.id} is wider than the step Ø{diameter:.3f} mm"
        elif floor > low + 1e-6:
            reason = f"the step Ø{diameter:.3f} mm ends at z {low:.2f} mm but seat or jaws allow {floor:.2f} mm"
        else:
            reason = body_room(task, seat, cutter, max(goal, floor), swing_mm=max(swing, 0.0))
            if not reason and _met(task, seat, low + 0.01, diameter / 2.0):
                reason = f"{cutter.id} would cut a neighbour on its way to the step Ø{diameter:.3f} mm"
        if reason:
            task.reasons.update({} if is_sizing else {seat.hole.id: reason})
            is_whole = False
            continue
        goal = max(goal, floor)
        track = task.track()
        if is_sizing:
            into(task, track, seat, high, cutter, speeds.air_mm_per_s)
            once_round(
                track, speeds, seat_mm=(seat.x_mm, seat.y_mm), to_mm=goal, swing_mm=swing,
                ratio=inner_ratio(cutter, swing),
            )  # fmt: skip
        else:
            left = LEFT_MM if swing >= SPLIT_MM else 0.0
            for reach in swings_mm(swing - left, radius_mm=radius):
                _helix(task, track, seat, high, goal, reach, cutter)
            if left > 0.0:
                finish_round(
                    track, speeds, seat_mm=(seat.x_mm, seat.y_mm), high_mm=high, low_mm=goal, swing_mm=swing,
                    cutter=cutter,
                )  # fmt: skip
        ids = step_faces(seat, diameter, tip=False)
        task.add(
            kind="bore" if last else "counterbore",
            cutter=cutter,
            feature=f"{seat.hole.id} Ø{step.diameter_mm:.3f}",
            face_ids=ids,
            track=track,
            speeds=speeds,
            radial_mm=DRILL_MATCH_MM if is_sizing else min(2.0 * radius, radius + swing),
            axial_mm=high - goal if is_sizing else 2.0 * math.pi * max(swing, 0.1) * RAMP_TAN,
        )
        mark(task, ids)
        for facet in shoulders if swing <= radius else []:
            task.done.add(facet.index)
            task.reasons.pop(task.face_ids[facet.index], None)
        task.view.cut(disc(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=diameter / 2.0), above_mm=goal)
    return is_whole


def _shoulders(task: Task, seat: Seat, low: float, diameter: float) -> list[Facet]:
    """The ring floors at a step's end, still without a pass, that lie about the hole's axis inside the step."""
    found = []
    for index in sorted(task.promised - task.done):
        facet = task.view.facets[index]
        middle = (facet.low_mm + facet.high_mm) / 2.0
        width = float((facet.high_mm - facet.low_mm)[:2].max())
        is_round_it = math.hypot(middle[0] - seat.x_mm, middle[1] - seat.y_mm) < CHORDS_MM
        is_at_end = abs(float(facet.high_mm[2]) - low) < SHOULDER_MM
        if facet.seen == "floor" and is_at_end and is_round_it and width < diameter + 2.0 * CHORDS_MM:
            found.append(facet)
    return found


def flat_entry(task: Task, seat: Seat, *, cutter: Cutter) -> bool:
    """A flat for the drill where the entry face is inclined: the hole's own mouth milled square, inside its size."""
    if seat.drilled is None or seat.steps[0][0].kind == "cone" or seat.top_mm - seat.rim_low_mm < 0.3:
        return True
    swing = max(seat.steps[0][3] / 2.0 - cutter.diameter_mm / 2.0 - 0.05, 0.0)
    if cutter.diameter_mm > seat.steps[0][3] or body_room(task, seat, cutter, seat.rim_low_mm, swing_mm=swing):
        task.reasons[seat.hole.id] = "the entry is inclined and no chosen end mill can make a flat for the drill"
        return False
    track = task.track()
    _helix(task, track, seat, seat.top_mm, seat.rim_low_mm, swing, cutter)
    task.add(
        kind="counterbore",
        cutter=cutter,
        feature=f"{seat.hole.id} flat",
        face_ids=(),
        track=track,
        speeds=task.speeds(cutter),
        radial_mm=cutter.diameter_mm,
        axial_mm=0.2,
    )
    return True


def break_mouth(task: Task, seat: Seat, *, cutter: Cutter) -> bool:
    """Cuts a cone step with a cutter of the same angle by one circle; True when the hole has none left."""
    whole = True
    half = cutter.tip_angle_rad / 2.0
    for step, high, low, diameter in seat.steps:
        if step.kind != "cone" or high < seat.top_mm - 1e-6:
            continue
        inner = min((s[3] for s in seat.steps if s[0].kind == "cylinder"), default=0.0) / 2.0
        below = [s[3] / 2.0 for s in seat.steps if s[0].kind == "cylinder" and abs(s[1] - low) < 0.01]
        inner = below[0] if below else inner
        outer = inner + (high - low) * math.tan(half)
        if abs(outer - diameter / 2.0) > 0.02 and abs(outer - inner) > 1e-6:
            task.reasons[seat.hole.id] = f"no cutter has the angle of the mouth's cone Ø{diameter:.2f} mm"
            whole = False
            continue
        tip = cutter.tip_diameter_mm / 2.0
        under = min(0.5, max((inner - tip - 0.2) / math.tan(half), 0.05))
        contact = tip + under * math.tan(half)
        swing = inner - contact
        if swing < -1e-6 or (cutter.diameter_mm / 2.0 - tip) / math.tan(half) < under + high - low:
            task.reasons[seat.hole.id] = f"{cutter.id} does not reach the mouth's cone Ø{diameter:.2f} mm"
            whole = False
            continue
        speeds, track = task.speeds(cutter), task.track()
        z = low - under
        into(task, track, seat, high, cutter, speeds.air_mm_per_s)
        track.feed(seat.x_mm, seat.y_mm, z, speeds.plunge_mm_per_s)
        _circle(track, seat, swing, z, speeds.feed_mm_per_s)
        track.feed(seat.x_mm, seat.y_mm, z, speeds.feed_mm_per_s)
        task.add(
            kind="break edge",
            cutter=cutter,
            feature=f"{seat.hole.id} mouth",
            face_ids=tuple(step.face_ids),
            track=track,
            speeds=speeds,
            radial_mm=outer - inner,
            axial_mm=high - low,
        )
        mark(task, tuple(step.face_ids))
    return whole


def into(task: Task, track: Track, seat: Seat, high: float, cutter: Cutter, feed: float) -> float:
    """Stands the tip 1 mm above the metal over the hole; returns that height."""
    radius = cutter.diameter_mm / 2.0
    top = task.view.top_at(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=radius)
    start = max(high, top if math.isfinite(top) else high) + 1.0
    track.enter(x_mm=seat.x_mm, y_mm=seat.y_mm, z_mm=start, feed_mm_per_s=feed, from_mm=start)
    return start


def _helix(task: Task, track: Track, seat: Seat, high: float, goal: float, swing: float, cutter: Cutter) -> None:
    speeds = task.speeds(cutter)
    reach = max(swing, 0.0)
    top = task.view.top_at(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=reach + cutter.diameter_mm / 2.0)
    start = max(high, top if math.isfinite(top) else high) + 0.3
    track.enter(
        x_mm=seat.x_mm + reach, y_mm=seat.y_mm, z_mm=start, feed_mm_per_s=speeds.plunge_mm_per_s, from_mm=start + 1.0
    )
    if reach < 0.05:
        track.feed(seat.x_mm + reach, seat.y_mm, goal, speeds.plunge_mm_per_s)
        return
    # the edge on the wall goes faster than the axis: it must not be fed more than its share
    ramp = min(speeds.ramp_mm_per_s, speeds.feed_mm_per_s * inner_ratio(cutter, reach))
    centre, count = (seat.x_mm, seat.y_mm), math.ceil((start - goal) / (2.0 * math.pi * reach * RAMP_TAN))
    for turn in range(1, count + 1):
        z = start + (goal - start) * turn / count
        end = seat.x_mm + reach, seat.y_mm, z
        track.arc(end=end, centre=centre, turns_left=True, feed_mm_per_s=ramp)
    end = seat.x_mm + reach, seat.y_mm, goal
    track.arc(end=end, centre=centre, turns_left=True, feed_mm_per_s=ramp)
    track.feed(seat.x_mm, seat.y_mm, goal, ramp)


def _circle(track: Track, seat: Seat, swing: float, z: float, feed: float) -> None:
    if swing < 1e-3:
        return
    track.feed(seat.x_mm + swing, seat.y_mm, z, feed)
    track.arc(end=(seat.x_mm + swing, seat.y_mm, z), centre=(seat.x_mm, seat.y_mm), turns_left=True, feed_mm_per_s=feed)


def drills_first(seat: Seat) -> bool:
    """The drill goes before the wider steps when these are at most twice its size; else it starts on their floor."""
    drilled = seat.drilled
    return drilled is not None and all(s[3] <= 2.0 * drilled[3] + 1e-9 for s in seat.steps if s[0].kind == "cylinder")


def _met(task: Task, seat: Seat, height: float, radius: float) -> bool:
    """The target has metal above a height within a disc on the hole's axis (a mesh's chords are let be)."""
    if radius <= CHORDS_MM:
        return False
    area = task.view.bare_shadow(height) ^ disc(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=radius - CHORDS_MM)
    return float(area.area()) > 1e-3


def run_out_mm(task: Task, seat: Seat, foot_mm: float, radius_mm: float) -> float:
    """How far a cutter goes beyond the end of a through hole: nothing where that would cut the part.

    So it is where a hole ends within one that crosses it and is no wider.
    """
    return 0.0 if _met(task, seat, foot_mm - THROUGH_MM, radius_mm) else THROUGH_MM


def floor_of(task: Task, seat: Seat, cutter: Cutter, goal: float, *, extra_mm: float = 0.0) -> float:
    """How deep the tip may go here because of seat and jaws; `goal` when neither is in the way."""
    view = task.view
    swept = disc(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=cutter.diameter_mm / 2.0 + extra_mm)
    if (view.jaw_shadow(goal) ^ swept).is_empty():
        return goal
    if view.is_upright:
        over_jaw = not (view.jaw_shadow(view.lowest_mm + 1e-3) ^ swept).is_empty()
        return view.jaw_low_mm if over_jaw else view.lowest_mm
    low, high = goal, seat.top_mm
    for _ in range(24):
        middle = (low + high) / 2.0
        low, high = (low, middle) if (view.jaw_shadow(middle) ^ swept).is_empty() else (middle, high)
    return high


def body_room(task: Task, seat: Seat, cutter: Cutter, goal: float, *, swing_mm: float = 0.0) -> str:
    """Why shank or holder would meet metal with the tip at `goal`; empty when they do not."""
    view = task.view
    spot = disc(x_mm=seat.x_mm, y_mm=seat.y_mm, radius_mm=max(swing_mm, 1e-3))
    holder = goal + cutter.stick_out_mm
    if (
        cutter.holder_length_mm > 0.0
        and not (
            (view.metal(holder) + view.jaw_shadow(holder)) ^ grown(spot, cutter.holder_diameter_mm / 2.0 + 0.5)
        ).is_empty()
    ):
        return f"the holder of {cutter.id} meets metal: stick-out {cutter.stick_out_mm:g} mm is too short"
    flute = goal + cutter.flute_length_mm
    shank = cutter.shank_diameter_mm / 2.0
    if (
        shank + swing_mm > seat_radius(seat) - 0.01
        and shank > 0.0
        and cutter.stick_out_mm > cutter.flute_length_mm
        and not (view.metal(flute) ^ grown(spot, shank)).is_empty()
    ):
        return f"the shank of {cutter.id} meets metal: flute length {cutter.flute_length_mm:g} mm is too short"
    return ""


def seat_radius(seat: Seat) -> float:
    """Radius of the smallest cylinder."""
    return seat.drilled[3] / 2.0 if seat.drilled else 0.0


def step_faces(seat: Seat, diameter: float, *, tip: bool = True) -> tuple[str, ...]:
    """Faces of the step of that size, with the cone below it that a drill's tip makes."""
    ids: list[str] = []
    for step, _, low, size in seat.steps:
        is_tip = tip and step.kind == "cone" and seat.hole.bottom == "cone" and low <= seat.low_mm + 1e-6
        if (step.kind == "cylinder" and abs(size - diameter) < 1e-6) or (
            is_tip and seat.drilled is not None and abs(seat.drilled[3] - diameter) < 1e-6
        ):
            ids.extend(step.face_ids)
    return tuple(sorted(set(ids)))


def mark(task: Task, face_ids: tuple[str, ...]) -> None:
    """Notes that these faces have their pass."""
    task.done.update(task.view.index_of[f] for f in face_ids if f in task.view.index_of)
