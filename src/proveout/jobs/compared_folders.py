"""Compare what lies in two result folders: two plans, or two orders part by part."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.intake.job_file import job_from_step, read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.background_task import BackgroundTask, errand_id
from proveout.jobs.check_plan import read_plan
from proveout.jobs.comparing import compare
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.store import Store
from proveout.jobs.tasks import Tasks
from proveout.jobs.whole_files import digest_of_file
from proveout.model.differences import Differences
from proveout.model.job import Job
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.stages.schedule.decide import decide as decide_schedule

PLAN = "plan.json"
NO_STORE = Store(None)


@dataclass(frozen=True)
class Compared:
    """What differs of one part; plan, shop: the new one and what it was planned for."""

    differences: Differences
    plan: Plan
    shop: Shop


@dataclass(frozen=True)
class ComparedFolders:
    """Part by part; gone, more: numbers of parts that only the old or only the new folder has."""

    parts: tuple[Compared, ...]
    gone: tuple[str, ...] = ()
    more: tuple[str, ...] = ()


class Comparison(msgspec.Struct, frozen=True, kw_only=True, tag="comparison"):
    """Two result folders of parts, to be compared. old_digest, new_digest: of their plan.json."""

    old: str
    new: str
    old_digest: str
    new_digest: str


def begin_comparison(tasks: Tasks, old: Path, new: Path, *, address: str, title: str, page: str) -> BackgroundTask:
    """Begin to compare two plans, unless that is done or under way.   address: of the part.   page: that shows it.

    Raises:   BadInput when a folder holds no plan, or too many are under way.
    """
    for folder in (old, new):
        if not (folder / PLAN).is_file():
            raise BadInput("There is no plan", where=str(folder), do="choose another")
    asked = Comparison(
        old=str(old), new=str(new), old_digest=digest_of_file(old / PLAN), new_digest=digest_of_file(new / PLAN)
    )  # fmt: skip
    content = told_bytes(asked)
    return tasks.ask_errand(
        "comparison", content, id=errand_id("comparison", content), subject=f"comparison with {address}", title=title,
        page=page, is_looked_at=True,
    )  # fmt: skip


def read_comparison(found: bytes, new: Path) -> Compared:
    """What a comparison found.   new: the folder of the new plan."""
    return Compared(
        differences=read_bytes(found, Differences), plan=read_plan(new), shop=read_shop(new / "inputs" / "shop.toml")
    )


def compare_folders(old: Path, new: Path, *, store: Store = NO_STORE) -> ComparedFolders:
    """From what the old folder holds to what the new one holds.

    Two plans are compared whatever their part numbers; of orders, the parts of one number.
    Raises:   BadInput where a folder holds no plan, or one of them an order and the other a part.
    """
    before, after = _parts(old), _parts(new)
    if (old / PLAN).is_file() != (new / PLAN).is_file():
        raise BadInput(
            "One of these is the plan of a part, the other of an order", where=str(new),
            do="name two parts, or two orders",
        )  # fmt: skip
    if (old / PLAN).is_file():
        return ComparedFolders(parts=(compare_results(old, new, store=store),))
    return ComparedFolders(
        parts=tuple(
            compare_results(before[number], after[number], store=store) for number in after if number in before
        ),
        gone=tuple(number for number in before if number not in after),
        more=tuple(number for number in after if number not in before),
    )


def compare_results(old: Path, new: Path, *, store: Store = NO_STORE) -> Compared:
    """From the plan of one result folder to that of another, each held against the calendar as its job says.

    store: where schedules are kept.   Raises:   BadInput where a folder holds no plan, or its inputs cannot be read.
    """
    before, after = read_plan(old), read_plan(new)
    loads = [load_of(plan, folder, store=store) for plan, folder in ((before, old), (after, new))]
    return Compared(
        differences=compare(before, after, old_load=loads[0], new_load=loads[1]), plan=after,
        shop=read_shop(new / "inputs" / "shop.toml"),
    )  # fmt: skip


def load_of(plan: Plan, folder: Path, *, store: Store = NO_STORE) -> OrderLoad:
    """The part by itself against the calendar."""
    shop = read_shop(folder / "inputs" / "shop.toml")
    parts = [OrderedPart(plan=plan, job=job_of(plan, folder))]
    return store.get("schedule of a part", decide_schedule, parts=parts, shop=shop)


def job_of(plan: Plan, folder: Path) -> Job:
    """The job of a result, with quantity and days as it was planned: an order or a command may have said others."""
    path = folder / "inputs" / "job.toml"
    job = read_job(path) if path.is_file() else job_from_step(plan.part.step, quantity=plan.part.quantity)
    order = msgspec.structs.replace(job.order, quantity=plan.part.quantity, start=plan.start, due=plan.due)
    return msgspec.structs.replace(job, order=order)


def _parts(folder: Path) -> dict[str, Path]:
    """Result folders by part number, a plan's own folder or those inside an order's, in order of name."""
    if (folder / PLAN).is_file():
        return {read_plan(folder).part.number: folder}
    inner = sorted(place for place in folder.iterdir() if (place / PLAN).is_file()) if folder.is_dir() else []
    if not inner:
        raise BadInput("There is no plan", where=str(folder), do="name the folder that proveout plan wrote")
    return {read_plan(place).part.number: place for place in inner}
