"""A batch closed out: what was planned against what was counted, tapped, read and sent."""

from __future__ import annotations

import json
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import run_batches
from learning_year import folded
from msgspec.structs import replace

from proveout.books.stretches import Stretch, piece_time, standing_events, stretches
from proveout.cli.main import main
from proveout.jobs.close_out import close_out_below
from proveout.model.batch_events import Counted, Resumed, Started, Stopped
from proveout.model.close_out import CloseOut, StepTime
from proveout.model.events import Corrected, Event
from proveout.model.outside_events import CameBack, SentOut
from proveout.quantities.errors import BadInput, Refused
from proveout.sheets.close_out_page import close_out_document, close_out_pdf


def closed(**asked: Any) -> CloseOut:
    events: list[Event] = []
    run_batches.Run(events.append, "B0").whole(**asked)
    return run_batches.closed(folded(events, "B0"), events)


def step(told: CloseOut, name: str) -> StepTime:
    return next(one for one in told.steps if one.step == name)


def test_minutes_of_each_step_come_from_its_counts() -> None:
    told = closed(c1_s=150.0, edges_s=70.0)
    first, second = step(told, "c1"), step(told, "second")
    assert first.actual_s == pytest.approx(150.0)
    assert first.parts == pytest.approx({"roughing": 30.0, "finishing": 60.0, "holes": 10.0, "loading": 30.0})
    assert first.planned_s is not None
    assert first.planned_s.nominal == pytest.approx(130.0)
    assert first.setup_actual_s == pytest.approx(2400.0)  # the first count holds it
    assert second.planned_s is not None  # the second step of the machine is the second clamping
    assert second.planned_s.nominal == pytest.approx(50.0)
    assert second.covered is False
    assert step(told, "edges").actual_s == pytest.approx(70.0)
    assert step(told, "edges").parts == pytest.approx({"deburr": 1.0})
    assert step(told, "look").parts == pytest.approx({"gauging": 1.0})
    assert step(told, "saw").actual_s is None
    assert "counted once" in step(told, "saw").why


def test_a_night_that_nobody_wrote_is_left_out_and_a_stop_does_not_count() -> None:
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    late = timedelta(0)

    def with_stops(event: Event) -> None:
        nonlocal late
        if isinstance(event.of, Counted) and event.of.step == "c1" and len(events) == 15:
            late += timedelta(hours=14)
        milled = [one for one in events if isinstance(one.of, Counted) and one.of.step == "second"]
        if isinstance(event.of, Counted) and event.of.step == "second" and len(milled) == 1:
            at = event.at + late
            for of, hours in (
                (Stopped(step="second", why="chips", told="jon"), 0),
                (Resumed(step="second", why="ok"), 2),
            ):
                run.number += 1
                id = f"00000000-0000-4000-8000-{run.number:012d}"
                events.append(Event(id=id, at=at + timedelta(hours=hours), person="m", station=event.station,
                                    batch=event.batch, of=of))  # fmt: skip
            late += timedelta(hours=2)
        import msgspec

        events.append(msgspec.structs.replace(event, at=event.at + late))

    run.post = with_stops
    run.whole()
    told = run_batches.closed(folded(events, "B0"), events)
    assert step(told, "c1").left_out_count == 1
    assert step(told, "c1").actual_s == pytest.approx(130.0)
    assert step(told, "second").actual_s == pytest.approx(80.0)


def test_what_was_written_as_stopped_is_no_work() -> None:
    """Worked: 100 s of work, 300 s stopped, 300 s of work, counted."""
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    told = (
        (0.0, Started(step="c1")), (100.0, Stopped(step="c1", why="chips", told="jon")),
        (300.0, Resumed(step="c1", why="cleared")), (300.0, Counted(step="c1", good_count=5)),
    )  # fmt: skip
    for seconds, of in told:
        run.later(seconds)
        run(of)
    found = stretches(standing_events(enumerate(events)), "c1")
    assert found == (Stretch(seconds=400.0, pieces_count=5, is_first=True),)


