"""What is told in mm, told in inches, for people whose shop types and reads inches."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import lru_cache

from proveout.quantities.units import MM_PER_INCH

OR_MORE = " or more"
MORE_DIGITS = 2
"""Digits behind the point beyond those in mm: an inch is some 25 times as long, so nothing that was told is lost."""
_NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
LENGTHS = (
    rf"(?P<sense>at most |at least |± ?)?(?<![A-Za-z0-9_.#-])(?P<before>{_NUMBER},? (?:and|or) )?"
    rf"(?P<numbers>{_NUMBER}(?:(?: {_NUMBER}){{2}}|(?:,? (?:to|x|×|–|±) {_NUMBER})*))"
    r"(?P<gap> ?)mm(?P<rate>/min|/s)?(?![\w³²/])"
)
_ONE = re.compile(_NUMBER)


def in_inches(text: str, names: Iterable[str] = ()) -> str:
    """Every length and feed that a text tells in mm, in inches; volumes, pressures and names stay as they are.

    names: of cutters, vises and the like: what looks like a length in one of them is none.  A number that "and" or "or"
    ties to one without a unit stays in mm: nobody can tell what the other one counts.  What is told as a limit is
    rounded inwards, so that no limit grows by being told in inches.
    """
    return _finder(tuple(names)).sub(_told, text)


@lru_cache(maxsize=8)
def _finder(names: tuple[str, ...]) -> re.Pattern[str]:
    """What finds names and lengths, names first and the longest of them foremost; with whatever capitals."""
    risky = sorted({name for name in names if _ONE.search(name)}, key=lambda name: (-len(name), name))
    listed = "|".join(map(re.escape, risky))
    return re.compile(rf"(?<![\w.])(?i:{listed})(?!\w)|{LENGTHS}" if risky else LENGTHS)


def _told(found: re.Match[str]) -> str:
    if found["numbers"] is None or found["before"]:
        return found[0]
    return in_inches_of(found)


def in_inches_of(found: re.Match[str]) -> str:
    """What LENGTHS found, in inches."""
    sense, rounding = found["sense"] or "", rounding_of(found)

    def told(one: re.Match[str]) -> str:
        is_spread = one.string[: one.start()].endswith("± ")
        return inches(one[0], rounding=ROUND_FLOOR if is_spread else rounding)

    numbers = _ONE.sub(told, found["numbers"])
    return f"{sense}{numbers}{found['gap']}in{found['rate'] or ''}"


def rounding_of(found: re.Match[str]) -> str:
    """How a length is rounded by the words about it: a limit inwards, all else to the nearest."""
    sense = found.groupdict().get("sense") or ""
    if sense == "at least " or found.string.startswith(OR_MORE, found.end()):
        return ROUND_CEILING
    return ROUND_FLOOR if sense else ROUND_HALF_UP


def inches(number_mm: str, *, rounding: str = ROUND_HALF_UP, digits_least: int = 0) -> str:
    """A decimal number of mm as one of inches, with MORE_DIGITS than it has.   rounding: one of Decimal's."""
    behind = len(number_mm.partition("e")[0].partition(".")[2]) - int(number_mm.partition("e")[2] or 0)
    digits = max(digits_least, behind + MORE_DIGITS)
    return rounded(Decimal(number_mm) / Decimal(str(MM_PER_INCH)), digits=digits, rounding=rounding)


def rounded(value: Decimal, *, digits: int, rounding: str) -> str:
    """A number with so many decimals; nought is bare."""
    return f"{value.quantize(Decimal(1).scaleb(-digits), rounding=rounding):f}" if value else "0"
