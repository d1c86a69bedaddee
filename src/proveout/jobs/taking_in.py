"""Take files from outside into the home: each design whole in a folder of its own, or nothing of it.

A file is copied into a hidden folder beside its place, looked at, and only then renamed into place: what is cut short,
refused or finds the disk full leaves nothing behind. A rename onto a name that is taken fails, so that two that come at
once do not mix.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from proveout.intake.job_file import read_job, step_of_job
from proveout.intake.step import FILE_SIZE_LIMIT_BYTES
from proveout.intake.toml_words import FILE_BYTES_MAX
from proveout.jobs.drafting import new_shop
from proveout.jobs.home import Entry, Home
from proveout.jobs.plain_names import plain_name, said_name
from proveout.jobs.plan_path import STEP_ENDINGS
from proveout.quantities.errors import BadInput, Unreadable
from proveout.solids import step_text

CHUNK_BYTES = 1024 * 1024
TRIES_MOST = 10_000
HIDDEN = ".taking-in-"
BYTES_PER_MB = 1024 * 1024
FILE_MOST_MB = FILE_SIZE_LIMIT_BYTES // BYTES_PER_MB
# how files begin that are no text, whatever their name says
PACKED = {
    b"PK\x03\x04": "a zip archive", b"PK\x05\x06": "an empty zip archive", b"\x1f\x8b": "a gzip archive",
    b"BZh": "a bzip2 archive", b"\xfd7zXZ": "an xz archive", b"7z\xbc\xaf": "a 7z archive", b"Rar!": "a rar archive",
    b"%PDF": "a PDF", b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture",
}  # fmt: skip
A_DAY_S = 86400.0
FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True)
class Taken:
    """A design that lies in the home now. name: of its folder and its entry.   said: the name that it came with."""

    name: str
    said: str
    step: Path


def take_design(home: Home, given: str, content: BinaryIO, *, limit_bytes: int = FILE_SIZE_LIMIT_BYTES) -> Taken:
    """Take a STEP file in, as HOME/NAME/NAME.step.

    Args:     given: the name that it came with, whatever that is.   content: read in pieces, never whole.
    Raises:   BadInput for another ending; Unreadable for another content, one that is cut short or too large, and when
              the disk is full. Nothing is left then.
    """
    said = said_name(given)
    ending = next((ending for ending in STEP_ENDINGS if given.strip().lower().endswith(ending)), "")
    if not ending:
        raise BadInput(
            "This is no STEP file by its name", where=said, value=_shown(given), limit=", ".join(STEP_ENDINGS),
            do="export the solid as STEP",
        )  # fmt: skip
    with _hidden(home.root, said) as folder:
        copied = folder / f"part{ending}"
        _copy(content, copied, where=said, limit_bytes=limit_bytes)
        check_step(copied, where=said)
        name = _put(folder, copied, home, plain_name(given))
    return Taken(name=name, said=said, step=home.root / name / f"{name}{ending}")


def take_job(entry: Entry, given: str, content: BinaryIO) -> Path:
    """Take a job file in for a solid that has none: beside the STEP file, under its name.

    Raises:   BadInput when there is one already, or it is none for this solid.
    """
    said, place = said_name(given), entry.path.with_suffix(".toml")
    if entry.kind != "solid" or place.exists():
        raise BadInput("There is a job file already; nothing was changed", where=place.name, do="change that one")
    with _hidden(entry.path.parent, said) as folder:
        copied = folder / place.name
        _copy(content, copied, where=said, limit_bytes=FILE_BYTES_MAX)
        job = read_job(copied)
        step = entry.path.parent / job.part.step
        if not step.is_file() or step.resolve() != entry.path.resolve():
            raise BadInput(
                "This job file is of another solid", where=f"{said}: part step", value=job.part.step,
                limit=entry.path.name, do=f'write step = "{entry.path.name}"',
            )  # fmt: skip
        _link(copied, place)
    step_of_job(place, read_job(place))
    return place


def take_cutters(home: Home, given: str, content: BinaryIO) -> Path:
    """Draft a shop file around a table of cutters, where there is none yet; the table is kept beside it.

    Raises:   BadInput when there is a shop file, or the table is none.
    """
    table = home.shop_path.parent / f"{plain_name(given)}.csv"
    if home.has_shop or table.exists():
        raise BadInput(
            "There is a shop file or such a table already; nothing was changed", where=home.shop_path.name,
            value=table.name, do="write the cutters into the shop file",
        )  # fmt: skip
    with _hidden(table.parent, said_name(given)) as folder:
        copied, shop = folder / table.name, folder / home.shop_path.name
        _copy(content, copied, where=table.name, limit_bytes=FILE_BYTES_MAX)
        new_shop(shop, answers={}, cutters_csv=copied)
        _link(copied, table)
        try:
            _link(shop, home.shop_path)
        except BaseException:  # whatever it was, and it goes on: a table without its shop file is not left
            table.unlink(missing_ok=True)
            raise
    return home.shop_path


def copy_step(content: BinaryIO, path: Path, *, where: str) -> None:
    """A STEP file from outside, copied and looked at as one that is taken in.

    Raises:   Unreadable for another content, one that is too large, and when the disk is full.
    """
    try:
        _copy(content, path, where=where, limit_bytes=FILE_SIZE_LIMIT_BYTES)
    except OSError as fault:
        raise not_written(fault, where=where) from fault
    check_step(path, where=where)


def check_step(path: Path, *, where: str) -> None:
    """The file begins and ends as STEP does.

    Raises:   Unreadable, which says what it is as far as its first letters tell.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(step_text.END_LENGTH)
        file.seek(max(0, size - step_text.END_LENGTH))
        tail = file.read(step_text.END_LENGTH)
    for begin, kind in PACKED.items():
        if head.startswith(begin):
            raise Unreadable(
                f"This is {kind}, not a STEP file", where=where, limit="a file that begins with ISO-10303-21",
                do="unpack it, and give the STEP file itself" if "archive" in kind else "export the solid as STEP",
            )  # fmt: skip
    step_text.check_ends(head.decode("utf-8", "replace"), tail.decode("utf-8", "replace"), where=where)


