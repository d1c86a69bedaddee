"""The order after a bad morning: what is begun stays, the rest moves as little as it must."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import msgspec

from proveout.model.order import OrderedPart
from proveout.model.schedule import OrderSchedule, Replanned, ScheduledStep, Trouble
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.quantities.units import S_PER_MIN
from proveout.solving.dispatch import in_order, in_sequence
from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, ShopProblem, Slot, Task, Way, lasting
from proveout.stages.schedule.calendar import working_days
from proveout.stages.schedule.cases import nominal_case
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.dates import end_of, ends_by_date, has_several_dates, past_of, worst_part
from proveout.stages.schedule.moved import called, longer_of, moved_of, notes_of, stretched
from proveout.stages.schedule.problem import PERSON, Made, Named, date_of, problem_of
from proveout.stages.schedule.routes import routes_of
from proveout.stages.schedule.sequence import SEED, WORK_LIMIT
from proveout.stages.schedule.steps import steps_of


def replan(
    *, parts: Sequence[OrderedPart], shop: Shop, start: str, schedule: OrderSchedule, trouble: Trouble
) -> Replanned:  # fmt: skip
    """A schedule that is done no later than the old sequence would be, and moves least; what moved, and why.

    Raises:   BadInput for a machine or finisher that the order does not use, and for a schedule of another order.
    """
    routes = routes_of(parts, shop)
    made = problem_of(routes, shop, start, nominal_case(shop))
    _refuse_strangers(made, trouble)
    old = _old_slots(made, schedule.steps)
    now = working_days(made.first, date.fromisoformat(trouble.at), made.closed) * made.day_min
    names = called(shop)
    after = _after_trouble(made, old, now, trouble, names)
    wish = sorted(range(len(after.named)), key=lambda i: _rank(old, now, i))
    ways = [slot.way for slot in old] + [0] * (len(after.named) - len(old))
    kept = in_sequence(after.problem, in_order(after.problem, wish), ways=ways)
    wished = (*(slot.start for slot in old), *(now for _ in after.named[len(old) :]))
    endings = tuple(
        msgspec.structs.replace(one, latest=max(one.due, end))
        for one, end in zip(after.problem.endings, ends_by_date(after, kept), strict=True)
    )
    problem = msgspec.structs.replace(after.problem, wished=wished, last_most=end_of(kept), endings=endings)
    found = solve_shop(problem, objective="least moved", work_limit=WORK_LIMIT, seed=SEED, hint=kept)
    slots = found.slots or kept
    moved_min = sum(abs(s.start - o.start) for s, o in zip(slots, old, strict=False))
    bound_min = min(found.bound, moved_min)
    count = len(old)
    real = after._replace(
        problem=msgspec.structs.replace(after.problem, tasks=after.problem.tasks[:count]), named=after.named[:count]
    )
    steps = steps_of(real, slots[:count])
    past = past_of(real, slots[:count])
    late, part = None if past is None else past / made.day_min, worst_part(real, slots[:count])
    moved = moved_of(after, old, slots, schedule.steps, trouble, names)
    done = date_of(made, end_of(slots[:count]), is_end=True).isoformat()
    faults = broken_rules(after.problem, slots)
    stretched_s = {made.named[index].id: by_s for index, by_s in stretched(made, after, slots).items()}
    faults += step_faults(
        steps=steps, parts=parts, names=[r.number for r in routes], shop=shop, stretched_s=stretched_s,
        left_lying=_left_lying(made, old, now, trouble),
    )  # fmt: skip
    replanned = Replanned(
        trouble=trouble, steps=steps, moved=moved, was_done=schedule.done, done=done,
        late_days=None if late is None else round(late, 4), moved_s=moved_min * S_PER_MIN,
        bound_s=bound_min * S_PER_MIN, gap_ratio=round((moved_min - bound_min) / moved_min, 6) if moved_min else 0.0,
        status="proved" if moved_min == bound_min else "not proved", faults=faults,
        notes=(), late_part=part, longer=longer_of(made, after, slots, schedule.steps, trouble, names),
    )  # fmt: skip
    notes = notes_of(schedule, replanned, past_part=part if has_several_dates(made) else "")
    return msgspec.structs.replace(replanned, notes=notes)


def _refuse_strangers(made: Made, trouble: Trouble) -> None:
    finishers = sorted({named.finisher for named in made.named if named.finisher})
    for what, names, there in (
        ("machine", trouble.down_days, made.stations), ("finisher", trouble.late_days, tuple(finishers)),
    ):  # fmt: skip
        for name in names:
            if name not in there:
                raise BadInput(
                    f"The order goes to no such {what}", where="replan", value=name, limit=", ".join(there),
                    do="name one of these",
                )  # fmt: skip


def _old_slots(made: Made, steps: Sequence[ScheduledStep]) -> tuple[Slot, ...]:
    """The old schedule as slots of the same problem."""
    by_id = {step.id: step for step in steps}
    found: list[Slot] = []
    for task, named in zip(made.problem.tasks, made.named, strict=True):
        step = by_id.get(named.id)
        if step is None:
            raise BadInput(
                "The schedule is of another order or another shop", where="replan", value=named.id,
                do="plan the order again and then replan",
            )  # fmt: skip
        station = [made.stations[w.machine] if w.machine != NO_MACHINE else "" for w in task.ways]
        way = station.index(step.station) if step.station in station else 0
        start, end, setup = (round(seconds / S_PER_MIN) for seconds in (step.begin_s, step.end_s, step.setup_s))
        found.append(Slot(way=way, start=start, end=end, setup=setup))
    return tuple(found)


def _after_trouble(
    made: Made, old: Sequence[Slot], now: int, trouble: Trouble, names: Mapping[str, str]
) -> Made:  # fmt: skip
    """The problem with what is begun fixed, what is stretched stretched, and what stands in the way as tasks."""
    late = trouble.late_days
    left = _left_lying(made, old, now, trouble)
    tasks: list[Task] = []
    for task, named, slot in zip(made.problem.tasks, made.named, old, strict=True):
        way = task.ways[slot.way]
        begun = slot.start < now
        more = 0
        if begun and slot.end > now and way.machine != NO_MACHINE:
            more = trouble.down_days.get(made.stations[way.machine], 0) * made.day_min
        if named.finisher in late and _is_next(made, old, named, slot, now):
            more = late[named.finisher] * made.day_min
        ways = tuple(msgspec.structs.replace(w, duration=w.duration + more) for w in task.ways)
        if named.id in left:
            more = trouble.away_days * made.day_min
            ways = tuple(msgspec.structs.replace(w, duration=w.duration + more, people=0) for w in ways)
        if begun:
            lasts = (lasting(task, way, slot.start) + more,) if task.lasts else ()
            tasks.append(msgspec.structs.replace(task, ways=ways, starts=(slot.start,), lasts=lasts, release=0))
        else:
            starts = tuple(s for s in task.starts if s >= now)
            lasts = tuple(one + more for s, one in zip(task.starts, task.lasts, strict=False) if s >= now)
            release = max(now, task.release)
            tasks.append(msgspec.structs.replace(task, ways=ways, starts=starts, lasts=lasts, release=release))
    named_all = list(made.named)
    for station, days in sorted(trouble.down_days.items()):
        machine = made.stations.index(station)
        here = [
            (slot.start, slot.end, task.family)
            for task, slot in zip(made.problem.tasks, old, strict=True)
            if task.ways[slot.way].machine == machine and slot.start < now
        ]
        if any(end > now for _, end, _ in here):
            continue  # what lies in it is stretched instead
        family = max(here)[2] if here else NO_FAMILY
        way = Way(machine=machine, duration=days * made.day_min)
        tasks.append(Task(ways=(way,), starts=(now,), family=family))
        named_all.append(Named(f"{station} stands", "prepare", (), f"{names[station]} stands", 0, 0))
    if trouble.away_count and trouble.away_days:
        taken = min(made.problem.people or 0, trouble.away_count * PERSON)
        way = Way(machine=NO_MACHINE, duration=trouble.away_days * made.day_min, people=taken)
        tasks.append(Task(ways=(way,), starts=(now,)))
        named_all.append(Named("people away", "prepare", (), "people away", 0, 0))
    problem = ShopProblem(
        machines_count=made.problem.machines_count, tasks=tuple(tasks), before=made.problem.before,
        setups=made.problem.setups, people=made.problem.people, setup_people=made.problem.setup_people,
        endings=made.problem.endings,
    )  # fmt: skip
    return made._replace(problem=problem, named=tuple(named_all))


def _left_lying(made: Made, old: Sequence[Slot], now: int, trouble: Trouble) -> frozenset[str]:
    """What is being worked at and nobody is left for: it lies until people are back. What asks least is kept up."""
    if not trouble.away_count or made.problem.people is None:
        return frozenset()
    there = max(0, made.problem.people - trouble.away_count * PERSON)
    found: set[str] = set()
    working = [
        (task.ways[slot.way].people, named.id)
        for task, named, slot in zip(made.problem.tasks, made.named, old, strict=True)
        if slot.start < now < slot.end and task.ways[slot.way].people
    ]
    for need, name in sorted(working):
        if need <= there:
            there -= need
        else:
            found.add(name)
    return frozenset(found)


def _is_next(made: Made, old: Sequence[Slot], named: Named, slot: Slot, now: int) -> bool:
    """Whether a stay is one that is out now, or where none is, the next to go there."""
    stays = [s for n, s in zip(made.named, old, strict=True) if n.finisher == named.finisher and s.end > now]
    out = [s for s in stays if s.start < now]
    if out:
        return slot in out
    return bool(stays) and slot.start == min(s.start for s in stays)


def _rank(old: Sequence[Slot], now: int, index: int) -> tuple[int, int, int]:
    """Begun things first, then what stands in the way, then the rest, each in the old order."""
    if index >= len(old):
        return (now, -1, index)
    return (old[index].start, old[index].end, index)
