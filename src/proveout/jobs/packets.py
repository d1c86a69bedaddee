"""The packet of a released batch: its plan's result folder as it was then, with papers of its own, never changed again.

It lies below `<plans>/packets/<batch>/` and is read-only. Its manifest names the sha256 of every file in it, and the
event that released the batch names those and the manifest's own: whoever changes a file and the manifest with it is
seen by whoever looks with the record's fingerprints beside him.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterable, Mapping
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Protocol

import msgspec

from proveout.jobs.check_plan import read_plan
from proveout.jobs.place import Place
from proveout.jobs.results import PACKETS, result_folder
from proveout.jobs.whole_files import digest_of_file
from proveout.model.plan import Plan
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput, ProveoutError, Refused, Unreadable
from proveout.quantities.file_names import takes_every_system

MANIFEST = "manifest.json"
COPIED = ("plan.json", "programs/", "moves/", "inputs/")
OF_BATCH = "@"
"""Before a batch's name in an address of a part: no name of an entry begins so."""
FORM = 1
NAME_LENGTH = 60
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_READ_FILE, READ_FOLDER, WRITE_FOLDER = 0o444, 0o555, 0o755
Stamp = tuple[str, int, int, int, int]
"""A file's name in its packet, and what changes when anybody writes it."""


class HasPlans(Protocol):
    """A home, as far as packets need one: the folder of its plans."""

    plans: Path


class Manifest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a packet holds. entry: address of the planned part that it is of.   plan: fingerprint of the whole plan.

    files: sha256 of every file by its name in the packet, the manifest itself aside.
    """

    proveout_packet: int
    batch: str
    part: str
    revision: str
    entry: str
    plan: str
    files: dict[str, str]


def batch_named(batch: str) -> str:
    """The name of a batch, if papers, addresses and folders can carry it.

    Raises:   BadInput.
    """
    if len(batch) > NAME_LENGTH or not _NAME.fullmatch(batch) or batch.endswith("."):
        raise BadInput(
            "A batch needs a plain name", where="batch", value=repr(batch[:80]),
            limit=f"at most {NAME_LENGTH} letters, digits, dots, dashes, underscores; a letter or digit first",
        )  # fmt: skip
    return batch


def new_batch_named(batch: str, known: Iterable[str]) -> str:
    """The name of a batch that is asked for, if every system can carry it beside those of the others.

    Args:     known: names of batches that are there.
    Raises:   BadInput; also for one that differs from another's by large and small letters alone.
    """
    if not takes_every_system(batch_named(batch)):
        raise BadInput("Windows keeps this name for a device, so no folder can have it everywhere", where="batch",
                       value=batch, do="give the batch another name, or put something before it")  # fmt: skip
    alike = next((one for one in known if one != batch and one.lower() == batch.lower()), None)
    if alike is not None:
        raise BadInput("A batch has this name but for large and small letters, which not every system tells apart",
                       where="batch", value=batch, limit=alike, do="give the batch another name")  # fmt: skip
    return batch


def packet_address(batch: str) -> str:
    """The address of a batch's packet, for `Home.place` and every page of a part."""
    return f"{OF_BATCH}{batch}"


def packet_folder(home: HasPlans, batch: str) -> Path:
    """Where the packet of a batch lies, or will.

    Raises:   BadInput for a name that no batch has.
    """
    return home.plans / PACKETS / batch_named(batch)


def packet_of(home: HasPlans, batch: str, *, papers: Mapping[str, str] | None = None) -> Place:
    """The packet of a released batch as a planned part, once every file in it was found as it was released.

    Args:     papers: the fingerprints of the event that released it (`Batch.papers`); with them the manifest itself is
              held against the record.   None: the packet is held against its own manifest only.
    Raises:   BadInput when there is no packet; Refused when a file of it is another one, missing or new.
    """
    folder = packet_folder(home, batch)
    told = manifest_of(folder)
    if told.batch != batch:
        raise Refused("This packet is another batch's", where=batch, value=told.batch, do="look for the right folder")
    if papers is not None:
        _as_recorded(folder, told, papers)
    plan = _checked(folder, _stamps(folder))
    at, entry = (folder / "plan.json").stat(), told.entry.partition(":")[0]
    mark = (at.st_mtime_ns, at.st_size)
    return Place(address=packet_address(batch), entry=entry, folder=folder, plan=plan, mark=mark, named=told.plan)


def manifest_of(folder: Path) -> Manifest:
    """The manifest of a packet.

    Raises:   BadInput when there is none, Unreadable when it is not one.
    """
    path = folder / MANIFEST
    if not path.is_file():
        raise BadInput("There is no packet of this batch", where=folder.name, do="release the batch")
    try:
        told = msgspec.json.decode(path.read_bytes(), type=Manifest)
    except (OSError, msgspec.MsgspecError) as fault:
        raise Unreadable(
            "The manifest of this packet cannot be read", where=folder.name, value=str(fault)[:200]
        ) from fault
    if told.proveout_packet != FORM:
        raise Unreadable("This packet is of another form", where=folder.name, value=str(told.proveout_packet),
                         limit=str(FORM), do="open it with the version that made it")  # fmt: skip
    return told


