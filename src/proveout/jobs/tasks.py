"""Long work in the background: each task is a plan in a process of its own, and its state lies in a folder.

A task outlives the page that asked for it and the server that began it: the process goes on, tells of itself in a file
of lines, and writes its result by itself. A server that comes later reads the same folder. Of one subject only one task
is open at a time, and as many run at once as there are cores; the others wait in their order.
"""

from __future__ import annotations

import contextlib
import re
import shutil
import subprocess
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import msgspec

from proveout.jobs.catalogue import STATES, cores_count
from proveout.jobs.crew import threads_each
from proveout.jobs.plan_process import begin_plan, end_plan, last_line
from proveout.jobs.processes import birth_of, end_by_id, is_alive
from proveout.jobs.results import TASKS
from proveout.jobs.told_lines import TELL, Heard, heard
from proveout.jobs.whole_files import locked, write_whole
from proveout.quantities.errors import BadInput

State = Literal[
    "waiting", "under way", "ready", "not ready", "refused", "failed", "out of time", "cancelled", "stopped"
]  # fmt: skip
OPEN: tuple[State, ...] = ("waiting", "under way")
LATE_STATUS = 124
INTERRUPTED_STATUS = 130
LOOK_EVERY_S = 0.3
NS_PER_S = 1_000_000_000
KEPT_MOST = 300
GONE = "The process was gone before the plan was finished. Begin it again: decisions that are stored are reused."
TEMPORARY = "[a-z0-9_]{8}"  # what tempfile puts behind a prefix


