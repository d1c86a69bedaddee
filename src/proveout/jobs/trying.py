"""Try a change: plan a part as it would be with some keys of its files changed, and hold it against the kept plan.

Nothing of the owner's is touched. A try lies in a folder of its own beside the results, named by what it is made from,
so that the same try is made once. It has a plan and no papers: those are made when it is kept.
"""

from __future__ import annotations

import shutil
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from proveout.intake.measured_files import response_text
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.jobs.blanks_taken import bar_of_order, on_bar
from proveout.jobs.changed_files import OwnFile, changed_texts, own_files, refuse_other_solids, write_for_good
from proveout.jobs.check_plan import kept_passes, read_plan
from proveout.jobs.compared_folders import Compared, compare_results
from proveout.jobs.fitted import with_fits
from proveout.jobs.found_files import told_bytes
from proveout.jobs.home import OF_ORDER, ORDER, PLAN, Home, Place
from proveout.jobs.home_at import HomeAt
from proveout.jobs.other_parts import Made, among_others, made_of
from proveout.jobs.plan_job import Planned, plan_job
from proveout.jobs.plan_path import Asked, asked_in_shop, asked_of, request_of
from proveout.jobs.results import TRIED, folder_name, result_folder
from proveout.jobs.store import Store, default_folder
from proveout.jobs.tasks import Tasks
from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.jobs.writing import plan_bytes
from proveout.model.changes import Change, ChangedFile
from proveout.model.differences import Differences
from proveout.model.job import OrderFile
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.shop import Shop
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput
from proveout.quantities.names_apart import names_apart

TRY, DIFFERENCES = "try.json", "differences.json"
ID_SIGNS = 12
OF_GRIP = ("torque_n_m", "preload", "rating", "chart_", "closed_by", "friction", "grip_reserve")


class TryFile(msgspec.Struct, frozen=True, kw_only=True):
    """What try.json says. bases: digest of each of the owner's files as the changes were tried on it.

    base_plan: digest of the plan.json that it was held against.   is_as_cut: passes were kept as they are in the kept
    plan, whatever else moved.   seconds: that it took.   order: as _rest_of_order.
    """

    address: str
    changes: tuple[Change, ...]
    bases: dict[str, str]
    base_plan: str
    is_as_cut: bool
    seconds: float
    order: str = ""


class TryAsked(msgspec.Struct, frozen=True, kw_only=True, tag="try"):
    """A try as an errand."""

    home: HomeAt
    address: str
    id: str
    changes: tuple[Change, ...]
    is_as_cut: bool


@dataclass(frozen=True)
class Tried:
    """A try and what differs in it from the kept plan."""

    id: str
    folder: Path
    told: TryFile
    compared: Compared


@dataclass(frozen=True)
class Wanted:
    """A try that is still to be made: what it is made from, all of it read and found good."""

    id: str
    place: Place
    files: dict[ChangedFile, OwnFile]
    texts: dict[ChangedFile, str]
    changes: tuple[Change, ...]
    is_as_cut: bool
    asked: list[Asked]
    order: OrderFile | None
    shop: Shop


def wanted_try(home: Home, place: Place, changes: Sequence[Change], *, is_as_cut: bool = False) -> Wanted:
    """What a try would be made from.

    Args:     is_as_cut: keep every pass as it is in the kept plan and only judge it anew.
    Raises:   BadInput when the changes cannot be made, change nothing, or make a file that its reader refuses.
    """
    files = own_files(home, place)
    texts = changed_texts(files, changes)
    if all(tomllib.loads(texts[kind]) == tomllib.loads(file.text) for kind, file in files.items()):
        raise BadInput("Nothing is changed", where=place.address, do="write another value")
    refuse_other_solids(files, texts)
    shop_file = files["shop"]
    shop = shop_from_text(texts["shop"], file=shop_file.path.name, folder=shop_file.path.parent)
    entry = home.entry(place.entry)
    asked, order, _ = asked_of(entry.path, texts={files[kind].path: text for kind, text in texts.items()})
    asked = asked_in_shop(asked, shop, entry.path)
    measured = [response_text(response) for response in shop.responses]
    made_from = (
        place.address, digest_of(place.plan), sorted(texts.items()), is_as_cut, measured, _rest_of_order(home, place)
    )  # fmt: skip
    return Wanted(
        id=f"{folder_name(place.address)}-{digest_of(made_from)[:ID_SIGNS]}", place=place, files=files, texts=texts,
        changes=tuple(changes), is_as_cut=is_as_cut, asked=asked, order=order, shop=shop,
    )  # fmt: skip


def begin_try(tasks: Tasks, home: Home, wanted: Wanted, *, said: str) -> str | None:
    """Begin a try, unless it is there or under way; the id of its task, None where it is there.

    said: its changes in the words of what was offered, for the title of the task.
    Raises:   BadInput when too many are under way.
    """
    if is_made(home, wanted.id):
        return None
    place = wanted.place
    asked = TryAsked(
        home=HomeAt.of(home), address=place.address, id=wanted.id, changes=wanted.changes, is_as_cut=wanted.is_as_cut
    )
    return tasks.ask_errand(
        "try", told_bytes(asked), id=task_of_try(wanted.id), subject=f"try on {place.address}",
        title=f"Try a change on {place.plan.part.number}: {said}",
        page=f"/parts/{place.address}/tries/{wanted.id}", out=str(folder_of(home, wanted.id)),
    ).id  # fmt: skip