def named_in(folder: Path) -> str:
    """The fingerprint that the plan of a packet was released by; empty for a folder that is none."""
    return manifest_of(folder).plan if (folder / MANIFEST).is_file() else ""


def freeze(home: HasPlans, batch: str, place: Place, *, anew: Mapping[str, bytes]) -> dict[str, str]:
    """Make the packet of a batch from a plan's result folder; the fingerprints for the event that releases it.

    Copied are the plan, its programs and moves, and what it was planned from.
    Args:     anew: everything else of the packet, by name.
    Raises:   BadInput when there is a packet already that somebody else may work from, or none can be made.
    """
    out = packet_folder(home, batch)
    if out.exists():
        raise BadInput("There is a packet of this batch already", where=str(out), do="give the new batch another name")
    with result_folder(out, ours=(MANIFEST,)) as folder:
        for name in (one for one in _names(place.folder) if one.startswith(COPIED)):
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(place.folder / name, folder / name)
        for name, content in anew.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)
        part = place.plan.part
        told = Manifest(
            proveout_packet=FORM, batch=batch, part=part.number, revision=part.revision, entry=place.address,
            plan=digest_of(place.plan), files={name: digest_of_file(folder / name) for name in _names(folder)},
        )  # fmt: skip
        (folder / MANIFEST).write_bytes(msgspec.json.format(msgspec.json.encode(told, order="sorted"), indent=2))
        for path in folder.rglob("*"):
            path.chmod(READ_FOLDER if path.is_dir() else _READ_FILE)
        papers = told.files | {MANIFEST: digest_of_file(folder / MANIFEST)}
    out.chmod(READ_FOLDER)
    return papers


def drop_packet(home: HasPlans, batch: str) -> None:
    """Take away the packet of a batch whose release came to nothing."""
    folder = packet_folder(home, batch)
    if not folder.is_dir():
        return
    writable(folder)
    shutil.rmtree(folder)


def writable(folder: Path) -> None:
    """Let what is in a packet be taken away."""
    for path in (folder, *folder.rglob("*")):
        if path.is_dir():
            path.chmod(WRITE_FOLDER)


def _as_recorded(folder: Path, told: Manifest, papers: Mapping[str, str]) -> None:
    """Refuse a manifest that is not the one of the release."""
    if papers.get(MANIFEST) != digest_of_file(folder / MANIFEST) or told.files != {
        name: digest for name, digest in papers.items() if name != MANIFEST
    }:
        raise Refused("The manifest of this packet is not the one that the batch was released with", where=told.batch,
                      do="do not work from it; put back the folder from a backup")  # fmt: skip


def _names(folder: Path) -> list[str]:
    """Every file of a folder by its name in it, in order; those of a manifest aside."""
    names = [path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()]
    return sorted(name for name in names if name != MANIFEST)


def _stamps(folder: Path) -> tuple[Stamp, ...]:
    found: list[Stamp] = []
    for name in (*_names(folder), MANIFEST):
        with suppress(OSError):
            at = (folder / name).stat()
            found.append((name, at.st_mtime_ns, at.st_ctime_ns, at.st_size, at.st_ino))
    return tuple(found)


@lru_cache(maxsize=32)
def _checked(folder: Path, stamps: tuple[Stamp, ...]) -> Plan:
    """The plan of a packet with every file as its manifest says; looked at anew once any file was touched.

    It is that plan by the bytes of its file. A later version may write the same plan otherwise: its name stays.
    """
    told = manifest_of(folder)
    there = {name for name, *_ in stamps} - {MANIFEST}
    for name in sorted(told.files.keys() | there):
        if name not in told.files:
            raise _unlike(told, name, "a file that it was not released with")
        if name not in there:
            raise _unlike(told, name, "missing")
        if digest_of_file(folder / name) != told.files[name]:
            raise _unlike(told, name, "another plan" if name == "plan.json" else _changed(name))
    try:
        plan = read_plan(folder)
    except ProveoutError as fault:
        raise Unreadable("The plan of this packet is of another version", where=told.batch, value=fault.message,
                         do="open it with the version that released it") from fault  # fmt: skip
    return plan


def _changed(name: str) -> str:
    return "edited program" if name.startswith("programs/") else "changed since"


def _unlike(told: Manifest, name: str, value: str) -> Refused:
    return Refused(
        "This packet is not as it was released", where=f"batch {told.batch}, {name}", value=value,
        do="do not work from it; put the file back as it was, or close the batch and release another",
    )  # fmt: skip
