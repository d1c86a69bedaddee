"""Sections and keys of a TOML file put in or taken out by whole lines, so that comments around them stay."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit

from proveout.intake.toml_edit import Step, shown_path
from proveout.quantities.errors import BadInput

HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(#.*)?$")


@dataclass(frozen=True)
class Numeral:
    """A number with the digits that the owner typed."""

    text: str


class Inline(dict[str, Any]):
    """A table within one line, such as a fact; any other mapping makes a section, or a row where rows stand so."""


def is_section(value: Any) -> bool:
    """Whether a value stands in a section of its own."""
    return isinstance(value, Mapping) and not isinstance(value, Inline)


def are_tables(values: list[Any]) -> bool:
    """Whether a list is one of sections."""
    return bool(values) and all(isinstance(one, Mapping) for one in values)


def inline(value: Any) -> str:
    """A value in one line."""
    if isinstance(value, Numeral):
        return value.text
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {inline(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(inline(one) for one in value) + "]"
    if not isinstance(value, str):
        return tomlkit.item(value).as_string()
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")  # TOML takes that one escaped alone


def with_line(text: str, path: tuple[Step, ...], value: Any) -> str:
    """A new key below the last one of its section, above comments that belong to the next; "" where no header is."""
    lines = _lines(text)
    blocks = _blocks(lines)
    if len(path) == 1:
        first = blocks[0].start if blocks else len(lines)
        # a comment that heads the file is its own
        at = _last_content(lines, _Block((), -1, first))
    else:
        mine = next((block for block in blocks if block.path == path[:-1]), None)
        if mine is None:
            return ""
        at = _last_content(lines, mine)
    lines.insert(at, f"{path[-1]} = {inline(value)}{_line_end(lines)}")
    return "".join(lines)


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


def without_block(text: str, path: tuple[Step, ...]) -> str:
    """The text without a section and those inside it; comments above the next one stay.

    Raises:   BadInput when there is no such section.
    """
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


def with_block(text: str, path: tuple[Step, ...], values: Mapping[str, Any], *, after: str = "") -> str:
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
        if is_section(value):
            inner += ["", *_block_lines((*path, key), value)]
        elif isinstance(value, list) and are_tables(value):
            for place, one in enumerate(value):
                inner += ["", *_block_lines((*path, key, place), one)]
        else:
            lines.append(f"{key} = {inline(value)}")
    return lines + inner
