"""What a machine's own stream tells, moment by moment, and the cycles in it."""

from __future__ import annotations

from datetime import datetime

from proveout.model.shop import Noun

UNAVAILABLE = "UNAVAILABLE"


class Observed(Noun, frozen=True, kw_only=True):
    """One observation. what: kind, as EXECUTION, PROGRAM, PART_COUNT, LOAD.   value: None where it is not shown.

    sequence: its number in the machine's buffer.   of: id of what was observed.
    """

    sequence: int
    at: datetime
    what: str
    of: str
    value: str | None


class StreamPart(Noun, frozen=True, kw_only=True):
    """One answer of a machine's sender. instance: another one means that its buffer began anew.

    first, last: oldest and newest number in the buffer;  next: to ask for next.   device: its name.
    """

    instance: int
    first: int
    last: int
    next: int
    device: str
    observed: tuple[Observed, ...]


class Gap(Noun, frozen=True, kw_only=True):
    """Observations that nobody will see. count: None where the buffer began anew, and nobody knows.   why: in words."""

    after: int
    count: int | None
    why: str


class Stream(Noun, frozen=True, kw_only=True):
    """All that was seen of one machine, in order, with its gaps."""

    device: str
    observed: tuple[Observed, ...]
    gaps: tuple[Gap, ...]
    next: int = 0
    instance: int = 0


class Cycle(Noun, frozen=True, kw_only=True):
    """One run of a program. run_s: while it was active;  held_s: while it stood between its ends.

    program: None where it is not shown.   pieces_count: by the machine's own count, None where it is not shown.
    load_ratio: mean load of the spindle while active, None likewise.   is_whole: begun and ended in what was seen, with
    no gap and nothing unknown within.
    """

    begun: datetime
    ended: datetime
    run_s: float
    held_s: float
    held_count: int
    program: str | None
    pieces_count: int | None
    load_ratio: float | None
    is_whole: bool
