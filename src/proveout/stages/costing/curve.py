"""Money of a piece against the quantity, with the places where it steps or bends."""

from __future__ import annotations

import math
from collections.abc import Callable

from proveout.model.cost_band import Cliff, CurvePoint, Range
from proveout.money.draws import Amount, Drawn
from proveout.stages.costing.outside import Lot
from proveout.stages.costing.steps import BarSteps

POINTS_COUNT = 28
REACH = 3.0  # the curve goes on to so many times the order
LEAST_REACH = 12
STEPS_MOST = 12  # more steps of bars are not drawn one by one
DONE_ONCE_SHARE = 0.1
CLIFFS_TOLD = 8


def reach_of(quantity: int) -> tuple[int, int]:
    """First and last quantity of the curve."""
    return max(1, quantity // 5), max(LEAST_REACH, math.ceil(REACH * quantity))


def cliffs_of(
    *, lots: tuple[Lot, ...], steps: BarSteps, begun: Callable[[int], int], quantity: int
) -> tuple[Cliff, ...]:
    """Every step of bars and every minimum charge reached, up to the end of the curve, by quantity."""
    first, last = reach_of(quantity)
    found: list[Cliff] = []
    if steps.has_bars:
        for count in range(first + 1, last + 1):
            jump = steps.new_bars(begun(count)) - steps.new_bars(begun(count - 1))
            if jump > 1e-9:
                found.append(Cliff(quantity=count, jump=round(jump, 4), text="more bars for one more piece"))
    for lot in lots:
        one = lot.finisher
        if one.price_each <= 0.0 or one.lot_minimum <= 0.0:
            continue
        reached = next((c for c in range(first, last + 1) if lot.short(begun(c)) <= 0.0), None)
        if reached is not None and reached > first:
            fewer = "fewer pieces cost more each" if lot.riders else "fewer pieces cost as much"
            text = f"the minimum charge of {one.id} is reached: {fewer} there"
            found.append(Cliff(quantity=reached, jump=0.0, text=text))
    return tuple(sorted(found, key=lambda cliff: (cliff.quantity, cliff.text)))


def quantities_of(*, cliffs: tuple[Cliff, ...], quantity: int) -> tuple[int, ...]:
    """Quantities that are drawn: evenly spread, the order's own, and both sides of steps and bends."""
    first, last = reach_of(quantity)
    wanted = {first, quantity, last}
    wanted |= {round(first + (last - first) * k / (POINTS_COUNT - 1)) for k in range(POINTS_COUNT)}
    largest = sorted(cliffs, key=lambda cliff: (-cliff.jump, abs(cliff.quantity - quantity), cliff.quantity))
    bends = [cliff for cliff in cliffs if cliff.jump == 0.0]
    for cliff in (*bends, *largest[:STEPS_MOST]):
        wanted |= {cliff.quantity - 1, cliff.quantity}
    return tuple(sorted(q for q in wanted if first <= q <= last))


def told_cliffs(cliffs: tuple[Cliff, ...], quantity: int) -> tuple[Cliff, ...]:
    """Those that the papers tell: every minimum charge, and of the bars the steps nearest the order."""
    bends = [cliff for cliff in cliffs if cliff.jump == 0.0]
    steps = sorted(
        (cliff for cliff in cliffs if cliff.jump > 0.0), key=lambda c: (abs(c.quantity - quantity), c.quantity)
    )
    return tuple(
        sorted([*bends, *steps[: max(0, CLIFFS_TOLD - len(bends))]], key=lambda cliff: (cliff.quantity, cliff.text))
    )


class Curve:
    """Bands of a piece by quantity, each drawn once."""

    def __init__(self, band: Callable[[int], Range]) -> None:
        self._band = band
        self._known: dict[int, Range] = {}

    def at(self, quantity: int) -> Range:
        """The band of a piece in a batch of so many."""
        if quantity not in self._known:
            self._known[quantity] = self._band(quantity)
        return self._known[quantity]

    def points(self, quantities: tuple[int, ...]) -> tuple[CurvePoint, ...]:
        """The curve."""
        return tuple(CurvePoint(quantity=q, each=self.at(q)) for q in quantities)

    def first_from(self, quantities: tuple[int, ...], holds: Callable[[Range], bool]) -> int | None:
        """The quantity from which on something holds at all that are drawn; between two of them by halving."""
        failing = [q for q in quantities if not holds(self.at(q))]
        if not failing:
            return quantities[0]
        after = [q for q in quantities if q > failing[-1]]
        if not after:
            return None
        low, high = failing[-1], after[0]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if holds(self.at(middle)) else (middle, high)
        return high


def even_share_quantity(amounts: tuple[Amount, ...], drawn: Drawn, quantity: int) -> int | None:
    """The least quantity at which at most a tenth of the money is for what is done once; None beyond the curve.

    What is done once: set-ups, programming, jaws, and of lots what does not grow with their pieces.
    """
    means, lost = drawn.means()
    last = reach_of(quantity)[1]
    for count in range(1, last + 1):
        grows = once = 0.0
        for amount, mean in zip(amounts, means, strict=True):
            if amount.per in ("piece", "sold"):
                grows += mean * amount.scale_at(count) * count
            elif amount.per == "design" or not callable(amount.scale):
                once += mean * amount.scale_at(count)
            else:
                # what grows with the pieces is told from the next tenth of them; the rest is there anyway
                more = max(1, count // 10)
                slope = max(0.0, (amount.scale_at(count + more) - amount.scale_at(count)) / more)
                grown = min(amount.scale_at(count), slope * count)
                grows += mean * grown
                once += mean * (amount.scale_at(count) - grown)
        grows += lost * count
        if once <= DONE_ONCE_SHARE * (once + grows):
            return count
    return None


def ticks_of(low: float, high: float, *, most_count: int) -> tuple[float, ...]:
    """Round numbers from low to high for an axis, at most so many."""
    span = max(high - low, 1e-9)
    step = 10.0 ** math.floor(math.log10(span / most_count))
    step = next(step * times for times in (1.0, 2.0, 5.0, 10.0, 20.0) if span / (step * times) <= most_count - 1)
    first = math.ceil(low / step - 1e-9)
    return tuple(round(step * k, 6) for k in range(first, math.floor(high / step + 1e-9) + 1))
