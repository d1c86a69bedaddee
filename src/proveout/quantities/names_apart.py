"""Names of things that may be named alike, made distinct by where they stand."""

from __future__ import annotations

from collections.abc import Iterable


def names_apart(names: Iterable[str]) -> tuple[str, ...]:
    """The names in their order; what comes again gets its count: "A", "B", "A (2)"."""
    used: dict[str, int] = {}
    found: list[str] = []
    for name in names:
        used[name] = used.get(name, 0) + 1
        found.append(name if used[name] == 1 else f"{name} ({used[name]})")
    return tuple(found)
