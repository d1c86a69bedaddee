"""Which bars to take before asking what is sawn from each: sets with enough metal, cheapest first."""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence

from proveout.solving.bars import Bar, Order

MOST_NODES = 20_000


def sets_of_bars(bars: Sequence[Bar], order: Order) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Cost and count of each kind for sets with as much room as the pieces and their kerfs, cheapest first.

    No plan costs less than the first one.  Sets with a bar that their metal does not ask for are left out, though
    pieces that do not add up well may need one: nothing is said of costs between two sets of the list.  Where so many
    were looked at that the search is given up, the last one is a cost without counts: that of the cheapest not looked
    at.  Without enough metal there is no set.
    """
    need = sum(size * count for size, count in zip(order.sizes, order.counts, strict=True))
    kinds = sorted(
        (at for at, bar in enumerate(bars) if bar.room > 0 and bar.most_bars != 0),
        key=lambda at: (bars[at].price / bars[at].room, at),
    )
    least = _least(bars, kinds, need)
    waiting: list[tuple[int, int, tuple[int, ...]]] = [] if least is None else [(least, need, ())]
    looked_at = 0
    while waiting:
        cost, left, counts = heapq.heappop(waiting)
        looked_at += 1
        if looked_at > MOST_NODES:
            yield cost, ()
            return
        if left <= 0 or len(counts) == len(kinds):
            if left <= 0:
                whole = dict(zip(kinds, counts, strict=False))
                yield cost, tuple(whole.get(at, 0) for at in range(len(bars)))
            continue
        bar = bars[kinds[len(counts)]]
        rest = kinds[len(counts) + 1 :]
        spent = sum(n * bars[at].price for n, at in zip(counts, kinds, strict=False))
        enough = -(-left // bar.room)
        most = enough if bar.most_bars is None else min(enough, bar.most_bars)
        for count in range(most + 1):
            still = left - count * bar.room
            more = _least(bars, rest, still)
            if more is not None:
                heapq.heappush(waiting, (spent + count * bar.price + more, still, (*counts, count)))


def _least(bars: Sequence[Bar], kinds: Sequence[int], need: int) -> int | None:
    """Money that the rest of the metal costs at least, bars taken in parts; None when there is not enough of it.

    kinds: cheapest metal first.
    """
    money, left = 0, need
    for at in kinds:
        if left <= 0:
            break
        bar = bars[at]
        if bar.most_bars is None or bar.most_bars * bar.room >= left:
            return money + -(-left * bar.price // bar.room)
        money += bar.most_bars * bar.price
        left -= bar.most_bars * bar.room
    return money if left <= 0 else None
