"""Change an owner's TOML file in several places: keys, rows and sections; the rest stays as it was typed.

Keys and rows of lists within brackets are changed by the TOML library, sections by whole lines, so that comments above
other sections stay where they are. What comes out is parsed and held against what was asked: nothing else may differ.
"""

from __future__ import annotations

import copy
import itertools
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, KeyType, SingleKey

from proveout.intake.toml_edit import Step, inner_at, shown_path
from proveout.intake.toml_lines import Numeral, inline, is_section, with_block, with_line, without_block
from proveout.intake.toml_marks import entry, unmark
from proveout.intake.toml_words import load_toml
from proveout.quantities.errors import BadInput, InternalError

KEY = re.compile(r"[A-Za-z0-9_-]+")
NUMERAL = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
KEY_OF_NONE = "none"


TOLD: Any = object()
"""In place of a value: it stays as it is and is no longer marked as assumed."""


@dataclass(frozen=True)
class Put:
    """Write a value at a path of keys and places from 0. None takes the key, or the row or section of a list, away.

    A section that is not there yet is made. A dict at the path of a list's end (its length) is a new row or section.
    instead_of: a key of the same table that goes; its place and comment are taken over.
    after: the section after which a new one goes, where none of its kind is there.
    """

    path: tuple[Step, ...]
    value: Any
    instead_of: str = ""
    after: str = ""


def edited(text: str, puts: Sequence[Put]) -> str:
    """The text with every change made, in their order.

    Raises:   BadInput for text that is no TOML, a path that leads nowhere, or a key that is none.
              InternalError when something else would differ too; then nothing may be written.
    """
    if not puts:
        return text
    wanted = load_toml(text, file="the text to change")
    for put in puts:
        _refuse_strange_keys(put)
        wanted = _patched(wanted, put)
        text = _one(text, put)
        try:
            got = tomllib.loads(text.removeprefix("\ufeff"))
        except tomllib.TOMLDecodeError as fault:
            raise _untrue(put) from fault
        if not _same(got, wanted):
            raise _untrue(put)
    return text


def _untrue(put: Put) -> InternalError:
    return InternalError(
        "This change would have touched something else in the file, so nothing was written",
        where=shown_path(put.path), do="make it with a text editor",
    )  # fmt: skip


