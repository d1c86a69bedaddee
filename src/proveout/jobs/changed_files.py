"""What the owner's files say with some changes, without touching them; and the changes written into them for good."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proveout.intake.starting_shop import starting_shop_text
from proveout.intake.toml_edit import drop_value, set_value, with_section
from proveout.intake.toml_words import read_text
from proveout.jobs.home import Home, Place
from proveout.jobs.plan_path import asked_of
from proveout.jobs.whole_files import write_whole
from proveout.model.changes import Change, ChangedFile
from proveout.quantities.errors import BadInput

BY_EMPTY_SECTION = ("pins", "order", "outside", "masked", "critical", "show", "people", "material", "bench")


@dataclass(frozen=True)
class OwnFile:
    """One of the owner's files as it lies in the home. path: None where there is none yet.   text: what it says."""

    kind: ChangedFile
    path: Path
    text: str
    is_there: bool = True

    @property
    def digest(self) -> str:
        """sha256 of what it says; empty where it is not there yet."""
        return hashlib.sha256(self.text.encode()).hexdigest() if self.is_there else ""


def own_files(home: Home, place: Place) -> dict[ChangedFile, OwnFile]:
    """The job, order and shop file of a planned part, as far as it has them, as they are now."""
    entry = home.entry(place.entry)
    found: dict[ChangedFile, OwnFile] = {}
    if entry.kind == "order":
        found["order"] = _read("order", entry.path)
        found["job"] = _read("job", _job_in_order(entry.path, place))
    elif entry.kind == "job":
        found["job"] = _read("job", entry.path)
    shop = home.shop_path
    found["shop"] = (
        _read("shop", shop) if home.has_shop else OwnFile("shop", shop, starting_shop_text(), is_there=False)
    )
    return found


def _job_in_order(path: Path, place: Place) -> Path:
    asked, _, _ = asked_of(path)
    number = place.plan.part.number
    job = next((one.job_file for one in asked if one.job.part.number == number), None)
    if job is None:
        raise BadInput(
            "The order no longer has this part", where=path.name, value=number, do="plan the order again"
        )  # fmt: skip
    return job


def _read(kind: ChangedFile, path: Path) -> OwnFile:
    return OwnFile(kind, path, read_text(path))


def changed_texts(files: dict[ChangedFile, OwnFile], changes: Sequence[Change]) -> dict[ChangedFile, str]:
    """What each file says with the changes, comments kept.

    Raises:   BadInput for a file that the part does not have, a place that is not there, or a value that is none.
    """
    texts: dict[ChangedFile, str] = {kind: file.text for kind, file in files.items()}
    for change in changes:
        if change.file not in texts:
            raise BadInput(
                f"This part has no {change.file} file", where=change.words,
                do="draft a job file with new-job" if change.file == "job" else "change what it has",
            )  # fmt: skip
        texts[change.file] = _changed(texts[change.file], change)
    return texts


def _changed(text: str, change: Change) -> str:
    if not change.value.strip():
        return drop_value(text, change.path)
    head = change.path[0]
    if len(change.path) == 2 and head in BY_EMPTY_SECTION:
        text = with_section(text, str(head))
    return set_value(text, change.path, value_of_text(change.value, where=change.words))


def value_of_text(text: str, *, where: str) -> Any:
    """What a TOML text stands for; a bare word is taken for a text in quotes.

    Raises:   BadInput for what is neither.
    """
    typed = text.strip()
    try:
        return tomllib.loads(f"value = {typed}")["value"]
    except tomllib.TOMLDecodeError as fault:
        if not typed or any(sign in typed for sign in "=[]{}\"'\n,"):
            raise BadInput(
                "This value cannot be read", where=where, value=typed[:80],
                do="write a number, a text in quotes, a list [..] or { low = .., nominal = .., high = .. }",
            ) from fault  # fmt: skip
        return typed


def write_for_good(files: dict[ChangedFile, OwnFile], texts: dict[ChangedFile, str]) -> tuple[Path, ...]:
    """Write what differs into the owner's own files, each whole or not at all; the paths that were written.

    Raises:   BadInput when one of them is no longer as it was read; then none is written.
    """
    for file in files.values():
        now = read_text(file.path) if file.path.is_file() else None
        if now != (file.text if file.is_there else None):
            raise BadInput(
                "This file was changed meanwhile", where=str(file.path),
                do="try the change again on what the file says now",
            )  # fmt: skip
    written: list[Path] = []
    for kind, file in files.items():
        if texts[kind] != file.text:
            write_whole(file.path, texts[kind].encode())
            written.append(file.path)
    return tuple(written)
