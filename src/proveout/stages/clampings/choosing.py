"""The cheapest sequences of clampings with their tilts, proved among all that a caller names.

Knows nothing of metal: sets of items are whole numbers, a bit an item. A way is one clamping; its first look comes with
it, each further look (a tilt) costs extra. What a way needs must have been made by the ways before it.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

from proveout.quantities.errors import OutOfRange
from proveout.solving.set_cover import COST_STEP
from proveout.solving.set_cover import cover as set_cover

Rank = tuple[float, ...]
WAYS_MAX = 5
LEAVES_MAX = 6000
COST_SCALE = 1000.0


@dataclass(frozen=True)
class Look:
    """One cutter axis of a clamping: what it reaches, and what turning to it costs (0 or more)."""

    reached: int
    cost: float = 0.0


@dataclass(frozen=True)
class Way:
    """One clamping as a candidate. `sight` gives its looks when they are wanted; the first is always used.

    hope: all that it could reach at the very most, known before it looks.  needs: made before, else it cannot be held.
    thing: what the caller means by it.  ends: nothing need follow; a sequence whose last way does not end is ranked
    behind all that do.  penalty: ranks before cost, as where no bar fits.
    """

    thing: object
    cost: float
    sight: Callable[[], tuple[Look, ...]]
    hope: int
    needs: int = 0
    ends: bool = True
    penalty: float = 0.0

    @cached_property
    def looks(self) -> tuple[Look, ...]:
        """The cutter axes, the one that comes with it first."""
        return self.sight()

    @property
    def most(self) -> int:
        """All that it reaches with every look."""
        out = 0
        for look in self.looks:
            out |= look.reached
        return out


@dataclass(frozen=True)
class Found:
    """A sequence with the looks that it takes of each way, by index, and what it comes to."""

    ways: tuple[Way, ...]
    looks: tuple[tuple[int, ...], ...]
    lacking: float
    cost: float

    @property
    def rank(self) -> Rank:
        """What orders sequences: unfinished last, then what is not made, then penalty, then cost, then length."""
        penalty = sum(way.penalty for way in self.ways)
        return (0.0 if self.ways[-1].ends else 1.0, self.lacking, penalty, round(self.cost, 9), float(len(self.ways)))


@dataclass(frozen=True)
class Chosen:
    """The best sequences, best first.  proved: none that was not looked at can rank before the last of them.

    bound: where not proved, the least cost that one not looked at could have.  count: sequences worked out.
    """

    found: tuple[Found, ...]
    is_proved: bool
    bound: float
    count: int


def choose(
    first: Sequence[Way],
    after: Callable[[tuple[Way, ...]], Sequence[Way]],
    *,
    wanted: int,
    lacks: Callable[[int], float],
    still: Callable[[tuple[Way, ...]], int],
    parts: Sequence[int] = (),
    least_count: int = 1,
    same: Callable[[Found], object] = lambda found: found,
    kept: int = 3,
    ways_max: int = WAYS_MAX,
    leaves_max: int = LEAVES_MAX,
) -> Chosen:
    """The `kept` best sequences in order.

    Args:     after: ways that may follow a beginning.   wanted: items to be made; tilts are taken for no others.
              lacks: how much is not made of what should be, from what is
              reached; never more where more is reached.   still: what ways after a beginning might reach at the most.
              parts: the items by what they belong to (a face), () for one part.   least_count: items of one part that
              only the same looks reach are asked for from so many on; fewer are noise, unless something then lacks.
              same: what tells sequences apart; of those alike only the best is kept.
              leaves_max: sequences worked out at the most; beyond it nothing is proved.
    Method:   best first by a rank that no continuation can beat; each sequence's looks by the cheapest cover.
    """
    if kept < 1:
        raise OutOfRange("At least one sequence must be kept", value=str(kept))
    queue: list[tuple[Rank, int, tuple[Way, ...], Found | None]] = []
    count, number = 0, 0

    def offer(ways: tuple[Way, ...]) -> None:
        nonlocal number
        open_ended = len(ways) < ways_max
        most = still(ways) if open_ended else 0
        for way in ways:
            most |= way.hope
        rank: Rank = (
            0.0 if open_ended or ways[-1].ends else 1.0, lacks(most), sum(w.penalty for w in ways),
            round(sum(w.cost for w in ways), 9), float(len(ways)),
        )  # fmt: skip
        number += 1
        heapq.heappush(queue, (rank, number, ways, None))

    for way in first:
        offer((way,))
    done: list[Found] = []
    proved = True
    while queue and len(done) < kept:
        _, _, ways, found = heapq.heappop(queue)
        if found is not None:
            if same(found) not in [same(f) for f in done]:
                done.append(found)
            continue
        if count >= leaves_max:
            proved = False
            continue
        count += 1
        leaf = _worked_out(ways, wanted, lacks, tuple(parts), least_count)
        if leaf is not None:
            number += 1
            heapq.heappush(queue, (leaf.rank, number, ways, leaf))
        if len(ways) < ways_max:
            for way in after(ways):
                offer((*ways, way))
    bound = min((rank[3] for rank, _, _, _ in queue), default=max((f.cost for f in done), default=0.0))
    return Chosen(found=tuple(done), is_proved=proved, bound=bound, count=count)


def _worked_out(
    ways: tuple[Way, ...], wanted: int, lacks: Callable[[int], float], parts: tuple[int, ...], least_count: int
) -> Found | None:
    """The cheapest looks that reach all that this sequence can reach, each way's needs by the ways before it."""
    always, before = 0, 0
    demands: list[tuple[int, int]] = []  # items, and how many of the ways may serve
    for k, way in enumerate(ways):
        needed = way.needs & ~always
        if needed & ~before:
            return None
        demands.append((needed, k))
        always |= way.looks[0].reached
        before |= way.most
    demands.append((before & ~always & wanted, len(ways)))
    found = _with_looks(ways, _cheapest(ways, demands, parts, least_count), lacks)
    if least_count > 1 and found.lacking > lacks(before):
        found = _with_looks(ways, _cheapest(ways, demands, parts, 1), lacks)
    return found


