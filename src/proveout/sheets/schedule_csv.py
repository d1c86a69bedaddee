"""The work of an order and the rhythm of a day as tables."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.schedule import DayRhythm, OrderSchedule, Replanned
from proveout.sheets.csv_text import csv_text

STEP_HEAD = (
    "day", "into_shift", "end_day", "station", "parts", "kind", "what", "lot", "pieces_count", "begin_s", "end_s",
    "setup_s", "people_ratio",
)  # fmt: skip
MOVED_HEAD = ("id", "what", "station", "how", "was_day", "was_into_shift", "day", "into_shift", "by_s", "why")
RHYTHM_HEAD = ("day", "into_shift", "person", "station", "part", "what", "begin_s", "end_s")


def schedule_csv(schedule: OrderSchedule) -> str:
    """One row a step, in the order in which they begin; seconds of working time from the first minute on."""
    rows: list[Sequence[str | float]] = [STEP_HEAD]
    rows += [
        (
            s.day, s.into_shift, s.end_day, s.station, " + ".join(s.parts), s.kind, s.what, s.lot, s.pieces_count,
            s.begin_s, s.end_s, s.setup_s, s.people_ratio,
        )
        for s in schedule.steps
    ]  # fmt: skip
    return csv_text(rows)


def rhythm_csv(rhythm: DayRhythm) -> str:
    """One row for each thing that a person does, in the order in which they begin."""
    rows: list[Sequence[str | float]] = [RHYTHM_HEAD]
    rows += [
        (rhythm.day, s.into_shift, s.person, s.station, s.part, s.what, s.begin_s, s.end_s)
        for s in sorted(rhythm.steps, key=lambda s: (s.begin_s, s.person))
    ]
    return csv_text(rows)


def moved_csv(found: Replanned) -> str:
    """One row for each step that begins at another time, then one for each that only ends later."""
    rows: list[Sequence[str | float]] = [MOVED_HEAD]
    rows += [
        (m.id, m.what, m.station, "begins", m.was_day, m.was_into_shift, m.day, m.into_shift, m.by_s, m.why)
        for m in found.moved
    ]
    rows += [
        (m.id, m.what, m.station, "lasts", m.was_end_day, "", m.end_day, "", m.by_s, m.why) for m in found.longer
    ]  # fmt: skip
    return csv_text(rows)
