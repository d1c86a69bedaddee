"""Made-up choices of clampings, and the best of each by going through every subset of clampings and tilts."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from proveout.stages.clampings.choosing import Chosen, Look, Rank, Way, choose

ITEMS_COUNT = 14
WAYS_MAX = 4


@dataclass(frozen=True)
class Instance:
    """First ways, later ways, and what is to be made as a mask of ITEMS_COUNT bits."""

    first: tuple[Way, ...]
    later: tuple[Way, ...]
    wanted: int

    @property
    def subsets_count(self) -> int:
        """How many orders of clampings with how many subsets of tilts there are."""
        total = 0
        for ways in self.orders():
            total += math.prod(2 ** (len(way.looks) - 1) for way in ways)
        return total

    def orders(self) -> list[tuple[Way, ...]]:
        """Every first way, alone or followed by later ones in every order."""
        out: list[tuple[Way, ...]] = []
        for first in self.first:
            for count in range(WAYS_MAX):
                out.extend((first, *rest) for rest in itertools.permutations(self.later, count))
        return out

    def lacks(self, reached: int) -> float:
        """Items wanted and not reached."""
        return float((self.wanted & ~reached).bit_count())

    def chosen(self, kept: int = 1) -> Chosen:
        """The answer of the choice."""

        def after(ways: tuple[Way, ...]) -> list[Way]:
            return [way for way in self.later if way not in ways]

        def still(ways: tuple[Way, ...]) -> int:
            out = 0
            for way in after(ways):
                out |= way.most
            return out

        return choose(
            self.first, after, wanted=self.wanted, lacks=self.lacks, still=still, kept=kept, ways_max=WAYS_MAX
        )

    def best(self) -> Rank:
        """The rank of the best by going through all."""
        ranks: list[Rank] = []
        for ways in self.orders():
            options = [
                [
                    (0, *extra)
                    for n in range(len(way.looks))
                    for extra in itertools.combinations(range(1, len(way.looks)), n)
                ]
                for way in ways
            ]
            for looks in itertools.product(*options):
                reached, cost, held = 0, 0.0, True
                for way, used in zip(ways, looks, strict=True):
                    held = held and way.needs & ~reached == 0
                    for i in used:
                        reached |= way.looks[i].reached
                        cost += way.looks[i].cost
                    cost += way.cost
                if held:
                    penalty = sum(way.penalty for way in ways)
                    ends = 0.0 if ways[-1].ends else 1.0
                    ranks.append((ends, self.lacks(reached), penalty, round(cost, 9), float(len(ways))))
        return min(ranks)


def way_of(thing: object, cost: float, looks: tuple[Look, ...], **more: Any) -> Way:
    """A way whose looks are known from the first."""
    hope = 0
    for look in looks:
        hope |= look.reached
    return Way(thing=thing, cost=cost, sight=lambda: looks, hope=hope, **more)


def instance(seed: int, *, first: int, later: int, tilts: int) -> Instance:
    """A made-up choice: `first` ways to begin, `later` to follow, up to `tilts` tilts each; costs in hundredths."""
    rng = np.random.default_rng(seed)
    everything = (1 << ITEMS_COUNT) - 1

    def mask(share: float) -> int:
        return sum(1 << i for i in range(ITEMS_COUNT) if rng.random() < share)

    def way(number: int, *, is_first: bool) -> Way:
        looks = [Look(mask(0.35))]
        looks += [Look(mask(0.25), int(rng.integers(1, 61)) / 100.0) for _ in range(int(rng.integers(0, tilts + 1)))]
        return way_of(
            number, int(rng.integers(50, 401)) / 100.0, tuple(looks),
            needs=0 if is_first else mask(0.12), ends=not is_first, penalty=float(is_first and rng.random() < 0.3),
        )  # fmt: skip

    return Instance(
        first=tuple(way(k, is_first=True) for k in range(first)),
        later=tuple(way(100 + k, is_first=False) for k in range(later)), wanted=everything & ~mask(0.05),
    )  # fmt: skip
