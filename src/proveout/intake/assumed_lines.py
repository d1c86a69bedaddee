"""Lines of a job or shop file that end in `# assumed`: what the draft, or the owner, only assumes there."""

from __future__ import annotations

import re

NAMES_SHOWN = 20


def marked_assumed(text: str, *, file: str) -> list[str]:
    """One sentence a section that names the keys and rows whose line the draft, or the owner, marked `# assumed`."""
    return [
        f"{file}: {'[' + section + '] ' if section else ''}marked as assumed: {_some(list(dict.fromkeys(names)))}."
        for section, names in marked_keys(text).items()
    ]


def marked_keys(text: str) -> dict[str, list[str]]:
    """Keys and rows whose line is marked `# assumed`, in order, by their section; "" for those above all sections."""
    marked: dict[str, list[str]] = {}
    section = ""
    for line in text.splitlines():
        if header := re.match(r"\s*\[+([^\[\]]+)\]", line):
            section = header[1]
        elif re.search(r'^(?:[^"#]|"[^"]*")*# assumed', line) and (
            name := re.match(r'\s*(?:\{\s*id = "([^"]*)"|([A-Za-z0-9_-]+)\s*=)', line)
        ):
            marked.setdefault(section, []).append(name[1] or name[2])
    return marked


def _some(names: list[str]) -> str:
    """The names, or the first of many and how many more."""
    more = len(names) - NAMES_SHOWN
    return ", ".join(names) if more <= 1 else f"{', '.join(names[:NAMES_SHOWN])} and {more} more"
