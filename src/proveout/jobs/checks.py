"""Checks of programs against plans: what may be asked, begun as an errand, and read again when it is done."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.jobs.background_task import BackgroundTask, errand_id
from proveout.jobs.check_told import ToldCheck
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.home import Place
from proveout.jobs.tasks import Tasks
from proveout.jobs.whole_files import digest_of_file
from proveout.model.plan import Plan
from proveout.model.work import Clamping
from proveout.programs.reading.blocks import lines_of
from proveout.quantities.errors import BadInput

BYTES_MOST = 8_000_000


class CheckAsked(msgspec.Struct, frozen=True, kw_only=True, tag="check"):
    """What is to be checked against what.   name: of the program's file.   text: its bytes.   folder: of the result.

    plan_digest: of its plan.json.   clamping_number: may be None where the plan has one.   place_number: None for the
    first in which it lies.   is_last: metal left over counts also where later clampings cut on.   skips: blocks that
    begin with / are left out.
    """

    address: str
    folder: str
    plan_digest: str
    name: str
    text: bytes
    clamping_number: int | None
    place_number: int | None = None
    is_last: bool = False
    skips: bool = False

    @property
    def lines(self) -> tuple[str, ...]:
        """The program's lines; a sign that is no letter of UTF-8 is shown as one that stands for it."""
        lines = lines_of(self.text.decode("utf-8", errors="replace"))
        return tuple(lines if lines[-1] else lines[:-1])


@dataclass(frozen=True, kw_only=True)
class OneCheck:
    """A check as it stands.   told: once it is done.   is_stale: the plan in that folder is another one by now."""

    task: BackgroundTask
    asked: CheckAsked
    told: ToldCheck | None
    is_stale: bool


def begin_check(
    tasks: Tasks, place: Place, choice: Choice, *, name: str, text: bytes, is_last: bool = False, skips: bool = False
) -> BackgroundTask:  # fmt: skip
    """Begin a check, unless the same was checked or is being checked.

    Raises:   BadInput where there is nothing to check, it is no text, it is too long, or too many wait already.
    """
    if not text.strip():
        raise BadInput("There is no program to check", where="the program", do="choose the file that is to run")
    if len(text) > BYTES_MOST:
        raise BadInput(
            "This program is too long to be checked here", where=name, value=f"{len(text)} bytes",
            limit=f"{BYTES_MOST} bytes", do="check it with proveout check",
        )  # fmt: skip
    if b"\x00" in text:
        raise BadInput("This is no text", where=name, do="choose a program per ISO 6983")
    asked = CheckAsked(
        address=place.address, folder=str(place.folder), plan_digest=_plan_digest(place.folder), name=name, text=text,
        clamping_number=choice.clamping.number, place_number=choice.place_number, is_last=is_last, skips=skips,
    )  # fmt: skip
    content = told_bytes(asked)
    id = errand_id("check", content)
    return tasks.ask_errand(
        "check", content, id=id, subject=f"check of {place.address}",
        title=f"Check {name or 'a program'} against {place.plan.part.number}",
        page=f"/parts/{place.address}/check/{id}",
    )  # fmt: skip


def checks_of(tasks: Tasks, address: str) -> tuple[BackgroundTask, ...]:
    """The checks of a part, the last one first."""
    return tuple(task for task in tasks.all(kind="check") if task.subject == f"check of {address}")


def one_check(tasks: Tasks, id: str, *, address: str) -> OneCheck:
    """A check of that part as it stands now.

    Raises:   BadInput where there is none, or many others came after it.
    """
    task = tasks.known(id)
    if task is None or task.kind != "check" or task.subject != f"check of {address}":
        raise BadInput("There is no such check any more", where=address, value=id, do="check the program again")
    asked = read_bytes(tasks.asked(id), CheckAsked)
    found = tasks.found(id) if task.state == "done" else None
    return OneCheck(
        task=task, asked=asked, told=None if found is None else read_bytes(found, ToldCheck),
        is_stale=asked.plan_digest != _plan_digest(Path(asked.folder)),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Choice:
    """For what a program can be checked: a clamping, and where a cycle works in several places one of them."""

    clamping: Clamping
    place_number: int | None

    @property
    def value(self) -> str:
        """Names it in a form."""
        return f"{self.clamping.number}" if self.place_number is None else f"{self.clamping.number}.{self.place_number}"


def choices_of(plan: Plan) -> tuple[Choice, ...]:
    """All that a program can be checked for, in the plan's order."""
    found: list[Choice] = []
    for clamping in plan.clampings:
        load = plan.load_of(clamping.id)
        places = [None] if load is None else [
            laid.place.number for laid in plan.table_loads[load].laid if laid.clamping_id == clamping.id
        ]  # fmt: skip
        found += [Choice(clamping=clamping, place_number=number) for number in places]
    return tuple(found)


def chosen(plan: Plan, value: str) -> Choice:
    """The choice that a form names; the only one where it names none.

    Raises:   BadInput where there is none of that name, or several and none is named.
    """
    choices = choices_of(plan)
    if not value and len(choices) == 1:
        return choices[0]
    for one in choices:
        if one.value == value:
            return one
    raise BadInput(
        "It is not said for which clamping this program is" if not value else "The plan has no such clamping",
        value=value, where="clamping", limit=", ".join(one.value for one in choices), do="choose one of the list",
    )  # fmt: skip


def _plan_digest(folder: Path) -> str:
    """Tells one plan in a folder from the next."""
    try:
        return digest_of_file(folder / "plan.json")
    except OSError:
        return ""
