"""The files of a result folder: what each is, and whether programs and moves on disk are still those of the plan."""

from __future__ import annotations

import time
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath
from typing import Literal

from proveout.jobs.check_plan import moves_on_disk, moves_path
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.held import Held
from proveout.model.plan import Plan, ProgramSheet
from proveout.quantities.errors import BadInput, ProveoutError

Kind = Literal[
    "papers and pages", "pictures", "tables and lists", "programs", "the plan itself", "inputs", "moves", "else"
]
PAPERS, FLOOR_PAPERS = "papers.pdf", "floor-papers.pdf"
KNOWN: tuple[tuple[str, Kind, str], ...] = (
    (FLOOR_PAPERS, "papers and pages", "the same for the floor, without what shows money"),
    (PAPERS, "papers and pages", "all papers, A4, black and white"),
    ("plan.html", "papers and pages", "the plan on one page, with the part to turn"),
    ("order.html", "papers and pages", "the order on one page"),
    ("deviation.html", "papers and pages", "the part's faces with what is left over or cut too deep"),
    ("clamping-*.svg", "pictures", "the work in the vise, from where the operator stands"),
    ("jaws-*.svg", "pictures", "cut soft jaws with their sizes"),
    ("jaws-*.step", "pictures", "cut soft jaws as a solid"),
    ("bars.csv", "tables and lists", "what to saw"),
    ("saw.csv", "tables and lists", "how the parts are sawn together"),
    ("purchases.csv", "tables and lists", "what to buy"),
    ("lists.xlsx", "tables and lists", "bars, purchases and edges in a workbook"),
    ("cost-curve.csv", "tables and lists", "the cost of a piece by quantity"),
    ("loads.csv", "tables and lists", "what every move asks of cutter and spindle"),
    ("inspection.csv", "tables and lists", "every size with limits, gauge and checks"),
    ("inspection.xlsx", "tables and lists", "the same, with a page to type readings into"),
    ("dates.ics", "tables and lists", "the days that are written, for a calendar"),
    ("schedule.csv", "tables and lists", "every lot at every station"),
    ("rhythm.csv", "tables and lists", "who loads, gauges and breaks edges when on one day"),
    ("programs/*", "programs", "a program per ISO 6983"),
    ("plan.json", "the plan itself", "the whole plan"),
    ("order.json", "the plan itself", "the whole order"),
    ("days.json", "the plan itself", "the days that the work of this part was planned for"),
    ("inputs/*", "inputs", "as it was planned from"),
    ("order.toml", "inputs", "as it was planned from"),
    ("moves/*", "moves", "the moves of a pass, named by digest"),
)  # fmt: skip
FOR_THE_FLOOR = (
    FLOOR_PAPERS, "clamping-*.svg", "jaws-*.svg", "jaws-*.step", "bars.csv", "inspection.csv", "inspection.xlsx",
    "programs/*",
)  # fmt: skip
"""Of a packet, what shows no money: all others are kept from those who may not see it, the plan itself among them."""
JUST_WRITTEN_NS = 3_000_000_000  # so young a file may be written again without its time telling
_AS_NAMED: Held[Path, tuple[str, int, int]] = Held(most_count=20_000)
"""Files of moves that were read and found as they are named: digest, time and size then."""
ProgramState = Literal["as planned", "edited since", "missing"]


@dataclass(frozen=True, kw_only=True)
class ResultFile:
    """One file.   name: its place below the folder, parts joined by /."""

    name: str
    kind: Kind
    words: str
    bytes_count: int


@dataclass(frozen=True, kw_only=True)
class ProgramFile:
    """A program as the plan names it, and as it lies on disk.

    planned, found: fingerprints, found empty where the file is missing.   is_of_work: False of a pocket in soft jaws.
    """

    file: str
    clamping_ids: tuple[str, ...]
    planned: str
    found: str
    is_of_work: bool

    @property
    def state(self) -> ProgramState:
        """Whether it is still what the plan wrote."""
        if not self.found:
            return "missing"
        return "as planned" if self.found == self.planned else "edited since"


@dataclass(frozen=True, kw_only=True)
class MovesKept:
    """The files of moves.   digests: how many the plan names.   wrong: those missing or changed since."""

    digests: tuple[str, ...]
    wrong: tuple[str, ...]


