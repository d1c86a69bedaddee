"""The shelf: what is known of every design and order at a glance, without reading whole plans again."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterable, Sequence
from pathlib import Path

import msgspec

from proveout.intake.job_file import read_job, step_of_job
from proveout.intake.order_file import jobs_of_order, read_order
from proveout.intake.starting_shop import starting_shop_text
from proveout.intake.toml_words import read_text
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.home import OF_ORDER, ORDER, PLAN, Entry, Home
from proveout.jobs.shelf_lines import (
    AskedLine,
    PartLine,
    Pictured,
    PlanHead,
    ShelfLine,
    ShelfPart,
    ShelfState,
    part_line,
)
from proveout.jobs.store import code_digest
from proveout.jobs.tasks import tasks_folder
from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import ProveoutError

MEMORY = "shelf.memory"
TOO_OLD = "the plan is of another version of this program and cannot be read"
Stamp = tuple[int, int]


class _Memory(msgspec.Struct):
    version: str
    plans: dict[str, tuple[Stamp, PartLine | None]]
    asked: dict[str, tuple[list[tuple[str, int, int]], AskedLine]]
    digests: dict[str, tuple[Stamp, str]]


class Shelf:
    """Reads a home at a glance; what was read is kept until its file changes, also over a restart."""

    def __init__(self, home: Home) -> None:
        self._home = home
        self._path = tasks_folder(home.plans) / MEMORY
        self._memory = self._stored()
        self._is_new = False
        self._lock = threading.RLock()

    def lines(self, tasks: Sequence[BackgroundTask] = ()) -> tuple[ShelfLine, ...]:
        """Every entry, in order of path.   tasks: the newest first."""
        last: dict[str, BackgroundTask] = {}
        for task in tasks:
            last.setdefault(task.subject, task)
        with self._lock:
            shop = self._shop_marks()
            lines = tuple(self._line(entry, last.get(entry.name), shop) for entry in self._home.entries())
            self._store()
        return lines

    def line(self, entry: Entry, tasks: Sequence[BackgroundTask] = ()) -> ShelfLine:
        """One entry.   tasks: the newest first."""
        task = next((task for task in tasks if task.subject == entry.name), None)
        with self._lock:
            return self._line(entry, task, self._shop_marks())

    def digest(self, path: Path) -> str:
        """sha256 of a file; empty where it cannot be read."""
        with self._lock:
            return self._digest(path)

    def _line(self, entry: Entry, task: BackgroundTask | None, shop: dict[str, str]) -> ShelfLine:
        asked = self._asked(entry)
        files = [entry.path, *entry.files, *(self._folder(entry, address) / PLAN for address in entry.parts)]
        touched_ns = max((told[0] for told in map(_stamp, files) if told is not None), default=0)
        found = [(address, self._part(self._folder(entry, address))) for address in entry.parts]
        parts = tuple(
            ShelfPart(address=address, line=line, pictured=_kept_step(self._folder(entry, address), line, asked))
            for address, line in found if line is not None
        )  # fmt: skip
        changed = self._changed(entry, tuple(part.line for part in parts), shop)
        if len(parts) < len(found):
            changed = (TOO_OLD, *changed)
        planned_ns = max((told[0] for told in map(_stamp, _results(entry)) if told is not None), default=0)
        state, said = _state(parts, changed=changed, task=task, asked=asked, planned_ns=planned_ns)
        dues = sorted(due for due in (asked.due, *(part.line.due for part in parts)) if due)
        return ShelfLine(
            name=entry.name, kind=entry.kind, file=self._inside(entry.path), asked=asked, parts=parts, state=state,
            said=said, changed=changed, due=dues[0] if dues else "", touched_ns=touched_ns,
            task_id=task.id if task is not None else "", pictured=self._pictured(entry, asked),
        )  # fmt: skip

    def _pictured(self, entry: Entry, asked: AskedLine) -> Pictured | None:
        """The solid of a design as its file is now."""
        step = entry.files[-1]
        if entry.kind == "order" or asked.fault:
            return None
        return Pictured(step=step, digest=self._digest(step), solid_name=asked.solid_name)

    def _inside(self, path: Path) -> str:
        return path.relative_to(self._home.root).as_posix() if path.is_relative_to(self._home.root) else path.name

    def _folder(self, entry: Entry, address: str) -> Path:
        return entry.result / address.partition(OF_ORDER)[2]

    def _part(self, folder: Path) -> PartLine | None:
        """The part planned there; None where the plan cannot be read."""
        path = folder / PLAN
        stamp = _stamp(path)
        held = self._memory.plans.get(str(folder))
        if stamp is None or (held is not None and held[0] == stamp):
            return held[1] if held is not None else None
        try:
            line = part_line(msgspec.json.decode(path.read_bytes(), type=PlanHead))
        except (OSError, msgspec.DecodeError, ProveoutError):
            line = None
        self._memory.plans[str(folder)] = (stamp, line)
        self._is_new = True
        return line

    def _asked(self, entry: Entry) -> AskedLine:
        stamps = [(path, _stamp(path) or (-1, -1)) for path in entry.files]
        marks = [(str(path), stamp[0], stamp[1]) for path, stamp in stamps]
        held = self._memory.asked.get(str(entry.path))
        if held is not None and held[0] == marks:
            return held[1]
        line = _asked_line(entry)
        if not line.fault:  # what is wrong may lie in another file
            self._memory.asked[str(entry.path)] = (marks, line)
            self._is_new = True
        return line

    def _changed(self, entry: Entry, parts: Iterable[PartLine], shop: dict[str, str]) -> tuple[str, ...]:
        """What is not any more as it was when the parts were planned."""
        now = {digest for path in entry.files if (digest := self._digest(path))}
        found: dict[str, None] = {}
        for part in parts:
            if part.inputs.get("step", "") not in now:
                found["the solid's file has changed"] = None
            if "job" in part.inputs and part.inputs["job"] not in now:
                found["the job file has changed"] = None
            if "job" not in part.inputs and entry.kind != "solid":
                found["a job file was written"] = None
            if part.inputs.get("shop", "") != shop["shop"] or part.inputs.get("responses", "") != shop["responses"]:
                found["the shop has changed"] = None
        kept = entry.result / "order.toml"
        if entry.kind == "order" and self._digest(kept) != self._digest(entry.path):
            found["the order file has changed"] = None
        return tuple(found)

    def _shop_marks(self) -> dict[str, str]:
        """Digests of the shop as a plan made now would write them."""
        try:
            text = read_text(self._home.shop_path) if self._home.has_shop else starting_shop_text()
            responses = self._home.shop().responses if "response" in text else ()
        except ProveoutError:
            return {"shop": "", "responses": ""}
        told = hashlib.sha256(text.encode()).hexdigest()
        return {"shop": told, "responses": digest_of(responses) if responses else ""}

    def _digest(self, path: Path) -> str:
        """sha256 of a file, worked out anew when it was written; empty where it cannot be read."""
        stamp = _stamp(path)
        if stamp is None:
            return ""
        held = self._memory.digests.get(str(path))
        if held is None or held[0] != stamp:
            try:
                held = (stamp, digest_of_file(path))
            except OSError:
                return ""
            self._memory.digests[str(path)] = held
            self._is_new = True
        return held[1]

    def _stored(self) -> _Memory:
        try:
            memory = msgspec.msgpack.decode(self._path.read_bytes(), type=_Memory)
        except (OSError, msgspec.DecodeError, ProveoutError):
            memory = _Memory(version="", plans={}, asked={}, digests={})
        if memory.version != code_digest():
            return _Memory(version=code_digest(), plans={}, asked={}, digests={})
        return memory

    def _store(self) -> None:
        """Keep what was read; where that cannot be written, it is read again next time."""
        if not self._is_new:
            return
        self._is_new = False
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self._path, msgspec.msgpack.encode(self._memory))
        except OSError:
            return


def _kept_step(folder: Path, line: PartLine, asked: AskedLine) -> Pictured | None:
    """The STEP file that a result keeps; of an order's part with the largest solid of its file."""
    step = next(iter(sorted((folder / "inputs").glob("part.*"))), None)
    if step is None:
        return None
    return Pictured(step=step, digest=line.inputs.get("step", ""), solid_name=asked.solid_name)


