"""A drilled hole reamed to its size: in and out at the feed."""

from __future__ import annotations

from proveout.model.shop import Cutter
from proveout.stages.passes.holes import METAL_STAYS, THROUGH_MM, Seat, body_room, floor_of, into, mark, step_faces
from proveout.stages.passes.task import Task

LEAD_MM = 1.0
"""A reamer cuts full from so far above its tip. Common practice, no source: the maker's drawing says it."""


def ream(task: Task, seat: Seat, *, cutter: Cutter) -> bool:
    """Reams the smallest step of a through hole: in a blind one the lead would leave its end narrow."""
    if seat.drilled is None or not seat.hole.is_through:
        return False
    if seat.hole.id not in task.drilled:
        task.reasons.setdefault(seat.hole.id, "the hole is not drilled, so that it cannot be reamed")
        return False
    _, high, low, diameter = seat.drilled
    goal = least = min(low, seat.low_mm) - LEAD_MM - THROUGH_MM
    floor = floor_of(task, seat, cutter, goal)
    if floor > least + 1e-6:
        task.reasons[seat.hole.id] = (
            f"the tip of {cutter.id} must go to z {least:.2f} mm but seat or jaws allow {floor:.2f} mm"
        )
        return False
    reason = body_room(task, seat, cutter, goal)
    if reason:
        task.reasons[seat.hole.id] = reason
        return False
    speeds, track = task.speeds(cutter), task.track()
    start = into(task, track, seat, high, cutter, speeds.air_mm_per_s)
    track.feed(seat.x_mm, seat.y_mm, goal, speeds.feed_mm_per_s)
    track.feed(seat.x_mm, seat.y_mm, start, speeds.feed_mm_per_s)
    ids = step_faces(seat, diameter)
    task.add(
        kind="ream",
        cutter=cutter,
        feature=seat.hole.id,
        face_ids=ids,
        track=track,
        speeds=speeds,
        radial_mm=cutter.diameter_mm / 2.0,
        axial_mm=high - goal,
    )
    mark(task, ids)
    if task.reasons.get(seat.hole.id, "").endswith(METAL_STAYS):
        del task.reasons[seat.hole.id]
    return True
