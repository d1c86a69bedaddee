"""When pieces come to bench and cabinet on one day: out of a machine as it is unloaded, or from the bench."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import NamedTuple

from proveout.model.schedule import ScheduledStep

ROUNDING = 1e-9  # of pieces, so that a whole lot stays whole


class Due(NamedTuple):
    """Pieces of one lot that are due at the bench or the cabinet on a day.

    place: of the step in the schedule.   count: pieces still to be done that day.   there: of them when it begins.
    machine_id: at which the others come out that day, empty where none does.   after: place of the step at the bench
    or cabinet of that day which gives them, None where none does.   come_s: else when the others come, all together,
    into the day.
    """

    place: int
    kind: str
    station: str
    part: str
    lot: int
    count: int
    there: int
    machine_id: str = ""
    after: int | None = None
    come_s: float = 0.0


def due_on(
    steps: Sequence[ScheduledStep], *, at_s: float, shift_s: float, running: Collection[tuple[str, str]]
) -> list[Due]:  # fmt: skip
    """What is due at bench and cabinet on the day that begins at at_s, in the order of the schedule.

    A lot that was begun the day before goes on with the pieces that were left.

    Args:     running: machine and step's own name without its lot, of the machines that are followed piece by piece.
    """
    found: list[Due] = []
    for place, step in enumerate(steps):
        if step.kind not in ("bench", "blast") or step.begin_s >= at_s + shift_s or step.end_s <= at_s:
            continue
        done = pieces_done(step, at_s)
        count = step.pieces_count - done
        due = Due(place, step.kind, step.station, step.parts[0], step.lot, count, count)
        before = _before(steps, step)
        if done or before is None or steps[before].end_s <= at_s:
            found.append(due)
            continue
        feeder = steps[before]
        earlier = pieces_done(feeder, at_s)
        if feeder.kind == "machine" and (feeder.station, own_name(feeder)) in running:
            due = due._replace(there=earlier, machine_id=feeder.station)
        elif any(one.place == before for one in found):
            due = due._replace(there=earlier, after=before)
        else:
            due = due._replace(there=0, come_s=max(0.0, step.begin_s - at_s))
        found.append(due)
    return found


def pieces_done(step: ScheduledStep, at_s: float) -> int:
    """Whole pieces that a step has done by then."""
    share = (
        (at_s - step.begin_s) / (step.end_s - step.begin_s) if step.end_s > step.begin_s else float(at_s > step.begin_s)
    )
    return math.floor(step.pieces_count * min(1.0, max(0.0, share)) + ROUNDING)


def lots_coming_out(
    steps: Sequence[ScheduledStep], *, station: str, name: str, at_s: float, shift_s: float
) -> list[tuple[int, int]]:  # fmt: skip
    """Lots that one operation of a machine works at on the day, in order, with the pieces of each still to come."""
    own = [
        step
        for step in steps
        if step.kind == "machine" and step.station == station and own_name(step) == name
        and step.begin_s < at_s + shift_s and step.end_s > at_s
    ]  # fmt: skip
    return [(step.lot, step.pieces_count - pieces_done(step, at_s)) for step in sorted(own, key=lambda s: s.begin_s)]


def own_name(step: ScheduledStep) -> str:
    """Part and operation, the same for all lots."""
    return step.id.rsplit(" ", 1)[0]


def _before(steps: Sequence[ScheduledStep], step: ScheduledStep) -> int | None:
    """Place of the step of the same lot that is done last before this one; None where there is none."""
    own = [
        place
        for place, one in enumerate(steps)
        if one.parts == step.parts and one.lot == step.lot and one.kind in ("machine", "bench", "blast")
        and one is not step and one.end_s <= step.begin_s + ROUNDING
    ]  # fmt: skip
    return max(own, key=lambda place: (steps[place].end_s, place), default=None)
