"""Change one key of an owner's TOML file and leave everything else, comments included, as it was typed."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AbstractTable, InlineTable

from proveout.intake.toml_words import load_toml
from proveout.quantities.errors import BadInput

Step = str | int


def set_value(text: str, path: str | Sequence[Step], value: Any, *, comment: str | None = None) -> str:
    """The text with one key changed or added; comments and order stay.

    path: keys from the outside in, as a sequence or joined by dots ("saw.kerf_mm"); a row or a section of a list is
    named by its id or its place from 0: ("crib", "cutter", "EM10", "stick_out_mm").
    comment: what shall stand behind the value; None leaves what stands there, "" removes it.
    """
    load_toml(text, file="the text to change")
    steps = tuple(path.split(".")) if isinstance(path, str) else tuple(path)
    document = tomlkit.parse(text)
    holder: Any = document
    for depth, step in enumerate(steps[:-1]):
        holder = inner_at(holder, step, steps[: depth + 1])
    last = steps[-1]
    if not isinstance(holder, AbstractTable | tomlkit.TOMLDocument) or not isinstance(last, str):
        raise BadInput("This path does not end in a key", where=shown_path(steps), do="name the key to change")
    if isinstance(holder.get(last), dict) and not isinstance(value, dict) and not _is_inline(holder[last]):
        raise BadInput("This path names a section, not a key", where=shown_path(steps), do="name the key to change")
    try:
        holder[last] = value
    except (TOMLKitError, TypeError, ValueError) as error:
        raise BadInput(
            "This value cannot be written in TOML", where=shown_path(steps), value=repr(value)[:80]
        ) from error
    if comment is not None:
        item = holder.item(last) if isinstance(holder, tomlkit.TOMLDocument) else holder.value.item(last)
        _comment(item, comment)
    changed = tomlkit.dumps(document)
    tomllib.loads(changed)
    return changed


def _comment(item: Any, comment: str) -> None:
    item.trivia.comment_ws = "  " if comment else ""
    item.trivia.comment = f"# {comment}" if comment else ""


def _is_inline(item: Any) -> bool:
    return isinstance(item, InlineTable)


def inner_at(holder: Any, step: Step, path: Sequence[Step]) -> Any:
    """What a key, a place from 0 or the id of a row leads to; BadInput where it leads nowhere."""
    if isinstance(holder, list):
        for place, one in enumerate(holder):
            if (isinstance(step, int) and place == step) or (isinstance(one, dict) and one.get("id") == step):
                return one
    elif isinstance(holder, dict) and step in holder:
        return holder[step]
    raise BadInput("There is no such place in the file", where=shown_path(path), do="look the name up in the file")


def shown_path(path: Sequence[Step]) -> str:
    """A path in words."""
    return ".".join(str(step) for step in path)
