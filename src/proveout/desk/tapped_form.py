"""What a form of the floor sent, as the fields of an event: names like of.bad.0.count say where each text goes.

static/floor.js makes the same of the same form where scripts run.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

TAP_FIELDS = ("id", "at", "station", "batch")
OF = "of."
EMPTY_WITHOUT = ("count", "value_mm")
"""A row of a list is left out where it has such a field and nothing, or nought, stands in it."""
NUMBERS = (
    "value", "value_mm", "shift_mm", "length_mm", "life_s", "load", "idle", "smallest", "edge_min", "feed_percent",
    "speed_percent",
)  # fmt: skip
"""Fields in which a comma parts the decimals as well as a dot does."""

MARKS = ("program",)
"""Fingerprints, which papers print in groups of four."""


def tap_fields(typed: Mapping[str, str]) -> dict[str, Any]:
    """The fields of a tap, its person aside; what was left empty is left out.   at: now, where no script said when."""
    fields: dict[str, Any] = {name: typed[name] for name in TAP_FIELDS if typed.get(name)}
    fields.setdefault("at", datetime.now(UTC).isoformat())
    fields.setdefault("batch", "")
    of: dict[str, Any] = {}
    for name in sorted(name for name in typed if name.startswith(OF)):
        text = typed[name].strip()
        if text:
            _put(of, name.removeprefix(OF).split("."), text)
    fields["of"] = {name: _rows(value) if isinstance(value, dict) else value for name, value in of.items()}
    return fields


def _put(at: dict[str, Any], path: list[str], text: str) -> None:
    for step in path[:-1]:
        below = at.setdefault(step, {})
        if not isinstance(below, dict):
            return
        at = below
    name = path[-1]
    at[name] = text.replace(",", ".") if name in NUMBERS else text.replace(" ", "").lower() if name in MARKS else text


def _rows(by_number: dict[str, Any]) -> list[Any]:
    """The rows of a list in their order, those that are empty left out."""
    numbers = sorted(by_number, key=lambda number: (len(number), number))
    return [by_number[number] for number in numbers if not _is_empty(by_number[number])]


def _is_empty(row: Any) -> bool:
    if not isinstance(row, dict):
        return False
    owed = [name for name in EMPTY_WITHOUT if name in row]
    if not owed:
        return True
    return any(row[name] == "0" for name in owed if name == "count")
