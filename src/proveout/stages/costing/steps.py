"""How metal goes with the quantity: whole bars of least money, a staircase."""

from __future__ import annotations

import math
from collections.abc import Callable

from proveout.model.fact import Fact
from proveout.model.job import Order
from proveout.model.plan import BarsPlan
from proveout.model.shop import Bar, Saw
from proveout.model.work import Blank
from proveout.quantities.mass import bar_mass_kg
from proveout.solving.cutting_stock import pieces_per_bar_count


class BarSteps:
    """Money of metal by pieces begun.

    Exact for one cut length out of whole new bars: of every count the cheapest mixture of bar lengths. At the pieces of
    the plan it is the plan's own price, which is of bars bought too, whatever lies in the rack. Trial blanks are in it.
    """

    def __init__(
        self, *, bars_plan: BarsPlan, blank: Blank, bars: tuple[Bar, ...], saw: Saw, density_kg_per_mm3: float
    ) -> None:
        self._plan, self._blank = bars_plan, blank
        bar = next((b for b in bars if b.id == blank.bar_id), None)
        self._choices: list[tuple[int, float]] = []
        if bar is not None and bars_plan.status != "cannot":
            kg_per_mm = bar_mass_kg(
                width_mm=bar.width_mm, height_mm=bar.height_mm, length_mm=1.0, density_kg_per_mm3=density_kg_per_mm3
            )
            for length in sorted(set(bar.lengths_mm)):
                count = pieces_per_bar_count(
                    bar_length_mm=length, piece_length_mm=blank.cut_length_mm, kerf_mm=saw.kerf_mm,
                    trim_mm=saw.trim_mm, tail_mm=saw.tail_mm,
                )  # fmt: skip
                if count > 0:
                    self._choices.append((count, length * kg_per_mm * bar.price_per_kg))
        self._least = [0.0]

    def price(self, pieces_count: int) -> float:
        """Money for so many pieces begun."""
        if pieces_count == self._plan.pieces_count:
            return self._plan.price
        return self.bought_later(pieces_count + self._plan.trial_count)

    def new_bars(self, pieces_count: int) -> float:
        """The same, reckoned anew at the pieces of the plan too."""
        return self._whole_bars(pieces_count + self._plan.trial_count)

    def _whole_bars(self, pieces_count: int) -> float:
        """Least money of whole bars that give so many blanks."""
        while len(self._least) <= pieces_count:
            n = len(self._least)
            self._least.append(min(self._least[max(0, n - count)] + price for count, price in self._choices))
        return self._least[pieces_count]

    def bought_later(self, pieces_count: int) -> float:
        """Money for blanks that are wanted when the bars are sawn: whole bars again, as tails count as used up."""
        if not self._choices:
            return self._plan.price * pieces_count / max(1, self._plan.blanks_count)
        return self._whole_bars(pieces_count)

    @property
    def trial_count(self) -> int:
        """Blanks beside the pieces, once."""
        return self._plan.trial_count

    @property
    def has_bars(self) -> bool:
        """Whether whole bars are bought; else metal is paid by the piece."""
        return bool(self._choices)


def begun_of(order: Order, begun_count: int, scrap_ratio: Fact) -> Callable[[int], int]:
    """Pieces begun for so many good ones: the plan's count at the order's quantity, else the order's rule at any other.

    begun_count: pieces of the plan.  A number of spares that the owner fixed goes with the quantity, rounded up, but to
    no more than both it and the rule's.
    """

    def begun(quantity: int) -> int:
        if quantity == order.quantity:
            return begun_count
        spares = Order(quantity=quantity).spares(scrap_ratio)
        if order.spare_count is not None:
            in_step = math.ceil(order.spare_count * quantity / order.quantity - 1e-9)
            spares = min(in_step, max(order.spare_count, spares))
        return quantity + spares

    return begun
