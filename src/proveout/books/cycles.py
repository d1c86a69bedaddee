"""Cycles of a machine, told from its stream: from the moment it runs a program to the moment it is done with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from msgspec.structs import replace

from proveout.model.machine_stream import Cycle, Gap, Observed, Stream, StreamPart

RUNS = ("ACTIVE",)
STANDS = ("INTERRUPTED", "FEED_HOLD", "OPTIONAL_STOP", "WAIT", "PROGRAM_OPTIONAL_STOP")
ENDS = ("READY", "STOPPED", "PROGRAM_STOPPED", "PROGRAM_COMPLETED")
KNOWN_RATIO = 0.9
"""Of the seconds that a cycle ran, in which the load must be known before its mean is told (our own)."""
COUNT_MOST, LOAD_MOST_PERCENT = 1e9, 500.0
"""Beyond them a counter or a load is no value (our own)."""


def joined(parts: Iterable[StreamPart], *, since: Stream | None = None) -> Stream:
    """Answers one after the other as one stream. What is told twice counts once; what was missed is a gap.

    since: what was seen before.
    """
    observed = list(since.observed) if since is not None else []
    gaps = list(since.gaps) if since is not None else []
    device = since.device if since is not None else ""
    instance, following = (since.instance, since.next) if since is not None else (0, 0)
    for part in parts:
        device = device or part.device
        if instance and part.instance != instance:
            gaps.append(Gap(after=max(0, following - 1), count=None, why="the machine's sender began anew"))
            following = 0
        elif instance and part.first > following:
            gaps.append(Gap(after=following - 1, count=part.first - following,
                            why="the buffer ran over before it was asked"))  # fmt: skip
        observed += [one for one in part.observed if one.sequence >= following]
        instance, following = part.instance, max(following, part.next)
    return Stream(device=device, observed=tuple(observed), gaps=tuple(gaps), next=following, instance=instance)


@dataclass
class _Open:
    """A cycle that goes on."""

    begun: datetime
    since: datetime
    is_running: bool
    program: str | None
    is_whole: bool
    count: int | None
    run_s: float = 0.0
    held_s: float = 0.0
    held_count: int = 0
    loads: list[tuple[float, float]] = field(default_factory=list)


class _Telling:
    """State of a machine while its stream is followed."""

    def __init__(self, gaps: Iterable[Gap]) -> None:
        self.gaps = sorted(gap.after for gap in gaps)
        self.state: str | None = None
        self.program: str | None = None
        self.count: int | None = None
        self.load: float | None = None
        self.open: _Open | None = None
        self.cycles: list[Cycle] = []
        self.counts_at_begin: list[int | None] = []

    def follow(self, one: Observed) -> None:
        """One observation more."""
        while self.gaps and self.gaps[0] < one.sequence:
            self.gaps.pop(0)
            self.state, self.load = None, None
            if self.open is not None:
                self.open.is_whole = False
        if one.what == "EXECUTION":
            self._execution(one)
        elif one.what == "PROGRAM":
            self.program = one.value
            if self.open is not None and self.open.run_s == 0.0 and self.open.since == one.at:
                self.open.program = one.value
        elif one.what == "PART_COUNT":
            self.count = _whole(one.value)
        elif one.what == "LOAD":
            self._passed(one.at)
            self.load = _share(one.value)

    def _execution(self, one: Observed) -> None:
        before, self.state = self.state, one.value
        self._passed(one.at)
        if one.value in RUNS:
            if self.open is None:
                self.open = _Open(begun=one.at, since=one.at, is_running=True, program=self.program,
                                  is_whole=before is not None, count=self.count)  # fmt: skip
            self.open.is_running = True
        elif self.open is None:
            return
        elif one.value in STANDS:
            self.open.held_count += self.open.is_running
            self.open.is_running = False
        elif one.value in ENDS:
            self._close(one.at)
        else:  # unavailable, or a word that the standard may get: what it does is not known
            self.open.is_whole = False
            self.open.is_running = False

    def _passed(self, at: datetime) -> None:
        """Time goes on to a moment: it ran or stood until then."""
        cycle = self.open
        if cycle is None:
            return
        seconds = max(0.0, (at - cycle.since).total_seconds())
        if cycle.is_running:
            cycle.run_s += seconds
            if self.load is not None:
                cycle.loads.append((seconds, self.load))
        else:
            cycle.held_s += seconds
        cycle.since = max(cycle.since, at)  # clocks within one machine may disagree a little

    def _close(self, at: datetime) -> None:
        cycle = self.open
        assert cycle is not None
        known = sum(seconds for seconds, _ in cycle.loads)
        load = None
        if cycle.run_s > 0.0 and known >= KNOWN_RATIO * cycle.run_s:
            load = sum(seconds * share for seconds, share in cycle.loads) / known
        self.cycles.append(
            Cycle(
                begun=cycle.begun, ended=at, run_s=cycle.run_s, held_s=cycle.held_s, held_count=cycle.held_count,
                program=cycle.program, pieces_count=None, load_ratio=load,
                is_whole=cycle.is_whole and cycle.run_s > 0.0,
            )
        )  # fmt: skip
        self.counts_at_begin.append(cycle.count)
        self.open = None


def cycles_of(stream: Stream) -> tuple[Cycle, ...]:
    """Every cycle that ended in the stream, in order; those that a gap or the unknown lies in are not whole.

    Pieces are the rise of the machine's own count from the begin of one cycle to the begin of the next.
    """
    telling = _Telling(stream.gaps)
    for one in stream.observed:
        telling.follow(one)
    begins = [*telling.counts_at_begin, telling.open.count if telling.open is not None else telling.count]
    return tuple(
        replace(cycle, pieces_count=_rise(begins[at], begins[at + 1])) for at, cycle in enumerate(telling.cycles)
    )


def _rise(before: int | None, after: int | None) -> int | None:
    """How far a count rose; None where either is not shown, or it was set back."""
    return None if before is None or after is None or after < before else after - before


def _whole(text: str | None) -> int | None:
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        return None
    return int(value) if value.is_integer() and 0 <= value <= COUNT_MOST else None


def _share(text: str | None) -> float | None:
    """A load in percent as a share."""
    try:
        value = float(text) if text is not None else -1.0
    except ValueError:
        return None
    return value / 100.0 if 0.0 <= value <= LOAD_MOST_PERCENT else None
