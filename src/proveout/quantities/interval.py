"""Carry intervals through a formula by trying every corner."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any, Protocol, runtime_checkable

from proveout.quantities.errors import OutOfRange


@runtime_checkable
class Interval(Protocol):
    """Anything with two ends, a Fact above all."""

    @property
    def low(self) -> float:
        """Lower end."""
        ...

    @property
    def high(self) -> float:
        """Upper end."""
        ...


def ends(value: float | Interval) -> tuple[float, float]:
    """The two ends of an interval; a plain number is both of its own ends."""
    if isinstance(value, (int, float)):
        return float(value), float(value)
    if value.low > value.high:
        raise OutOfRange("An interval has its ends swapped", value=f"{value.low}..{value.high}")
    return value.low, value.high


def corners(formula: Callable[..., float], /, **values: Any) -> tuple[float, float]:
    """Lowest and highest value of a formula over every corner of its interval arguments.

    Exact for a formula that is monotone in each interval argument while the others stay fixed; for any other formula
    an extreme inside the box is missed, so do not use it there. Arguments that are not intervals go through as given.
    n intervals cost 2^n evaluations.
    """
    names = [name for name, value in values.items() if isinstance(value, Interval)]
    choices = [sorted(set(ends(values[name]))) for name in names]
    found = [formula(**{**values, **dict(zip(names, corner, strict=True))}) for corner in itertools.product(*choices)]
    return min(found), max(found)