def test_what_the_first_piece_took_through_the_others_is_no_work_of_its_own_clamping() -> None:
    """Worked: 1800 s set-up and 100 s, 8000 s until the first piece is through, then 500 s for five."""
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    told = (
        (0.0, Started(step="c1")), (1900.0, Counted(step="c1", good_count=1)), (8000.0, Started(step="c1")),
        (500.0, Counted(step="c1", good_count=5)),
    )  # fmt: skip
    for seconds, of in told:
        run.later(seconds)
        run(of)
    found = stretches(standing_events(enumerate(events)), "c1")
    assert [(one.seconds, one.pieces_count, one.is_first) for one in found] == [(1900.0, 1, True), (500.0, 5, False)]
    assert (piece_time(found, has_setup=True).each_s, piece_time(found, has_setup=True).setup_s) == (100.0, 1800.0)


def test_what_the_last_clamping_waits_after_the_first_piece_is_no_work_of_its() -> None:
    """Worked: the first piece after 1900 s, 7000 s until five more came and were made, then 500 s for five."""
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    told = (
        (0.0, Started(step="c1")), (1900.0, Counted(step="c1", good_count=1)),
        (7000.0, Counted(step="c1", good_count=5)), (500.0, Counted(step="c1", good_count=5)),
    )  # fmt: skip
    for seconds, of in told:
        run.later(seconds)
        run(of)
    told_of = standing_events(enumerate(events))
    assert [one.seconds for one in stretches(told_of, "c1", ends_first_way=True)] == [1900.0, 500.0]
    assert [one.seconds for one in stretches(told_of, "c1")] == [1900.0, 7000.0, 500.0]


def test_two_nights_in_four_stretches_are_both_seen() -> None:
    found = [Stretch(seconds=s, pieces_count=5, is_first=False) for s in (500.0, 50_900.0, 510.0, 50_900.0)]
    told = piece_time(found, has_setup=True)
    assert told.each_s == pytest.approx(101.0)
    assert told.left_out_count == 2


def test_what_was_counted_afterwards_belongs_to_the_time_before() -> None:
    """Ten pieces in 1000 s, five of them counted a second later: 100 s a piece, not 200 and nothing."""
    late = [Stretch(seconds=s, pieces_count=5, is_first=False) for s in (500.0, 999.0, 1.0, 510.0)]
    told = piece_time(late, has_setup=False, soonest_s=20.0)
    assert told.each_s == pytest.approx(2010.0 / 20.0)
    assert (told.taps_count, told.afterwards_count, told.left_out_count) == (4, 1, 0)
    alone = [Stretch(seconds=2.0, pieces_count=155, is_first=True)]
    told = piece_time(alone, has_setup=False, soonest_s=20.0)
    assert told.each_s is None
    assert told.afterwards_count == 1


def test_a_step_that_is_counted_when_all_is_over_tells_no_minutes() -> None:
    """Whoever taps start and all good in one second does not teach the shop that edges take no time."""
    quick = step(closed(edges_s=0.01), "edges")
    assert quick.actual_s is None
    assert "written afterwards" in quick.why
    assert quick.covered is None
    slow = step(closed(edges_s=30.0), "edges")
    assert slow.actual_s == pytest.approx(30.0)


def test_a_corrected_count_is_taken_as_it_stands() -> None:
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    run.whole()
    last = next(e for e in reversed(events) if isinstance(e.of, Counted) and e.of.step == "edges")
    run(Corrected(event_id=last.id, why="nobody counted", instead=None), "bench")
    batch = folded([e for e in events if not isinstance(e.of, Corrected)], "B0")
    told = run_batches.closed(batch, events)
    assert step(told, "edges").taps_count == 3


def test_the_machines_own_stream_stands_beside_the_taps() -> None:
    told = step(closed(cycles_s=110.0), "c1")
    assert told.run_s == pytest.approx(110.0)
    assert told.cycles_count == run_batches.PIECES
    assert told.run_planned_s is not None
    assert told.run_planned_s.nominal == pytest.approx(100.0)
    assert told.run_parts == pytest.approx({"roughing": 30.0, "finishing": 60.0, "holes": 10.0})


def test_days_growth_edges_and_scrap_are_told() -> None:
    told = closed(days=9, growth_mm=-0.044, lost=2)
    assert [(one.days, one.covered) for one in told.away] == [(9, False)]  # 6 to 8 are written
    grown = told.grown[0]
    # worked: limits 20.050 to 20.070 become 20.000 to 20.033: the coat takes 0.037 to 0.050
    assert (grown.planned.low, grown.planned.high) == pytest.approx((-0.050, -0.037))
    assert grown.mean == pytest.approx(-0.044)
    assert grown.covered
    assert grown.pairs_count == 0
    by_piece = closed().grown[0]  # no piece is lost: the same ones were read both times
    assert (by_piece.pairs_count, by_piece.mean) == (4, pytest.approx(-0.044))
    assert [(one.step, one.reason, one.count, one.in_count) for one in told.scrap] == [("c1", "wall thin", 2, 20)]
    assert told.edges[0].actual_s == pytest.approx(40.0)


