"""How long pieces took at the steps of a batch, from the moments at which they were counted.

Between two counts at a step, less what it stood still, lies the time of the pieces of the second count. The first
stretch from the start holds the set-up too. A night or a break that nobody wrote down makes a stretch long: what takes
far longer than most is left out and told. Pieces counted far sooner than they can be made were made before: they belong
to the stretch before, and tell nothing where there is none.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable
from datetime import datetime

import msgspec

from proveout.model.batch_events import Counted, Done, Packed, Resumed, Started, Stopped
from proveout.model.events import Corrected, Event, Stating
from proveout.model.stock_events import Sawn

LONG_RATIO = 3.0
"""Times the middle stretch's seconds a piece beyond which one is left out (our own)."""
FEW_NOISE = 0.10
"""Of the logarithm, where one stretch alone says how long pieces took (our own)."""


Told = tuple[tuple[Event, Stating], ...]
"""Events, each with what it says as it stands corrected."""


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """From one count to the next. is_first: it began with the start of the step."""

    seconds: float
    pieces_count: int
    is_first: bool


class PieceTime(msgspec.Struct, frozen=True, kw_only=True):
    """Seconds a piece. noise: standard deviation of the logarithm of their mean.   setup_s: before the first piece.

    each_s is None where no stretch tells it.   afterwards_count: counts far too soon after the one before.
    """

    each_s: float | None
    noise: float
    setup_s: float | None
    taps_count: int
    left_out_count: int
    afterwards_count: int = 0


def standing_events(events: Iterable[tuple[int, Event]]) -> Told:
    """Events as they stand corrected, in their order, corrections themselves left out."""
    rows = list(events)
    instead: dict[str, Stating | None] = {
        event.of.event_id: event.of.instead for _, event in rows if isinstance(event.of, Corrected)
    }
    found: list[tuple[Event, Stating]] = []
    for _, event in rows:
        if isinstance(event.of, Corrected):
            continue
        of = instead.get(event.id, event.of)
        if of is not None:
            found.append((event, of))
    return tuple(found)


def stretches(
    events: Iterable[tuple[Event, Stating]], step: str, *, ends_first_way: bool = False
) -> tuple[Stretch, ...]:  # fmt: skip
    """The stretches of one step; one that ends before it began, by clocks that disagree, is none.

    ends_first_way: piece one ends its way through all clampings here, so that the machine then waits for the others to
    go on: that wait is in no stretch.
    """
    found: list[Stretch] = []
    since: datetime | None = None
    busy_s, is_first, waits = 0.0, True, ends_first_way
    for event, of in events:
        if getattr(of, "step", "") != step:
            continue
        if isinstance(of, Started | Resumed):
            since = event.at
        elif isinstance(of, Stopped | Done):
            busy_s += _between_s(since, event.at)
            since = None
        elif (pieces := _pieces(of)) > 0:
            seconds = busy_s + _between_s(since, event.at)
            if seconds > 0.0:
                found.append(Stretch(seconds=seconds, pieces_count=pieces, is_first=is_first))
            since, busy_s, is_first = event.at, 0.0, False
            if waits and isinstance(of, Counted) and of.good_count:
                since, waits = None, False
    return tuple(found)


def _between_s(since: datetime | None, until: datetime) -> float:
    return 0.0 if since is None else (until - since).total_seconds()


def _pieces(of: Stating) -> int:
    if isinstance(of, Counted | Sawn):
        return of.pieces_count
    return of.count if isinstance(of, Packed) else 0


def piece_time(found: Iterable[Stretch], *, has_setup: bool, soonest_s: float = 0.0) -> PieceTime:
    """Seconds a piece from stretches. has_setup: the first one holds a set-up, and says nothing of pieces alone.

    soonest_s: a piece; a count that comes sooner was written afterwards.
    """
    told = list(found)
    every = _with_afterwards(told, soonest_s)
    later = [one for one in every if not (has_setup and one.is_first)]
    if not later:
        return PieceTime(each_s=None, noise=0.0, setup_s=None, taps_count=len(told), left_out_count=0,
                         afterwards_count=len(told) - len(every))  # fmt: skip
    each = [one.seconds / one.pieces_count for one in later]
    middle = statistics.median_low(each)  # what was not written only lengthens
    kept = [one for one, seconds in zip(later, each, strict=True) if seconds <= LONG_RATIO * middle]
    pieces = sum(one.pieces_count for one in kept)
    each_s = sum(one.seconds for one in kept) / pieces
    logs = [math.log(one.seconds / one.pieces_count) for one in kept]
    noise = statistics.stdev(logs) / math.sqrt(len(logs)) if len(logs) > 2 else FEW_NOISE / math.sqrt(len(logs))
    first = next((one for one in every if one.is_first), None)
    setup = None
    if has_setup and first is not None:
        setup = max(0.0, first.seconds - first.pieces_count * each_s)
    return PieceTime(
        each_s=each_s,
        noise=noise,
        setup_s=setup,
        taps_count=len(told),
        left_out_count=len(later) - len(kept),
        afterwards_count=len(told) - len(every),
    )


def _with_afterwards(told: list[Stretch], soonest_s: float) -> list[Stretch]:
    """Counts that were written afterwards put to the stretch in which their pieces were made; without one they go."""
    found: list[Stretch] = []
    for one in told:
        if one.seconds >= soonest_s * one.pieces_count:
            found.append(one)
        elif found:
            last = found[-1]
            found[-1] = Stretch(seconds=last.seconds + one.seconds, is_first=last.is_first,
                                pieces_count=last.pieces_count + one.pieces_count)  # fmt: skip
    return found
