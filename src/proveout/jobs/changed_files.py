"""What the owner's files say with some changes, without touching them; and the changes written into them for good."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proveout.intake.job_file import job_from_text
from proveout.intake.starting_shop import starting_shop_text
from proveout.intake.toml_blocks import Put, edited
from proveout.intake.toml_lines import Inline
from proveout.intake.toml_words import load_toml
from proveout.jobs.home import Home, Place
from proveout.jobs.owner_file import NewText, replace_texts, show
from proveout.jobs.plan_path import asked_of
from proveout.model.changes import Change, ChangedFile, Step
from proveout.quantities.errors import BadInput


@dataclass(frozen=True)
class OwnFile:
    """One of the owner's files as it lies in the home.   text: what it says.   digest: "" where it is not there yet."""

    kind: ChangedFile
    path: Path
    text: str
    digest: str


def own_files(home: Home, place: Place) -> dict[ChangedFile, OwnFile]:
    """The job, order and shop file of a planned part, as far as it has them, as they are now.

    Raises:   BadInput for a job or order file that its reader refuses: nothing can be tried on it.
    """
    entry = home.entry(place.entry)
    found: dict[ChangedFile, OwnFile] = {}
    if entry.kind == "order":
        found["order"] = _read("order", entry.path)
        found["job"] = _read("job", _job_in_order(entry.path, place))
    elif entry.kind == "job":
        found["job"] = _read("job", entry.path)
        job_from_text(found["job"].text, file=entry.path.name)
    shop = home.shop_path
    found["shop"] = _read("shop", shop) if home.has_shop else OwnFile("shop", shop, starting_shop_text(), digest="")
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
    shown = show(path)
    return OwnFile(kind, path, shown.text, shown.digest)


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
    value = value_of_text(change.value, where=change.words) if change.value.strip() else None
    path = _places(tomllib.loads(text), change.path)
    return edited(text, [Put(path, Inline(value) if isinstance(value, dict) else value)])


def _places(raw: Any, path: Sequence[Step]) -> tuple[Step, ...]:
    """The path with rows of lists by their place: a row may be named by its id, and a key by a number."""
    found: list[Step] = []
    holder: Any = raw
    for step in path:
        at: Step = str(step)
        if isinstance(holder, list):
            named = [k for k, row in enumerate(holder) if isinstance(row, dict) and str(row.get("id")) == str(step)]
            if not named and not (isinstance(step, int) and step < len(holder)):
                raise BadInput(
                    "There is no such place in the file", where=" / ".join(map(str, path)), value=str(step),
                    do="look the name up in the file",
                )  # fmt: skip
            at = named[0] if named else step
        found.append(at)
        holder = _inner(holder, at)
    return tuple(found)


def _inner(holder: Any, step: Step) -> Any:
    """What a step leads to; None where there is nothing."""
    try:
        return holder[step]
    except (KeyError, TypeError, IndexError):
        return None


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


def refuse_other_solids(files: dict[ChangedFile, OwnFile], texts: dict[ChangedFile, str]) -> None:
    """Refuse changes that lead to other files: of the solid, or of an order's job files.

    Raises:   BadInput, for another solid is another part, and a page may not name any file of this machine.
    """
    for kind, file in files.items():
        if _named(kind, texts[kind]) - _named(kind, file.text):
            raise BadInput(
                "This change names another file, which is another part", where=file.path.name,
                do="write it into the file yourself and plan it, or hold a new revision of the solid against the plan",
            )  # fmt: skip


def _named(kind: ChangedFile, text: str) -> set[str]:
    """The files that a file names by their paths; fewer of them is no harm: an item may be taken out of an order."""
    raw = tomllib.loads(text)
    if kind == "job":
        part = raw.get("part")
        return {str(part.get("step"))} if isinstance(part, dict) else set()
    items = raw.get("item", []) if kind == "order" else []
    return {str(one.get("job")) for one in items if isinstance(one, dict)} if isinstance(items, list) else set()


def write_for_good(home: Home, files: dict[ChangedFile, OwnFile], texts: dict[ChangedFile, str]) -> tuple[Path, ...]:
    """Write what differs into the owner's own files, all of them or none; the paths that were written.

    The text before is kept beside each.
    Raises:   BadInput when one of them is no longer as it was read, lies outside the home or cannot be written; then
              none is written.   Unfinished as `replace_together` does.
    """
    for kind, file in files.items():
        if kind != "shop" and texts[kind] != file.text:
            home.own(file.path)
        if show(file.path).digest != file.digest:
            raise BadInput(
                "This file was changed meanwhile", where=str(file.path),
                do="try the change again on what the file says now",
            )  # fmt: skip
    new = [
        NewText(file.path, texts[kind], file.digest, _is_toml)
        for kind, file in files.items()
        if texts[kind] != file.text
    ]
    replace_texts(new)
    return tuple(one.path for one in new)


def _is_toml(text: str) -> None:
    load_toml(text, file="the changed text")
