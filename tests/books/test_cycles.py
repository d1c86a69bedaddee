"""Cycles of a machine as its stream tells them. Streams here are of our own making."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from proveout.books.cycles import cycles_of, joined
from proveout.model.machine_stream import Observed, StreamPart

BEGIN = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)
Row = tuple[float, str, str | None]


def part(rows: list[Row], *, start: int = 1, first: int = 1, last: int | None = None, instance: int = 9) -> StreamPart:
    observed = tuple(
        Observed(sequence=start + k, at=BEGIN + timedelta(seconds=s), what=what, of="x", value=value)
        for k, (s, what, value) in enumerate(rows)
    )
    end = start + len(rows)
    return StreamPart(instance=instance, first=first, last=last or end - 1, next=end, device="M", observed=observed)


RUN: list[Row] = [
    (0, "EXECUTION", "READY"), (1, "PROGRAM", "O10.NC"), (2, "PART_COUNT", "4"), (3, "LOAD", "20"),
    (10, "EXECUTION", "ACTIVE"), (40, "EXECUTION", "FEED_HOLD"), (60, "EXECUTION", "ACTIVE"), (70, "LOAD", "40"),
    (110, "EXECUTION", "PROGRAM_COMPLETED"), (111, "PART_COUNT", "5"), (115, "EXECUTION", "READY"),
    (130, "EXECUTION", "ACTIVE"), (200, "EXECUTION", "READY"), (201, "PART_COUNT", "7"),
]  # fmt: skip


def test_a_cycle_has_its_minutes_without_what_it_stood() -> None:
    """Worked: it ran 10 to 40 and 60 to 110, 30 s + 10 s of that at 20 %, 40 s at 40 %."""
    first, second = cycles_of(joined([part(RUN)]))
    assert (first.run_s, first.held_s, first.held_count) == (80.0, 20.0, 1)
    assert first.program == "O10.NC"
    assert first.load_ratio == pytest.approx((40.0 * 0.2 + 40.0 * 0.4) / 80.0)
    assert (first.pieces_count, second.pieces_count) == (1, 2)
    assert first.is_whole
    assert (second.run_s, second.is_whole) == (70.0, True)


def test_a_cycle_that_was_running_at_the_begin_is_not_whole() -> None:
    found = cycles_of(joined([part([(0, "EXECUTION", "ACTIVE"), (30, "EXECUTION", "READY")])]))
    assert [one.is_whole for one in found] == [False]


def test_what_is_unavailable_is_not_shown() -> None:
    rows = [row if row[1] != "EXECUTION" or row[0] != 40 else (40.0, "EXECUTION", None) for row in RUN]
    first = cycles_of(joined([part(rows)]))[0]
    assert not first.is_whole
    rows = [(s, what, None if what in ("PROGRAM", "PART_COUNT", "LOAD") else value) for s, what, value in RUN]
    first = cycles_of(joined([part(rows)]))[0]
    assert first.is_whole
    assert (first.program, first.pieces_count, first.load_ratio) == (None, None, None)
    assert cycles_of(joined([part([(0, "EXECUTION", "READY"), (1, "PART_COUNT", "many"), *RUN[4:9]])]))[0].is_whole


def test_what_is_asked_twice_counts_once_and_order_is_that_of_the_numbers() -> None:
    whole = joined([part(RUN)])
    halves = joined([part(RUN[:7]), part(RUN[3:9], start=4), part(RUN[9:], start=10)])
    assert halves.observed == whole.observed
    assert halves.gaps == ()
    later = joined([part(RUN[9:], start=10)], since=joined([part(RUN[:9])]))
    assert cycles_of(later) == cycles_of(whole)


def test_what_fell_out_of_the_buffer_is_a_gap_and_its_cycle_is_not_whole() -> None:
    found = joined([part(RUN[:6]), part(RUN[8:], start=20, first=20)])
    assert [(gap.after, gap.count) for gap in found.gaps] == [(6, 13)]
    first, second = cycles_of(found)
    assert not first.is_whole
    assert second.is_whole


def test_a_sender_that_began_anew_is_a_gap_of_unknown_size() -> None:
    found = joined([part(RUN[:6]), part(RUN[8:], instance=10)])
    assert [(gap.count, "anew" in gap.why) for gap in found.gaps] == [(None, True)]
    assert len(found.observed) == len(RUN) - 2


def test_a_count_that_was_set_back_tells_no_pieces() -> None:
    rows = [(s, what, "0" if (s, what) == (111, "PART_COUNT") else value) for s, what, value in RUN]
    assert cycles_of(joined([part(rows)]))[0].pieces_count is None
