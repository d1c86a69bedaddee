"""An event is valid once it exists, and equal events have equal bytes."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from proveout.model.batch_events import Asked, Bad, Counted, ReadingTaken, spoken
from proveout.model.events import Corrected, Event, kind_of
from proveout.model.outside_events import Rejected, SentOut
from proveout.model.stock_events import BarReceived, CoolantRead
from proveout.quantities.canonical import canonical_bytes
from proveout.quantities.errors import BadInput

EVENT = Event(
    id="6f1c2a34-0000-4000-8000-000000000001", at=datetime(2027, 3, 1, 7, 30, tzinfo=UTC), person="mara",
    station="mill-5", batch="100", of=Counted(step="op1", good_count=3, bad=(Bad(reason="burr", count=1),)),
)  # fmt: skip


def test_an_event_is_read_back_as_it_was_written() -> None:
    whole = canonical_bytes(EVENT)
    assert b'"what":"counted"' in whole
    assert b'"at":"2027-03-01T07:30:00Z"' in whole
    assert msgspec.json.decode(whole, type=Event) == EVENT
    corrected = replace(EVENT, of=Corrected(event_id=EVENT.id, why="typed twice", instead=None))
    assert msgspec.json.decode(canonical_bytes(corrected), type=Event) == corrected
    assert (kind_of(EVENT.of), corrected.kind, spoken("ReadingTaken")) == ("counted", "corrected", "reading taken")


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("id", "1", "UUID"),
        ("id", EVENT.id.upper().replace("6F", "6F"), "UUID"),
        ("at", datetime(2027, 3, 1, 7, 30), "UTC"),  # noqa: DTZ001 - the very fault
        ("at", datetime(2027, 3, 1, 7, 30, tzinfo=timezone(timedelta(hours=1))), "UTC"),
        ("person", " ", "A name is needed"),
        ("station", "", "A name is needed"),
        ("batch", "1\n2", "A name is needed"),
        ("batch", "x" * 201, "A name is needed"),
        ("of", ReadingTaken(step="op1", mark="7", value=math.nan), "A number is out of range"),
        ("of", ReadingTaken(step="op1", mark="7", value=1.0, piece="a\x00"), "control sign"),
        ("of", ReadingTaken(step="op1", mark="7", value=1.0, piece="\ud800"), "control sign"),
        ("of", ReadingTaken(step="op1", mark="7", value=1.0, piece="a" * 2001), "too long"),
    ],
)
def test_an_event_that_says_nothing_true_is_refused(field: str, value: Any, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        replace(EVENT, **{field: value})


@pytest.mark.parametrize(
    ("kind", "fields", "says"),
    [
        (Counted, {"step": "op1"}, "Nothing was counted"),
        (Counted, {"step": "op1", "good_count": -1}, "out of range"),
        (Bad, {"reason": "", "count": 1}, "A name is needed"),
        (Bad, {"reason": "burr", "count": 0}, "out of range"),
        (Asked, {"part": "p", "revision": "", "wanted_count": 1}, "A name is needed"),
        (Asked, {"part": "p", "revision": "A", "wanted_count": 0}, "out of range"),
        (
            SentOut,
            {"step": "coat", "lot": "L", "finisher": "f", "count": 1, "promised": "next week"},
            "A day is needed",
        ),
        (Rejected, {"lot": "L", "count": 1, "reason": "thin", "claim_until": "2027-02-30"}, "A day is needed"),
        (Asked, {"part": "p", "revision": "A", "wanted_count": 1, "due": "soon"}, "A day is needed"),
        (Asked, {"part": "p", "revision": "A", "wanted_count": 1, "due": "20270301"}, "A day is needed"),
        (CoolantRead, {"machine": "m", "share_ratio": 7.0}, "out of range"),
        (CoolantRead, {"machine": "m", "ph": 15.0}, "out of range"),
        (
            BarReceived,
            {
                "item": "b",
                "alloy": "a",
                "section": "s",
                "heat": "",
                "lot": "",
                "length_mm": 1.0,
                "count": 1,
                "place": "r",
            },
            "heat",
        ),
    ],
)
def test_what_cannot_have_happened_is_no_event(kind: type, fields: dict, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        kind(**fields)
