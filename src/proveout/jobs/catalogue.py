"""Plan every order, job and bare solid of a folder side by side, take up a stopped run, and say what they share."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.intake.job_file import read_job, step_of_job
from proveout.intake.order_file import jobs_of_order, read_order
from proveout.intake.shop_file import read_shop
from proveout.intake.starting_shop import starting_shop
from proveout.intake.toml_words import load_toml, read_text
from proveout.jobs.check_plan import read_plan
from proveout.jobs.crew import Done, Task, run_here, run_on_cluster, threads_each
from proveout.jobs.plan_path import STEP_ENDINGS
from proveout.jobs.results import OURS, PACKETS, TASKS, distinct_name, folder_name
from proveout.jobs.store import code_digest
from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.model.catalogue import Catalogue, CatalogueEntry, CataloguePart, EntryKind, EntryState
from proveout.model.plan import Plan
from proveout.model.proof import open_proofs
from proveout.model.run import Run
from proveout.model.shop import Shop
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.stages.sharing.decide import decide as decide_sharing

SCHEMA_VERSION = 1
CATALOGUE, DONE, TRIES = "catalogue.json", "done.json", ".tries"
STATES: dict[int, EntryState] = {0: "ready", 3: "not ready", 2: "refused"}


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """What done.json says of a finished entry: the digest of all that made it, how it ended, and its plan's digest."""

    key: str
    status: int
    plan: str


@dataclass(frozen=True)
class Found:
    """A file of the folder that is planned by itself. path: below the folder.   files: all that it is read from."""

    path: str
    kind: EntryKind
    folder: str
    files: tuple[Path, ...]


@dataclass(frozen=True)
class Told:
    """One thing to tell while the work goes on. seconds: that the plan took, None where it was taken from before."""

    path: str
    state: EntryState
    seconds: float | None
    tries_count: int
    said: str
    done_count: int
    all_count: int


@dataclass(frozen=True)
class CatalogueOutcome:
    """What was planned and where it lies. worked_s: the plans' own seconds together."""

    folder: Path
    catalogue: Catalogue
    worked_s: float
    taken_count: int


def cores_count() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def plan_all(
    folder: Path, *, shop_path: Path | None, out: Path, workers_count: int, cluster: str = "", is_fresh: bool = False,
    start: str = "", run: Run, tell: Callable[[Told], None] | None = None,
) -> CatalogueOutcome:  # fmt: skip
    """Plan everything in a folder and below it.

    Entries that an earlier, also a stopped, run finished from the same files with the same program are taken as they
    are. Jobs that an order names and solids that a job names are planned with it and not by themselves.

    Args:     shop_path: None for the starting shop.   workers_count: plans at a time on this machine.   cluster:
              address of a scheduler, whose workers see the same folders; empty for this machine.   is_fresh: decide
              everything anew.   start: ISO date, empty for none.   tell: hears of each entry as it ends.
    Raises:   BadInput for a folder without parts, a broken shop file, or an `out` that holds something else.
              Interrupted, OutOfTime from `run`; what was finished stays.
    """
    shop = starting_shop() if shop_path is None else read_shop(shop_path)
    entries, notes = found_in(folder, out=out)
    out = _own(out)
    keys = {entry.path: key_of(entry, shop=shop, start=start) for entry in entries}
    kept = {} if is_fresh else _kept(out, entries, keys)
    ended: dict[str, tuple[int, str]] = {path: (one.status, "") for path, one in kept.items()}
    by_path = {entry.path: entry for entry in entries}
    worked_s, done_count = 0.0, 0

    def hear(path: str, seconds: float | None, tries_count: int) -> None:
        if tell is not None:
            status, said = ended[path]
            tell(Told(path=path, state=STATES.get(status, "failed"), seconds=seconds, tries_count=tries_count,
                      said=said, done_count=done_count, all_count=len(entries)))  # fmt: skip

    for path in sorted(kept):
        done_count += 1
        hear(path, None, 0)
    tasks = [
        _task(entry, folder=folder, shop_path=shop_path, out=out, is_fresh=is_fresh, start=start,
              workers_count=1 if cluster else workers_count)
        for entry in entries if entry.path not in kept
    ]  # fmt: skip
    try:
        crew = run_on_cluster(tasks, address=cluster, run=run) if cluster else run_here(
            tasks, workers_count=workers_count, run=run
        )  # fmt: skip
        for done in crew:
            worked_s, done_count = worked_s + done.seconds, done_count + 1
            ended[done.name] = (done.status, done.said)
            if _take(done, out / by_path[done.name].folder) and keys[done.name]:
                kept[done.name] = Kept(
                    key=keys[done.name], status=done.status, plan=_plan_digest(out / by_path[done.name].folder)
                )
                write_whole(out / DONE, msgspec.json.encode(dict(sorted(kept.items())), order="deterministic"))
            hear(done.name, done.seconds, done.tries_count)
    finally:
        shutil.rmtree(out / TRIES, ignore_errors=True)
    catalogue = _catalogue(entries, ended, out=out, shop=shop, notes=notes)
    write_catalogue(out, catalogue, shop=shop, name=folder.resolve().name)
    return CatalogueOutcome(
        folder=out, catalogue=catalogue, worked_s=worked_s, taken_count=len(entries) - len(tasks)
    )  # fmt: skip


