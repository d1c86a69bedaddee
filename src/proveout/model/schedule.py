"""When the work of an order is done: the keys under `load.schedule` in order.json.

Moments are seconds of working time from the first minute of the first day; the shift of one day follows at once on that
of the day before. Dates are ISO 8601.
"""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.shop import Noun

StepKind = Literal["programming", "saw", "prepare", "machine", "bench", "blast", "away", "kit"]


def after_shift_begins(into_shift: str, *, day: str = "") -> str:
    """How every page and paper writes a time after the shift begins, which is no time of a clock: "+h:mm".

    day: before it, where the time stands alone. Both may be marked for print.
    """
    return f"{day} +{into_shift}".lstrip()


class ScheduledStep(Noun, frozen=True, kw_only=True):
    """One lot at one station, or a stay outside.

    id: part, operation and lot, the same in every schedule of the order.  parts: one, several that ride together.
    station: a machine, "saw", "bench", "cabinet" or the finisher's id.  lot: from 1 on, 0 for the whole.
    setup_s: setting up right before begin_s.  people_ratio: share of one person that it takes.
    day, end_day: dates on which it begins and ends.  into_shift: hours and minutes into that day's shift.
    """

    id: str
    kind: StepKind
    parts: tuple[str, ...]
    what: str
    station: str
    lot: int
    pieces_count: int
    begin_s: float
    end_s: float
    setup_s: float
    people_ratio: float
    day: str
    end_day: str
    into_shift: str


class Promise(Noun, frozen=True, kw_only=True):
    """The day on which the order is done, as often as it came out in drawn cases.

    on_time_ratio: share of cases in which every part is done by its own date, None without one.
    half_day, most_day, nearly_all_day: by which
    half, 80 % and 95 % of the cases are done.  Drawn are minutes of machines, of people and of set-ups with the
    saw, scrap, days outside and days until bars are there.
    """

    draws_count: int
    seed: int
    on_time_ratio: float | None
    half_day: str
    most_day: str
    nearly_all_day: str


class PartDate(Noun, frozen=True, kw_only=True):
    """One part of the order against its own date.

    late_days, late_days_worst: working days past it as scheduled and at the worst ends, below 0 when early.
    on_time_ratio: share of the drawn cases in which it is done by then.  most_day: by which 80 % of the cases are.
    """

    part: str
    due: str
    done: str
    done_worst: str
    late_days: float
    late_days_worst: float
    on_time_ratio: float
    most_day: str


class RhythmStep(Noun, frozen=True, kw_only=True):
    """What one person does, in order. begin_s: into the shift."""

    person: int
    begin_s: float
    end_s: float
    what: str
    station: str
    part: str
    into_shift: str


class LeftAlone(Noun, frozen=True, kw_only=True):
    """How long a machine can be left once it is loaded, and what stops it.

    run_s: of the one cycle that is loaded, at its shortest.  pieces_count: that lie in it.
    edge: cutter that is used up first, empty where no life is known;  edge_pieces_count: whole pieces it still makes.
    """

    machine_id: str
    part: str
    clamping_ids: tuple[str, ...]
    pieces_count: int
    run_s: float
    stops: str
    edge: str = ""
    edge_pieces_count: int | None = None


class DayRhythm(Noun, frozen=True, kw_only=True):
    """The first day on which most machines run: who does what, how long machines wait for a hand.

    idle_s: by machine, how long it stood at the end of a cycle.
    """

    day: str
    steps: tuple[RhythmStep, ...]
    left_alone: tuple[LeftAlone, ...]
    idle_s: dict[str, float]
    pieces_count: dict[str, int]


class Trouble(Noun, frozen=True, kw_only=True):
    """What happened, as known on the morning of a working day.

    down_days: working days that each machine stands from then on.  late_days: working days that each finisher keeps
    longer what is there, or goes there next.  away_count, away_days: people who are not there, and for how long.
    """

    at: str
    down_days: dict[str, int] = {}
    late_days: dict[str, int] = {}
    away_count: int = 0
    away_days: int = 0


class MovedStep(Noun, frozen=True, kw_only=True):
    """A step that begins at another time than before. what: as people call it.  by_s: later, below 0 sooner."""

    id: str
    what: str
    station: str
    was_day: str
    was_into_shift: str
    day: str
    into_shift: str
    by_s: float
    why: str


class LongerStep(Noun, frozen=True, kw_only=True):
    """A step that trouble makes longer by so many seconds of work time, begun or not."""

    id: str
    what: str
    station: str
    was_end_day: str
    end_day: str
    by_s: float
    why: str


class Replanned(Noun, frozen=True, kw_only=True):
    """The schedule after some trouble, with as little moved as can be.

    late_days: of the part that is worst against its own date, which late_part names.
    moved_s, bound_s: seconds moved in sum, and the sum that nothing beats among schedules that are done as early.
    faults: as in OrderSchedule, stretched lots and stays taken for what they are.
    """

    trouble: Trouble
    steps: tuple[ScheduledStep, ...]
    moved: tuple[MovedStep, ...]
    was_done: str
    done: str
    late_days: float | None
    moved_s: float
    bound_s: float
    gap_ratio: float
    status: Literal["proved", "not proved"]
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    late_part: str = ""
    longer: tuple[LongerStep, ...] = ()


class OrderSchedule(Noun, frozen=True, kw_only=True):
    """The work of an order, step by step, at nominal values.

    done: day on which the last piece is boxed.  done_bound: even at the best ends no schedule in these lots, as dealt
    to people, is done earlier;  done_worst: the same sequence at the worst ends.
    late_days: of the part that is worst against its own date, from the bound over the schedule to the worst ends.
    gap_ratio, status: of the schedule's length against the bound at nominal values; where parts have dates of their
    own it is not the length that was aimed at.  parts: each that has a date.  late_part: which of them is worst.
    late_bound_days: with several dates, at nominal values no schedule in these lots has its worst part less late.
    bottleneck: the station whose minutes, halved, bring the end nearest, with dates the worst part's; "none" where none
    does.  gains_s: by station, by how much.
    faults: what the schedule breaks, by a check that knows nothing of how it was made; empty when it can be kept.
    bars_taken_as_there: ids of bars to be bought for which nobody wrote the days that they take.
    unknown: what else nobody wrote, in words with what to write; with either the order is never said to fit its date.
    """

    steps: tuple[ScheduledStep, ...]
    done: str
    done_bound: str
    done_worst: str
    length_s: float
    bound_s: float
    gap_ratio: float
    status: Literal["proved", "not proved"]
    seed: int
    work_limit: float
    late_days: Fact | None
    bottleneck: str
    gains_s: dict[str, float]
    promise: Promise
    rhythm: DayRhythm | None
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    bars_taken_as_there: tuple[str, ...] = ()
    parts: tuple[PartDate, ...] = ()
    late_part: str = ""
    late_bound_days: float | None = None
    unknown: tuple[str, ...] = ()