def _asked_line(entry: Entry) -> AskedLine:
    if entry.kind == "solid":
        return AskedLine(number=entry.path.stem)
    try:
        if entry.kind == "order":
            order = read_order(entry.path)
            if len(entry.files) == 1:
                _refuse(entry)
            return AskedLine(number=order.name or entry.path.stem, due=order.due, items_count=len(order.items))
        job = read_job(entry.path)
        if len(entry.files) == 1:
            _refuse(entry)
    except ProveoutError as fault:
        return AskedLine(number=entry.path.stem, fault=fault.message)
    return AskedLine(
        number=job.part.number, name=job.part.name, alloy=job.part.alloy, quantity=job.order.quantity,
        due=job.order.due, solid_name=job.part.solid,
    )  # fmt: skip


def _refuse(entry: Entry) -> None:
    """Say what is wrong with the files that an entry names.

    Raises:   BadInput for the first that is missing or broken.
    """
    jobs = jobs_of_order(entry.path, read_order(entry.path)) if entry.kind == "order" else (entry.path,)
    for job in jobs:
        step_of_job(job, read_job(job))


def _state(
    parts: tuple[ShelfPart, ...], *, changed: tuple[str, ...], task: BackgroundTask | None, asked: AskedLine,
    planned_ns: int,
) -> tuple[ShelfState, str]:  # fmt: skip
    """The state of an entry, and the sentence to it."""
    if task is not None and task.state in ("waiting", "under way"):
        return task.state, ""
    tried: ShelfState | None = None
    said = ""
    if task is not None and task.state not in ("ready", "not ready", "done") and task.ended_ns > planned_ns:
        tried, said = task.state, task.said
    if not parts and not changed:
        if asked.fault:
            return "refused", asked.fault
        return (tried, said) if tried is not None else ("asked", "")
    state: ShelfState = "stale" if changed else "ready" if all(part.line.ready for part in parts) else "not ready"
    news = [words for words in changed if words != TOO_OLD]
    words = [TOO_OLD] * (TOO_OLD in changed) + [f"{' and '.join(news)} since it was planned"] * bool(news)
    words += [asked.fault] * bool(asked.fault)
    words += [f"The last try: {tried}: {said}"] if tried is not None and not asked.fault else []
    return state, "; ".join(words)


def _results(entry: Entry) -> list[Path]:
    return [entry.result / name for name in (PLAN, ORDER)]


def _stamp(path: Path) -> Stamp | None:
    try:
        told = path.stat()
    except OSError:
        return None
    return told.st_mtime_ns, told.st_size
