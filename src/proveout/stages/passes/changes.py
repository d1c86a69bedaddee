"""In which order cutters are called: as few changes as what must come before what allows."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

import msgspec

LOOKED_AT_MOST = 5000
"""Beyond so many states the cutter that can do most goes next."""


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Passes of one tilt, in the order in which they were laid.

    cutters: of each.   before: of each, as bits, which of the group come before it; never one that was laid after it.
    """

    cutters: tuple[str, ...]
    before: tuple[int, ...]

    @property
    def whole(self) -> int:
        """The bits of all."""
        return (1 << len(self.cutters)) - 1

    def open_to(self, done: int, cutter: str) -> list[int]:
        """What a cutter can do once some are done, all that follows by it alone included."""
        found: list[int] = []
        for k, name in enumerate(self.cutters):  # in the order laid, so that one sight is enough
            if name == cutter and not done >> k & 1 and not self.before[k] & ~done:
                found.append(k)
                done |= 1 << k
        return found

    def next_cutters(self, done: int) -> list[tuple[int, str]]:
        """The cutters that have something to do, each with the first of it."""
        first: dict[str, int] = {}
        for k, name in enumerate(self.cutters):
            if not done >> k & 1 and not self.before[k] & ~done:
                first.setdefault(name, k)
        return sorted((k, name) for name, k in first.items())

    def left_count(self, done: int) -> int:
        """How many different cutters are still wanted."""
        return len({name for k, name in enumerate(self.cutters) if not done >> k & 1})


def fewest_changes(groups: Sequence[Group]) -> list[list[list[int]]]:
    """The passes of each group in runs of one cutter each.

    Formula:  least number of changes from pass to pass through all groups in their order and from the last pass back
              to the first, as the next piece is begun with the cutter that is in the spindle. Once a cutter is called
              it does all it can: that costs no change and only lets more be done after it, so no order is lost by
              it. Best first by changes made and different cutters still wanted; of equals what was laid first.
    Args:     groups: of one clamping's tilts, none empty.
    Returns:  for each group its runs of places in it, each place once.
    Valid:    where more than LOOKED_AT_MOST states would have to be looked at, the cutter that can do most goes next,
              unless the order given has no more changes than that; neither is least then.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/passes/test_changes.py
    """
    if not groups:
        return []
    wanted = [len(set(group.cutters)) for group in groups]
    later = [sum(count - 1 for count in wanted[k + 1 :]) for k in range(len(groups))]
    waiting: list[tuple[int, tuple[tuple[int, int], ...], bool, tuple[str, ...], int, int]] = []
    for k, name in groups[0].next_cutters(0):
        at, done = _taken(groups, 0, 0, name)
        heapq.heappush(
            waiting, (groups[at].left_count(done) + later[at], ((0, k),), False, (name,), at, done)
        )  # fmt: skip
    seen: set[tuple[int, int, str, str]] = set()
    while waiting and len(seen) < LOOKED_AT_MOST:
        _, way, is_whole, called, at, done = heapq.heappop(waiting)
        if is_whole:
            return _runs(groups, called)
        state = (at, done, called[-1], called[0])
        if state in seen:
            continue
        seen.add(state)
        if done == groups[at].whole:  # the last group: back to the first cutter
            cost = len(called) - 1 + (called[-1] != called[0])
            heapq.heappush(waiting, (cost, way, True, called, at, done))
            continue
        for k, name in groups[at].next_cutters(done):
            then, made = _taken(groups, at, done, name)
            bound = len(called) + groups[then].left_count(made) + later[then]
            heapq.heappush(waiting, (bound, (*way, (at, k)), False, (*called, name), then, made))
    given = [k for group in groups for k in group.cutters]
    most = _most_first(groups)
    if _changes_count(most) < _changes_count(given):
        return _runs(groups, most)
    return [[[k] for k in range(len(group.cutters))] for group in groups]


def _changes_count(called: Sequence[str]) -> int:
    return sum(name != called[k - 1] for k, name in enumerate(called))


def _most_first(groups: Sequence[Group]) -> list[str]:
    """Cutters as they are called when always the one goes next that can do most."""
    called: list[str] = []
    at, done = 0, 0
    while done != groups[at].whole:
        named = groups[at].next_cutters(done)
        _, name = max(named, key=lambda pair: (len(groups[at].open_to(done, pair[1])), -pair[0]))
        called.append(name)
        at, done = _taken(groups, at, done, name)
    return called


def _taken(groups: Sequence[Group], at: int, done: int, cutter: str) -> tuple[int, int]:
    """Which group is at work, and what of it is done, once a cutter has done all it can."""
    while True:
        for k in groups[at].open_to(done, cutter):
            done |= 1 << k
        if done != groups[at].whole or at == len(groups) - 1:
            return at, done
        at, done = at + 1, 0


def _runs(groups: Sequence[Group], called: Sequence[str]) -> list[list[list[int]]]:
    """The runs of each group when cutters are called one after the other."""
    runs: list[list[list[int]]] = [[] for _ in groups]
    at, done = 0, 0
    for cutter in called:
        while True:
            own = groups[at].open_to(done, cutter)
            if own:
                runs[at].append(own)
            for k in own:
                done |= 1 << k
            if done != groups[at].whole or at == len(groups) - 1:
                break
            at, done = at + 1, 0
    return runs
