"""Files that are changed together: all of them or none, also when the power fails or the disk is full in between.

Every new content is written beside its place first, then a journal that names them all, and only then is each renamed
into its place. What is cut short before the journal is whole is undone; what is cut short after it is finished by the
next start, from the journal. A file that somebody has changed in between is left as it is, and told.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.quantities.errors import BadInput, Unfinished

JOURNAL = ".changing-"
TOKEN_BYTES = 6
PLAIN_MODE = 0o644


@dataclass(frozen=True)
class Replacing:
    """A file and what it is to hold.   like: whose permissions it gets, None for those of a new file."""

    path: Path
    content: bytes
    like: Path | None = None


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One file of a journal. staged: where its new content lies.

    before, after: digests, "" where it was not there.
    """

    target: str
    staged: str
    before: str
    after: str


class Journal(msgspec.Struct, frozen=True, kw_only=True):
    """What is changed together. is_whole: every content lies beside its place, so that it can be finished."""

    is_whole: bool
    rows: tuple[Row, ...]


def replace_together(files: Sequence[Replacing]) -> None:
    """Give every file its new content; of a link what it leads to is written.

    Raises:   BadInput where one cannot be written: then all are as they were.   Unfinished where the disk refused in
              the middle of renaming: the next start finishes it.
    """
    token = secrets.token_hex(TOKEN_BYTES)
    places = [one.path.resolve() for one in files]
    rows = tuple(
        Row(
            target=str(path), staged=str(path.with_name(f".{path.name}-{token}")),
            before=digest_of_file(path) if path.is_file() else "", after=hashlib.sha256(one.content).hexdigest(),
        )
        for one, path in zip(files, places, strict=True)
    )  # fmt: skip
    journal = places[0].with_name(f"{JOURNAL}{token}.json")
    try:
        _write_journal(journal, rows, is_whole=False)
        for one, row in zip(files, rows, strict=True):
            mode = one.like.stat().st_mode & 0o777 if one.like is not None else PLAIN_MODE
            write_whole(Path(row.staged), one.content, mode=mode, is_lasting=True)
        _write_journal(journal, rows, is_whole=True)
    except OSError as fault:
        _drop(journal, rows)
        raise BadInput(
            "This cannot be written; every file is as it was",
            where=", ".join(one.path.name for one in files), value=fault.strerror or "",
            do="check the folder's permissions and its room",
        ) from fault  # fmt: skip
    try:
        for row in rows:
            _rename(Path(row.staged), Path(row.target))
        _end(journal, rows)
    except OSError as fault:
        raise _unfinished([one.path for one in files], fault) from fault


def finish_changes(root: Path, *, beside: Path | None = None) -> tuple[Path, ...]:
    """Finish or undo what an earlier run was cut short in; files that were left alone, since somebody changed them.

    Args:     root: the folder below which files may lie.   beside: a folder that may hold one too, and nothing below.
    Raises:   Unfinished where the disk refuses again: some files are new then, others as they were.
    """
    found = {path.resolve() for path in root.rglob(f"{JOURNAL}*.json")}
    if beside is not None:
        found |= {path.resolve() for path in beside.glob(f"{JOURNAL}*.json")}
    left: list[Path] = []
    for journal in sorted(found):
        with contextlib.suppress(OSError):
            left += _finished(journal, root.resolve(), beside.resolve() if beside is not None else None)
    return tuple(left)


def _finished(journal: Path, root: Path, beside: Path | None) -> list[Path]:
    try:
        told = msgspec.json.decode(journal.read_bytes(), type=Journal)
    except msgspec.DecodeError:
        return []  # none of ours: a journal is written whole
    if not all(_is_ours(row, root, beside) for row in told.rows):
        return []
    if not told.is_whole:
        _drop(journal, told.rows)
        return []
    try:
        return _renamed(journal, told.rows)
    except OSError as fault:
        raise _unfinished([Path(row.target) for row in told.rows], fault) from fault


def _renamed(journal: Path, rows: tuple[Row, ...]) -> list[Path]:
    """Bring every content into its place; files that were left alone."""
    left: list[Path] = []
    for row in rows:
        target, staged = Path(row.target), Path(row.staged)
        if not staged.is_file():
            continue
        now = digest_of_file(target) if target.is_file() else ""
        if now == row.before and digest_of_file(staged) == row.after:
            _rename(staged, target)
        else:
            staged.unlink()
            if now != row.after:
                left.append(target)
    _end(journal, rows)
    return left


def _unfinished(files: Sequence[Path], fault: OSError) -> Unfinished:
    return Unfinished(
        "The change was begun and not finished: some of these files are new, others as they were",
        where=", ".join(path.name for path in files), value=fault.strerror or "",
        do="look at the disk and start the desk again, which finishes the change",
    )  # fmt: skip


def _is_ours(row: Row, root: Path, beside: Path | None) -> bool:
    """True where a row speaks of files that the desk writes, so that no folder from elsewhere has others written."""
    target, staged = Path(row.target), Path(row.staged)
    folder = target.parent.resolve()
    return (
        (folder == beside or folder.is_relative_to(root))
        and staged.parent == target.parent
        and staged.name.startswith(f".{target.name}-")
    )


def _write_journal(journal: Path, rows: tuple[Row, ...], *, is_whole: bool) -> None:
    write_whole(journal, msgspec.json.encode(Journal(is_whole=is_whole, rows=rows)), is_lasting=True)
    _sync(journal.parent)


def _rename(staged: Path, target: Path) -> None:
    staged.replace(target)


def _end(journal: Path, rows: tuple[Row, ...]) -> None:
    """Every file is in its place, on the disk too: nothing is left to be finished."""
    for folder in {Path(row.target).parent for row in rows}:
        _sync(folder)
    journal.unlink()


def _drop(journal: Path, rows: tuple[Row, ...]) -> None:
    """Nothing is changed: the journal goes first, so that nothing is finished from what is left."""
    with contextlib.suppress(OSError):
        journal.unlink(missing_ok=True)
        for row in rows:
            Path(row.staged).unlink(missing_ok=True)


def _sync(folder: Path) -> None:
    """Bring the names in a folder to the disk, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
