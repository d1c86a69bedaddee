"""Which proofs nobody can answer for in writing, because somebody can get hurt where they do not hold.

Told by a proof's id alone, `stage:where:what` or `stage/where/what`: what an event says of itself is not believed. A
name that a shop gave to a vise or a finisher may stand in an id; one that is called like a proof here makes that proof
one that nobody can waive, never the other way round.
"""

from __future__ import annotations

import re

NEVER_WORDS = "holding, a brake, a pivot, a rated speed, a strike or a way beyond the travel"
NEVER_STAGES = ("holding",)
NEVER_PARTS = frozenset(
    {
        "pivot", "rated speed",
        # how the work and the jaws stand, without which nothing holds it
        "opening", "jaws suit", "turning", "seat", "lift", "wall", "slug", "slab between the jaws",
        # strikes of cutter, shank, holder and head, and pieces that fly
        "jaws", "bodies", "idle vises", "idle bodies", "shank and holder", "rapid in metal", "rapid", "work",
        "above-seat", "clear at every tilt", "loose pieces",
        # a replay that is none, or does not agree with itself, tells of no strike
        "passes", "balance",
    }
)  # fmt: skip
NEVER_BEGINNINGS = ("moves ", "travel ", "all places ", "range of ", "spindle nose above ")
"""Ways beyond the travel, and the spindle's nose against what stands below it."""
OF_PROGRAM = ("gouge", "left over", "part")
"""Of a program only these may be waived: any other open one can make it strike, or leaves a strike unseen."""


def may_waive_by_name(id: str) -> bool:
    """Whether a named person may answer for a proof of this id that does not hold."""
    stage, *parts = re.split(r"[:/]", id)
    if stage in NEVER_STAGES:
        return False
    if stage == "program" and not (len(parts) == 2 and parts[1] in OF_PROGRAM):
        return False
    return not any(part in NEVER_PARTS or part.startswith(NEVER_BEGINNINGS) for part in parts)