Known = dict[Path, tuple[tuple[tuple[Path, int, int], ...], EntryKind | None, tuple[Path, ...]]]


def found_in(folder: Path, *, out: Path, known: Known | None = None) -> tuple[tuple[Found, ...], tuple[str, ...]]:
    """What there is to plan, in order of path, and notes on what was left alone.

    Args:     known: what was read before, taken again as long as its files have not changed; it is added to.
    Raises:   BadInput when the folder is none or holds nothing to plan.
    """
    if not folder.is_dir():
        raise BadInput("There is no such folder", where=str(folder), do="name a folder with job files or STEP files")
    kinds: dict[Path, EntryKind] = {}
    of: dict[Path, tuple[Path, ...]] = {}
    notes: list[str] = []
    for path in _files(folder, out=_identity(out)):
        if path.suffix.lower() in (*STEP_ENDINGS, ".toml"):
            kind, files = _what(path, known if known is not None else {})
            if kind is not None:
                kinds[path], of[path] = kind, files
    named = {file for files in of.values() for file in files[1:]}
    # a job file that is broken names nothing: the solid of its own name is taken to be meant
    broken = {path.with_suffix("") for path, kind in kinds.items() if kind == "job" and len(of[path]) == 1}
    named |= {of[path][0] for path, kind in kinds.items() if kind == "solid" and path.with_suffix("") in broken}
    entries: list[Found] = []
    used: set[str] = {PACKETS}
    for path, kind in kinds.items():
        inside = path.relative_to(folder).as_posix()
        if of[path][0] in named:
            continue
        name = distinct_name(folder_name(_without_twice(inside.rsplit(".", 1)[0]).replace("/", "-")), used)
        entries.append(Found(path=inside, kind=kind, folder=name, files=of[path]))
    if not entries:
        raise BadInput(
            "There is nothing to plan in this folder", where=str(folder),
            do="put job files, order files or STEP files into it",
        )  # fmt: skip
    if len(entries) > 1:
        notes.append(
            "Each entry is planned by itself: a part of another entry that is put into its jaws is not looked for. "
            "Order them together for that."
        )
    return tuple(entries), tuple(notes)


def _without_twice(inside: str) -> str:
    """The name of a file in a folder of its own, where both are called the same, once."""
    above, _, name = inside.rpartition("/")
    return above if above.rpartition("/")[2] == name else inside


