"""Lines of a job or shop file that end in `# assumed`: what the draft, or the owner, only assumes there."""

from __future__ import annotations

import re
from collections.abc import Iterator

NAMES_SHOWN = 20
_BASIC, _LITERAL = r'"(?:\\.|[^"\\])*"', r"'[^']*'"
_PART = rf"(?:[A-Za-z0-9_-]+|{_BASIC}|{_LITERAL})"
_KEY = rf"{_PART}(?:\s*\.\s*{_PART})*"
_HEADER = re.compile(rf"\s*\[\[?\s*({_KEY})\s*\]\]?\s*(?:#.*)?")
_ASSIGNED = re.compile(rf"\s*({_KEY})\s*=")
_ROW = re.compile(r'\s*\{\s*id\s*=\s*"([^"]*)"')
_MARKED = re.compile(rf"(?:[^\"'#]|{_BASIC}|{_LITERAL})*# assumed")
_LONG = re.compile(r'"""|\'\'\'')


def marked_assumed(text: str, *, file: str) -> list[str]:
    """One sentence a section that names the keys and rows whose line the draft, or the owner, marked `# assumed`."""
    return [
        f"{file}: {'[' + section + '] ' if section else ''}marked as assumed: {_some(list(dict.fromkeys(names)))}."
        for section, names in marked_keys(text).items()
    ]


def marked_keys(text: str) -> dict[str, list[str]]:
    """Keys and rows whose line is marked `# assumed`, in order, by their section; "" for those above all sections.

    A key may be quoted, and dotted: `part.alloy` is alloy of the section part, whatever section it is written in below.
    """
    marked: dict[str, list[str]] = {}
    section: tuple[str, ...] = ()
    for line in _outside_long_strings(text):
        if header := _HEADER.fullmatch(line):
            section = _parts(header[1])
        elif _MARKED.match(line):
            if row := _ROW.match(line):
                marked.setdefault(".".join(section), []).append(row[1])
            elif assigned := _ASSIGNED.match(line):
                *above, key = _parts(assigned[1])
                marked.setdefault(".".join((*section, *above)), []).append(key)
    return marked


def _parts(key: str) -> tuple[str, ...]:
    """The steps of a key, bare."""
    found: list[str] = re.findall(_PART, key)
    return tuple(part[1:-1] if part[0] in "\"'" else part for part in found)


def _outside_long_strings(text: str) -> Iterator[str]:
    """Lines that are not in the midst of a string of several lines."""
    within = ""
    for line in text.splitlines():
        was_within = within
        for sign in _LONG.findall(line):
            within = "" if within == sign else within or sign
        if not was_within and not within:
            yield line


def _some(names: list[str]) -> str:
    """The names, or the first of many and how many more."""
    more = len(names) - NAMES_SHOWN
    return ", ".join(names) if more <= 1 else f"{', '.join(names[:NAMES_SHOWN])} and {more} more"
