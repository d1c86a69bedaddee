"""Minutes of making jaws for one part: as their own passes take, where these are planned, else as the owner wrote."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from proveout.model.fact import Fact
from proveout.model.plan import TimeLine
from proveout.model.shop import Jaws
from proveout.stages.timing.cycle import Cycle
from proveout.stages.timing.timed import stated, timed


def jaw_lines(
    cycles: list[Cycle], jaws: Mapping[str, Jaws], pockets_s: Mapping[str, float], fact_of: Callable[[float], Fact]
) -> list[TimeLine]:
    """A line or two for each clamping whose jaws are made for the part, and each says where it is from.

    pockets_s: what the passes of a clamping's pocket take once.  With it the owner's minutes are those of getting the
    pair ready, which no pass does, and come on top: he may have meant the cutting too, so that the sum is rather too
    long than too short.  A pocket is mostly cleared: the machine's own factor is that of roughing.
    """
    lines: list[TimeLine] = []
    for cycle in cycles:
        clamping = cycle.clamping
        pair, pocket_s = jaws.get(clamping.jaws_id), pockets_s.get(clamping.id)
        if pair is None:
            continue
        count = 1 if cycle.shared is None else cycle.shared.places_count
        what = f"{f'{count} pairs' if count > 1 else 'a pair'} of {pair.id}"
        if pocket_s is not None:
            cut = timed(cycle.machine, fact_of(pocket_s * count), "roughing")
            lines.append(_line(cycle, f"cut the pocket of {what}, by its own passes", cut))
        if pair.make_s > 0.0:
            words = "machine {}, by the shop file" if pocket_s is None else "get {} ready to be cut, by the shop file"
            lines.append(_line(cycle, words.format(what), stated(pair.make_s * count)))
    return lines


def _line(cycle: Cycle, words: str, seconds: Fact) -> TimeLine:
    return TimeLine(
        station=cycle.machine.id, text=f"{cycle.clamping.id}: {words}", per="design", seconds=seconds, cause="once"
    )  # fmt: skip
