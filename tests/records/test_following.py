"""What is kept up to date event by event is what the events alone say."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Iterator
from typing import get_args

import pytest
import sqlalchemy as sa
from batch_story import BARS, Teller
from hypothesis import given, settings
from msgspec.structs import replace
from record_stories import STORIES, long_story, otherwise

from proveout.books.folding import stated
from proveout.model.batch_events import Closed, Counted, Done, EdgeUse, Released, Started
from proveout.model.events import Corrected, Stating
from proveout.model.stock_events import BarReceived, StockPut
from proveout.quantities.errors import ProveoutError, Refused
from proveout.records.records import Records
from proveout.records.verifying import rebuild, verify
from proveout.records.writing import keep


class _Undone(Exception):
    pass


def test_the_long_story_holds_every_kind_of_event() -> None:
    told = {type(event.of) for event in long_story()}
    assert told == {*get_args(Stating), Corrected} - {Closed}


def test_rows_follow_from_the_long_story_and_from_the_same_worked_out_anew(records: Records) -> None:
    for event in long_story():
        records.post(event)
    tables = (
        "batches",
        "counts",
        "changes",
        "lots",
        "stock",
        "cutters",
        "readings",
        "coolant",
        "bad",
        "waivers",
        "people",
    )
    kept = {table: records.rows(table) for table in tables}
    batch = kept["batches"][0]
    assert (batch["state"], batch["good_count"], batch["bad_count"], batch["away_count"]) == ("running", 2, 3, 2)
    assert [row["in_count"] for row in kept["counts"]] == [10, 11, 7, 6, 2, 2]
    assert [(row["lot"], row["away_count"], row["rejected_count"], row["claim_until"]) for row in kept["lots"]] == [
        ("L1", 0, 1, "2027-03-26"), ("L2", 2, 0, ""),
    ]  # fmt: skip
    assert [(row["mark"], row["verdict"]) for row in kept["readings"]] == [("7", "react"), ("7", "outside")]
    assert [(row["used_s"], row["left_s"]) for row in kept["cutters"]] == [(61.25, 3538.75)]
    assert [(row["item"], row["place"], row["count"], row["is_low"]) for row in kept["stock"]] == [
        ("B-1", "rack 1", 7, 0), ("B-1", "saw", 2, 0), ("K", "shelf", 47, 1), ("R-1", "rack 9", 1, 0),
        ("box 1", "shelf 3", 1, 0),
    ]  # fmt: skip
    assert kept["waivers"][0]["words"].endswith("mara: edges were timed on the last batch")
    with records.reading() as connection:
        assert verify(connection).faults == ()
    with records.writing() as connection:
        assert rebuild(connection) == len(long_story())
    assert {table: records.rows(table) for table in tables} == kept


def test_whatever_happens_and_is_corrected_leaves_what_its_events_alone_say(memory: Records) -> None:
    told: Counter[str] = Counter()

    @settings(max_examples=20)
    @given(STORIES)
    def tell(story: list[Stating | tuple[int, int | None]]) -> None:
        with contextlib.suppress(_Undone), memory.writing() as connection:
            told.update(happen(connection, story))
            assert verify(connection).faults == ()
            raise _Undone

    tell()
    assert min(told["kept"], told["refused"]) >= 80, f"too few of one: {told}"
    assert told["corrected"] >= 10, f"too few corrections: {told}"


def happen(connection: sa.Connection, story: list[Stating | tuple[int, int | None]]) -> Counter[str]:
    """Try one after the other, upon the long story; how often each was kept, corrected or refused."""
    kept = [event for event in long_story() if not isinstance(event.of, Corrected)]
    told: Counter[str] = Counter()
    teller = Teller()
    teller.number = len(long_story())
    for one in story:
        if isinstance(one, tuple):
            wrong = kept[-1 - one[0] % len(kept)]
            try:
                instead = None if one[1] is None else otherwise(stated(wrong), one[1])
            except ProveoutError:
                continue
            event = teller(Corrected(event_id=wrong.id, why="wrong", instead=instead))
            event = replace(event, batch=wrong.batch)
        else:
            event = teller(one)
        try:
            keep(connection, event)
        except Refused:
            told["refused"] += 1
            continue
        told["corrected" if isinstance(one, tuple) else "kept"] += 1
        if not isinstance(one, tuple):
            kept.append(event)
    return told


@pytest.fixture(scope="module")
def memory(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    """Records of the long story."""
    with Records(str(tmp_path_factory.mktemp("memory") / "records.sqlite")) as made:
        for event in long_story():
            made.post(event)
        yield made


def corrected(event_id: str, instead: Stating | None) -> Corrected:
    return Corrected(event_id=event_id, why="typed wrong", instead=instead)


def test_a_correction_counts_in_the_place_of_what_it_corrects(records: Records) -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release(), *teller.sawn(6), teller(Started(step="op1"))]
    used = (EdgeUse(machine="mill-5", cutter="EM6", used_s=60.0),)
    wrong = teller(Counted(step="op1", good_count=5, used=used))
    for event in [*story, wrong, teller(Started(step="bench")), teller(Counted(step="bench", good_count=3))]:
        records.post(event)
    with pytest.raises(Refused, match=r"a later event could not have happened.*More pieces are counted than wait"):
        records.post(teller(corrected(wrong.id, Counted(step="op1", good_count=2))))
    with pytest.raises(Refused, match=r"a later event could not have happened.*No piece waits"):
        records.post(teller(corrected(wrong.id, None)))
    other = (EdgeUse(machine="mill-5", cutter="EM8", used_s=60.0),)
    records.post(teller(corrected(wrong.id, Counted(step="op1", good_count=4, used=other))))
    batch = records.batch("100")
    assert batch is not None
    assert [step.good_count for step in batch.steps][:3] == [6, 4, 3]
    assert [row["cutter"] for row in records.rows("cutters")] == ["EM8"], "the other one was not used at all"
    records.post(teller(corrected(wrong.id, Counted(step="op1", good_count=6))))
    batch = records.batch("100")
    assert batch is not None
    assert [step.good_count for step in batch.steps][:3] == [6, 6, 3]
    assert records.events()[len(story)][1] == wrong, "what was written stays as it was written"
    with records.reading() as connection:
        assert verify(connection).faults == ()


def test_what_led_to_a_release_a_correction_and_another_batchs_event_are_not_corrected(records: Records) -> None:
    teller, other = Teller(), Teller("200", seed=1)
    story = [teller(BARS), *teller.release(), *teller.sawn(6)]
    correction = teller(corrected(story[0].id, None))
    for event in story:
        records.post(event)
    released = story[3].of
    assert isinstance(released, Released)
    for event, says in (
        (teller(corrected(story[3].id, None)), "What led to a release stays"),
        (teller(corrected(story[4].id, released)), "What led to a release stays"),
        (other(corrected(story[4].id, None)), "belongs to the batch of what it corrects"),
        (teller(corrected(str(correction.id), None)), "no event of this id"),
        (correction, "a later event could not have happened.*no such thing in stock"),
    ):
        with pytest.raises(Refused, match=says):
            records.post(event)
    fine = teller(corrected(story[0].id, BarReceived(**{f: getattr(BARS, f) for f in BARS.__struct_fields__})))
    records.post(fine)
    with pytest.raises(Refused, match=f"A correction is not corrected.*correct event {story[0].id} again"):
        records.post(teller(corrected(fine.id, None)))


def test_what_never_happened_leaves_no_row(records: Records) -> None:
    teller = Teller("")
    put = teller(StockPut(item="K", sort="kit", name="screws", count=5, place="shelf"))
    records.post(put)
    records.post(teller(corrected(put.id, None)))
    assert (records.rows("stock"), records.book("item:K")) == ([], None)
    records.post(teller(corrected(put.id, StockPut(item="K2", sort="kit", name="nuts", count=5, place="shelf"))))
    assert [row["item"] for row in records.rows("stock")] == ["K2"]
    with records.reading() as connection:
        assert verify(connection).faults == ()


def test_a_closed_batch_can_still_be_corrected_back_to_one_that_is_open(records: Records) -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release(), teller(Closed())]
    for event in story:
        records.post(event)
    records.post(teller(corrected(story[-1].id, None)))
    for event in [*teller.sawn(3), teller(Done(step="saw"))]:
        records.post(event)
    batch = records.batch("100")
    assert batch is not None
    assert batch.state == "running"
