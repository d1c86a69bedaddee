"""Real values of a program: numbers, parameters and expressions in brackets, and what they come to.

Meaning:  NIST report 6556, 3.3.2: the power first, then times, divided by and modulo, then plus, minus, or, exclusive
          or, and; of the same rank from the left. Angles in degrees. Zero is false, all else true.
Departs:  a sign may stand before any value, and parameters go on to 99999, as many controls have it (common practice,
          no source); a parameter that was never set is a fault instead of zero, because nobody knows what the control
          holds in it. Where the report is silent: halves are rounded away from zero, a remainder is never below it (our
          own choice). EQ, NE, GT, GE, LT and LE come last and give 1 or 0; `#0` and what a call left out are empty:
          equal to nothing but what is empty, 0 in a sum, and a word with an empty value counts as not written (common
          practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

PARAMETER_MOST = 99_999
WHOLE_WITHIN = 1e-4  # so near to a whole number a value that names something must lie


class ValueFault(Exception):
    """A value that comes to no number; the message says why."""


@dataclass(frozen=True)
class Number:
    """A number as written."""

    value: float


@dataclass(frozen=True)
class Parameter:
    """What the parameter holds that a value numbers."""

    number: Value


@dataclass(frozen=True)
class Operation:
    """An operation by its name on one value or two."""

    name: str
    parts: tuple[Value, ...]


Value = Number | Parameter | Operation
Held = float | None
"""What a parameter holds; None when it is empty."""


def evaluate(value: Value, parameters: Mapping[int, Held]) -> float:
    """What a value comes to; ValueFault when it comes to no finite number. What is empty is 0.

    parameters: what is known of parameters, by number.
    """
    return evaluate_held(value, parameters) or 0.0


def evaluate_held(value: Value, parameters: Mapping[int, Held]) -> Held:
    """The same, and None where the value is a parameter that is empty."""
    waiting: list[Operation] = []
    while isinstance(value, Operation):  # a long sum leans to the left: its depth is no depth of calls
        waiting.append(value)
        value = value.parts[0]
    result: Held
    is_number = isinstance(value, Number)
    result = value.value if is_number else _held(evaluate(value.number, parameters), parameters)
    for operation in reversed(waiting):
        others = [evaluate_held(part, parameters) for part in operation.parts[1:]]
        if operation.name in SAMENESS and None in (result, *others):
            is_same = result is None and others[0] is None
            result = float(is_same == (operation.name == "EQ"))
        else:
            result = _done(operation.name, result or 0.0, *(part or 0.0 for part in others))
    return result


def _held(named: float, parameters: Mapping[int, Held]) -> Held:
    if whole(named) == 0:
        return None
    number = parameter_number(named)
    if number not in parameters:
        message = f"parameter {number} was not set before"
        raise ValueFault(message)
    return parameters[number]


def _done(name: str, *parts: float) -> float:
    why = None
    try:
        result = _WORK[name](*parts)
    except (ValueError, ZeroDivisionError, OverflowError) as fault:
        result, why = math.nan, fault
    if not math.isfinite(result):
        message = f"{name} of {' and '.join(f'{part:g}' for part in parts)} is no number"
        raise ValueFault(message) from why
    return result


def parameter_number(value: float) -> int:
    """The parameter that a value names; ValueFault when it names none."""
    number = whole(value)
    if number is None or not 1 <= number <= PARAMETER_MOST:
        message = f"{value:g} numbers no parameter: a whole number from 1 to {PARAMETER_MOST} does"
        raise ValueFault(message)
    return number


def whole(value: float) -> int | None:
    """The whole number that a value lies at, None when it lies at none."""
    if not abs(value) < 1e15:
        return None
    nearest = round(value)
    return nearest if abs(value - nearest) <= WHOLE_WITHIN else None


def _modulo(number: float, divisor: float) -> float:
    left = math.fmod(number, divisor)
    return left + abs(divisor) if left < 0.0 else left


def _nearest(number: float) -> float:
    return math.floor(number + 0.5) if number >= 0.0 else math.ceil(number - 0.5)


BETWEEN: dict[str, tuple[int, Callable[[float, float], float]]] = {
    "**": (1, math.pow),
    "*": (2, lambda a, b: a * b),
    "/": (2, lambda a, b: a / b),
    "MOD": (2, _modulo),
    "+": (3, lambda a, b: a + b),
    "-": (3, lambda a, b: a - b),
    "OR": (3, lambda a, b: float(a != 0.0 or b != 0.0)),
    "XOR": (3, lambda a, b: float((a != 0.0) != (b != 0.0))),
    "AND": (3, lambda a, b: float(a != 0.0 and b != 0.0)),
    "EQ": (4, lambda a, b: float(a == b)),
    "NE": (4, lambda a, b: float(a != b)),
    "GT": (4, lambda a, b: float(a > b)),
    "GE": (4, lambda a, b: float(a >= b)),
    "LT": (4, lambda a, b: float(a < b)),
    "LE": (4, lambda a, b: float(a <= b)),
}
"""Operations between two values: which are done first, and what they do."""
SAMENESS = ("EQ", "NE")
NAMED: dict[str, Callable[..., float]] = {
    "ABS": math.fabs,
    "ACOS": lambda a: math.degrees(math.acos(a)),
    "ASIN": lambda a: math.degrees(math.asin(a)),
    "ATAN": lambda a, b: math.degrees(math.atan2(a, b)),
    "COS": lambda a: math.cos(math.radians(a)),
    "EXP": math.exp,
    "FIX": lambda a: float(math.floor(a)),
    "FUP": lambda a: float(math.ceil(a)),
    "LN": math.log,
    "ROUND": _nearest,
    "SIN": lambda a: math.sin(math.radians(a)),
    "SQRT": math.sqrt,
    "TAN": lambda a: math.tan(math.radians(a)),
}
"""Operations on a value in brackets; ATAN takes two, parted by a stroke."""
SIGN = "SIGN"
"""A minus before a value that is no number."""
_WORK: dict[str, Callable[..., float]] = {
    **{name: work for name, (_, work) in BETWEEN.items()}, **NAMED, SIGN: lambda a: -a,
}  # fmt: skip
