"""What the records tell of a finisher over all batches: how thick its coats came, how long its lots were away."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from proveout.books.stretches import standing_events
from proveout.gauging.tolerance import PiecesBetween, pieces_between
from proveout.jobs.batch_route import COAT
from proveout.jobs.learned_days import days_told, days_words
from proveout.jobs.shop_day import day_of
from proveout.learning.days import DaysChances, days_chances
from proveout.model.closed_days import closed_dates
from proveout.model.outside_events import CameBack, SentOut
from proveout.model.shop import Finisher, Shop
from proveout.records.records import Records
from proveout.stages.schedule.calendar import working_days

INSIDE_RATIO, CONFIDENCE_RATIO = 0.99, 0.95
"""Of all pieces, those that an interval of thickness is to hold, and how sure that is (our own)."""
FEWEST_LOTS = 3
"""Lots below which no interval is told (our own)."""


@dataclass(frozen=True, kw_only=True)
class CoatTold:
    """Coats that were asked for between the same ends. low, high: those, mm, None where one was not said.

    outside_count: of the pieces, those beyond them.   between: where pieces lie, None where too little tells, and why.
    no_uncertainty: gauges that were read by and whose uncertainty the shop file does not say: it stands in no end.
    """

    low: float | None
    high: float | None
    batches: tuple[str, ...]
    lots_count: int
    pieces_count: int
    outside_count: int
    between: PiecesBetween | None
    why: str
    no_uncertainty: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FinisherTold:
    """days: of every lot that is back, in order;  chances: of a further one, None where too few are."""

    coats: tuple[CoatTold, ...]
    days: tuple[int, ...]
    chances: DaysChances | None


def finisher_told(records: Records, finisher: Finisher, shop: Shop) -> FinisherTold:
    """All of it, batches that still run among them."""
    lots = [row for row in records.rows("lots") if row["finisher"] == finisher.id]
    days = _days(records, finisher, sorted({str(row["batch"]) for row in lots}))
    chances = None
    if len(days) >= FEWEST_LOTS:
        told, middle = days_told(finisher, days)
        chances = days_chances(told, middle_days=middle)
    own = {(str(row["batch"]), str(row["lot"])) for row in lots}
    return FinisherTold(
        coats=_coats(records, own, {one.id: one.uncertainty_mm for one in shop.gauges}
                     | {one.name: one.uncertainty_mm for one in shop.gauges}),
        days=tuple(count for _, count in days), chances=chances,
    )  # fmt: skip


def _coats(
    records: Records, own: set[tuple[str, str]], uncertainties: dict[str, float]
) -> tuple[CoatTold, ...]:  # fmt: skip
    """Readings of coats by what was asked for; of a piece that was read again the mean."""
    found: dict[tuple[float | None, float | None], list[dict[str, object]]] = {}
    for row in records.rows("readings", mark=COAT):
        if (row["batch"], row["lot"]) in own:
            found.setdefault((row["low"], row["high"]), []).append(row)
    return tuple(
        _coat(ends, rows, uncertainties)
        for ends, rows in sorted(found.items(), key=lambda one: tuple(end or 0.0 for end in one[0]))
    )


def _coat(
    ends: tuple[float | None, float | None], rows: list[dict[str, object]], uncertainties: dict[str, float]
) -> CoatTold:  # fmt: skip
    pieces: dict[tuple[str, str], dict[str, list[float]]] = {}
    for row in rows:
        lot = pieces.setdefault((str(row["batch"]), str(row["lot"])), {})
        lot.setdefault(str(row["piece"] or f"reading {row['seq']}"), []).append(float(str(row["value"])))
    lots = [[math.fsum(some) / len(some) for some in lot.values()] for lot in pieces.values()]
    gauges = sorted({str(row["gauge"]) for row in rows})
    between, why = None, ""
    if len(lots) < FEWEST_LOTS or max(map(len, lots)) < 2:
        why = f"{len(lots)} of at least {FEWEST_LOTS} lots, {max(map(len, lots))} pieces read in the fullest"
    else:
        uncertainty = max((uncertainties.get(one, 0.0) for one in gauges), default=0.0)
        between = pieces_between(lots, uncertainty=uncertainty, inside_ratio=INSIDE_RATIO,
                                 confidence_ratio=CONFIDENCE_RATIO)  # fmt: skip
    low, high = ends
    values = [value for lot in lots for value in lot]
    outside = sum((low is not None and value < low) or (high is not None and value > high) for value in values)
    return CoatTold(
        low=low, high=high, batches=tuple(sorted({batch for batch, _ in pieces})), lots_count=len(lots),
        pieces_count=len(values), outside_count=outside, between=between, why=why,
        no_uncertainty=tuple(one for one in gauges if one not in uncertainties),
    )  # fmt: skip


def _days(records: Records, finisher: Finisher, batches: list[str]) -> list[tuple[str, int]]:
    """Working days of every lot that is back whole, in order of the day on which it went."""
    closed = closed_dates(finisher.closed)
    found: list[tuple[str, str, int]] = []
    for name in batches:
        batch = records.batch(name)
        told = standing_events(records.events(batch=name))
        sent = {of.lot: day_of(event) for event, of in told if isinstance(of, SentOut)}
        back = {of.lot: day_of(event) for event, of in told if isinstance(of, CameBack)}
        for lot in () if batch is None else batch.lots:
            is_whole = lot.lot in back and lot.back_count + lot.missing_count >= lot.sent_count
            if lot.finisher == finisher.id and is_whole:
                count = working_days(date.fromisoformat(sent[lot.lot]), date.fromisoformat(back[lot.lot]), closed)
                found.append((sent[lot.lot], f"{name}, lot {lot.lot}", count))
    return [(lot, count) for _, lot, count in sorted(found) if count > 0]


def finisher_lines(told: FinisherTold) -> list[str]:
    """What is told of a finisher, a line each; none where nothing was ever sent there."""
    lines = [line for one in told.coats for line in _coat_lines(one)]
    if told.days:
        lines.append(f"working days away, lot by lot: {', '.join(map(str, told.days))}")
        few = f"how long a further lot is away: not shown, {len(told.days)} of at least {FEWEST_LOTS} lots are back"
        lines.append(days_words(told.chances) if told.chances is not None else few)
    return lines


def _coat_lines(one: CoatTold) -> list[str]:
    low, high = ("" if end is None else f"{1000.0 * end:.1f}" for end in (one.low, one.high))
    asked = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    many = f"{one.lots_count} lots, {one.pieces_count} pieces of batches {', '.join(one.batches)}"
    lines = [f"coat asked for at {asked} µm: {many}; {one.outside_count} of the pieces outside"]
    found = one.between
    if found is None:
        lines.append(f"between what ends its pieces lie: not shown, {one.why}")
    else:
        lines.append(
            f"{100.0 * INSIDE_RATIO:.0f} % of pieces lie from {1000.0 * found.low:.1f} to {1000.0 * found.high:.1f} µm "
            f"at {100.0 * CONFIDENCE_RATIO:.0f} % confidence, middle {1000.0 * found.middle:.1f} µm: "
            f"{found.factor:.2f} deviations of {1000.0 * found.deviation:.2f} µm"
        )
    if one.no_uncertainty:
        lines.append(
            f"the shop file says no uncertainty of {', '.join(one.no_uncertainty)}: it stands in none of these ends"
        )
    return lines
