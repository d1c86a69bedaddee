"""Change an owner's TOML file in several places: keys, rows and sections; the rest stays as it was typed.

Keys and rows of lists within brackets are changed by the TOML library, sections by whole lines, so that comments above
other sections stay where they are. What comes out is parsed and held against what was asked: nothing else may differ.
"""

from __future__ import annotations

import copy
import itertools
import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, KeyType, SingleKey

from proveout.intake.toml_edit import Step, inner_at, shown_path
from proveout.intake.toml_words import load_toml
from proveout.quantities.errors import BadInput, InternalError

HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(#.*)?$")
KEY = re.compile(r"[A-Za-z0-9_-]+")
NUMERAL = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
KEY_OF_NONE = "none"


@dataclass(frozen=True)
class Numeral:
    """A number with the digits that the owner typed."""

    text: str


class Inline(dict[str, Any]):
    """A table within one line, such as a fact; any other mapping makes a section, or a row where rows stand so."""


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
    if put.value is None:
        return text if holder is None else _removed(text, document, holder, put)
    if holder is None:
        # the section that holds the key is not there yet
        is_row = isinstance(last, int)
        path, value = (put.path, put.value) if is_row else (put.path[:-1], {last: put.value})
        return _with_block(text, path, value, after=put.after)
    if put.instead_of and isinstance(last, str):
        _rename(holder, put.instead_of, last)
        return _one(tomlkit.dumps(document), Put(put.path, put.value))
    is_new = not isinstance(holder, list) and last not in holder
    if isinstance(holder, AoT) or (is_new and _is_section(put.value) and not isinstance(holder, InlineTable)):
        return _with_block(text, put.path, put.value, after=put.after)
    if is_new and not isinstance(holder, InlineTable):
        with_line = _with_line(text, put)
        if with_line:
            return with_line
    try:
        _set(holder, last, put.value)
    except (TOMLKitError, TypeError, ValueError) as fault:
        raise BadInput(
            "This value cannot be written in TOML", where=shown_path(put.path), value=repr(put.value)[:80]
        ) from fault
    return tomlkit.dumps(document)


def _set(holder: Any, last: Step, value: Any) -> None:
    old = holder.get(last) if isinstance(holder, dict) else None
    if isinstance(old, Array) and isinstance(value, list):
        _fill(old, value)
    elif isinstance(holder, Array) and last == len(holder):
        holder.append(_item(value))
    else:
        holder[last] = _item(value)


def _with_line(text: str, put: Put) -> str:
    """A new key below the last one of its section, above comments that belong to the next; "" where no header is."""
    lines = _lines(text)
    blocks = _blocks(lines)
    if len(put.path) == 1:
        first = blocks[0].start if blocks else len(lines)
        # a comment that heads the file is its own
        at = _last_content(lines, _Block((), -1, first))
    else:
        mine = next((block for block in blocks if block.path == put.path[:-1]), None)
        if mine is None:
            return ""
        at = _last_content(lines, mine)
    lines.insert(at, f"{put.path[-1]} = {_inline(put.value)}{_line_end(lines)}")
    return "".join(lines)


def _is_section(value: Any) -> bool:
    return isinstance(value, Mapping) and not isinstance(value, Inline)


def _are_tables(values: list[Any]) -> bool:
    return bool(values) and all(isinstance(one, Mapping) for one in values)


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
        return _without_block(text, put.path)
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
        return tomlkit.parse(f"x = {_inline(value)}")["x"]
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        array.extend(_item(one) for one in value)
        return array
    return tomlkit.item(value)


def _inline(value: Any) -> str:
    """A value in one line."""
    if isinstance(value, Numeral):
        return value.text
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_inline(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_inline(one) for one in value) + "]"
    return tomlkit.item(value).as_string() if not isinstance(value, str) else json.dumps(value, ensure_ascii=False)


# --- whole sections, by lines


@dataclass(frozen=True)
class _Block:
    """A header and the lines below it up to the next header. path: with the place of each list's section."""

    path: tuple[Step, ...]
    start: int
    end: int


def _blocks(lines: Sequence[str]) -> list[_Block]:
    found: list[tuple[tuple[Step, ...], int]] = []
    counts: dict[tuple[Step, ...], int] = {}
    for number, line in enumerate(lines):
        head = HEADER.match(line)
        if head is None:
            continue
        path: tuple[Step, ...] = ()
        names = head[2].split(".")
        for depth, name in enumerate(names):
            path = (*path, name)
            if head[1] == "[[" and depth == len(names) - 1:
                counts[path] = counts.get(path, -1) + 1
            if path in counts:
                path = (*path, counts[path])
        found.append((path, number))
    ends = [start for _, start in found[1:]] + [len(lines)]
    return [_Block(path, start, end) for (path, start), end in zip(found, ends, strict=True)]


def _last_content(lines: Sequence[str], block: _Block) -> int:
    """One beyond the last line of a block that is neither empty nor only a comment."""
    end = block.end
    while end > block.start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return end


def _under(blocks: Sequence[_Block], path: tuple[Step, ...]) -> list[_Block]:
    return [block for block in blocks if block.path[: len(path)] == path]


def _without_block(text: str, path: tuple[Step, ...]) -> str:
    lines = text.splitlines(keepends=True)
    mine = _under(_blocks(lines), path)
    if not mine:
        raise BadInput("There is no such section in the file", where=shown_path(path))
    for block in reversed(mine):
        end = _last_content(lines, block)
        # of the empty lines around it one pair is left
        while end < len(lines) and not lines[end].strip() and block.start > 0 and not lines[block.start - 1].strip():
            end += 1
        del lines[block.start : end]
    return "".join(lines)


def _lines(text: str) -> list[str]:
    lines = text.splitlines(keepends=True)
    if lines and not lines[-1].endswith("\n"):
        lines[-1] += "\n"
    return lines


def _line_end(lines: Sequence[str]) -> str:
    return "\r\n" if lines and lines[0].endswith("\r\n") else "\n"


def _with_block(text: str, path: tuple[Step, ...], values: Mapping[str, Any], *, after: str = "") -> str:
    """A new section after the last one of its kind, inside the section that holds it, or at the end."""
    lines = _lines(text)
    blocks = _blocks(lines)
    around: list[tuple[Step, ...]] = [path[:size] for size in range(len(path) - 1, 0, -1)]
    around += [(after,)] if after else []
    near = next((found for outer in around if (found := _under(blocks, outer))), None)
    at = len(lines) if near is None else _last_content(lines, near[-1])
    lines[at:at] = [line + _line_end(lines) for line in ["", *_block_lines(path, values)]]
    return "".join(lines)


def _block_lines(path: tuple[Step, ...], values: Mapping[str, Any]) -> list[str]:
    name = ".".join(step for step in path if isinstance(step, str))
    lines = [f"[[{name}]]" if isinstance(path[-1], int) else f"[{name}]"]
    inner: list[str] = []
    for key, value in values.items():
        if _is_section(value):
            inner += ["", *_block_lines((*path, key), value)]
        elif isinstance(value, list) and _are_tables(value):
            for place, one in enumerate(value):
                inner += ["", *_block_lines((*path, key, place), one)]
        else:
            lines.append(f"{key} = {_inline(value)}")
    return lines + inner