def task_of_try(id: str) -> str:
    """The id of the task that makes a try."""
    return f"try-{id}"


def make_try(home: Home, wanted: Wanted, *, run: Run, store: Store | None = None) -> Tried:
    """Plan it and hold it against the kept plan; a try that is there already is taken.

    store: where decisions are kept; None for the user's own.   Raises:   Interrupted, OutOfTime from `run`.
    """
    store = Store(default_folder()) if store is None else store
    folder = folder_of(home, wanted.id)
    if not (folder / TRY).is_file():
        begin = time.perf_counter()
        plan = _planned(home, wanted, store, run)
        told = TryFile(
            address=wanted.place.address, changes=wanted.changes, is_as_cut=wanted.is_as_cut,
            bases={kind: file.digest for kind, file in wanted.files.items()},
            base_plan=digest_of_file(wanted.place.folder / PLAN),
            seconds=round(time.perf_counter() - begin, 3), order=_rest_of_order(home, wanted.place),
        )  # fmt: skip
        with result_folder(folder) as part:
            _write(part, wanted, plan)
            run.check("comparing")
            differences = compare_results(wanted.place.folder, part, store=store).differences
            write_whole(part / DIFFERENCES, msgspec.json.encode(differences))
            write_whole(part / TRY, msgspec.json.encode(told))
    return tried(home, wanted.id)


def is_made(home: Home, id: str) -> bool:
    """Whether such a try lies there."""
    return (folder_of(home, id) / TRY).is_file()


def leaves_passes(changes: Sequence[Change]) -> bool:
    """Whether all of it is about how hard and how surely jaws hold: no move hangs on that by itself.

    Passes may then stay as they are, and only the proofs are worked out anew.
    """
    return all(bool(change.value) and str(change.path[-1]).startswith(OF_GRIP) for change in changes)


def tried(home: Home, id: str) -> Tried:
    """A try that was made.

    Raises:   BadInput when there is none of that name, or one of another version.
    """
    folder = _there(home, id)
    told = _told(folder)
    if told is None:
        raise BadInput("This try is of another version", where=id, do="drop it, and try the change again")
    compared = Compared(
        differences=msgspec.json.decode((folder / DIFFERENCES).read_bytes(), type=Differences),
        plan=read_plan(folder), shop=read_shop(folder / "inputs" / "shop.toml"),
    )  # fmt: skip
    return Tried(id=id, folder=folder, told=told, compared=compared)


def is_of_kept(home: Home, told: TryFile) -> bool:
    """Whether files and plan are still those that the changes were tried on."""
    place = home.place(told.address)
    are_files = all(told.bases.get(kind, "") == file.digest for kind, file in own_files(home, place).items())
    is_plan = told.base_plan == digest_of_file(place.folder / PLAN)
    return are_files and is_plan and told.order == _rest_of_order(home, place)


def address_of_try(home: Home, id: str) -> str | None:
    """Of the part that a try is on; None where there is none of that name, or one of another version."""
    told = _told(folder_of(home, id))
    return None if told is None else told.address


def tries_of(home: Home, address: str) -> dict[str, TryFile]:
    """What was tried on a part and not dropped, by id."""
    root = home.plans / TRIED
    found = {place.name: _told(place) for place in (sorted(root.iterdir()) if root.is_dir() else [])}
    return {id: told for id, told in found.items() if told is not None and told.address == address}


def drop_try(home: Home, id: str) -> None:
    """Forget a try; nothing else is touched."""
    folder = folder_of(home, id)
    if (folder / TRY).is_file():
        shutil.rmtree(folder)


def keep_try(home: Home, id: str) -> tuple[Path, ...]:
    """Write the changes of a try into the owner's own files and forget it; the files that were written.

    The kept plan is still the old one: plan the entry anew.
    Raises:   BadInput when there is no such try, or a file is no longer as it was when the change was tried.
    """
    told = tried(home, id).told
    place = home.place(told.address)
    files = own_files(home, place)
    for kind, file in files.items():
        if told.bases.get(kind, "") != file.digest:
            raise BadInput(
                "This file was changed since the change was tried", where=str(file.path),
                do="try the change again on what the file says now",
            )  # fmt: skip
    written = write_for_good(home, files, changed_texts(files, told.changes))
    drop_try(home, id)
    return written


def folder_of(home: Home, id: str) -> Path:
    """Where a try lies.

    Raises:   BadInput for a name that no try can have.
    """
    if folder_name(id) != id:
        raise BadInput("There is no such try", where=id, do="try the change again")
    return home.plans / TRIED / id


def _told(folder: Path) -> TryFile | None:
    """What try.json says; None where there is none, or one of another version."""
    try:
        return msgspec.json.decode((folder / TRY).read_bytes(), type=TryFile)
    except (OSError, msgspec.DecodeError):
        return None


