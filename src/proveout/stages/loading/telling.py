"""Wrong loads that look alike, as the pictures of a card, with what to look for in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.model.loading import Look, WrongLoad
from proveout.stages.loading.looks import SEEN_MM
from proveout.stages.loading.naming import side_up


def looks_of(loads: Sequence[WrongLoad]) -> tuple[Look, ...]:
    """Groups of wrong loads, those that are hardest to tell first, left-hand pieces last.

    Of one kind of body those with the same side up look alike; with its own top up each way round stands alone.
    """
    groups: dict[tuple[str, str, str], list[int]] = {}
    for at, load in enumerate(loads):
        up = side_up(np.array(load.pose.turn)) or "a slanted side"
        groups.setdefault((load.what, load.part, load.way if up == "top" else up), []).append(at)
    found = []
    for (what, part, kind), members in groups.items():
        members.sort(key=lambda at: (loads[at].seen_mm, loads[at].way))
        hardest = loads[members[0]]
        body = f"{what} {part}".strip()
        shown = kind if kind == hardest.way or len(members) > 1 else hardest.way
        shown = shown if kind == hardest.way or len(members) == 1 else f"{shown} up"
        found.append(
            (
                hardest.is_mirrored,
                hardest.seen_mm,
                Look(loads=tuple(members), title=f"{body}, {shown}", words=_words(hardest)),
            )
        )
    found.sort(key=lambda one: (one[0], one[1], one[2].title))
    return tuple(look for _, _, look in found)


def _words(load: WrongLoad) -> str:
    if load.caught_by == "none":
        return f"NOTHING TELLS IT: what looks different is {load.seen_mm:.1f} mm wide at most"
    if load.caught_by == "mark":
        return "nothing but the mark tells it: no mark in its place, do not clamp"
    if load.seen_mm < SEEN_MM:
        return f"you cannot see it ({load.seen_mm:.1f} mm); the touch tells it"
    return f"look {load.place}: {load.seen_mm:.0f} mm of it look different"
