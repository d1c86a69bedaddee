"""Names of entries, kept beside their results: an entry keeps its name when a file comes that would be called the same.

Names are given in order of path. Without that memory a new file that comes earlier would take the name, and with it the
plan, of one that was there before.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from pathlib import Path

import msgspec

from proveout.jobs.results import PACKETS, distinct_name, folder_name
from proveout.jobs.whole_files import write_whole

NAMES = ".names.json"


def names_of(inside: Iterable[str], *, out: Path) -> dict[str, str]:
    """A name of its own for each of these paths inside a folder, in their order.   out: of the results.

    A path that has a name keeps it; that of a path which is no longer there may be taken by another.
    """
    paths = list(inside)
    kept = {path: name for path, name in _kept(out).items() if path in set(paths)}
    used = {PACKETS, *(name.lower() for name in kept.values())}
    names: dict[str, str] = {}
    for path in paths:
        names[path] = kept.get(path) or distinct_name(
            folder_name(_without_twice(path.rsplit(".", 1)[0]).replace("/", "-")), used
        )
    return names


def keep_names(names: dict[str, str], *, out: Path) -> None:
    """Remember them, where there is a folder of results that can be written."""
    if out.is_dir() and names != _kept(out):
        with contextlib.suppress(OSError):
            write_whole(out / NAMES, msgspec.json.encode(names))


def _kept(out: Path) -> dict[str, str]:
    """Names by path; only those that a folder may have, whoever wrote them."""
    try:
        found = msgspec.json.decode((out / NAMES).read_bytes(), type=dict[str, str])
    except (OSError, msgspec.DecodeError):
        return {}
    once: dict[str, str] = {}
    used = {PACKETS}
    for path, name in found.items():
        if folder_name(name) == name and name.lower() not in used:
            once[path] = name
            used.add(name.lower())
    return once


def _without_twice(inside: str) -> str:
    """The name of a file in a folder of its own, where both are called the same, once."""
    above, _, name = inside.rpartition("/")
    return above if above.rpartition("/")[2] == name else inside
