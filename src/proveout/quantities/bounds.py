"""Refuse numbers outside the bounds that a docstring states."""

from __future__ import annotations

import math

from proveout.quantities.errors import OutOfRange


def above_zero(**values: float) -> None:
    """Raise OutOfRange unless every value is finite and > 0."""
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise OutOfRange("A number is out of range", where=name, value=f"{value}", limit="finite and above 0")


def zero_or_more(**values: float) -> None:
    """Raise OutOfRange unless every value is finite and >= 0."""
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise OutOfRange("A number is out of range", where=name, value=f"{value}", limit="finite, 0 or more")


def between(*, low: float, high: float, **values: float) -> None:
    """Raise OutOfRange unless low <= value <= high for every value."""
    for name, value in values.items():
        if not low <= value <= high:
            raise OutOfRange("A number is out of range", where=name, value=f"{value}", limit=f"{low} to {high}")


def inside_zero_and_one(what: str, /, **values: float) -> None:
    """Raise OutOfRange, naming what the values are, unless 0 < value < 1 for every one."""
    for name, value in values.items():
        if not 0.0 < value < 1.0:
            raise OutOfRange(f"{what} lies inside 0 and 1", where=name, value=f"{value}", limit="above 0, below 1")