def _what(path: Path, known: Known) -> tuple[EntryKind | None, tuple[Path, ...]]:
    """What a file is, and all that it is read from, itself first."""
    held = known.get(path)
    if held is not None and _marks(file for file, _, _ in held[0]) == held[0]:
        return held[1], held[2]
    kind = _toml_kind(path) if path.suffix.lower() == ".toml" else "solid"
    files = _read_from(path, kind) if kind is not None else ()
    known.pop(path, None)
    if kind in (None, "solid") or len(files) > 1:  # of a broken one the fault may lie in any file: it is read anew
        known[path] = (_marks(dict.fromkeys((path.resolve(), *files))), kind, files)
    return kind, files


def _marks(files: Iterable[Path]) -> tuple[tuple[Path, int, int], ...]:
    """When each was last written, and its size; what is not there has neither."""
    found = []
    for file in files:
        try:
            told = file.stat()
        except OSError:
            found.append((file, -1, -1))
        else:
            found.append((file, told.st_mtime_ns, told.st_size))
    return tuple(found)


def _files(folder: Path, *, out: tuple[int, int] | None) -> Iterator[Path]:
    """Files of a folder and below it, in order of name; results and hidden folders are left out."""
    for place in sorted(folder.iterdir()):
        if place.name.startswith("."):
            continue
        if place.is_file():
            yield place
        elif _identity(place) != out and not any((place / name).is_file() for name in (*OURS, CATALOGUE, DONE)):
            yield from _files(place, out=out)


def _identity(place: Path) -> tuple[int, int] | None:
    """What tells one place of the disk from all others, by whatever name it goes; None where there is nothing."""
    try:
        told = place.stat()
    except OSError:
        return None
    return told.st_dev, told.st_ino


def _toml_kind(path: Path) -> EntryKind | None:
    """What a TOML file is; None when it is neither job nor order. A broken one is refused later, by name."""
    try:
        raw = load_toml(read_text(path), file=path.name)
    except BadInput:
        return "job"
    if "part" in raw:
        return "job"
    return "order" if "item" in raw else None


def _read_from(path: Path, kind: EntryKind) -> tuple[Path, ...]:
    """The files that an entry is read from, resolved; only its own where it is broken or one is missing."""
    own = path.resolve()
    try:
        if kind == "solid":
            return (own,)
        jobs = jobs_of_order(path, read_order(path)) if kind == "order" else (path,)
        steps = [step_of_job(job, read_job(job)) for job in jobs]
    except ProveoutError:
        return (own,)
    found = dict.fromkeys([own, *(p.resolve() for p in jobs), *(p.resolve() for p in steps)])
    return tuple(found)


def key_of(entry: Found, *, shop: Shop, start: str) -> str:
    """Digest of the program and of all that an entry's plan is made from; empty when a file cannot be read."""
    try:
        files = [digest_of_file(path) for path in entry.files]
    except OSError:
        return ""
    return digest_of([code_digest(), digest_of(shop), start, entry.kind, files])