def plain_value(value: Any) -> Any:
    """A value as the parser of TOML gives it."""
    if isinstance(value, Numeral):
        return tomllib.loads(f"x = {value.text}")["x"]
    if isinstance(value, Mapping):
        return {key: plain_value(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain_value(one) for one in value]
    return value


def _same(one: Any, other: Any) -> bool:
    """Equal in value and in kind of number, in whatever order of keys."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return type(one) is type(other) and bool(one == other)


def _refuse_strange_keys(put: Put) -> None:
    """Only plain keys are ever written: no dots, quotes, brackets or line ends reach the file as part of a name."""
    for step in (*put.path, put.instead_of or KEY_OF_NONE, *_keys_in(put.value)):
        if isinstance(step, str) and not KEY.fullmatch(step):
            raise BadInput("This is no key of the file", where=shown_path(put.path), value=step[:60])


def _keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield str(key)
            yield from _keys_in(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _keys_in(one)


def _patched(raw: dict[str, Any], put: Put) -> dict[str, Any]:
    """What the file must say afterwards."""
    if put.value is TOLD:
        return raw
    wanted = copy.deepcopy(raw)
    holder: Any = wanted
    for step, following in itertools.pairwise(put.path):
        if isinstance(holder, dict) and isinstance(step, str):
            holder = holder.setdefault(step, [] if isinstance(following, int) else {})
        elif isinstance(holder, list) and isinstance(step, int) and 0 <= step < len(holder):
            holder = holder[step]
        else:
            raise BadInput("There is no such place in the file", where=shown_path(put.path))
    last = put.path[-1]
    if isinstance(holder, dict) and isinstance(last, int):
        raise BadInput("There is no such place in the file", where=shown_path(put.path))
    if put.value is None:
        if isinstance(holder, list):
            del holder[_place(holder, last, put)]
        else:
            holder.pop(last, None)
        return wanted
    if isinstance(holder, list) and last == len(holder):
        holder.append(plain_value(put.value))
    elif isinstance(holder, list):
        holder[_place(holder, last, put)] = plain_value(put.value)
    elif isinstance(holder, dict):
        if put.instead_of:
            holder.pop(put.instead_of, None)
        holder[last] = plain_value(put.value)
    else:
        raise BadInput("There is no such place in the file", where=shown_path(put.path))
    return wanted


def _place(rows: list[Any], last: Step, put: Put) -> int:
    if not isinstance(last, int) or not 0 <= last < len(rows):
        raise BadInput("There is no such place in the file", where=shown_path(put.path))
    return last


def _one(text: str, put: Put) -> str:
    document = tomlkit.parse(text)
    holder = _holder(document, put.path)
    last = put.path[-1]
    if put.value is TOLD:
        if holder is not None and last in holder:
            unmark(entry(holder, last))
        return tomlkit.dumps(document)
    if put.value is None:
        return text if holder is None else _removed(text, document, holder, put)
    if holder is None:
        # the section that holds the key is not there yet
        is_row = isinstance(last, int)
        path, value = (put.path, put.value) if is_row else (put.path[:-1], {last: put.value})
        return with_block(text, path, value, after=put.after)
    if put.instead_of and isinstance(last, str):
        _rename(holder, put.instead_of, last)
        return _one(tomlkit.dumps(document), Put(put.path, put.value))
    is_new = not isinstance(holder, list) and last not in holder
    if isinstance(holder, AoT) or (is_new and is_section(put.value) and not isinstance(holder, InlineTable)):
        return with_block(text, put.path, put.value, after=put.after)
    if is_new and not isinstance(holder, InlineTable):
        told = with_line(text, put.path, put.value)
        if told:
            return told
    try:
        _set(holder, last, put.value)
    except (TOMLKitError, TypeError, ValueError) as fault:
        raise BadInput(
            "This value cannot be written in TOML", where=shown_path(put.path), value=repr(put.value)[:80]
        ) from fault
    return tomlkit.dumps(document)


def _set(holder: Any, last: Any, value: Any) -> None:
    old = holder.get(last) if isinstance(holder, dict) else None
    if isinstance(old, Array) and isinstance(value, list):
        _fill(old, value)
    elif isinstance(holder, Array) and last == len(holder):
        holder.append(_item(value))
    else:
        holder[last] = _item(value)


def _holder(document: Any, path: tuple[Step, ...]) -> Any:
    holder = document
    for depth, step in enumerate(path[:-1]):
        if isinstance(holder, dict) and step not in holder and isinstance(step, str):
            return None
        holder = inner_at(holder, step, path[: depth + 1])
    return holder


def _removed(text: str, document: Any, holder: Any, put: Put) -> str:
    last = put.path[-1]
    if isinstance(holder, dict) and last not in holder:
        return text
    old = holder[last]
    if isinstance(holder, AoT) or (isinstance(old, dict) and not isinstance(old, InlineTable)):
        return without_block(text, put.path)
    del holder[last]
    return tomlkit.dumps(document)


def _rename(holder: Any, old: str, new: str) -> None:
    """Give an entry another key; its value, place and comment stay."""
    body = holder.body if isinstance(holder, tomlkit.TOMLDocument) else holder.value.body
    for place, (key, item) in enumerate(body):
        if key is not None and key.key == old:
            written = key.as_string().replace(old, new)
            body[place] = (SingleKey(new, t=KeyType.Bare, sep=key.sep, original=written), item)


def _fill(array: Array, values: list[Any]) -> None:
    """Change only the rows that differ, so that comments between the others stay."""
    old, new = array.unwrap(), plain_value(values)
    first = 0
    while first < min(len(old), len(new)) and _same(old[first], new[first]):
        first += 1
    kept = 0
    while kept < min(len(old), len(new)) - first and _same(old[-1 - kept], new[-1 - kept]):
        kept += 1
    for place in reversed(range(first, len(old) - kept)):
        del array[place]
    for place in range(first, len(new) - kept):
        array.insert(place, _item(values[place]))


def _item(value: Any) -> Any:
    if isinstance(value, Numeral):
        return tomlkit.parse(f"x = {value.text}")["x"]
    if isinstance(value, Mapping):
        return tomlkit.parse(f"x = {inline(value)}")["x"]
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        array.extend(_item(one) for one in value)
        return array
    return tomlkit.item(value)