def files_of(folder: Path) -> tuple[ResultFile, ...]:
    """Every file of a result, in the order of kinds, then by name; none that is hidden or leads elsewhere."""
    order = {kind: k for k, (_, kind, _) in reversed(list(enumerate(KNOWN)))}
    found = []
    for path in folder.rglob("*"):
        name = path.relative_to(folder).as_posix()
        if not _is_ours(folder, name):
            continue
        kind, words = _known(name)
        found.append(ResultFile(name=name, kind=kind, words=words, bytes_count=path.stat().st_size))
    return tuple(sorted(found, key=lambda one: (order.get(one.kind, len(order)), one.name)))


def is_for_the_floor(name: str) -> bool:
    """Whether a file of a packet may be read by those who may not see money, by its name in the packet."""
    parts = PurePosixPath(name).parts
    return any(
        len(parts) == len(PurePosixPath(one).parts) and fnmatchcase(name, one) for one in FOR_THE_FLOOR
    )  # fmt: skip


def files_of_order(folder: Path) -> tuple[ResultFile, ...]:
    """The papers, tables and lists that lie beside an order's parts, in the order of kinds, then by name."""
    return tuple(
        one for one in files_of(folder)
        if "/" not in one.name and one.kind in ("papers and pages", "tables and lists")
    )  # fmt: skip


def file_in(folder: Path, name: str) -> Path:
    """A file of a result by its name in it.

    Raises:   BadInput for a name that leads out of the folder, is hidden, or of which there is no file.
    """
    if not _is_ours(folder, name):
        raise BadInput(
            "There is no such file in this result", where=folder.name, value=name, do="choose one of the list"
        )
    return folder / name


def programs_of(folder: Path, plan: Plan) -> tuple[ProgramFile, ...]:
    """The plan's programs by file, and whether each is still what it was."""
    named: dict[str, list[ProgramSheet]] = {}
    for sheet in (*plan.programs, *plan.jaw_programs):
        named.setdefault(sheet.file, []).append(sheet)
    own = {sheet.file for sheet in plan.programs}
    return tuple(
        ProgramFile(
            file=file, clamping_ids=tuple(sheet.clamping_id for sheet in sheets), planned=sheets[0].fingerprint,
            found=_fingerprint(folder, file), is_of_work=file in own,
        )
        for file, sheets in named.items()
    )  # fmt: skip


def moves_kept(folder: Path, plan: Plan) -> MovesKept:
    """Whether all moves that the plan names lie in its folder as they were; a file is read once until it changes."""
    digests = tuple(sorted({one.moves_digest for one in plan.passes}))
    return MovesKept(digests=digests, wrong=tuple(digest for digest in digests if not _is_as_named(folder, digest)))


def _is_as_named(folder: Path, digest: str) -> bool:
    path = moves_path(folder, digest)
    try:
        told = path.stat()
        mark = (digest, told.st_mtime_ns, told.st_size)
        if _AS_NAMED.get(path) == mark:
            return True
        moves_on_disk(folder, digest)
    except (ProveoutError, OSError, ValueError):
        return False
    if time.time_ns() - told.st_mtime_ns > JUST_WRITTEN_NS:
        _AS_NAMED.put(path, mark)
    return True


def _is_ours(folder: Path, name: str) -> bool:
    parts = PurePosixPath(name).parts
    if not parts or "\\" in name or "\x00" in name or any(part.startswith((".", "/")) for part in parts):
        return False
    path = folder / name
    return path.is_file() and path.resolve().is_relative_to(folder.resolve())


def _known(name: str) -> tuple[Kind, str]:
    tail = "/".join(PurePosixPath(name).parts[-2:])
    for pattern, kind, words in KNOWN:
        if fnmatchcase(tail, pattern) or fnmatchcase(PurePosixPath(name).name, pattern):
            return kind, words
    return "else", ""


def _fingerprint(folder: Path, file: str) -> str:
    try:
        content = file_in(folder, f"programs/{file}").read_bytes()
    except (BadInput, OSError):
        return ""
    return fingerprint_of_text(content.decode("utf-8", errors="surrogateescape"))
