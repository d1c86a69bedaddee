"""What batches are found to tell of a shop's numbers: proposals, and what was too little to make one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proveout.learning.factors import Learned
from proveout.learning.naming import NAMED_RATIO
from proveout.model.close_out import CloseOut
from proveout.model.learned import Key, Proposal

CAUTIONED_WORDS = (
    f"of lessons in which nothing is amiss at most {100.0 * NAMED_RATIO:.0f} in 100 bring any such caution"
)
FEWEST_BATCHES = 3
"""Batches below which nothing is proposed (our own)."""
WIDENED = "; the interval is widened by it"

Done = Mapping[str, frozenset[str]]
"""Batches that a number as it is written rests on already, by the group of its key."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """Proposals, and what was too little to make one."""

    proposals: tuple[Proposal, ...]
    silent: tuple[str, ...]


def batches_words(batches: Sequence[str]) -> str:
    """The source of a number that batches told of."""
    if len(batches) <= 3:
        return f"batches {', '.join(batches)} of this shop"
    return f"batches {batches[0]} to {batches[-1]} of this shop, {len(batches)} of them"


def fresh(closed: Sequence[CloseOut], done: Done, key: Key) -> list[CloseOut]:
    """Batches that what is written does not rest on yet."""
    return [one for one in closed if one.batch not in done.get(key.group, frozenset())]


def rounded(value: float) -> float:
    """Four figures: more would tell of nothing that batches show."""
    return 0.0 if value == 0.0 else round(value, 3 - math.floor(math.log10(abs(value))))


def cautions(told: Learned, at: int, batches: Sequence[str], *, what: str) -> tuple[str, ...]:
    """What the owner should look at before a factor is taken over. what: the factor's short name."""
    said: list[str] = []
    if at in told.conflicts:
        said.append(f"{what}: contradicts what was written{WIDENED if told.is_widened else ''}")
    own = [name for name in told.odd if name.split(",")[0] in batches]
    if own:
        said.append(f"far from all others, cut off: {'; '.join(own)}")
    said += [
        f"{first} to {last} all lie to one side: was the clock, a count or the machine changed?"
        for first, last in told.runs
    ]
    return tuple(said)
