"""Trial blanks: the first pieces, each through every clamping, gauged before the next is clamped, none delivered."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from proveout.model.fact import Fact
from proveout.model.minute_factors import minute_kind
from proveout.model.plan import TimeLine
from proveout.model.shop import Bench
from proveout.stages.timing.cycle import Cycle
from proveout.stages.timing.timed import timed

SOURCE = "own-algorithm: minutes of a piece x trial blanks; at best all within those of proving out"


def trial_lines(
    cycles: Sequence[Cycle], *, bench: Bench, trial_count: int, fact_of: Callable[[float], Fact]
) -> list[TimeLine]:  # fmt: skip
    """Minutes that trial blanks take at the machines, beside those of proving out; none where none is sawn.

    Each clamping runs on each of them alone, loaded by hand; a machine waits while a piece that it ends is gauged and
    its edges are broken. They are neither blasted nor coated nor packed.   fact_of: a cycle's seconds with their ends.
    """
    if not trial_count or not cycles:
        return []
    many = f"{trial_count} trial blank{'s' if trial_count > 1 else ''}"
    lines = [
        _line(cycle, f"{many}, cut and loaded by hand", trial_count, *_cut_alone(cycle, fact_of),
              *(timed(cycle.machine, one, "loading") for one in (bench.load_s, bench.blow_off_s)))
        for cycle in cycles
    ]  # fmt: skip
    looked = "gauged, edges broken by hand, while the machine waits"
    return [*lines, _line(cycles[-1], f"{many}, {looked}", trial_count, bench.gauging_s, bench.deburr_s)]


def _cut_alone(cycle: Cycle, fact_of: Callable[[float], Fact]) -> list[Fact]:
    """Times of one piece, with the cutter changes of a cycle of its own: no less than its share of a full table."""
    cut_s = sum(one.seconds for one in cycle.passes)
    changes_s = cycle.cutter_changes_count * cycle.machine.cutter_change_s
    beside_s = max(cycle.seconds - cut_s, changes_s + cycle.tilt_s)
    cut = [timed(cycle.machine, fact_of(one.seconds), minute_kind(one.work.kind)) for one in cycle.passes]
    return [*cut, timed(cycle.machine, fact_of(beside_s), "changes")]


def _line(cycle: Cycle, text: str, count: int, *each: Fact) -> TimeLine:
    """So many pieces of what each takes; nothing at best, where proving out is said to hold them."""
    seconds = Fact(
        low=0.0, nominal=round(count * sum(f.nominal for f in each), 6),
        high=round(count * sum(f.high for f in each), 6), unit="s", source=SOURCE, strength="assumed",
    )  # fmt: skip
    return TimeLine(
        station=cycle.machine.id, text=f"{cycle.clamping.id}: {text}", per="design", seconds=seconds, cause="once"
    )
