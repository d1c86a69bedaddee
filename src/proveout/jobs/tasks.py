"""Long work in the background: each task is a process of its own, and its state lies in a folder.

A task is a plan, or an errand: shorter work that somebody waits for. It outlives the page that asked for it and the
server that began it: the process goes on, tells of itself in a file of lines, and writes its result by itself. A server
that comes later reads the same folder. The same is never under way twice: of one subject one plan, and of one id one
errand. As many run at once as their kind has room for; the others wait in their order.
"""

from __future__ import annotations

import contextlib
import re
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from proveout.jobs.background_task import ROOMS, BackgroundTask, Kind, State
from proveout.jobs.catalogue import STATES, cores_count
from proveout.jobs.crew import threads_each
from proveout.jobs.ending import INTERRUPTED, LATE
from proveout.jobs.errand_process import Standing, begin_errand
from proveout.jobs.errand_sheet import Sheet
from proveout.jobs.plan_process import begin_plan, end_plan, last_line
from proveout.jobs.processes import birth_of, end_by_id, is_alive
from proveout.jobs.results import TASKS
from proveout.jobs.told_lines import TELL, Heard, heard
from proveout.jobs.whole_files import locked, write_whole
from proveout.quantities.errors import BadInput

LOOK_EVERY_S = 0.3
WAIT_EVERY_S = 0.03
GONE = "The process was gone before the work was finished. Begin it again: decisions that are stored are reused."
TEMPORARY = "[a-z0-9_]{8}"  # what tempfile puts behind a prefix
LOCK, GIVEN = ".lock", ".given-"
A_DAY_S = 24 * 3600.0
ENDINGS = ("json", "lines", "log", "asked", "found", "step", "taken")


