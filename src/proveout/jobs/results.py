"""Result folders: written beside, renamed when complete; nothing of the user's is ever overwritten."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from proveout.quantities.errors import BadInput
from proveout.quantities.file_names import for_every_system

NAME_MOST = 60
OURS = ("plan.json", "order.json")
TRIED = ".tried"  # beside the results: changes that were tried and not dropped
PACKETS = "packets"  # beside the results: of released batches; no result is ever put in its place
TASKS = ".tasks"  # beside the results: what the desk has under way


def folder_name(name: str) -> str:
    """A name that every file system takes; one that it takes already stays as it is."""
    tidy = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-. ")
    return for_every_system(tidy[:NAME_MOST])[:NAME_MOST].rstrip(". ") or "part"


def distinct_name(name: str, used: set[str]) -> str:
    """The name, with a number where it is used already; it is added to those used."""
    candidate, number = name, 2
    while candidate.lower() in used:
        candidate, number = f"{name}-{number}", number + 1
    used.add(candidate.lower())
    return candidate


@contextmanager
def result_folder(out: Path, *, ours: tuple[str, ...] = OURS) -> Iterator[Path]:
    """A folder to write into that becomes `out` when the block ends without an error; `ours` mark an earlier result.

    Raises:   BadInput when `out` exists and is not an earlier result, or cannot be made.
    """
    out = out.absolute()
    if out.exists() and not out.is_dir():
        raise BadInput("The result must be a folder", where=str(out), value="a file", do="name another --out")
    if out.is_dir() and any(out.iterdir()) and not any((out / name).exists() for name in ours):
        raise BadInput(
            "This folder holds something else than an earlier result", where=str(out),
            do="name another --out, or move what is in it",
        )  # fmt: skip
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        part = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    except OSError as fault:
        raise BadInput(
            "The result folder cannot be made", where=str(out.parent), value=fault.strerror or "",
            do="name another --out"
        ) from fault  # fmt: skip
    try:
        yield part
        _put(part, out)
    finally:
        if part.exists():
            shutil.rmtree(part, ignore_errors=True)


def _put(part: Path, out: Path) -> None:
    """Rename `part` to `out`; an earlier result goes away only when the new one is in its place."""
    part.chmod(0o755)  # a temporary folder is its maker's alone
    try:
        if not out.exists():
            part.replace(out)
            return
        old = Path(tempfile.mkdtemp(prefix=f".{out.name}-old-", dir=out.parent))
        try:
            out.replace(old / "old")
            part.replace(out)
        except BaseException:
            if not out.exists() and (old / "old").exists():
                (old / "old").replace(out)
            raise
        finally:
            shutil.rmtree(old, ignore_errors=True)
    except OSError as fault:
        raise BadInput(
            "The result folder cannot be replaced", where=str(out), value=fault.strerror or "",
            do="close what shows a file of it, or name another --out",
        ) from fault  # fmt: skip
