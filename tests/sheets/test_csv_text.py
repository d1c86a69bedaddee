"""Rows as text that a spreadsheet takes as it stands."""

from __future__ import annotations

import csv
import io

from proveout.model.schedule import DayRhythm, RhythmStep
from proveout.sheets.csv_text import csv_text
from proveout.sheets.schedule_csv import rhythm_csv


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_no_word_becomes_a_formula_and_nothing_unknown_a_nought() -> None:
    written = read(csv_text([("a", "b"), ("=1+1", None), ("x, y", -2.5)]))
    assert written == [["a", "b"], ["'=1+1", ""], ["x, y", "-2.5"]]


def test_no_part_of_the_schedule_is_a_formula() -> None:
    step = RhythmStep(
        person=1, begin_s=0.0, end_s=60.0, what="load", station="mill3", part="=HYPERLINK(1)", into_shift="0:00"
    )  # fmt: skip
    rhythm = DayRhythm(day="2026-01-05", steps=(step,), left_alone=(), idle_s={}, pieces_count={})
    assert read(rhythm_csv(rhythm))[1][4] == "'=HYPERLINK(1)"
