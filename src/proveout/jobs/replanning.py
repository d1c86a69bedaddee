"""Replan an order that was planned before, after something happened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import msgspec

from proveout.intake.job_file import read_job
from proveout.intake.order_file import read_order
from proveout.intake.shop_file import read_shop
from proveout.jobs.results import result_folder
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import Replanned, Trouble
from proveout.quantities.errors import BadInput
from proveout.stages.schedule.replan import replan


class _PartOfOrder(msgspec.Struct):
    folder: str


class _OrderResult(msgspec.Struct):
    parts: list[_PartOfOrder]
    load: OrderLoad


@dataclass(frozen=True)
class ReplanOutcome:
    """What was replanned and where it lies."""

    folder: Path
    replanned: Replanned


def replan_order(result: Path, *, trouble: Trouble, out: Path | None = None) -> ReplanOutcome:
    """Read the result folder of an order and write replan.json, moved.csv, schedule.csv and dates.ics.

    Args:     result: as `plan` wrote it.   out: default RESULT-replan beside the working folder.
    Raises:   BadInput when the folder holds no schedule of an order, and for dates, machines and finishers.
    """
    from proveout.sheets.dates_ics import replanned_dates
    from proveout.sheets.schedule_csv import moved_csv, schedule_csv

    load, found = replanned_order(result, trouble=trouble)
    assert load.schedule is not None
    name = read_order(result / "order.toml").name
    folder = out if out is not None else Path(f"{result.name}-replan")
    now = msgspec.structs.replace(load.schedule, steps=found.steps, done=found.done)
    with result_folder(folder, ours=("replan.json",)) as place:
        encoded = msgspec.json.encode(found, order="deterministic")
        (place / "replan.json").write_bytes(msgspec.json.format(encoded, indent=2) + b"\n")
        (place / "moved.csv").write_text(moved_csv(found), encoding="utf-8", newline="")
        (place / "schedule.csv").write_text(schedule_csv(now), encoding="utf-8", newline="")
        dates = replanned_dates(found, start=load.start, due=load.due, name=name, dues=load.dues)
        (place / "dates.ics").write_bytes(dates)
    return ReplanOutcome(folder=folder, replanned=found)


def replanned_order(result: Path, *, trouble: Trouble) -> tuple[OrderLoad, Replanned]:
    """The order as it was planned, and what some trouble makes of its schedule; nothing is written.

    Raises:   BadInput as `replan_order`.
    """
    path = result / "order.json"
    if not path.is_file():
        raise BadInput(
            "The folder holds no planned order", where=str(result), value="no order.json",
            do="name the folder that `proveout plan ORDER.toml` wrote",
        )  # fmt: skip
    read = msgspec.json.decode(path.read_bytes(), type=_OrderResult)
    schedule = read.load.schedule
    if schedule is None:
        raise BadInput(
            "The order was not scheduled", where=path.name, value="no schedule",
            do="write its start into the order file and plan again",
        )  # fmt: skip
    try:
        date.fromisoformat(trouble.at)
    except ValueError as fault:
        raise BadInput("The day is no date", where="--at", value=trouble.at, do="write it as 2027-03-01") from fault
    parts = [_read_part(result / one.folder) for one in read.parts]
    shop = read_shop(result / read.parts[0].folder / "inputs" / "shop.toml")
    return read.load, replan(parts=parts, shop=shop, start=read.load.start, schedule=schedule, trouble=trouble)


def _read_part(folder: Path) -> OrderedPart:
    """Plan and job of one part, with the dates and the count that the order gave it."""
    plan = msgspec.json.decode((folder / "plan.json").read_bytes(), type=Plan)
    job = read_job(folder / "inputs" / "job.toml")
    order = msgspec.structs.replace(job.order, quantity=plan.part.quantity, start=plan.start, due=plan.due)
    return OrderedPart(plan=plan, job=msgspec.structs.replace(job, order=order))