class Tasks:
    """The tasks of one folder.

    Args:     folder: made when the first task is asked for.   at_once: how many plans may run; None for one a core.
              standing: what forks errands; None to begin a process for each.
    """

    def __init__(self, folder: Path, *, at_once: int | None = None, standing: Standing | None = None) -> None:
        self.folder = folder
        self._at_once = at_once if at_once is not None else cores_count()
        self._standing = standing
        self._own: dict[str, subprocess.Popen[bytes]] = {}
        self._lock = threading.RLock()
        self._watcher: threading.Thread | None = None

    def take_up(self) -> None:
        """Tell of what ended meanwhile, and begin what waits: for a server that begins."""
        if self.folder.is_dir():
            self._sweep()
            self._pump()
            self._watch()

    def ask(self, *, subject: str, title: str, arguments: Sequence[str], out: Path) -> BackgroundTask:
        """A plan of this subject: the one that is open already, whatever it was asked with, or a new one."""
        with self._guarded():
            for task in self._all():
                if task.kind == "plan" and task.subject == subject and task.is_open:
                    return task
            task = BackgroundTask(
                id=self._new_id(subject), subject=subject, title=title, arguments=tuple(arguments), out=str(out),
                asked_at=_now(),
            )  # fmt: skip
            self._write(task)
            self._forget_old()
        self._pump()
        self._watch()
        return self.get(task.id)

    def ask_errand(
        self, kind: Kind, asked: bytes, *, id: str, subject: str, title: str, page: str, out: str = "",
        step: Path | None = None, is_looked_at: bool = False,
    ) -> BackgroundTask:  # fmt: skip
        """The errand of that id: the one that is open or done, or a new one.

        Args:     id: stands for all that it is made from.   asked: what is asked, for its process.   page: address of
                  what it finds.   out: a result folder that it writes.   step: a file to keep with it; it is moved.
                  is_looked_at: nobody asked but for looking at its page: what came to nothing is not begun again.
        Raises:   BadInput where too many of its kind are open.
        """
        with self._guarded():
            known = self._known(id)
            is_done = known is not None and known.state == "done" and self._file(id, "found").is_file()
            is_ended = known is not None and is_looked_at and known.state != "done"
            if known is not None and (known.is_open or is_done or is_ended):
                return known
            open_most = ROOMS[kind].open_most
            if open_most is not None and sum(one.kind == kind and one.is_open for one in self._all()) >= open_most:
                raise BadInput(
                    f"Too many of this kind are under way: {title}", limit=f"{open_most} at once",
                    do="wait until one of them has ended, or cancel one under /work",
                )  # fmt: skip
            write_whole(self._file(id, "asked"), asked)
            if step is not None:
                step.replace(self._file(id, "step"))
            task = BackgroundTask(
                id=id, subject=subject, title=title, arguments=(), out=out, kind=kind, page=page, asked_at=_now()
            )
            self._write(task)
            self._forget_old()
        self._pump()
        self._watch()
        return self.get(id)

    @contextmanager
    def given(self) -> Iterator[Path]:
        """A folder for a file that is given with an errand, until that is asked for; gone when the block ends."""
        self.folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=self.folder, prefix=GIVEN) as folder:
            yield Path(folder)

    def again(self, id: str) -> BackgroundTask:
        """The same work once more; the open plan of its subject where there is one."""
        task = self.get(id)
        if task.kind == "plan":
            return self.ask(subject=task.subject, title=task.title, arguments=task.arguments, out=Path(task.out))
        return self.ask_errand(
            task.kind, self.asked(id), id=id, subject=task.subject, title=task.title, page=task.page, out=task.out
        )

    def cancel(self, id: str) -> BackgroundTask:
        """End it; what has ended stays as it is. The process is given time to clear up, in the background."""
        with self._guarded():
            task = self._refreshed(self._read(id))
            if task.state == "waiting":
                self._write(msgspec.structs.replace(task, state="cancelled", ended_at=_now(), is_unwanted=True))
            elif task.state == "under way":
                self._write(msgspec.structs.replace(task, is_unwanted=True))
                own = self._own.get(task.id)
                end, what = (end_by_id, (task.pid, task.birth)) if own is None else (end_plan, (own,))
                threading.Thread(target=end, args=what, daemon=True).start()
        self._watch()
        return self.get(id)

    def get(self, id: str) -> BackgroundTask:
        """The task as it stands now.

        Raises:   BadInput when there is none of that name.
        """
        with self._guarded():
            return self._refreshed(self._read(id))

    def known(self, id: str) -> BackgroundTask | None:
        """The task as it stands now; None where there is none of that name."""
        with self._guarded():
            return self._known(id)

    def all(self, *, kind: Kind | None = None) -> tuple[BackgroundTask, ...]:
        """Every task, or those of one kind, the one asked for last first."""
        if not self.folder.is_dir():
            return ()
        with self._guarded():
            return tuple(self._refreshed(task) for task in self._all() if kind is None or task.kind == kind)

    def heard(self, id: str) -> Heard:
        """What the task has told of itself."""
        return heard(self._file(id, "lines"))

    def asked(self, id: str) -> bytes:
        """What was asked of an errand.

        Raises:   BadInput when there is none of that name.
        """
        return self._content(id, "asked")

    def found(self, id: str) -> bytes | None:
        """What an errand has found so far; None where it has found nothing yet."""
        try:
            return self._content(id, "found")
        except BadInput:
            return None

    def open_count(self) -> int:
        """How many wait or are under way."""
        return sum(task.is_open for task in self.all())

    def wait(self, id: str, *, most_s: float) -> BackgroundTask:
        """The task once it has ended, or as it stands when the time is over."""
        until = time.monotonic() + most_s
        while (task := self.get(id)).is_open and time.monotonic() < until:
            time.sleep(WAIT_EVERY_S)
        return task

    def forget(self, id: str) -> None:
        """End an errand, and let nothing of it be known."""
        if self.known(id) is not None:
            self.cancel(id)
            with self._guarded():
                self._remove(id)

    def _pump(self) -> None:
        """Begin what waits, the oldest first, as far as there is room for its kind."""
        with self._guarded():
            tasks = [self._refreshed(task) for task in self._all()]
            for kind, room in ROOMS.items():
                own = [task for task in reversed(tasks) if task.kind == kind]
                at_once = self._at_once if room.at_once is None else room.at_once
                free = at_once - sum(task.state == "under way" for task in own)
                for task in [task for task in own if task.state == "waiting"][: max(0, free)]:
                    self._begin(task)

    def _begin(self, task: BackgroundTask) -> None:
        lines = self._file(task.id, "lines")
        lines.unlink(missing_ok=True)
        if task.out:
            _clear_left(Path(task.out))
        try:
            number, process = self._begun(task, lines)
        except OSError as fault:
            said = f"The work could not be begun: {fault.strerror or fault}"
            self._write(msgspec.structs.replace(task, state="failed", ended_at=_now(), said=said))
            return
        if process is not None:
            self._own[task.id] = process
        self._write(
            msgspec.structs.replace(task, state="under way", begun_at=_now(), pid=number, birth=birth_of(number))
        )

    def _begun(self, task: BackgroundTask, lines: Path) -> tuple[int, subprocess.Popen[bytes] | None]:
        log = self._file(task.id, "log")
        if task.kind == "plan":
            surroundings = {**threads_each(self._at_once), TELL: str(lines)}
            process = begin_plan(
                task.arguments, out=Path(task.out), said=log, is_lasting=True, surroundings=surroundings
            )
            return process.pid, process
        found = self._file(task.id, "found")
        found.unlink(missing_ok=True)
        sheet = Sheet(
            asked=str(self._file(task.id, "asked")), found=str(found), lines=str(lines), log=str(log),
            limit_s=ROOMS[task.kind].limit_s,
        )  # fmt: skip
        return begin_errand(sheet, standing=self._standing)

    def _refreshed(self, task: BackgroundTask) -> BackgroundTask:
        """The task as it stands; what has ended is written down."""
        if task.state != "under way":
            return task
        process = self._own.get(task.id)
        if (process.poll() is None) if process is not None else is_alive(task.pid, task.birth):
            return task
        self._own.pop(task.id, None)
        end = heard(self._file(task.id, "lines")).end
        state, said = _ending(None if end is None else end.status, is_unwanted=task.is_unwanted)
        if state == "ready" and task.kind != "plan":
            state = "done"
            self._file(task.id, "step").unlink(missing_ok=True)  # what was given with it is not asked for again
        if not said:
            said = end.said if end is not None else ""
        if state in ("failed", "refused") and not said:
            said = last_line(self._file(task.id, "log"))
        task = msgspec.structs.replace(task, state=state, ended_at=_now(), said=said)
        self._write(task)
        return task

    def _watch(self) -> None:
        """Look after open tasks until none is left, in a thread that ends with the server."""
        with self._lock:
            if self._watcher is not None and self._watcher.is_alive():
                return
            self._watcher = threading.Thread(target=self._look_after, daemon=True, name="tasks")
            self._watcher.start()

    def _look_after(self) -> None:
        while True:
            with contextlib.suppress(OSError):
                self._pump()
            with self._lock:
                if not self.open_count():
                    self._watcher = None
                    return
            time.sleep(LOOK_EVERY_S)

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        """Alone with the folder: among the threads of this server, and among servers where the system has locks."""
        with self._lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            with locked(self.folder / LOCK):
                yield

    def _all(self) -> list[BackgroundTask]:
        found = []
        for path in self.folder.glob("*.json"):
            with contextlib.suppress(OSError, msgspec.DecodeError):
                found.append(msgspec.json.decode(path.read_bytes(), type=BackgroundTask))
        return sorted(found, key=lambda task: (task.asked_at, task.id), reverse=True)

    def _known(self, id: str) -> BackgroundTask | None:
        try:
            return self._refreshed(self._read(id))
        except BadInput:
            return None

    def _read(self, id: str) -> BackgroundTask:
        with contextlib.suppress(msgspec.DecodeError):
            return msgspec.json.decode(self._content(id, "json"), type=BackgroundTask)
        raise _unknown(id)

    def _content(self, id: str, ending: str) -> bytes:
        if re.fullmatch(r"[A-Za-z0-9._-]+", id):
            with contextlib.suppress(OSError):
                return self._file(id, ending).read_bytes()
        raise _unknown(id)

    def _write(self, task: BackgroundTask) -> None:
        write_whole(self._file(task.id, "json"), msgspec.json.encode(task))

    def _file(self, id: str, ending: str) -> Path:
        return self.folder / f"{id}.{ending}"

    def _new_id(self, subject: str) -> str:
        name = re.sub(r"[^A-Za-z0-9._-]+", "-", subject).strip("-.") or "task"
        number = 1
        while self._file(f"{name}-{number}", "json").exists():
            number += 1
        return f"{name}-{number}"

    def _forget_old(self) -> None:
        """Of every kind for itself, so that many errands never push out a plan."""
        ended = [task for task in self._all() if not task.is_open]
        for kind, room in ROOMS.items():
            for task in [task for task in ended if task.kind == kind][room.kept_most :]:
                self._remove(task.id)

    def _sweep(self) -> None:
        """Take away what errands wrote that were forgotten meanwhile, and what killed processes left a day ago."""
        with self._guarded():
            for path in self.folder.iterdir():
                if path.name.startswith(".") and path.name != LOCK:
                    _clear_old(path)
                elif path.suffix[1:] in ENDINGS and not path.with_suffix(".json").exists():
                    path.unlink(missing_ok=True)

    def _remove(self, id: str) -> None:
        for ending in ENDINGS:
            self._file(id, ending).unlink(missing_ok=True)


