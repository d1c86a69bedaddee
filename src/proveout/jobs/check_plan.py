"""Check a program against a plan: the one that was written for a clamping, one edited since, or somebody else's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import msgspec
import numpy as np

from proveout.intake.job_file import job_from_step, read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.check_program import (
    RAPIDS_TAKEN,
    Checked,
    Finished,
    checked_by_text,
    control_of,
    finished_of,
    pecks_taken,
    text_of,
    with_names,
    write_check,
)
from proveout.jobs.place_programs import load_origins, load_standing, passes_at
from proveout.jobs.programs import origins_of, standing_of, table_of, where_moves_differ
from proveout.model.checking import CutterTable
from proveout.model.coat_growth import as_read
from proveout.model.course import Course, Event, Motion
from proveout.model.moves import Moves
from proveout.model.plan import Plan, pockets_of
from proveout.model.run import Run
from proveout.model.shop import Machine, Shop, Vise
from proveout.model.table_load import TableLoad, passes_in_order
from proveout.model.work import Clamping, Pass, PassPlan
from proveout.quantities.errors import BadInput, Unreadable

At = tuple[TableLoad, int]
"""A table load, and which of its pieces."""
Thing = TypeVar("Thing", Machine, Vise)
SPEED_RATIO, FEED_RATIO = 0.002, 0.002
"""Speeds and feeds that differ by less are the same, rounded."""


def check_against_plan(
    program: Path, *, plan_folder: Path, clamping_number: int | None, shop_path: Path | None = None,
    place_number: int | None = None, is_last: bool = False, skips: bool = False, out: Path | None = None, run: Run,
) -> Checked:  # fmt: skip
    """Check a program for one clamping of a plan; where a cycle works in several places, in one of them.

    Args:     plan_folder: a result folder, or the plan.json in it.   clamping_number: may be None where the plan has
              one clamping.   place_number: None for the first in which the clamping lies.   shop_path: a shop file
              with what was measured since, in place of the plan's own.
              is_last: metal left over counts also where later clampings cut on.
    Raises:   BadInput where there is no such plan or clamping, and for broken files.
    """
    folder = plan_folder.parent if plan_folder.is_file() else plan_folder
    plan = read_plan(folder)
    shop = read_shop(shop_path if shop_path is not None else folder / "inputs" / "shop.toml")
    clamping = _clamping(plan, clamping_number)
    text = text_of(program)
    finished = _finished(folder, plan, run)
    passes = kept_passes(folder, plan)
    machine = _named(shop.machines, clamping.machine_id, "machine")
    vise = _named(shop.vises, clamping.vise_id, "vise")
    cutters = {c.id: c for c in shop.cutters}
    numbers = pockets_of(passes=plan.passes, clampings=plan.clampings, machines=shop.machines)[clamping.machine_id]
    table = table_of({id: n for id, n in numbers.items() if id in cutters}, cutters, machine)
    blank = plan.blank.chosen
    at = _place(plan, clamping, place_number)
    standing = standing_of(clamping, machine, vise, vises=shop.vises, jaws=shop.jaws)
    origins, made = None, passes
    if at is not None:
        load, number = at
        by_clamping, by_vise = {c.id: c for c in plan.clampings}, {v.id: v for v in shop.vises}
        standing = load_standing(
            load, number, clampings=by_clamping, vises=by_vise, machine=machine, blank=blank, jaws=shop.jaws
        )  # fmt: skip
        origins, made = load_origins(load, by_clamping), passes_at(load, number, passes)
    from proveout.stages.removal_check.standing import work_before

    fields = work_before(
        clamping=clamping, clampings=plan.clampings, plan=passes, blank=blank, cutters=shop.cutters, run=run
    )
    last = max(c.number for c in plan.clampings)
    checked = checked_by_text(
        program, text, control=control_of(machine, table, origins_mm=origins or origins_of(machine, standing)),
        standing=standing, is_shared=at is not None, table=table, fields=fields, finished=finished,
        leftover_counts=is_last or clamping.number == last,
        taken=(*_taken(plan, shop, clamping, numbers, at), *pecks_taken(text, machine)), skips=skips, run=run,
    )  # fmt: skip
    differs = _differences(checked, plan, clamping, made, table, at)
    checked = with_names(replace(checked, differs=differs), shop, table, standing)
    checked = replace(checked, names=(*checked.names, plan.part.number))
    if out is not None:
        write_check(out, checked)
    return checked


def read_plan(folder: Path) -> Plan:
    """The plan of a result folder."""
    path = folder / "plan.json"
    if not path.is_file():
        raise BadInput("There is no plan", where=str(folder), do="name the folder that proveout plan wrote")
    try:
        return msgspec.json.decode(path.read_bytes(), type=Plan)
    except msgspec.DecodeError as fault:
        raise Unreadable(
            "This plan cannot be read", where=str(path), value=str(fault), do="plan the part again"
        ) from fault


def _clamping(plan: Plan, number: int | None) -> Clamping:
    known = {clamping.number: clamping for clamping in plan.clampings}
    if number is None and len(known) == 1:
        return next(iter(known.values()))
    if number is None or number not in known:
        raise BadInput(
            "The plan has several clampings" if number is None else "The plan has no such clamping",
            where="--clamping", value="" if number is None else str(number),
            limit=", ".join(str(n) for n in sorted(known)), do="say for which clamping this program is",
        )  # fmt: skip
    return known[number]


def _named(things: Sequence[Thing], name: str, noun: str) -> Thing:
    for one in things:
        if one.id == name:
            return one
    raise BadInput(
        f"The shop file lacks a {noun} of the plan", where=noun, value=name, do="name the plan's own shop file"
    )


def _finished(folder: Path, plan: Plan, run: Run) -> Finished:
    inputs = folder / "inputs"
    step = next(iter(sorted(inputs.glob("part.*"))), None)
    if step is None:
        raise BadInput("The plan's own STEP file is not there", where=str(inputs), do="plan the part again")
    job = read_job(inputs / "job.toml") if (inputs / "job.toml").is_file() else job_from_step(plan.part.step)
    shop = inputs / "shop.toml"
    return finished_of(step, as_read(job, read_shop(shop).finishers) if shop.is_file() else job, run)


def kept_passes(folder: Path, plan: Plan) -> PassPlan:
    """The passes of a result folder's plan with their moves.

    Raises:   BadInput where moves are missing, Unreadable where they are not those of the plan.
    """
    moves = {one.moves_digest: moves_on_disk(folder, one.moves_digest) for one in plan.passes}
    return PassPlan(passes=plan.passes, not_cut=(), moves=moves)


def moves_path(folder: Path, digest: str) -> Path:
    """Where the moves of that digest lie in a result folder."""
    return folder / "moves" / f"{digest[:32]}.npy"


def moves_on_disk(folder: Path, digest: str) -> Moves:
    """The moves of that digest from a result folder.

    Raises:   BadInput where they are missing, Unreadable where they are others by now.
    """
    path = moves_path(folder, digest)
    if not path.is_file():
        raise BadInput("Moves of the plan are missing", where=str(path), do="plan the part again")
    its = Moves.of_table(np.load(path, allow_pickle=False).astype(np.float64))
    if its.digest != digest:
        raise Unreadable("Moves of the plan were changed", where=str(path), do="plan the part again")
    return its


def _place(plan: Plan, clamping: Clamping, number: int | None) -> At | None:
    """The load and the piece of it that a clamping's program is checked in; None where it lies alone."""
    load = plan.load_of(clamping.id)
    if load is None:
        if number is not None:
            raise BadInput(
                "This clamping lies alone on its machine", where="--place", value=str(number), do="leave --place out"
            )
        return None
    one = plan.table_loads[load]
    known = {laid.place.number: n for n, laid in enumerate(one.laid) if laid.clamping_id == clamping.id}
    if number is not None and number not in known:
        raise BadInput(
            "This clamping does not lie in that place", where="--place", value=str(number),
            limit=", ".join(str(n) for n in known), do="name one of these",
        )  # fmt: skip
    return one, known[min(known) if number is None else number]


