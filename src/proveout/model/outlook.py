"""The outlook on a part's cutting before any move is laid, and how wide its ends are."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.proof import Basis
from proveout.model.shop import Noun
from proveout.model.work import Pass

LOW_RATIO, HIGH_RATIO = 0.5, 2.0
"""Ends of every rough time, as shares of the nominal: the spread of our own plans about it, no other source."""


class ForeseenCut(Noun, frozen=True, kw_only=True):
    """One pass as foreseen: `work` has no moves yet, and its cut length is reckoned.  seconds: rough."""

    work: Pass
    seconds: Fact


class Outlook(Noun, frozen=True, kw_only=True):
    """Rough seconds before any move is laid, replaced by those of the plan.

    cuts: in the order in which they would be made.  cycle_s: machine running, by clamping id.  dear_faces: those with
    most seconds, in the words of the plan's own.  Both are empty until timing and costing have seen the cuts.
    """

    cuts: tuple[ForeseenCut, ...]
    basis: Basis
    cycle_s: dict[str, Fact] = {}
    dear_faces: tuple[str, ...] = ()


def rough_s(seconds: float) -> Fact:
    """Seconds with the ends of a rough look."""
    value = round(seconds, 3)
    return Fact(
        low=round(LOW_RATIO * value, 6), nominal=value, high=round(HIGH_RATIO * value, 6), unit="s",
        source="own-algorithm: rough, before any move is laid", strength="assumed",
    )  # fmt: skip
