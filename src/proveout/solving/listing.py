"""Every filling of a bar that a plan of some cost could hold, by what the relaxation's duals say of it."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.solving.bars import Bar, Key, Order
from proveout.solving.columns import Duals
from proveout.solving.patterns import TooManyPatternsError

MOST_STEPS = 1_000_000


def worthwhile(bars: Sequence[Bar], order: Order, duals: Duals, most_cost: int | None, limit: int) -> list[Key]:
    """Full fillings whose bar costs more than they are worth by no more than a plan of `most_cost` can waste.

    A plan costs at least the duals' total and, for each of its bars, what price and charge exceed the worth of its
    pieces; so a filling that exceeds it by more than most_cost less the total is in no such plan.  most_cost: None
    lists every full filling.

    Raises:   TooManyPatternsError beyond `limit` fillings, or where looking for them takes too long.
    """
    steps = [MOST_STEPS]
    found: list[Key] = []
    for at, bar in enumerate(bars):
        if bar.most_bars == 0:
            continue
        least = None
        if most_cost is not None:
            least = bar.price * duals.scale + duals.charges[at] - (most_cost * duals.scale - duals.total)
        _fill(at, bar, order, duals.worth, least, limit, steps, found)
    return found


def _fill(at: int, bar: Bar, order: Order, worth: Sequence[int], least: int | None, limit: int, steps: list[int],
          found: list[Key]) -> None:  # fmt: skip
    """Fillings of one kind of bar that are worth at least `least`, full as far as the counts go."""
    sizes, most = order.sizes, order.counts
    last = len(sizes) - 1
    density = [0.0] * (len(sizes) + 1)  # the most worth that a step of room can still get
    for index in range(last, -1, -1):
        density[index] = max(density[index + 1], worth[index] / sizes[index] if most[index] else 0.0)

    def go(index: int, room: int, value: int, taken: tuple[int, ...]) -> None:
        steps[0] -= 1
        if steps[0] < 0:
            raise TooManyPatternsError
        if least is not None and value + density[index] * room < least * (1.0 - 1e-9) - 1.0:
            return
        if index > last:
            if any(taken) and all(n >= m or s > room for n, m, s in zip(taken, most, sizes, strict=True)):
                found.append((at, taken))
                if len(found) > limit:
                    raise TooManyPatternsError
            return
        for count in range(min(most[index], room // sizes[index]), -1, -1):
            go(index + 1, room - count * sizes[index], value + count * worth[index], (*taken, count))

    go(0, bar.room, 0, ())
