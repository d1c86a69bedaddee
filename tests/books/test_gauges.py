"""A gauge that must be known and in date: readings by another are refused, and those by one found wrong are told."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from batch_story import BARS, CHECKS, Teller, books_after
from msgspec.structs import replace

from proveout.books.folding import book_after, gauge_key
from proveout.books.gauges import gauge_after, refuse_gauge
from proveout.model.batch_events import ReadingTaken, Started
from proveout.model.stock_events import GaugeChecked
from proveout.model.stock_kept import Gauge
from proveout.quantities.errors import BadInput, Refused

KEY = gauge_key("C-1")
RIGHT = GaugeChecked(gauge="C-1", by="foil of 50 µm", is_right=True, until="2027-03-31")
WRONG = GaugeChecked(gauge="C-1", by="foil of 50 µm", is_right=False)
READ = ReadingTaken(step="op1", mark="7", value=20.06, gauge="C-1")


def told(*happened: GaugeChecked | ReadingTaken) -> Gauge:
    teller, gauge = Teller(), None
    for of in happened:
        found = book_after(KEY, gauge, teller(of), of)
        assert isinstance(found, Gauge)
        gauge = found
    assert gauge is not None
    return gauge


def test_nobody_reads_by_a_gauge_that_was_not_checked_is_wrong_or_out_of_date() -> None:
    with pytest.raises(Refused, match="Nobody has checked this gauge"):
        told(READ)
    assert told(RIGHT, READ, READ).readings_count == 2
    with pytest.raises(Refused, match="found not to read right"):
        told(RIGHT, WRONG, READ)
    gauge = told(RIGHT)
    refuse_gauge(gauge, "C-1", day="2027-03-31")  # the last day is one of them
    with pytest.raises(Refused, match=r"out of date.*2027-04-01.*2027-03-31"):
        refuse_gauge(gauge, "C-1", day="2027-04-01")
    late = Teller()(READ)
    late = replace(late, at=late.at + timedelta(days=400))
    with pytest.raises(Refused, match="out of date"):
        gauge_after(gauge, late, READ)


def test_readings_since_the_last_good_check_are_doubtful_once_it_is_found_wrong() -> None:
    assert told(RIGHT, READ, READ, READ).doubtful_count == 0
    assert told(RIGHT, READ, READ, READ, WRONG).doubtful_count == 3
    assert told(RIGHT, READ, READ, READ, WRONG, WRONG).doubtful_count == 3
    assert told(RIGHT, READ, WRONG, RIGHT, READ).doubtful_count == 0


def test_a_check_that_names_its_gauge_takes_no_reading_without_one() -> None:
    teller = Teller()
    own = tuple(replace(one, names_gauge=one.step == "op1") for one in CHECKS)
    asked, planned, _ = teller.release()
    events = [teller(BARS), asked, planned, teller(replace(teller.released(), checks=own)), *teller.sawn(),
              teller(Started(step="op1"))]  # fmt: skip
    with pytest.raises(Refused, match="by which gauge"):
        books_after([*events, teller(replace(READ, gauge=""))])
    with pytest.raises(Refused, match="Nobody has checked"):
        books_after([*events, teller(READ)])
    books = books_after([*events, teller(RIGHT), teller(READ)])
    assert books[KEY] == told(RIGHT, READ)


def test_what_cannot_be_is_no_check() -> None:
    for is_right, until in ((True, ""), (False, "2027-03-31")):
        with pytest.raises(BadInput, match="in date until a day"):
            GaugeChecked(gauge="C-1", by="foil", is_right=is_right, until=until)
    with pytest.raises(BadInput):
        GaugeChecked(gauge="C-1", by="foil", is_right=True, until="soon")


@pytest.mark.parametrize(
    ("at", "day", "is_read"),
    [
        ("2027-04-01T03:30:00+00:00", "2027-03-31", True),  # half past seven in the evening, west of Greenwich
        ("2027-03-31T23:30:00+00:00", "2027-04-01", False),  # half past eight in the morning, east of it
        ("2027-03-31T23:30:00+00:00", "", True),  # an event of before days were kept: by UTC
        ("2027-04-01T00:30:00+00:00", "", False),
    ],
)
def test_a_gauge_is_in_date_by_the_days_of_the_shop(at: str, day: str, *, is_read: bool) -> None:
    gauge = told(RIGHT)
    late = replace(Teller()(READ), at=datetime.fromisoformat(at), day=day)
    if is_read:
        assert gauge_after(gauge, late, READ).readings_count == 1
    else:
        with pytest.raises(Refused, match=r"out of date.*2027-04-01"):
            gauge_after(gauge, late, READ)
    checked = gauge_after(None, replace(Teller()(RIGHT), at=datetime.fromisoformat(at), day=day), RIGHT)
    assert checked.checked == (day or at[:10])


def test_an_event_has_a_day_that_some_zone_has_at_its_time() -> None:
    event = Teller()(READ)
    for day in ("soon", (event.at + timedelta(days=2)).date().isoformat()):
        with pytest.raises(BadInput):
            replace(event, day=day)
