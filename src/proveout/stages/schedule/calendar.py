"""Working days: Monday to Friday; holidays are not known."""

from __future__ import annotations

import math
from datetime import date, timedelta

DAYS_A_WEEK = 5


def working_days(first: date, end: date) -> int:
    """Working days from `first` on and before `end`; 0 when `end` is not later."""
    if end <= first:
        return 0
    weeks, rest = divmod((end - first).days, 7)
    return DAYS_A_WEEK * weeks + sum((first.weekday() + n) % 7 < DAYS_A_WEEK for n in range(rest))


def days_until(first: date, due: date) -> int:
    """Working days from `first` to the evening of the day due, both among them: done on that day is in time.

    Returns:  below 0 by the working days that have passed since that evening when the day due lies before `first`.
    """
    evening = due + timedelta(days=1)
    return working_days(first, evening) - working_days(evening, first)


def day_after(first: date, days: float) -> date:
    """The first working day that begins when `days` working days counted from `first` have passed, parts rounded up."""
    at = first
    while at.weekday() >= DAYS_A_WEEK:
        at += timedelta(days=1)
    weeks, rest = divmod(max(0, math.ceil(days - 1e-9)), DAYS_A_WEEK)
    at += timedelta(days=7 * weeks)
    for _ in range(rest):
        at += timedelta(days=1)
        while at.weekday() >= DAYS_A_WEEK:
            at += timedelta(days=1)
    return at


def wait_days_max(weekdays: tuple[int, ...]) -> int:
    """Working days that work can stand ready before the next collection, at worst; 0 is Monday."""
    days = sorted({d for d in weekdays if 0 <= d < DAYS_A_WEEK})
    if not days:
        return 0
    return max((later - earlier - 1) % DAYS_A_WEEK for earlier, later in zip(days, [*days[1:], days[0]], strict=True))
