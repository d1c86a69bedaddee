"""Slots as steps that people read: dates, stations, shares of a person."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.schedule import ScheduledStep
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.solving.shop_problem import NO_MACHINE, Slot
from proveout.stages.schedule.problem import PERSON, Made, date_of


def steps_of(made: Made, slots: Sequence[Slot]) -> tuple[ScheduledStep, ...]:
    """Every task as a step, in the order in which they begin."""
    found: list[ScheduledStep] = []
    for task, named, slot in zip(made.problem.tasks, made.named, slots, strict=True):
        way = task.ways[slot.way]
        station = made.stations[way.machine] if way.machine != NO_MACHINE else (named.finisher or "bench")
        found.append(
            ScheduledStep(
                id=named.id, kind=named.kind, parts=named.parts, what=named.what, station=station, lot=named.lot,
                pieces_count=named.pieces_count, begin_s=slot.start * S_PER_MIN, end_s=slot.end * S_PER_MIN,
                setup_s=slot.setup * S_PER_MIN, people_ratio=way.people / PERSON,
                day=date_of(made, slot.start).isoformat(), end_day=date_of(made, slot.end, is_end=True).isoformat(),
                into_shift=clock(slot.start % made.day_min),
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda s: (s.begin_s, s.end_s, s.id)))


def clock(minutes: int) -> str:
    """Hours and minutes into the shift."""
    hours, rest = divmod(minutes, round(S_PER_H / S_PER_MIN))
    return f"{hours}:{rest:02d}"
