"""Working days: Monday to Friday without the days off that are written."""

from __future__ import annotations

import math
from collections.abc import Set as AbstractSet
from datetime import date, timedelta
from functools import lru_cache

from proveout.model.closed_days import NONE_CLOSED

DAYS_A_WEEK = 5
ONE_DAY = timedelta(days=1)


def is_open(day: date, closed: AbstractSet[date] = NONE_CLOSED) -> bool:
    """Whether people work on a day."""
    return day.weekday() < DAYS_A_WEEK and day not in closed


def working_days(first: date, end: date, closed: AbstractSet[date] = NONE_CLOSED) -> int:
    """Working days from `first` on and before `end`; 0 when `end` is not later."""
    if end <= first:
        return 0
    weeks, rest = divmod((end - first).days, 7)
    days = DAYS_A_WEEK * weeks + sum((first.weekday() + n) % 7 < DAYS_A_WEEK for n in range(rest))
    return days - sum(first <= day < end and day.weekday() < DAYS_A_WEEK for day in closed)


def days_until(first: date, due: date, closed: AbstractSet[date] = NONE_CLOSED) -> int:
    """Working days from `first` to the evening of the day due, both among them: done on that day is in time.

    Returns:  below 0 by the working days that have passed since that evening when the day due lies before `first`.
    """
    evening = due + ONE_DAY
    return working_days(first, evening, closed) - working_days(evening, first, closed)


def day_after(first: date, days: float, closed: AbstractSet[date] = NONE_CLOSED) -> date:
    """The first working day that begins when `days` working days counted from `first` have passed, parts rounded up."""
    at = first
    while not is_open(at, closed):
        at += ONE_DAY
    left = max(0, math.ceil(days - 1e-9))
    if not closed:
        weeks, left = divmod(left, DAYS_A_WEEK)
        at += timedelta(days=7 * weeks)
    for _ in range(left):
        at += ONE_DAY
        while not is_open(at, closed):
            at += ONE_DAY
    return at


def wait_days_max(weekdays: tuple[int, ...]) -> int:
    """Working days that work can stand ready before the next collection, at worst; 0 is Monday."""
    days = sorted({d for d in weekdays if 0 <= d < DAYS_A_WEEK})
    if not days:
        return 0
    return max((later - earlier - 1) % DAYS_A_WEEK for earlier, later in zip(days, [*days[1:], days[0]], strict=True))


@lru_cache(maxsize=256)
def stays_from(
    *, first: date, closed: frozenset[date], away_closed: frozenset[date], weekdays: frozenset[int], days: int,
    is_back_early: bool, ahead_count: int,
) -> tuple[tuple[int, ...], tuple[int, ...]]:  # fmt: skip
    """Working days from `first` on which pieces are collected, and how many of them pass until they are back.

    closed: days off here;  away_closed: where they go, whose own days are counted there: nothing is collected on them.
    Back at the end of the day that ends the stay, of the next one where nobody works here on it; is_back_early: as the
    work of that day begins.
    """
    starts: list[int] = []
    lasts: list[int] = []
    day = day_after(first, 0.0, closed)
    for number in range(ahead_count):
        if day.weekday() in weekdays and is_open(day, away_closed):
            back = day_after(day, days, away_closed)
            starts.append(number)
            lasts.append(working_days(day, back, closed) + (0 if is_back_early else 1))
        day = day_after(day, 1.0, closed)
    return tuple(starts), tuple(lasts)
