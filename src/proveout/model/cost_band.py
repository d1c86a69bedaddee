"""Money of a piece as a band: what widens it, how it goes with quantity, what a price leaves, how many to make."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact, Strength
from proveout.model.shop import Noun


class Range(Noun, frozen=True, kw_only=True):
    """A tenth of the draws lies below p10, half below p50, a tenth above p90."""

    p10: float
    p50: float
    p90: float

    @property
    def width(self) -> float:
        """From p10 to p90."""
        return self.p90 - self.p10


class LineBand(Noun, frozen=True, kw_only=True):
    """One line of the cost: money a piece; causes: what moves it, in words, empty where nothing written does."""

    text: str
    each: Range
    causes: tuple[str, ...]


class Cause(Noun, frozen=True, kw_only=True):
    """One thing that is not known exactly.

    low, likely, high: the widest of the numbers it moves, in `unit`; shape: how it is drawn.   known: band of a piece
    once it is known;  narrows_ratio: share of the band's width that then falls away.   measure: what would tell it.
    """

    id: str
    text: str
    low: float
    likely: float
    high: float
    unit: str
    shape: Literal["triangular", "uniform", "exact"]
    source: str
    strength: Strength
    known: Range
    narrows_ratio: float
    measure: str


class CurvePoint(Noun, frozen=True, kw_only=True):
    """A batch of so many good pieces: money a piece."""

    quantity: int
    each: Range


class Cliff(Noun, frozen=True, kw_only=True):
    """Where the curve has a step or a bend: at this quantity; jump: money of the batch more than one piece fewer."""

    quantity: int
    jump: float
    text: str


class ChannelBand(Noun, frozen=True, kw_only=True):
    """One way of selling: what is left of the price for a piece, and how surely it pays.

    net: price less fees;  loss_ratio: share of the draws in which money is lost;  even_quantity: from this many pieces
    on half of the draws leave something, sure_quantity: nine in ten; None where none of the curve's quantities does.
    floor_price: price that leaves the wanted margin at the dear end of the band, None where no margin is written.
    """

    channel: str
    fee_ratio: float
    fee_each: float
    price: float | None
    net: float | None
    left: Range | None
    loss_ratio: float | None
    even_quantity: int | None
    sure_quantity: int | None
    floor_price: float | None


class LotWay(Noun, frozen=True, kw_only=True):
    """The quantity of least money a year, with what it shares with other parts.

    closed_form: by the order quantity without cliffs.   flat_low, flat_high: from and to where a year costs at most
    `flat_ratio` more.   best_low, best_high: a tenth of the best quantities over demand and holding lies below, above.
    per_year: all money for the part in a year;  lots_per_year;  outlay: money that one lot ties up at once;
    lying: on average.
    """

    text: str
    quantity: int
    closed_form: float
    flat_low: int
    flat_high: int
    best_low: int
    best_high: int
    per_year: float
    lots_per_year: float
    each: float
    outlay: float
    lying: float


class LotChoice(Noun, frozen=True, kw_only=True):
    """How many to make at once. ways: as the order stands first.   order_per_year: a year at the order's quantity."""

    demand: Fact
    holding_ratio: Fact
    flat_ratio: float
    most_quantity: int
    ways: tuple[LotWay, ...]
    order_quantity: int
    order_per_year: float
    lot_charge: float


class Rider(Noun, frozen=True, kw_only=True):
    """Another part of the order in the coat's lot. pieces_count: all that are sent, with spares."""

    number: str
    pieces_count: int


class CostBand(Noun, frozen=True, kw_only=True):
    """The cost of a piece, drawn `draws_count` times from `seed`.

    apart: the same with every line drawn on its own; narrower than the truth.   widest: all causes, that which narrows
    most once known first.   not_spread: what has no spread written and counts as exact.
    spares_suffice: chance that the spares cover what is lost, at the worst and the best share lost.
    curve, cliffs: by quantity;  even_share_quantity: from here on at most a tenth of the money is for what is done
    once, None beyond the curve.   quantity_ticks, money_ticks: of the picture's axes.
    bought_saving: what making saves a piece against buying, None where no bought price is written.
    riders: what shares the coat's lot, and so its minimum, loading and freight, in every amount here.
    """

    draws_count: int
    seed: int
    each: Range
    apart: Range
    mean: float
    lines: tuple[LineBand, ...]
    widest: tuple[Cause, ...]
    not_spread: tuple[str, ...]
    spares_suffice: Fact
    lost: Range
    curve: tuple[CurvePoint, ...]
    cliffs: tuple[Cliff, ...]
    even_share_quantity: int | None
    quantity_ticks: tuple[int, ...]
    money_ticks: tuple[float, ...]
    channels: tuple[ChannelBand, ...]
    bought_saving: Range | None
    made_ratio: float | None
    lots: LotChoice | None
    riders: tuple[Rider, ...] = ()
