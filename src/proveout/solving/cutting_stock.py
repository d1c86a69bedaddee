"""Fewest or cheapest bars for an order of sawn pieces, then the fewest strokes of the saw, with the bound."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange
from proveout.solving.bar_model import Sawing, fewest_strokes, least_cost, leftover_of, strokes_of
from proveout.solving.bars import Bar, Order

STEPS_PER_MM = 100
PRICE_STEPS = 10_000
DETERMINISTIC_LIMIT = 10.0
STROKES_SHARE = 0.1


class Bundle(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Bars laid side by side and sawn together, each into the same pieces.

    bars_count bars in each of bundles_count such bundles; pieces: length in mm and count per bar, longest first;
    leftover_mm: what stays of each bar beyond the last cut; strokes_count: cuts for one bundle, trim cut included.
    """

    stock_length_mm: float
    bars_count: int
    bundles_count: int
    pieces: tuple[tuple[float, int], ...]
    leftover_mm: float
    strokes_count: int


class BarPlan(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How to saw an order.

    status: "proved" nothing is cheaper; "not proved" valid, dearer than its bound by gap_ratio; "cannot" with
    `reason`. lower_bound: no plan costs less. strokes_status says the same of the strokes among plans of that cost.
    bars: bar length and bars taken of it. produced: length and pieces made, at least those asked for.
    """

    status: Literal["proved", "not proved", "cannot"]
    reason: str
    bundles: tuple[Bundle, ...]
    bars: tuple[tuple[float, int], ...]
    bars_count: int
    cost: float
    lower_bound: float
    gap_ratio: float
    saw_strokes_count: int
    strokes_bound_count: int
    strokes_status: Literal["proved", "not proved", "cannot"]
    produced: tuple[tuple[float, int], ...]


def pieces_per_bar_count(
    *, bar_length_mm: float, piece_length_mm: float, kerf_mm: float, trim_mm: float, tail_mm: float
) -> int:
    """Pieces of one length from one bar.

    Formula:  floor((L - trim - tail + kerf) / (p + kerf)); the last piece needs no kerf of its own
    Args:     bar_length_mm: L, > 0.   piece_length_mm: p as sawn, > 0.   kerf_mm: >= 0.   trim_mm: off the first end,
              its kerf included, >= 0.   tail_mm: what the saw cannot clamp, >= 0.
    Returns:  0 or more.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    whole 0.01 mm: piece, kerf, trim and tail rounded up, bar rounded down.
    Source:   saw_arithmetic.   Departs: whole 0.01 mm.
    Checked:  tests/published/test_saw_arithmetic.py
    """
    above_zero(bar_length_mm=bar_length_mm, piece_length_mm=piece_length_mm)
    zero_or_more(kerf_mm=kerf_mm, trim_mm=trim_mm, tail_mm=tail_mm)
    room = _down(bar_length_mm) - _up(trim_mm) - _up(tail_mm) + _up(kerf_mm)
    return max(0, room // (_up(piece_length_mm) + _up(kerf_mm)))


def cut_length_for_pieces_mm(
    *, bar_length_mm: float, pieces_count: int, kerf_mm: float, trim_mm: float, tail_mm: float
) -> float:
    """The longest cut length of which a bar gives that many pieces.

    Formula:  (L - trim - tail + kerf) / n - kerf
    Args:     bar_length_mm: L, > 0.   pieces_count: n, >= 1.   kerf_mm: >= 0.   trim_mm: off the first end, its kerf
              included, >= 0.   tail_mm: what the saw cannot clamp, >= 0.
    Returns:  mm, rounded down to 0.01; 0 or less where the bar gives fewer whatever their length.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    whole 0.01 mm: kerf, trim and tail rounded up, bar rounded down, as in pieces_per_bar_count.
    Source:   saw_arithmetic.   Departs: whole 0.01 mm.
    Checked:  tests/published/test_saw_arithmetic.py
    """
    above_zero(bar_length_mm=bar_length_mm, pieces_count=pieces_count)
    zero_or_more(kerf_mm=kerf_mm, trim_mm=trim_mm, tail_mm=tail_mm)
    room = _down(bar_length_mm) - _up(trim_mm) - _up(tail_mm) + _up(kerf_mm)
    return (room // pieces_count - _up(kerf_mm)) / STEPS_PER_MM


def solve_bars(
    *,
    demand: Mapping[float, int],
    stock: Sequence[tuple[float, float, int | None]],
    kerf_mm: float,
    trim_mm: float,
    tail_mm: float,
    bundle_max: int,
    work_limit: float = DETERMINISTIC_LIMIT,
    strokes_share: float = STROKES_SHARE,
) -> BarPlan:
    """Cheapest bars for the order, and among those plans the fewest saw strokes, then the fewest bundles.

    demand: sawn length in mm to count. stock: (bar length in mm, price of a bar, bars to be had or None); give every
    price as 1 to count bars. bundle_max: bars the saw takes side by side; smaller bundles and single bars mix freely.
    work_limit: deterministic solver time for the bars, so that the answer does not depend on load.
    strokes_share: of that limit for the strokes; at 0 the bars are bundled as they are.
    Every bar of a bundle gets the same pieces; spare pieces can come out and are listed in `produced`.
    """
    zero_or_more(kerf_mm=kerf_mm, trim_mm=trim_mm, tail_mm=tail_mm)
    above_zero(bundle_max=bundle_max)
    for length_mm, count in demand.items():
        above_zero(piece_length_mm=length_mm)
        zero_or_more(piece_count=count)
    for length_mm, price, most_bars in stock:
        above_zero(stock_length_mm=length_mm)
        zero_or_more(price=price, most_bars=most_bars or 0)
    if not stock:
        raise OutOfRange("A saw plan needs at least one kind of bar", do="give a bar length and a price")
    offered = sorted(stock, key=lambda bar: (-bar[0], bar[1], bar[2] if bar[2] is not None else math.inf))
    wanted = sorted(((length, count) for length, count in demand.items() if count > 0), reverse=True)
    bars = [
        Bar(
            length=_down(length_mm),
            room=_down(length_mm) - _up(trim_mm) - _up(tail_mm) + _up(kerf_mm),
            price=round(price * PRICE_STEPS),
            most_bars=most_bars,
        )
        for length_mm, price, most_bars in offered
    ]
    order = Order(
        sizes=tuple(_up(length) + _up(kerf_mm) for length, _ in wanted),
        counts=tuple(count for _, count in wanted),
        kerf=_up(kerf_mm),
        trim=_up(trim_mm),
    )
    if not wanted:
        return _cannot("nothing is asked for")
    longest = max(bar.room for bar in bars)
    too_long = [length for (length, _), size in zip(wanted, order.sizes, strict=True) if size > longest]
    if too_long:
        return _cannot(f"no bar is long enough for pieces of {', '.join(f'{length:g} mm' for length in too_long)}")
    choice = least_cost(bars, order, work_limit)
    if choice is None:
        return _cannot(_why_none(bars, order))
    sawing = fewest_strokes(bars, order, choice, bundle_max, strokes_share * work_limit)
    return _told(offered, bars, order, [length for length, _ in wanted], sawing, choice.bound)


def _told(
    offered: Sequence[tuple[float, float, int | None]],
    bars: Sequence[Bar],
    order: Order,
    lengths: Sequence[float],
    sawing: Sawing,
    bound: int,
) -> BarPlan:
    """The plan in mm, money and counts."""
    rows = sorted(sawing.rows, key=lambda row: (row[0], -row[1], tuple(-n for n in row[2])))
    bundles = tuple(
        Bundle(
            stock_length_mm=offered[at][0],
            bars_count=side,
            bundles_count=times,
            pieces=tuple((length, n) for length, n in zip(lengths, pattern, strict=True) if n),
            leftover_mm=leftover_of(pattern, bars[at], order) / STEPS_PER_MM,
            strokes_count=strokes_of(pattern, bars[at], order),
        )
        for at, side, pattern, times in rows
    )
    taken = [sum(side * times for a, side, _, times in rows if a == at) for at in range(len(bars))]
    cost = sum(bar.price * count for bar, count in zip(bars, taken, strict=True))
    made = [sum(side * times * pattern[i] for _, side, pattern, times in rows) for i in range(len(lengths))]
    return BarPlan(
        status="proved" if cost <= bound else "not proved",
        reason="",
        bundles=bundles,
        bars=tuple((offered[at][0], count) for at, count in enumerate(taken) if count),
        bars_count=sum(taken),
        cost=cost / PRICE_STEPS,
        lower_bound=min(bound, cost) / PRICE_STEPS,
        gap_ratio=max(0, cost - bound) / cost if cost else 0.0,
        saw_strokes_count=sawing.strokes,
        strokes_bound_count=sawing.bound,
        strokes_status="proved" if sawing.strokes <= sawing.bound else "not proved",
        produced=tuple(zip(lengths, made, strict=True)),
    )


def _why_none(bars: Sequence[Bar], order: Order) -> str:
    """Whether there is too little metal, or merely no plan in sight."""
    need = sum(size * count for size, count in zip(order.sizes, order.counts, strict=True))
    there = sum(max(0, bar.room) * (bar.most_bars or 0) for bar in bars)
    if there < need:
        return f"the bars on offer are too few: {there / need:.0%} of the metal that the pieces need"
    return "no plan found: the bars on offer may be too few"


def _cannot(reason: str) -> BarPlan:
    return BarPlan(
        status="cannot",
        reason=reason,
        bundles=(),
        bars=(),
        bars_count=0,
        cost=0.0,
        lower_bound=0.0,
        gap_ratio=0.0,
        saw_strokes_count=0,
        strokes_bound_count=0,
        strokes_status="cannot",
        produced=(),
    )


def _up(length_mm: float) -> int:
    return math.ceil(length_mm * STEPS_PER_MM - 1e-6)


def _down(length_mm: float) -> int:
    return math.floor(length_mm * STEPS_PER_MM + 1e-6)
