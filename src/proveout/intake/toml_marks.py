"""The owner's marks `# assumed` behind keys and rows, looked for and taken off."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import tomlkit
from tomlkit.items import AbstractTable

from proveout.quantities.errors import InternalError

MARK = re.compile(r"^#\s*assumed\b[;:,]?\s*")


def entry(holder: Any, key: Any) -> Any:
    """What stands at a key, with its comment: the TOML library gives bare values for some kinds."""
    return holder.item(key) if isinstance(holder, tomlkit.TOMLDocument) else holder.value.item(key)


def is_marked(holder: Any, key: str) -> bool:
    """Whether a key's own line says that its value is assumed."""
    if key not in holder or not isinstance(holder, tomlkit.TOMLDocument | AbstractTable):
        return False
    return bool(MARK.match(entry(holder, key).trivia.comment))


def unmark(item: Any) -> None:
    """Take the mark off what stands at a key; what else is said behind it stays."""
    left = MARK.sub("", item.trivia.comment)
    item.trivia.comment = f"# {left}" if left else ""
    item.trivia.comment_ws = item.trivia.comment_ws if left else ""


def row_is_marked(text: str, row_id: str) -> bool:
    """Whether the one line that holds a row of that id says behind it that the row is assumed."""
    return _marked_line(text, row_id) is not None


def without_row_mark(text: str, row_id: str) -> str:
    """The text with that row no longer marked as assumed; what else is said behind it stays."""
    lines = text.splitlines(keepends=True)
    at = _marked_line(text, row_id)
    if at is None:
        return text
    row, mark, rest = lines[at].rpartition("# assumed")
    told = rest.strip().lstrip(";:, ")
    end = lines[at][len(lines[at].rstrip("\r\n")) :]
    lines[at] = (f"{row}# {told}" if mark and told else row.rstrip()) + end
    changed = "".join(lines)
    if tomllib.loads(changed) != tomllib.loads(text):
        raise InternalError("Taking off this mark would change more, so nothing was written", where=row_id)
    return changed


def _marked_line(text: str, row_id: str) -> int | None:
    begins = re.compile(rf'\s*\{{\s*id\s*=\s*"{re.escape(row_id)}"\s*[,}}].*\}}\s*,?\s*# assumed\b')
    found = [at for at, line in enumerate(text.splitlines()) if begins.match(line)]
    return found[0] if len(found) == 1 else None