def clear_half_made(home: Home) -> None:
    """Take away what a server that was killed while it took files in has left: what is older than a day."""
    for path in home.root.glob(f"{HIDDEN}*"):
        with contextlib.suppress(OSError):
            if path.is_dir() and time.time() - path.stat().st_mtime > A_DAY_S:
                shutil.rmtree(path, ignore_errors=True)


@contextmanager
def _hidden(parent: Path, where: str) -> Iterator[Path]:
    """A hidden folder that is gone at the end, whatever happens; what went wrong with the disk is said in words."""
    folder: Path | None = None
    try:
        folder = Path(tempfile.mkdtemp(prefix=HIDDEN, dir=parent))
        yield folder
    except OSError as fault:
        raise not_written(fault, where=where) from fault
    finally:
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


def not_written(fault: OSError, *, where: str) -> Unreadable:
    """What went wrong with the disk, in words."""
    if fault.errno in FULL:
        return Unreadable("The disk is full; nothing was kept", where=where, do="make room, and give the file again")
    return Unreadable(
        "The file cannot be written; nothing was kept", where=where, value=fault.strerror or str(fault),
        do="look at the folder's permissions",
    )  # fmt: skip


def _copy(content: BinaryIO, target: Path, *, where: str, limit_bytes: int) -> None:
    copied = 0
    with target.open("xb") as file:
        while chunk := content.read(CHUNK_BYTES):
            copied += len(chunk)
            if copied > limit_bytes:
                raise Unreadable(
                    "The file is too large", where=where, value=f"more than {limit_bytes / BYTES_PER_MB:g} MB",
                    limit=f"{limit_bytes / BYTES_PER_MB:g} MB", do="give the one part alone",
                )  # fmt: skip
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())


def _put(folder: Path, copied: Path, home: Home, wanted: str) -> str:
    """Rename the folder into its place in the home, under the first name that is free."""
    used = {path.stem.lower() if path.is_file() else path.name.lower() for path in home.root.iterdir()}
    used |= {entry.name.lower() for entry in home.entries()}
    if home.plans.is_dir():
        used |= {path.name.lower() for path in home.plans.iterdir()}
    folder.chmod(0o755)
    for number in range(1, TRIES_MOST):
        name = wanted if number == 1 else f"{wanted}-{number}"
        if name.lower() in used:
            continue
        named = folder / f"{name}{copied.suffix}"
        copied = copied.rename(named)
        try:
            folder.rename(home.root / name)
        except OSError as fault:
            if fault.errno not in (errno.ENOTEMPTY, errno.EEXIST, errno.ENOTDIR):
                raise
        else:
            return name
    raise BadInput("Every name like this one is taken", where=wanted, do="give the file another name")


def _link(copied: Path, place: Path) -> None:
    """Put a file into its place, unless something is there."""
    try:
        os.link(copied, place)
    except FileExistsError as fault:
        raise BadInput("A file of that name is there already; nothing was changed", where=place.name) from fault


def _shown(given: str) -> str:
    """A strange name, short enough for a sentence."""
    words = said_name(given)
    tail = given.strip().rpartition(".")[2][:12]
    return f"{words[:40]}.{tail}" if "." in given else words[:40]
