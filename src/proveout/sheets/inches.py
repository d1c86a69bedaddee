"""What is told in mm, told in inches, for people whose shop types and reads inches."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from proveout.quantities.units import MM_PER_INCH

MORE_DIGITS = 2
"""Digits behind the point beyond those in mm: an inch is some 25 times as long, so nothing that was told is lost."""
_NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
_LENGTHS = (
    rf"(?<![A-Za-z0-9_.#-])(?P<before>{_NUMBER},? (?:and|or) )?"
    rf"(?P<numbers>{_NUMBER}(?:(?: {_NUMBER}){{2}}|(?:,? (?:to|x) {_NUMBER})*))"
    r"(?P<gap> ?)mm(?P<rate>/min|/s)?(?![\w³²/])"
)
_ONE = re.compile(_NUMBER)


def in_inches(text: str, names: Iterable[str] = ()) -> str:
    """Every length and feed that a text tells in mm, in inches; volumes, pressures and names stay as they are.

    names: of cutters, vises and the like: what looks like a length in one of them is none.  A number that "and" or "or"
    ties to one without a unit stays in mm: nobody can tell what the other one counts.
    """
    return _finder(tuple(names)).sub(_told, text)


@lru_cache(maxsize=8)
def _finder(names: tuple[str, ...]) -> re.Pattern[str]:
    """What finds names and lengths, names first and the longest of them foremost; with whatever capitals."""
    risky = sorted({name for name in names if _ONE.search(name)}, key=lambda name: (-len(name), name))
    listed = "|".join(map(re.escape, risky))
    return re.compile(rf"(?<![\w.])(?i:{listed})(?!\w)|{_LENGTHS}" if risky else _LENGTHS)


def _told(found: re.Match[str]) -> str:
    if found["numbers"] is None or found["before"]:
        return found[0]
    numbers = _ONE.sub(lambda one: inches(one[0]), found["numbers"])
    return f"{numbers}{found['gap']}in{found['rate'] or ''}"


def inches(number_mm: str) -> str:
    """A decimal number of mm as one of inches."""
    value = float(number_mm)
    behind = len(number_mm.partition("e")[0].partition(".")[2]) - int(number_mm.partition("e")[2] or 0)
    return f"{value / MM_PER_INCH:.{behind + MORE_DIGITS}f}" if value else "0"
