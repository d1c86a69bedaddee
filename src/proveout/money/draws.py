"""Money of a batch drawn many times over: amounts multiplied from causes, each cause drawn once for all it moves.

What rests on one cause is moved together: a slow machine is slow in every pass. With causes apart every amount draws
its own, as a sum of independent lines would; its band is narrower than the truth and stands here to be told beside it.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from proveout.money.spread import Array, Spread

COUNT = 20_000
SEED = 41
MOST_LOST = 0.95  # share of the pieces begun; beyond it nobody would go on

Per = Literal["piece", "lot", "design", "sold"]


@dataclass(frozen=True, kw_only=True)
class Amount:
    """Money of one line: scale times its factors, each of a cause.

    per: "piece" for each piece worked on, the lost ones too; "lot" once a batch; "design" once ever; "sold" for each
    good piece.   scale: a number, or how it goes with the good pieces of a batch.   beyond: money, before its factors,
    for pieces begun beyond the spares, of (good pieces of the batch, pieces beyond); None where they cost nothing here.
    """

    line: str
    per: Per
    scale: float | Callable[[int], float]
    factors: tuple[tuple[str, Spread], ...] = ()
    beyond: Callable[[int, int], float] | None = None

    def scale_at(self, quantity: int) -> float:
        """Its scale for a batch of so many good pieces."""
        return self.scale(quantity) if callable(self.scale) else self.scale


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """How draws are made.

    fixed: causes held at their likely value.   is_together: what has one cause moves together; else every amount alone.
    """

    count: int = COUNT
    seed: int = SEED
    fixed: frozenset[str] = frozenset()
    is_together: bool = True


def shares_of(name: str, drawing: Drawing) -> Array:
    """Evenly spread shares of 0..1 in an order of their own, the same whatever else is drawn beside them.

    Each of `count` equal steps holds one draw, so that mean and ends of a single cause come out nearly exact.
    """
    source = np.random.default_rng([drawing.seed, zlib.crc32(name.encode())])
    return (source.permutation(drawing.count) + source.random(drawing.count)) / drawing.count


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Money of a whole batch, drawn. lines: by line; lost: pieces that were no good before the last good one came."""

    quantity: int
    lines: Mapping[str, Array]
    lost: Array

    @property
    def total(self) -> Array:
        """Of the batch."""
        return np.sum(list(self.lines.values()), axis=0)

    @property
    def each(self) -> Array:
        """Of one good piece."""
        return self.total / self.quantity


@dataclass
class Drawn:
    """The amounts of one batch with their causes drawn once, to be laid out for any quantity.

    Args:     amounts: all of them, in order.   lost: of the pieces begun, as (cause, spread).   drawing: how.
              spares: begun beyond so many good ones and paid with them; lost pieces beyond those cost what the
              amounts say of pieces beyond. None: no end of spares.
    """

    amounts: tuple[Amount, ...]
    lost: tuple[str, Spread]
    drawing: Drawing
    scrap_line: str = "scrap"
    spares: Callable[[int], int] | None = None
    _factors: list[Array] = field(default_factory=list)
    _lost_ratio: Array = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        kept: dict[str, Array] = {}
        for place, amount in enumerate(self.amounts):
            made = np.ones(self.drawing.count)
            for cause, spread in amount.factors:
                made = made * self._values(cause, spread, place, kept)
            self._factors.append(made)
        ratio = self._values(*self.lost, -1, kept)
        self._lost_ratio = np.clip(ratio, 0.0, MOST_LOST)

    def _values(self, cause: str, spread: Spread, place: int, kept: dict[str, Array]) -> Array:
        if cause in self.drawing.fixed or spread.low == spread.high:
            return np.full(self.drawing.count, spread.likely)
        name = cause if self.drawing.is_together else f"{cause} {place}"
        if name not in kept:
            kept[name] = shares_of(name, self.drawing)
        return spread.at(kept[name])

    def lost_pieces(self, quantity: int) -> Array:
        """Pieces no good before the last of `quantity` good ones, each lost by the drawn share: a binomial count."""
        if not self._lost_ratio.any():
            return np.zeros(self.drawing.count)
        if self.lost[0] in self.drawing.fixed:  # a known share: its count is still by chance
            return self._chance(quantity, np.full(self.drawing.count, min(self.lost[1].likely, MOST_LOST)))
        return self._chance(quantity, self._lost_ratio)

    def _chance(self, quantity: int, ratio: Array) -> Array:
        source = np.random.default_rng([self.drawing.seed, zlib.crc32(b"lost pieces"), quantity])
        return source.negative_binomial(quantity, 1.0 - ratio).astype(np.float64)

    def at(self, quantity: int) -> Batch:
        """The batch of so many good pieces."""
        lines: dict[str, Array] = {}
        worked = np.zeros(self.drawing.count)
        for amount, factor in zip(self.amounts, self._factors, strict=True):
            money = factor * amount.scale_at(quantity)
            if amount.per == "piece":
                worked += money
            if amount.per in ("piece", "sold"):
                money = money * quantity
            lines[amount.line] = lines[amount.line] + money if amount.line in lines else money
        lost = self.lost_pieces(quantity)
        lines[self.scrap_line] = worked * lost + self._beyond(quantity, lost)
        return Batch(quantity=quantity, lines=lines, lost=lost)

    def _beyond(self, quantity: int, lost: Array) -> Array:
        """Money for the lost pieces that the spares do not cover, beside the work in them."""
        total = np.zeros(self.drawing.count)
        if self.spares is None:
            return total
        counts, places = np.unique(np.maximum(0.0, lost - self.spares(quantity)), return_inverse=True)
        if not counts.any():
            return total
        for amount, factor in zip(self.amounts, self._factors, strict=True):
            if amount.beyond is not None:
                money = np.array([amount.beyond(quantity, int(count)) if count else 0.0 for count in counts])
                total += factor * money[places]
        return total

    def means(self) -> tuple[list[float], float]:
        """Mean of the factors of every amount, and mean money lost for each good piece: exact over these draws.

        The money is of the work in the lost pieces; what those beyond the spares cost beside it is not in it.
        """
        worked = np.zeros(self.drawing.count)
        for amount, factor in zip(self.amounts, self._factors, strict=True):
            if amount.per == "piece":
                worked += factor * amount.scale_at(1)
        lost = worked * self._lost_ratio / (1.0 - self._lost_ratio)
        return [float(factor.mean()) for factor in self._factors], float(lost.mean())


def causes_of(amounts: Iterable[Amount]) -> tuple[str, ...]:
    """Causes that have a spread anywhere, by name."""
    return tuple(sorted({c for amount in amounts for c, spread in amount.factors if spread.low < spread.high}))
