"""Coats and days of a finisher over all batches: told with an interval where there is enough, and why not where not."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import worked_home
from fastapi.testclient import TestClient
from floor_home import CHECKS, Floor, floor_home, happening
from msgspec.structs import replace

from proveout.desk.app import desk_app
from proveout.gauging.tolerance import pieces_between
from proveout.jobs.close_out import closed_out
from proveout.jobs.finisher_told import CONFIDENCE_RATIO, INSIDE_RATIO, finisher_lines, finisher_told
from proveout.jobs.releasing import packet_place
from proveout.model.batch_events import Check, Counted, Done, ReadingTaken, Started
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.shop import Finisher
from proveout.model.stock_events import GaugeChecked, Sawn
from proveout.sheets.close_out_words import outside_lines

COAT = Check(step="coat", mark="coat", text="thickness of the coat", low=0.04, high=0.06, names_gauge=True)
BEFORE = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"), Started(step="op1"), Counted(step="op1", good_count=8), Done(step="op1"), Started(step="bench"),
    Counted(step="bench", good_count=8), Done(step="bench"),
)  # fmt: skip
READ = {"B1": (0.050, 0.052, 0.051), "B2": (0.047, 0.048), "B3": (0.053, 0.055, 0.0605)}
AWAY = {"B1": 7, "B2": 9, "B3": 7}
MONDAY = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def floor(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    """Three batches, each with a lot that was away over some weekends."""
    made = floor_home(tmp_path_factory.mktemp("finisher"), batches=tuple((name, "") for name in READ),
                      checks=(*CHECKS, COAT))  # fmt: skip
    with made.records() as records:
        records.post(happening(GaugeChecked(gauge="C-1", by="foil", is_right=True, until="2999-01-01"), batch=""))
        for number, (name, values) in enumerate(READ.items()):
            for of in BEFORE:
                records.post(happening(of, batch=name))
            went = MONDAY + timedelta(days=7 * number)
            came = went + timedelta(days=AWAY[name] + 2 * (AWAY[name] // 5))
            for of, at in (
                (SentOut(step="coat", lot="L1", finisher="coater", count=8), went), (CameBack(lot="L1", count=8), came),
                (CountedIn(lot="L1", good_count=8), came),
            ):  # fmt: skip
                records.post(replace(happening(of, batch=name, station="outside"), at=at, day=at.date().isoformat()))
            for piece, value in enumerate(values, start=1):
                read = ReadingTaken(step="coat", mark="coat", value=value, piece=str(piece), lot="L1", gauge="C-1")
                records.post(happening(read, batch=name, station="outside"))
    return made


def coater(floor: Floor) -> Finisher:
    return replace(floor.home.shop().finishers[0], id="coater", days_low=6, days_high=9, closed=None)


def test_coats_of_all_batches_stand_together_with_their_interval(floor: Floor) -> None:
    with floor.records() as records:
        told = finisher_told(records, coater(floor), floor.home.shop())
    (coat,) = told.coats
    assert (coat.batches, coat.lots_count, coat.pieces_count) == (("B1", "B2", "B3"), 3, 8)
    assert coat.outside_count == 1
    expected = pieces_between(list(READ.values()), uncertainty=0.0, inside_ratio=INSIDE_RATIO,
                              confidence_ratio=CONFIDENCE_RATIO)  # fmt: skip
    assert coat.between == expected
    assert expected.low < 0.047
    assert expected.high > 0.0605
    assert coat.no_uncertainty == ("C-1",)
    assert told.days == (7, 9, 7)
    assert told.chances is not None
    words = " ".join(finisher_lines(told))
    assert "99 % of pieces lie from" in words
    assert "3 lots, 8 pieces of batches B1, B2, B3; 1 of the pieces outside" in words
    assert "no uncertainty of C-1" in words
    assert re.search(r"a further lot is away \d+ to \d+ days in \d+ cases of 100", words)


def test_a_gauge_that_the_shop_knows_stands_in_the_ends_and_a_piece_read_again_counts_once(floor: Floor) -> None:
    shop = floor.home.shop()
    known = replace(shop, gauges=(replace(shop.gauges[0], id="C-1", name="eddy", uncertainty_mm=0.002),))
    with floor.records() as records:
        records.post(happening(ReadingTaken(step="coat", mark="coat", value=0.052, piece="1", lot="L1", gauge="C-1"),
                               batch="B1", station="outside"))  # fmt: skip
        (coat,) = finisher_told(records, coater(floor), known).coats
    expected = pieces_between([(0.051, 0.052, 0.051), *list(READ.values())[1:]], uncertainty=0.002,
                              inside_ratio=INSIDE_RATIO, confidence_ratio=CONFIDENCE_RATIO)  # fmt: skip
    assert coat.pieces_count == 8
    assert coat.between is not None
    assert (coat.between.low, coat.between.high) == pytest.approx((expected.low, expected.high))
    assert coat.no_uncertainty == ()


def test_two_lots_tell_no_interval_and_another_finisher_nothing(tmp_path: Path, floor: Floor) -> None:
    with floor.records() as records:
        assert finisher_lines(finisher_told(records, replace(coater(floor), id="plater"), floor.home.shop())) == []
        batch = records.batch("B3")
        assert batch is not None
        place = packet_place(floor.home, batch)
        closed = closed_out(batch, records.events(batch="B3"), plan=place.plan, shop=place.shop)
    lines = [line for line in outside_lines(closed) if "thickness" in line[0]]
    assert lines == [("coater, lot L1, thickness of the coat, mm", "0.0400 – 0.0600", "0.0562 (0.0530 – 0.0605)",
                      "NOT held, 3 readings")]  # fmt: skip
    few = floor_home(tmp_path, batches=(("B1", ""),), checks=(*CHECKS, COAT))
    few.post(*BEFORE, SentOut(step="coat", lot="L1", finisher="coater", count=8), CameBack(lot="L1", count=8),
             CountedIn(lot="L1", good_count=8))  # fmt: skip
    few.post(GaugeChecked(gauge="C-1", by="foil", is_right=True, until="2999-01-01"), batch="")
    few.post(ReadingTaken(step="coat", mark="coat", value=0.05, lot="L1", gauge="C-1"), station="outside")
    with few.records() as records:
        words = " ".join(finisher_lines(finisher_told(records, coater(few), few.home.shop())))
    assert "not shown, 1 of at least 3 lots" in words
    assert "99 %" not in words


def test_the_page_of_the_finisher_and_the_lessons_show_it(floor: Floor) -> None:
    path = floor.home.shop_path
    kept = worked_home.SHOP_FILE.read_text(encoding="utf-8")
    id = worked_home.shop().finishers[0].id
    path.write_text(kept.replace(f'"{id}"', '"coater"'), encoding="utf-8")
    app = desk_app(floor.home)
    try:
        client = TestClient(app, base_url="http://127.0.0.1:8417", client=("127.0.0.1", 5))
        page = client.get("/shop/finisher/1")
        assert page.status_code == 200
        assert "What its lots tell" in page.text
        for text in (page.text, client.get("/lessons").text):
            assert "coat asked for at 40.0 to 60.0 µm: 3 lots" in text
        assert "What its lots tell" not in client.get("/shop/machine/1").text
    finally:
        app.state.desk.close()
        path.unlink()