def tasks_folder(plans: Path) -> Path:
    """Where the tasks of a folder of plans lie."""
    return plans / TASKS


def _unknown(id: str) -> BadInput:
    return BadInput("There is no such task", where="under way", value=id, do="look at the list of what is under way")


def _ending(status: int | None, *, is_unwanted: bool) -> tuple[State, str]:
    """State and sentence by the exit status that was told; None when the process told none. Empty: it said its own."""
    if is_unwanted and status in (None, INTERRUPTED):
        return "cancelled", "It was cancelled; nothing was written. Decisions that are stored are reused."
    if status is None or status == INTERRUPTED:
        return "stopped", GONE
    if status == LATE:
        return "out of time", ""
    known = STATES.get(status)
    return (known, "") if known in ("ready", "not ready", "refused") else ("failed", "")


def _clear_left(out: Path) -> None:
    """Take away what a killed process left half-made beside the result."""
    if not out.parent.is_dir():
        return
    left = re.compile(rf"\.{re.escape(out.name)}-(old-)?{TEMPORARY}")
    for path in out.parent.iterdir():
        if left.fullmatch(path.name) and path.is_dir():
            shutil.rmtree(path, ignore_errors=True)


def _clear_old(path: Path) -> None:
    """Take away what nobody can be at work on any more."""
    with contextlib.suppress(OSError):
        if time.time() - path.stat().st_mtime > A_DAY_S:
            shutil.rmtree(path) if path.is_dir() else path.unlink()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
