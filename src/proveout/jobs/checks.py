"""Checks of programs against plans in the background, one after another, kept as long as the process that asked."""

from __future__ import annotations

import secrets
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Literal

from proveout.jobs.check_plan import check_against_plan
from proveout.jobs.check_program import Checked
from proveout.jobs.check_told import ToldCheck, check_told
from proveout.jobs.results import folder_name
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.work import Clamping
from proveout.programs.reading.blocks import lines_of
from proveout.quantities.errors import BadInput, Interrupted, OutOfTime, ProveoutError

State = Literal["waiting", "under way", "done", "refused", "failed", "cancelled", "out of time"]
OPEN: tuple[State, ...] = ("waiting", "under way")
BYTES_MOST = 8_000_000
KEPT_MOST, OPEN_MOST = 30, 8
TIME_LIMIT_S = 900.0
BROKEN = "The check itself went wrong; nothing is said of this program."


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is to be checked against what.   name: of the program's file.   text: its bytes.   folder: of the result.

    clamping_number: may be None where the plan has one.   place_number: None for the first in which it lies.
    is_last: metal left over counts also where later clampings cut on.   skips: blocks that begin with / are left out.
    """

    address: str
    folder: Path
    name: str
    text: bytes = field(repr=False)
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
    """A check as it stands.   share: of the work, 0 to 1.   now: what it does.   told: once it is done.

    fault: why it was refused.   is_stale: the plan in that folder is another one by now.
    """

    id: str
    asked: Asked
    state: State = "waiting"
    share: float = 0.0
    now: str = ""
    told: ToldCheck | None = None
    fault: ProveoutError | None = None
    is_stale: bool = False

    @property
    def is_open(self) -> bool:
        """It waits or is under way."""
        return self.state in OPEN


class Checks:
    """The checks that this process was asked for.

    Args:     check: what checks, for tests.   time_limit_s: of one.
    """

    def __init__(
        self, *, check: Callable[..., Checked] = check_against_plan, time_limit_s: float = TIME_LIMIT_S
    ) -> None:  # fmt: skip
        self._check, self._time_limit_s = check, time_limit_s
        self._kept: dict[str, OneCheck] = {}
        self._runs: dict[str, Run] = {}
        self._marks: dict[str, tuple[int, int]] = {}
        self._lock = threading.Lock()
        self._turn = threading.Lock()  # one at a time: each takes a core whole

    def begin(self, asked: Asked) -> OneCheck:
        """Begin a check in the background.

        Raises:   BadInput where there is nothing to check, it is no text, it is too long, or too many wait already.
        """
        if not asked.text.strip():
            raise BadInput("There is no program to check", where="the program", do="choose the file that is to run")
        if len(asked.text) > BYTES_MOST:
            raise BadInput(
                "This program is too long to be checked here", where=asked.name, value=f"{len(asked.text)} bytes",
                limit=f"{BYTES_MOST} bytes", do="check it with proveout check",
            )  # fmt: skip
        if b"\x00" in asked.text:
            raise BadInput("This is no text", where=asked.name, do="choose a program per ISO 6983")
        one = OneCheck(id=secrets.token_hex(6), asked=asked)
        with self._lock:
            if sum(kept.is_open for kept in self._kept.values()) >= OPEN_MOST:
                raise BadInput(
                    "Too many programs wait to be checked", limit=f"{OPEN_MOST}", do="wait until one of them is done"
                )
            self._kept[one.id] = one
            self._marks[one.id] = _mark(asked.folder)
            ended = [id for id, kept in self._kept.items() if not kept.is_open]
            for id in ended[: max(0, len(self._kept) - KEPT_MOST)]:
                del self._kept[id], self._marks[id]
        threading.Thread(target=self._run, args=(one.id,), daemon=True, name="check").start()
        return one

    def get(self, id: str, *, address: str) -> OneCheck:
        """A check of that part as it stands now.

        Raises:   BadInput where there is none: the desk was closed since, or many others came after it.
        """
        with self._lock:
            one, mark = self._kept.get(id), self._marks.get(id)
        if one is None or one.asked.address != address:
            raise BadInput(
                "There is no such check any more", where=address, value=id, do="check the program again",
            )  # fmt: skip
        return replace(one, is_stale=mark != _mark(one.asked.folder))

    def of(self, address: str) -> tuple[OneCheck, ...]:
        """The checks of a part, the last one first."""
        with self._lock:
            return tuple(one for one in reversed(self._kept.values()) if one.asked.address == address)

    def cancel(self, id: str) -> None:
        """End a check; one that has ended stays as it is."""
        with self._lock:
            run, one = self._runs.get(id), self._kept.get(id)
            if run is not None:
                run.cancel()
            elif one is not None and one.is_open:
                self._kept[id] = replace(one, state="cancelled")

    def _run(self, id: str) -> None:
        with self._turn:
            run = Run(tell=partial(self._tell, id), time_limit_s=self._time_limit_s)
            with self._lock:
                waiting = self._kept.get(id)
                if waiting is None or not waiting.is_open:  # cancelled meanwhile, and perhaps forgotten since
                    return
                self._runs[id] = run
                self._kept[id] = replace(self._kept[id], state="under way")
            try:
                told = self._told(self._kept[id].asked, run)
            except Interrupted:
                self._put(id, state="cancelled")
            except OutOfTime:
                self._put(id, state="out of time")
            except ProveoutError as fault:
                self._put(id, state="refused", fault=fault)
            except Exception:
                self._put(id, state="failed", now=BROKEN)
                raise
            else:
                self._put(id, state="done", share=1.0, told=told)
            finally:
                with self._lock:
                    del self._runs[id]

    def _told(self, asked: Asked, run: Run) -> ToldCheck:
        run.check("reading")
        with tempfile.TemporaryDirectory(prefix="proveout-check-") as folder:
            program = Path(folder) / folder_name(asked.name)
            program.write_bytes(asked.text)
            checked = self._check(
                program, plan_folder=asked.folder, clamping_number=asked.clamping_number,
                place_number=asked.place_number, is_last=asked.is_last, skips=asked.skips, run=run,
            )  # fmt: skip
        return check_told(checked)

    def _tell(self, id: str, stage: str, text: str, share: float) -> None:
        self._put(id, now=f"{stage}: {text}" if text else stage, share=max(0.0, min(1.0, share)))

    def _put(self, id: str, **changes: object) -> None:
        with self._lock:
            self._kept[id] = replace(self._kept[id], **changes)  # type: ignore[arg-type]


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


def _mark(folder: Path) -> tuple[int, int]:
    """Tells one plan in a folder from the next."""
    try:
        told = (folder / "plan.json").stat()
    except OSError:
        return 0, 0
    return told.st_mtime_ns, told.st_size