def _taken(
    plan: Plan, shop: Shop, clamping: Clamping, numbers: dict[str, int], at: At | None
) -> tuple[str, ...]:  # fmt: skip
    names = ", ".join(f"T{n} {cutter_id}" for cutter_id, n in sorted(numbers.items(), key=lambda row: row[1]))
    vise = next(v for v in shop.vises if v.id == clamping.vise_id)
    place = (
        "as measured in the shop file" if vise.stands_mm is not None
        else "anywhere: nobody measured it, so travels are not looked at here"
    )  # fmt: skip
    if at is not None:
        load, number = at
        laid = load.laid[number]
        place = "as measured in the shop file" if laid.place.stands_mm is not None else "anywhere: nobody measured it"
        offset, others = laid.work_offset, ", ".join(str(o.place.number) for o in load.laid if o != laid)
        looked = (
            f"Only what is done in place {laid.place.number} is looked at, under {offset}, against all that stands in "
            f"the others: check place {others} too. Every place counts as filled."
        )
        where = (looked, f"{offset} is taken to be set at the work zero there, the vise to stand {place}.")
    else:
        where = (f"Work offset G54 is taken to be set at the plan's work zero, the vise to stand {place}.",)
    return (
        f"Part {plan.part.number}, clamping {clamping.number} on {clamping.machine_id}.",
        "The work is taken to be as the plan leaves it before.",
        "The spindle is taken to stand at the top of its Z before the first line.",
        RAPIDS_TAKEN,
        *where,
        f"Cutters by number, each as long as the shop file says: {names}.",
    )


