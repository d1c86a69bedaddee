"""What a bad morning moved, and why, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from proveout.model.schedule import (
    LongerStep,
    MovedStep,
    OrderSchedule,
    Replanned,
    ScheduledStep,
    Trouble,
    after_shift_begins,
)  # fmt: skip
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.solving.shop_problem import NO_MACHINE, Slot, Task
from proveout.stages.schedule.problem import Made, Named, date_of
from proveout.stages.schedule.steps import clock


def moved_of(
    after: Made, old: Sequence[Slot], slots: Sequence[Slot], steps: Sequence[ScheduledStep], trouble: Trouble,
    names: Mapping[str, str],
) -> tuple[MovedStep, ...]:  # fmt: skip
    """Every step that begins at another minute, soonest first, with what it waits for.   names: as `called`."""
    by_id = {step.id: step for step in steps}
    found: list[MovedStep] = []
    for index in sorted(range(len(old)), key=lambda i: (slots[i].start, i)):
        by = slots[index].start - old[index].start
        if by == 0:
            continue
        step, task = by_id[after.named[index].id], after.problem.tasks[index]
        found.append(
            MovedStep(
                id=step.id, what=words_of(after.named[index], names), station=step.station, was_day=step.day,
                was_into_shift=step.into_shift,
                day=date_of(after, slots[index].start).isoformat(),
                into_shift=clock(slots[index].start % after.day_min),
                by_s=by * S_PER_MIN,
                why=_why(after, slots, index, task, trouble, names),
            )
        )  # fmt: skip
    return tuple(found)


def _why(
    after: Made, slots: Sequence[Slot], index: int, task: Task, trouble: Trouble, names: Mapping[str, str]
) -> str:  # fmt: skip
    """What ends right when a step, or the set-up before it, begins; else what it makes room for."""
    slot = slots[index]
    begun = slot.start - slot.setup
    for first, then in after.problem.before:
        if then == index and slots[first].end == slot.start:
            return f"waits for {words_of(after.named[first], names)}"
    machine = task.ways[slot.way].machine
    for other, (one, there) in enumerate(zip(after.problem.tasks, slots, strict=True)):
        if other != index and machine != NO_MACHINE and one.ways[there.way].machine == machine and there.end == begun:
            if not after.named[other].parts:
                return after.named[other].what
            taken, by = after.stations[machine], words_of(after.named[other], names)
            return f"{names.get(taken, taken)} is taken until then by {by}"
    if task.starts:
        waiting = [f for f, then in after.problem.before if then == index]
        late = max(waiting, key=lambda f: slots[f].end)
        return f"next collection after {words_of(after.named[late], names)}"
    if trouble.away_count and any(n.id == "people away" for n in after.named):
        return "nobody is free before"
    return "keeps clear of what moved"


def longer_of(
    made: Made, after: Made, slots: Sequence[Slot], steps: Sequence[ScheduledStep], trouble: Trouble,
    names: Mapping[str, str],
) -> tuple[LongerStep, ...]:  # fmt: skip
    """Every step that the trouble makes longer: what lies in a machine that stands, is out, or nobody is left for.

    names: as `called`.
    """
    by_id = {step.id: step for step in steps}
    found: list[LongerStep] = []
    for index, by_s in sorted(stretched(made, after, slots).items()):
        named, step = made.named[index], by_id[made.named[index].id]
        why = "nobody is left for it"
        if named.finisher in trouble.late_days:
            why = f"{names.get(named.finisher, named.finisher)} takes longer"
        elif step.station in trouble.down_days:
            why = f"{names.get(step.station, step.station)} stands"
        found.append(
            LongerStep(
                id=step.id, what=words_of(named, names), station=step.station, was_end_day=step.end_day,
                end_day=date_of(after, slots[index].end, is_end=True).isoformat(), by_s=by_s, why=why,
            )
        )  # fmt: skip
    return tuple(found)


def stretched(made: Made, after: Made, slots: Sequence[Slot]) -> dict[int, float]:
    """By how many seconds the trouble makes each task longer, of those that it does."""
    found: dict[int, float] = {}
    rows = zip(made.problem.tasks, after.problem.tasks, slots, strict=False)
    for index, (task, longer, slot) in enumerate(rows):
        by = longer.ways[slot.way].duration - task.ways[slot.way].duration
        if by:
            found[index] = by * S_PER_MIN
    return found


def called(shop: Shop) -> dict[str, str]:
    """What people call the machines and finishers of a shop, by id: a machine by its name, a finisher by its work."""
    names = {one.id: one.name for one in shop.machines}
    return names | {one.id: one.process or one.id for one in shop.finishers}


def words_of(named: Named, names: Mapping[str, str]) -> str:
    """A step as people call it: part, lot, and what is done with it.   names: as `called`."""
    part = " and ".join(named.parts)
    op = named.what.partition(": ")[0] if named.kind == "prepare" else named.what.partition(", ")[2]
    lot = f" lot {named.lot}" if named.lot else ""
    done = {
        "programming": "programming", "saw": "at the saw", "prepare": f"{op}, proving out", "machine": op,
        "bench": "at the bench", "blast": "in the cabinet", "kit": "kit and box",
        "away": f"at {names.get(named.finisher, named.finisher)}",
    }[named.kind]  # fmt: skip
    return f"{part}{lot}, {done}" if named.parts else named.what


def notes_of(
    schedule: OrderSchedule, found: Replanned, *, past_part: str
) -> tuple[str, ...]:  # fmt: skip
    """In words: when it is done now, and what moved.   past_part: the worst against its own date, empty with one."""
    late, part = found.late_days, past_part
    first = f"Done {found.done}, as before" if found.done == schedule.done else (
        f"Done {found.done} instead of {schedule.done}"
    )  # fmt: skip
    if late is not None and late > 0.0:
        first += f", {part + ' ' if part else ''}{late:.1f} working days past {'its' if part else 'the'} date"
    elif late is not None:
        first += ", every part in time" if part else ", in time"
    lines = [f"The schedule cannot be kept: {fault}" for fault in found.faults]
    lines += [first, f"{len(found.moved)} of {len(schedule.steps)} steps moved"]
    if found.moved:
        sums = f"{found.moved_s / S_PER_H:.0f} h of work time in sum"
        if found.status == "proved":
            lines[-1] += f", by {sums}; done as early, none moves less"
        else:
            lines[-1] += f", by {sums}; done as early, none moves less than {found.bound_s / S_PER_H:.0f} h"
    lines += [f"{m.what}: ends {m.end_day}, was {m.was_end_day}, as {m.why}" for m in found.longer]
    lines += [
        f"{m.what}: {after_shift_begins(m.was_into_shift, day=m.was_day)} -> "
        f"{after_shift_begins(m.into_shift, day=m.day)}, {m.why}"
        for m in found.moved
    ]  # fmt: skip
    return tuple(lines)
