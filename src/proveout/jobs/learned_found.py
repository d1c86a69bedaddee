"""What batches are found to tell of a shop's numbers: proposals, and what was too little to make one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proveout.model.learned import Proposal

FEWEST_BATCHES = 3
"""Batches below which nothing is proposed (our own)."""

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
