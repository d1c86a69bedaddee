"""What nobody wrote, without which no order is said to fit its date: days off, days outside, minutes of faces."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from proveout.model.closed_days import closed_dates
from proveout.model.order import OrderedPart
from proveout.model.shop import Shop
from proveout.stages.schedule.calendar import day_after
from proveout.stages.schedule.problem import WEEKS_AHEAD, stays_at
from proveout.stages.schedule.routes import Route

OR_NONE = "[] where there are none"
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def never_collected(routes: Sequence[Route], shop: Shop, start: str) -> tuple[str, ...]:
    """Finishers who collect on no day of all weeks looked at, in words."""
    closed = closed_dates(shop.closed)
    first = day_after(date.fromisoformat(start), 0.0, closed)
    away = {finisher.id: finisher for route in routes for finisher in route.finishers}
    found: list[str] = []
    for name in sorted(away):
        starts, _ = stays_at(away[name], first=first, closed=closed, days=away[name].days_high, at_best=False)
        if not starts:
            days = " and ".join(WEEKDAYS[day] for day in away[name].pickup_weekdays)
            found.append(
                f"{name} never collects: from {start} on each {days} of {WEEKS_AHEAD} weeks is a day off, there or "
                "here; write other days of pickup or of closed into the shop file"
            )
    return tuple(found)


def unknown_of(parts: Sequence[OrderedPart], routes: Sequence[Route], shop: Shop) -> tuple[str, ...]:
    """Each in words, with what to write; bars of unknown days are told apart.   routes: one for each part."""
    found: list[str] = []
    if shop.closed is None:
        found.append(
            f"days off here are not known and taken as none: write closed into [calendar] of the shop file, {OR_NONE}"
        )
    away = {finisher.id: finisher for route in routes for finisher in route.finishers}
    found += [
        f"days off of {name} are not known: write closed into its [[finisher]] of the shop file, {OR_NONE}"
        for name in sorted(away)
        if away[name].closed is None
    ]
    found += [
        f"days away at {name or 'the coater'} are not known and not counted: write a [[finisher]] with days_low, "
        "days_high and pickup into the shop file"
        for name in sorted({name for route in routes for name in route.unknown_finishers})
    ]
    for part, route in zip(parts, routes, strict=True):
        if not part.plan.clampings:
            found.append(f"minutes of {route.number} are not known: nothing holds it, as planned")
        elif part.plan.not_cut:
            found.append(f"minutes of {route.number} are not all known: its plan leaves faces that no pass makes")
    return tuple(found)