class BackgroundTask(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of long work. subject: what it is about; of one subject one task is open at a time.

    arguments: of `proveout plan`, without --out.   out: its result folder.   goal: address of the page to go to when it
    is done, empty for the entry's own.   asked_at, begun_at, ended_at: UTC, ISO 8601, empty when not yet.
    pid, birth: its process.   is_unwanted: somebody cancelled it.   said: the sentence that it ended with.
    """

    id: str
    subject: str
    title: str
    arguments: tuple[str, ...]
    out: str
    goal: str = ""
    state: State = "waiting"
    asked_at: str = ""
    begun_at: str = ""
    ended_at: str = ""
    pid: int = 0
    birth: str = ""
    is_unwanted: bool = False
    said: str = ""

    @property
    def is_open(self) -> bool:
        """It waits or is under way."""
        return self.state in OPEN

    @property
    def ended_ns(self) -> int:
        """When it ended, as files tell when they were written; 0 when it has not."""
        return int(datetime.fromisoformat(self.ended_at).timestamp() * NS_PER_S) if self.ended_at else 0


class Tasks:
    """The tasks of one folder.

    Args:     folder: made when the first task is asked for.   at_once: how many may run; None for one a core.
    """

    def __init__(self, folder: Path, *, at_once: int | None = None) -> None:
        self._folder = folder
        self._at_once = at_once if at_once is not None else cores_count()
        self._own: dict[str, subprocess.Popen[bytes]] = {}
        self._lock = threading.RLock()
        self._watcher: threading.Thread | None = None

    def take_up(self) -> None:
        """Tell of what ended meanwhile, and begin what waits: for a server that begins."""
        if self._folder.is_dir():
            self._pump()
            self._watch()

    def ask(
        self, *, subject: str, title: str, arguments: Sequence[str], out: Path, goal: str = ""
    ) -> BackgroundTask:  # fmt: skip
        """A task for this subject: the one that is open already, whatever it was asked with, or a new one."""
        with self._guarded():
            for task in self._all():
                if task.subject == subject and task.is_open:
                    return task
            task = BackgroundTask(
                id=self._new_id(subject), subject=subject, title=title, arguments=tuple(arguments), out=str(out),
                goal=goal, asked_at=_now(),
            )  # fmt: skip
            self._write(task)
            self._forget_old()
        self._pump()
        self._watch()
        return self.get(task.id)

    def again(self, id: str) -> BackgroundTask:
        """The same work once more; the open task of its subject where there is one."""
        task = self.get(id)
        return self.ask(
            subject=task.subject, title=task.title, arguments=task.arguments, out=Path(task.out), goal=task.goal
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

    def all(self) -> tuple[BackgroundTask, ...]:
        """Every task, the one asked for last first."""
        if not self._folder.is_dir():
            return ()
        with self._guarded():
            return tuple(self._refreshed(task) for task in self._all())

    def heard(self, id: str) -> Heard:
        """What the task has told of itself."""
        return heard(self._file(id, "lines"))

    def open_count(self) -> int:
        """How many wait or are under way."""
        return sum(task.is_open for task in self.all())

    def wait(self, id: str, *, most_s: float) -> BackgroundTask:
        """The task once it has ended, or as it stands when the time is over."""
        until = time.monotonic() + most_s
        while (task := self.get(id)).is_open and time.monotonic() < until:
            time.sleep(LOOK_EVERY_S / 3.0)
        return task

    def _pump(self) -> None:
        """Begin what waits, the oldest first, as far as there is room."""
        with self._guarded():
            tasks = [self._refreshed(task) for task in self._all()]
            room = self._at_once - sum(task.state == "under way" for task in tasks)
            waiting = [task for task in reversed(tasks) if task.state == "waiting"]
            for task in waiting[: max(0, room)]:
                self._begin(task)

    def _begin(self, task: BackgroundTask) -> None:
        lines, out = self._file(task.id, "lines"), Path(task.out)
        lines.unlink(missing_ok=True)
        _clear_left(out)
        try:
            process = begin_plan(
                task.arguments, out=out, said=self._file(task.id, "log"), is_lasting=True,
                surroundings={**threads_each(self._at_once), TELL: str(lines)},
            )  # fmt: skip
        except OSError as fault:
            said = f"The plan could not be begun: {fault.strerror or fault}"
            self._write(msgspec.structs.replace(task, state="failed", ended_at=_now(), said=said))
            return
        self._own[task.id] = process
        self._write(
            msgspec.structs.replace(
                task, state="under way", begun_at=_now(), pid=process.pid, birth=birth_of(process.pid)
            )
        )

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
            self._folder.mkdir(parents=True, exist_ok=True)
            with locked(self._folder / ".lock"):
                yield

    def _all(self) -> list[BackgroundTask]:
        found = []
        for path in self._folder.glob("*.json"):
            with contextlib.suppress(OSError, msgspec.DecodeError):
                found.append(msgspec.json.decode(path.read_bytes(), type=BackgroundTask))
        return sorted(found, key=lambda task: (task.asked_at, task.id), reverse=True)

    def _read(self, id: str) -> BackgroundTask:
        if re.fullmatch(r"[A-Za-z0-9._-]+", id):
            with contextlib.suppress(OSError, msgspec.DecodeError):
                return msgspec.json.decode(self._file(id, "json").read_bytes(), type=BackgroundTask)
        raise BadInput("There is no such task", where="under way", value=id, do="look at the list of what is under way")

    def _write(self, task: BackgroundTask) -> None:
        write_whole(self._file(task.id, "json"), msgspec.json.encode(task))

    def _file(self, id: str, ending: str) -> Path:
        return self._folder / f"{id}.{ending}"

    def _new_id(self, subject: str) -> str:
        name = re.sub(r"[^A-Za-z0-9._-]+", "-", subject).strip("-.") or "task"
        number = 1
        while self._file(f"{name}-{number}", "json").exists():
            number += 1
        return f"{name}-{number}"

    def _forget_old(self) -> None:
        for task in [task for task in self._all() if not task.is_open][KEPT_MOST:]:
            for ending in ("json", "lines", "log"):
                self._file(task.id, ending).unlink(missing_ok=True)


def tasks_folder(plans: Path) -> Path:
    """Where the tasks of a folder of plans lie."""
    return plans / TASKS


def _ending(status: int | None, *, is_unwanted: bool) -> tuple[State, str]:
    """State and sentence by the exit status that was told; None when the process told none. Empty: it said its own."""
    if is_unwanted and status in (None, INTERRUPTED_STATUS):
        return "cancelled", "It was cancelled; nothing was written. Decisions that are stored are reused."
    if status is None or status == INTERRUPTED_STATUS:
        return "stopped", GONE
    if status == LATE_STATUS:
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


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