def test_a_lot_that_goes_in_the_evening_goes_on_that_day_of_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked: Friday 17:30 to Monday 09:00, eight hours behind UTC, is one working day; by UTC it would be none."""
    events: list[Event] = []
    run_batches.Run(events.append, "B0").whole()
    at = {SentOut: datetime(2027, 3, 6, 1, 30, tzinfo=UTC), CameBack: datetime(2027, 3, 8, 17, 0, tzinfo=UTC)}
    moved = [replace(event, at=at.get(type(event.of), event.at)) for event in events]
    with monkeypatch.context() as there:
        there.setenv("TZ", "<-08>8")
        time.tzset()
        told = run_batches.closed(folded(moved, "B0"), moved)
    time.tzset()
    assert [one.days for one in told.away] == [1]


def test_each_input_is_exchanged_alone_and_the_remainder_is_named() -> None:
    """Worked: 20 s more of 60 planned at EUR 90 an hour, on 20 / 0.98 pieces for 20 good ones: 20 / 0.98 / 40."""
    told = closed(c1_s=150.0, second_s=50.0)
    money = told.money
    assert money is not None
    rate = next(one.rate_per_h for one in run_batches.shop().machines if one.id == run_batches.MILL)
    driver = next(one for one in money.drivers if one.text == "seconds a piece at c1")
    assert driver.effect == pytest.approx(20.0 / 0.98 * rate / 3600.0)
    whole = sum(one.effect for one in money.drivers) + money.others + money.remainder
    assert whole == pytest.approx(money.actual - money.planned.nominal)
    assert "finishers' charges" in money.as_planned


def test_without_a_good_piece_there_is_no_money() -> None:
    events: list[Event] = []
    run = run_batches.Run(events.append, "B0")
    run.whole()
    until = next(k for k, e in enumerate(events) if isinstance(e.of, Counted) and e.of.step == "look")
    told = run_batches.closed(folded(events[:until], "B0"), events[:until])
    assert told.money is None
    assert told.money_why == "no good piece shares it"
    assert told.waiting_count == run_batches.PIECES


def test_the_verb_tells_it_and_writes_one_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plans = run_batches.write_plans(tmp_path / "plans")
    run_batches.run_records(tmp_path / "r.sqlite", [{"c1_s": 150.0}]).close()
    given = ["close-out", "B0", "--records", str(tmp_path / "r.sqlite"), "--plans", str(plans)]
    assert main([*given, "--out", str(tmp_path / "b0.pdf")]) == 0
    said = capsys.readouterr().out
    assert "2:30" in said
    titles = [line for line in said.splitlines()[2:] if not line.startswith(" ")]
    assert titles[:2] == ["Minutes:", "Pieces:"]
    assert titles[-2:] == ["Money:", "What made the difference of a good piece, each input exchanged alone:"]
    assert "remainder: only together" in said
    assert (tmp_path / "b0.pdf").read_bytes().startswith(b"%PDF")
    assert main([*given, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["batch"] == "B0"
    assert main([*given[:1], "B9", *given[2:]]) == 2
    assert main([*given[:-1], str(tmp_path / "none")]) == 2


def test_the_page_is_one_and_the_same_for_the_same_close_out() -> None:
    told = closed(lost=1)
    document = close_out_document(told, shop="Example")
    assert [page["one_page"] for page in document["pages"]] == [True]
    assert close_out_pdf(told, shop="Example") == close_out_pdf(told, shop="Example")


def test_a_batch_without_release_or_plan_is_refused(tmp_path: Path) -> None:
    from proveout.model.batch_events import Asked
    from proveout.records.records import Records

    with Records(str(tmp_path / "r.sqlite")) as records:
        run = run_batches.Run(records.post, "B0")
        run(Asked(part="EX-1", revision="A", wanted_count=3))
        with pytest.raises(Refused, match="not released"):
            close_out_below(records, "B0", plans=tmp_path)
        with pytest.raises(BadInput, match="no such batch"):
            close_out_below(records, "B1", plans=tmp_path)