def _own(out: Path) -> Path:
    """The result folder, made when it is not there.

    Raises:   BadInput when it holds something else than an earlier catalogue.
    """
    out = out.absolute()
    if out.exists() and (
        not out.is_dir()
        or (any(out.iterdir()) and not any((out / n).exists() for n in (CATALOGUE, DONE, TRIES, TASKS)))
    ):
        raise BadInput(
            "This place holds something else than an earlier catalogue", where=str(out), do="name another --out"
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(out / TRIES, ignore_errors=True)
        (out / TRIES).mkdir()
    except OSError as fault:
        raise BadInput(
            "The result folder cannot be made", where=str(out), value=fault.strerror or "", do="name another --out"
        ) from fault
    return out


def _kept(out: Path, entries: tuple[Found, ...], keys: dict[str, str]) -> dict[str, Kept]:
    """What an earlier run finished and still stands as it was written."""
    try:
        told = msgspec.json.decode((out / DONE).read_bytes(), type=dict[str, Kept])
    except (OSError, msgspec.DecodeError):
        return {}
    return {
        entry.path: told[entry.path]
        for entry in entries
        if entry.path in told
        and keys[entry.path] == told[entry.path].key != ""
        and _plan_digest(out / entry.folder) == told[entry.path].plan != ""
    }


def _plan_digest(folder: Path) -> str:
    """sha256 over every file of a result with its name; empty when there is none."""
    if not any((folder / name).is_file() for name in OURS):
        return ""
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            whole.update(f"{path.relative_to(folder).as_posix()}\n".encode())
            whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def _task(
    entry: Found, *, folder: Path, shop_path: Path | None, out: Path, is_fresh: bool, start: str, workers_count: int
) -> Task:  # fmt: skip
    arguments = [str((folder / entry.path).resolve())]
    if shop_path is not None:
        arguments += ["--shop", str(shop_path.resolve())]
    arguments += ["--start", start] if start else []
    arguments += ["--fresh"] if is_fresh else []
    return Task(
        name=entry.path, arguments=tuple(arguments), beside=str(out / TRIES), surroundings=threads_each(workers_count)
    )  # fmt: skip


def _take(done: Done, place: Path) -> bool:
    """Put what a plan wrote in its place; an earlier result goes away. False when nothing was written."""
    if not done.folder:
        shutil.rmtree(place, ignore_errors=True)
        return False
    if place.exists():
        shutil.rmtree(place)
    Path(done.folder).replace(place)
    return True


def _catalogue(
    entries: tuple[Found, ...], ended: dict[str, tuple[int, str]], *, out: Path, shop: Shop, notes: tuple[str, ...]
) -> Catalogue:  # fmt: skip
    found: list[CatalogueEntry] = []
    parts: list[tuple[str, Plan]] = []
    used: set[str] = set()
    for entry in entries:
        status, said = ended[entry.path]
        plans = _plans(out, entry.folder)
        parts.extend((distinct_name(plan.part.number, used), plan) for _, plan in plans)
        found.append(
            CatalogueEntry(
                path=entry.path,
                kind=entry.kind,
                folder=entry.folder if plans else "",
                state=STATES.get(status, "failed"),
                said=said if not plans else "",
                parts=tuple(_part(plan, place) for place, plan in plans),
            )
        )
    shared = decide_sharing(parts=parts, machines=shop.machines)
    return Catalogue(
        schema_version=SCHEMA_VERSION, entries=tuple(found), sharing=shared.value, proofs=shared.proofs, notes=notes
    )  # fmt: skip


def _plans(out: Path, folder: str) -> list[tuple[str, Plan]]:
    """The plans of an entry with their folders inside the catalogue, in the order of its parts."""
    place = out / folder
    if (place / "order.json").is_file():
        told = msgspec.json.decode((place / "order.json").read_bytes())
        return [(f"{folder}/{part['folder']}", read_plan(place / part["folder"])) for part in told["parts"]]
    return [(folder, read_plan(place))] if (place / "plan.json").is_file() else []


def _part(plan: Plan, folder: str) -> CataloguePart:
    waiting = open_proofs(plan.proofs)
    known = not plan.metal_unknown
    return CataloguePart(
        number=plan.part.number, name=plan.part.name, revision=plan.part.revision, quantity=plan.part.quantity,
        folder=folder, ready=plan.ready, open_count=len(waiting),
        weakest=f"{waiting[0].verdict}: {waiting[0].claim}" if waiting else "",
        machine_ids=tuple(dict.fromkeys(clamping.machine_id for clamping in plan.clampings)),
        piece_s=plan.time.piece_s if known else None, cost_each=plan.cost.each if known else None,
        batch=plan.cost.batch if known else None,
    )  # fmt: skip


def write_catalogue(out: Path, catalogue: Catalogue, *, shop: Shop, name: str) -> None:
    """catalogue.json, its page and the table of cutters."""
    from proveout.sheets.catalogue_csv import cutters_csv
    from proveout.sheets.catalogue_html import catalogue_html

    encoded = msgspec.json.encode(catalogue, order="deterministic")
    write_whole(out / CATALOGUE, msgspec.json.format(encoded, indent=2) + b"\n")
    write_whole(out / "catalogue.html", catalogue_html(catalogue, shop=shop, name=name).encode())
    write_whole(out / "cutters.csv", cutters_csv(catalogue).encode())
