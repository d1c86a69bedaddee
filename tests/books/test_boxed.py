"""Pieces that are packed are stock: what lies in boxes, what was taken and what was packed agree at any time."""

from __future__ import annotations

from typing import Any

import pytest
from batch_story import BARS, Teller, books_after
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from proveout.books.folding import boxed_key, keys_of
from proveout.model.batch import Batch
from proveout.model.batch_events import Counted, Done, Packed, Started
from proveout.model.events import Event
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.stock_events import Moved, StockTaken
from proveout.model.stock_kept import Item
from proveout.quantities.errors import BadInput, Refused

PART, REVISION = "EX-101", "B"
BOX = Packed(step="pack", count=2, code="box 1", place="shelf 3", part=PART, revision=REVISION)
LOOSE = Packed(step="pack", count=3, place="packing", part=PART, revision=REVISION)
OLD = Packed(step="pack", count=1)


def to_packing(teller: Teller, count: int, *, has_bars: bool = False) -> list[Event]:
    """So many pieces as far as the packing step, begun."""
    told = [] if has_bars else [teller(BARS)]
    told += [*teller.release(blanks_count=count, wanted_count=count), *teller.sawn(count), teller(Done(step="saw"))]
    for step in ("op1", "bench"):
        told += [teller(Started(step=step)), teller(Counted(step=step, good_count=count))]
    return [
        *told, teller(SentOut(step="coat", lot="L1", finisher="coater", count=count)),
        teller(CameBack(lot="L1", count=count)), teller(CountedIn(lot="L1", good_count=count)),
        teller(Started(step="look")), teller(Counted(step="look", good_count=count)), teller(Started(step="pack")),
    ]  # fmt: skip


def boxed_of(books: dict[str, Any]) -> int:
    return sum(one.all_count for one in books.values() if isinstance(one, Item) and one.sort == "boxed part")


def packed_of(books: dict[str, Any], batch: str) -> int:
    found = books[f"batch:{batch}"]
    assert isinstance(found, Batch)
    return next(one.good_count for one in found.steps if one.id == "pack")


def test_what_is_packed_lies_in_boxes_by_part_revision_and_batch() -> None:
    teller = Teller()
    events = [*to_packing(teller, 7), teller(BOX), teller(LOOSE)]
    books = books_after(events)
    box, loose = books["item:box 1"], books[boxed_key(teller.batch, LOOSE)]
    assert isinstance(box, Item)
    assert isinstance(loose, Item)
    assert (box.sort, box.part, box.revision, box.lot, box.counts) == (
        "boxed part", PART, REVISION, teller.batch, {"shelf 3": 2},
    )  # fmt: skip
    assert (loose.item, loose.counts) == (f"{teller.batch} boxed", {"packing": 3})
    assert packed_of(books, teller.batch) == boxed_of(books) == 5
    # one of before boxed pieces were stock is a count and no more
    books = books_after([*events, teller(OLD)])
    assert (packed_of(books, teller.batch), boxed_of(books)) == (6, 5)


def test_more_than_wait_are_not_packed_and_a_box_holds_one_batch() -> None:
    teller, other = Teller(), Teller("101", seed=2)
    events = [*to_packing(teller, 4), teller(BOX)]
    with pytest.raises(Refused, match="More pieces are counted than wait"):
        books_after([*events, teller(LOOSE)])
    with pytest.raises(Refused, match="something else"):
        books_after([*events, *to_packing(other, 4, has_bars=True), other(BOX)])
    with pytest.raises(Refused, match="Fewer lie in this place"):
        books_after([*events, teller(StockTaken(item="box 1", count=3, place="shelf 3"))])
    with pytest.raises(Refused, match="of a part at a revision"):
        books_after([*events, teller(replace(BOX, revision=""))])
    with pytest.raises(BadInput):
        replace(BOX, code="a\nb")
    assert keys_of(teller.batch, OLD) == (f"batch:{teller.batch}",)


@given(st.lists(st.sampled_from(["box", "loose", "take", "move"]), max_size=8))
@settings(max_examples=60, deadline=None)
def test_boxes_reconcile_with_the_count_whatever_follows(told: list[str]) -> None:
    """In boxes and taken together are what was packed, and no piece more than came to the step."""
    teller = Teller()
    events: list[Event] = to_packing(teller, 7)
    taken = 0
    for word in told:
        of = {"box": BOX, "loose": LOOSE, "take": StockTaken(item="box 1", count=1, place="shelf 3"),
              "move": Moved(item="box 1", count=1, from_place="shelf 3", to_place="van")}[word]  # fmt: skip
        try:
            books_after([*events, teller(of)])
        except Refused:
            continue
        events.append(teller(of))
        taken += word == "take"
    books = books_after(events)
    assert boxed_of(books) + taken == packed_of(books, teller.batch) <= 7
