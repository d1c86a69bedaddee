"""A glance at a STEP file before anything is planned: what solid is in it, a small drawing, and a drafted job file.

Glances are taken one after the other in a thread, each by reading in a child process, and are kept by the digest of
the file, so that no page waits for one and none is taken twice.
"""

from __future__ import annotations

import hashlib
import queue
import threading
from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.intake.step import drawing, read_solid
from proveout.jobs.drafting import new_job
from proveout.jobs.tasks import tasks_folder
from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.model.solid import Solid
from proveout.quantities.errors import ProveoutError
from proveout.sheets.numbered import NUMBERED_VIEWS
from proveout.sheets.svg import part_svg

GLANCES = "glances"
WIDTH_MM, HEIGHT_MM = 60.0, 40.0
SLANTWISE = next(view for view in NUMBERED_VIEWS if view.is_slanted)


class Glance(msgspec.Struct, frozen=True, kw_only=True):
    """What reading a STEP file gave. fault: why it cannot be read, empty when it can; then all else is empty.

    no_drawing: why there is none, empty when there is.
    """

    name: str = ""
    size_mm: tuple[float, float, float] | None = None
    volume_mm3: float | None = None
    faces_count: int = 0
    other_solids: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    fault: str = ""
    no_drawing: str = ""


@dataclass(frozen=True)
class _Wanted:
    digest: str
    step: Path
    solid_name: str
    number: str | None  # of the job file to be drafted; None for none


class Glances:
    """The glances of one folder of plans."""

    def __init__(self, plans: Path) -> None:
        self._folder = tasks_folder(plans) / GLANCES
        self._queue: queue.Queue[_Wanted] = queue.Queue()
        self._waiting: set[_Wanted] = set()
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._undrafted: dict[Path, str] = {}

    def glance(self, digest: str, solid_name: str = "") -> Glance | None:
        """What is known of the solid in the file of that digest; None where nobody has looked yet."""
        try:
            return msgspec.json.decode(self._file(digest, solid_name, "json").read_bytes(), type=Glance)
        except (OSError, msgspec.DecodeError):
            return None

    def drawing(self, digest: str, solid_name: str = "") -> Path | None:
        """The file of its drawing; None where there is none (yet)."""
        path = self._file(digest, solid_name, "svg")
        return path if path.is_file() else None

    def want(self, digest: str, step: Path, *, solid_name: str = "", number: str | None = None) -> None:
        """Look at a file when its turn comes.   number: draft a job file beside it too, of the part of that number."""
        wanted = _Wanted(digest, step, solid_name, number)
        with self._lock:
            if wanted in self._waiting:
                return
            self._waiting.add(wanted)
            self._queue.put(wanted)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, daemon=True, name="glances")
                self._thread.start()

    def is_drafting(self, step: Path) -> bool:
        """A job file for that file is still to be drafted."""
        with self._lock:
            return any(wanted.step == step and wanted.number is not None for wanted in self._waiting)

    def not_drafted(self, step: Path) -> str:
        """Why no job file could be drafted for it; empty when nothing went wrong."""
        return self._undrafted.get(step, "")

    def settle(self) -> None:
        """Wait until all that is wanted has been looked at."""
        self._queue.join()

    def _work(self) -> None:
        while True:
            wanted = self._queue.get()
            try:
                self._look(wanted)
            except (OSError, ProveoutError) as fault:
                self._undrafted[wanted.step] = str(fault)
            except Exception as fault:  # noqa: BLE001 - the door of a thread: whatever ends one, the next has its turn
                self._undrafted[wanted.step] = f"Proveout is at fault: {type(fault).__name__}: {fault}"
            finally:
                with self._lock:
                    self._waiting.discard(wanted)
                self._queue.task_done()

    def _look(self, wanted: _Wanted) -> None:
        known = self.glance(wanted.digest, wanted.solid_name)
        if known is None:
            known = self._read(wanted)
        if wanted.number is not None and not known.fault:
            self._undrafted.pop(wanted.step, None)
            new_job(wanted.step, out=None, solid_name=wanted.solid_name, number=wanted.number)

    def _read(self, wanted: _Wanted) -> Glance:
        """Read the file, and keep what it told; the drawing first, so that whoever sees the words sees it too."""
        if digest_of_file(wanted.step) != wanted.digest:
            return Glance(fault="The file was changed meanwhile")
        self._folder.mkdir(parents=True, exist_ok=True)
        try:
            read = read_solid(wanted.step, solid_name=wanted.solid_name)
        except ProveoutError as fault:
            found = Glance(fault=fault.message)
        else:
            found = Glance(
                name=read.solid.name, size_mm=read.solid.size_mm, volume_mm3=read.solid.volume_mm3,
                faces_count=len(read.solid.faces), other_solids=tuple(other.name for other in read.other_solids),
                warnings=read.warnings, no_drawing=self._draw(wanted, read.solid),
            )  # fmt: skip
        write_whole(self._file(wanted.digest, wanted.solid_name, "json"), msgspec.json.encode(found))
        return found

    def _draw(self, wanted: _Wanted, solid: Solid) -> str:
        try:
            lines = drawing(solid, view_direction=SLANTWISE.view_direction, up=SLANTWISE.up).visible_mm
        except ProveoutError as fault:
            return fault.message
        if not lines:
            return "No line of it shows"
        svg = part_svg(lines, alt=f"{solid.name}, {SLANTWISE.name}", width_mm=WIDTH_MM, height_mm=HEIGHT_MM, ids="g")
        write_whole(self._file(wanted.digest, wanted.solid_name, "svg"), svg.encode())
        return ""

    def _file(self, digest: str, solid_name: str, ending: str) -> Path:
        own = digest[:32] if not solid_name else f"{digest[:32]}-{hashlib.sha256(solid_name.encode()).hexdigest()[:8]}"
        return self._folder / f"{own}.{ending}"