def _cheapest(
    ways: tuple[Way, ...], demands: list[tuple[int, int]], parts: tuple[int, ...], least_count: int
) -> set[tuple[int, int]]:
    """(way, look) of the cheapest tilts that meet every demand."""
    looks = [(k, i, look) for k, way in enumerate(ways) for i, look in enumerate(way.looks) if i > 0]
    wanted: set[tuple[int, ...]] = set()
    for items, served in demands:
        allowed = [(n, look.reached) for n, (k, _, look) in enumerate(looks) if k < served]
        for part in parts or (items,):
            for group, holders in _split(items & part, allowed):
                if holders and group.bit_count() >= least_count:
                    wanted.add(holders)
    if not wanted:
        return set()
    order = sorted(wanted)
    sets = [frozenset(e for e, holders in enumerate(order) if n in holders) for n in range(len(looks))]
    # of looks that cost the same the earlier one; so small that no real difference is outweighed
    costs = [look.cost * COST_SCALE + COST_STEP * (1 + n) for n, (_, _, look) in enumerate(looks)]
    chosen = set_cover(sets=sets, costs=costs, universe=range(len(order))).chosen
    return {looks[n][:2] for n in chosen}


def _split(items: int, looks: Sequence[tuple[int, int]]) -> list[tuple[int, tuple[int, ...]]]:
    """The items by which of the looks reach them."""
    pieces: list[tuple[int, tuple[int, ...]]] = [(items, ())] if items else []
    for n, reached in looks:
        cut: list[tuple[int, tuple[int, ...]]] = []
        for piece, holders in pieces:
            inside = piece & reached
            if inside:
                cut.append((inside, (*holders, n)))
            if piece & ~reached:
                cut.append((piece & ~reached, holders))
        pieces = cut
    return pieces


def _with_looks(
    ways: tuple[Way, ...], chosen: set[tuple[int, int]], lacks: Callable[[int], float]
) -> Found:  # fmt: skip
    reached, cost = 0, 0.0
    taken: list[tuple[int, ...]] = []
    for k, way in enumerate(ways):
        used = [i for i in range(len(way.looks)) if i == 0 or (k, i) in chosen]
        taken.append(tuple(used))
        cost += way.cost + sum(way.looks[i].cost for i in used)
        for i in used:
            reached |= way.looks[i].reached
    return Found(ways=ways, looks=tuple(taken), lacking=lacks(reached), cost=round(cost, 9))