def _differences(
    checked: Checked, plan: Plan, clamping: Clamping, passes: PassPlan, table: CutterTable, at: At | None
) -> tuple[str, ...]:
    own = [one for one in passes.passes if one.clamping_id == clamping.id]
    ordered: Sequence[Pass] = own
    if at is not None:
        ordered = [one for _, one in passes_in_order(at[0], plan.passes, range(len(at[0].laid)))]
    found: list[str] = []
    sheets = [s for s in plan.programs if s.clamping_id == clamping.id]
    sheet = next(iter(sheets), None)
    if any(s.fingerprint == checked.fingerprint for s in sheets):
        return ("Nothing: this is the plan's own program, to the last character.",)
    if sheet is not None:
        found.append(f"The text: the plan's program has the fingerprint {sheet.fingerprint}, this one does not.")
    found.extend(_cutters_differ(checked.course, ordered, table))
    found.extend(_rates_differ(checked.course, own, passes, table))
    numbers = {cutter.id: number for number, cutter in table.cutters.items()}
    moves, line = where_moves_differ(checked.course, clamping, own, passes, numbers)
    total = sum(one.moves_count - 1 for one in own)
    first = "" if line is None else f" The first that differs is in line {line}."
    found.append(f"{moves} of the plan's {total} moves are not made as planned, or others are made besides.{first}")
    return tuple(found)


def _cutters_differ(course: Course, own: Sequence[Pass], table: CutterTable) -> list[str]:
    called = [int(item.value) for item in course.items if isinstance(item, Event) and item.kind == "cutter change"]
    number_of = {cutter.id: number for number, cutter in table.cutters.items()}
    wanted: list[int] = []
    for one in own:
        number = number_of.get(one.cutter_id, 0)
        if not wanted or wanted[-1] != number:
            wanted.append(number)
    if called == wanted:
        return []
    calls, plans = (", ".join(f"T{n}" for n in numbers) or "none" for numbers in (called, wanted))
    return [f"Cutters in order: {calls}; the plan has {plans}."]


def _rates_differ(course: Course, own: Sequence[Pass], passes: PassPlan, table: CutterTable) -> list[str]:
    """Highest speed and feed of each cutter against the plan's."""
    number_of = {cutter.id: number for number, cutter in table.cutters.items()}
    planned: dict[int, tuple[float, float]] = {}
    for one in own:
        number = number_of.get(one.cutter_id, 0)
        speed, feed = planned.get(number, (0.0, 0.0))
        feeds = float(passes.moves[one.moves_digest].feed_mm_per_s.max())
        planned[number] = max(speed, one.speed_rad_per_s), max(feed, feeds)
    made: dict[int, tuple[float, float]] = {}
    for item in course.items:
        if isinstance(item, Motion) and item.kind == "feed" and item.modes.cutter:
            speed, feed = made.get(item.modes.cutter, (0.0, 0.0))
            rate = item.feed_mm_per_s or 0.0
            made[item.modes.cutter] = max(speed, item.modes.speed_rad_per_s), max(feed, rate)
    found: list[str] = []
    for number in sorted(set(planned) & set(made)):
        for k, (noun, ratio, factor, unit) in enumerate(
            (("turns at up to", SPEED_RATIO, 30.0 / math.pi, "1/min"), ("is fed at up to", FEED_RATIO, 60.0, "mm/min"))
        ):
            ours, theirs = planned[number][k], made[number][k]
            if abs(ours - theirs) > ratio * max(ours, theirs):
                found.append(f"T{number} {noun} {theirs * factor:.0f} {unit}; the plan has {ours * factor:.0f}.")
    return found
