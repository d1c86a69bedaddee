"""What is told in mm, told in inches, for people whose shop types and reads inches."""

from __future__ import annotations

import re

from proveout.quantities.units import MM_PER_INCH

MORE_DIGITS = 2
"""Digits behind the point beyond those in mm: an inch is some 25 times as long, so nothing that was told is lost."""
_NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
_LENGTHS = re.compile(
    rf"(?<![A-Za-z0-9_.#-])(?P<numbers>{_NUMBER}(?:(?: {_NUMBER}){{2}}|(?:,? (?:to|x|and|or) {_NUMBER})*))"
    r"(?P<gap> ?)mm(?P<rate>/min|/s)?(?![\w³²/])"
)
_ONE = re.compile(_NUMBER)


def in_inches(text: str) -> str:
    """Every length and feed that a text tells in mm, in inches; volumes, pressures and names stay as they are."""
    return _LENGTHS.sub(_told, text)


def _told(found: re.Match[str]) -> str:
    numbers = _ONE.sub(lambda one: inches(one[0]), found["numbers"])
    return f"{numbers}{found['gap']}in{found['rate'] or ''}"


def inches(number_mm: str) -> str:
    """A decimal number of mm as one of inches."""
    value = float(number_mm)
    behind = len(number_mm.partition("e")[0].partition(".")[2]) - int(number_mm.partition("e")[2] or 0)
    return f"{value / MM_PER_INCH:.{behind + MORE_DIGITS}f}" if value else "0"