def _there(home: Home, id: str) -> Path:
    folder = folder_of(home, id)
    if not (folder / TRY).is_file():
        raise BadInput("There is no such try", where=id, do="try the change again")
    return folder


def _planned(home: Home, wanted: Wanted, store: Store, run: Run) -> Plan:
    """The plan of the part, with the fits of its order held against the kept plans of the others."""
    place = wanted.place
    at = _number(home, wanted)
    one = wanted.asked[at]
    start = "" if one.job.order.start else place.plan.start
    request = request_of(one, wanted.asked, wanted.order, shop=wanted.shop, shop_text=wanted.texts["shop"], start=start)
    bar_id = _bar_of_order(home, wanted, at)
    request = on_bar(request, bar_id) if bar_id else request
    rounds = place.plan.rounds if wanted.is_as_cut else ()
    is_of_order = wanted.order is not None
    planned = plan_job(
        replace(request, is_drawn=False, rounds=rounds, is_loaded_later=is_of_order), store=store, run=run
    )
    if wanted.order is None:
        return planned.plan
    plan = among_others(planned, at, _made(home, wanted, planned, at), store=store, run=run).plan
    if not wanted.order.fits:
        return plan
    others = {p.part.number: p for p in (home.place(a).plan for a in home.entry(place.entry).parts)}
    plans = [plan if k == at else others.get(a.job.part.number) for k, a in enumerate(wanted.asked)]
    known = [(p, a.job) for p, a in zip(plans, wanted.asked, strict=True) if p is not None]
    if len(known) < len(plans):
        return plan
    fitted, _ = with_fits([p for p, _ in known], [job for _, job in known], wanted.order.fits)
    return fitted[at]


def _made(home: Home, wanted: Wanted, planned: Planned, at: int) -> list[Made]:
    """How the parts of the order are made: the one that is tried as planned, the others by their kept plans."""
    names = names_apart(one.job.part.number for one in wanted.asked)
    assert planned.in_jaws is not None
    own = made_of(
        planned.plan, planned.moves, planned.in_jaws.shop.cutters, number=names[at],
        is_marked=bool(planned.in_jaws.marks),
    )  # fmt: skip
    places = [home.place(address) for address in home.entry(wanted.place.entry).parts]
    kept = dict(zip(names_apart(one.plan.part.number for one in places), places, strict=True))
    found: list[Made] = []
    for number, (name, one) in enumerate(zip(names, wanted.asked, strict=True)):
        place = kept.get(name)
        if number == at:
            found.append(own)
        elif place is None:
            found.append(Made(number=name, solid="", work=None))
        else:
            shop = read_shop(place.folder / "inputs" / "shop.toml")
            found.append(
                made_of(
                    place.plan, kept_passes(place.folder, place.plan), shop.cutters, number=name,
                    is_marked=bool(one.job.marks),
                )
            )  # fmt: skip
    return found


def _bar_of_order(home: Home, wanted: Wanted, at: int) -> str:
    """The bar that the kept plan of the order took for the part, while the order still asks for that."""
    if wanted.order is None or wanted.order.blanks != "together":
        return ""
    sawing = home.order(home.entry(wanted.place.entry)).sawing
    return bar_of_order(
        None if sawing is None else sawing.taken, numbers=[one.job.part.number for one in wanted.asked], at=at,
        job=wanted.asked[at].job, shop=wanted.shop,
    )  # fmt: skip


def _rest_of_order(home: Home, place: Place) -> str:
    """Digest of what the order of a part says of all its parts, in files and plans; empty for a part by itself.

    Fits and shared bars hang on it, so that a try on one part is another one once another part is.
    """
    entry = home.entry(place.entry)
    if entry.kind != "order":
        return ""
    plans = [entry.result / part.partition(OF_ORDER)[2] / PLAN for part in entry.parts]
    written = [path for path in entry.files if path.suffix == ".toml"]
    return digest_of([digest_of_file(path) for path in (entry.result / ORDER, *plans, *written)])


def _number(home: Home, wanted: Wanted) -> int:
    """Which of the parts is meant: of several from one job file the one whose folder it is, else the only one."""
    if "job" not in wanted.files:
        return 0
    path = wanted.files["job"].path
    found = [k for k, one in enumerate(wanted.asked) if one.job_file == path]
    if len(found) > 1:
        folders = home.order(home.entry(wanted.place.entry)).folders
        at = folders.index(wanted.place.folder.name)
        return at if at in found else found[0]
    return found[0]


def _write(folder: Path, wanted: Wanted, plan: Plan) -> None:
    """The plan and what it was made from."""
    (folder / "plan.json").write_bytes(plan_bytes(plan))
    inputs = folder / "inputs"
    inputs.mkdir()
    for response in wanted.shop.responses:
        (inputs / response.file).write_text(response_text(response), encoding="utf-8", newline="")
    for kind, name in (("shop", "shop.toml"), ("job", "job.toml")):
        if kind in wanted.texts:
            (inputs / name).write_text(wanted.texts[kind], encoding="utf-8", newline="")
