"""Where everything is: bars with their heat, remnants, kits, cutters with what is left of them."""

from __future__ import annotations

import pytest
from batch_story import BARS, Teller, books_after

from proveout.books.folding import stated
from proveout.books.readings import verdict_of
from proveout.books.rows import TABLES, log_rows, rows_of
from proveout.model.batch_events import Check, Counted, EdgeUse, Started
from proveout.model.change_events import StockFate, StockSettled
from proveout.model.events import Event
from proveout.model.stock_events import (
    CoolantRead,
    EdgeChanged,
    Moved,
    PersonNoted,
    RemnantPut,
    ReorderSet,
    StationNoted,
    StockCounted,
    StockPut,
    StockTaken,
)
from proveout.model.stock_kept import Edge, Item
from proveout.quantities.errors import BadInput, Refused

METAL = {"alloy": "6061-T6", "section": "120x30"}


def item(story: list, tag: str) -> Item:
    found = books_after(story)[f"item:{tag}"]
    assert isinstance(found, Item)
    return found


def test_bars_go_from_place_to_place_and_leave_a_tagged_remnant() -> None:
    teller = Teller()
    story = [
        teller(BARS), teller(Moved(item="B-1", count=4, from_place="rack 1", to_place="saw")), *teller.release(),
        teller(RemnantPut(item="R-1", of="B-1", heat="H77", length_mm=410.0, place="rack 9", **METAL)),
    ]  # fmt: skip
    assert item(story, "B-1").counts == {"rack 1": 6, "saw": 4}
    left = item(story, "R-1")
    assert (left.of, left.alloy, left.section, left.heat) == ("B-1", "6061-T6", "120x30", "H77")
    assert left.length_mm == 410.0
    for of, says in (
        (
            RemnantPut(item="R-2", of="B-1", heat="H78", length_mm=410.0, place="rack 9", **METAL),
            "another heat.*H78.*H77",
        ),
        (
            RemnantPut(item="R-1", of="B-1", heat="H77", length_mm=410.0, place="rack 9", **METAL),
            "something of this tag",
        ),
        (
            RemnantPut(item="R-2", of="B-1", heat="H77", length_mm=3000.0, place="rack 9", **METAL),
            "shorter.*below 3000 mm",
        ),
        (
            RemnantPut(item="R-2", of="R-1", heat="H77", length_mm=411.0, place="rack 9", **METAL),
            "shorter.*below 410 mm",
        ),
        (RemnantPut(item="R-2", of="B-1", heat="H77", length_mm=410.0, place="rack 9"), "another alloy.*not said"),
        (
            RemnantPut(
                item="R-2", of="B-1", heat="H77", length_mm=410.0, place="rack 9", alloy="6061-T6", section="4x1"
            ),
            "another section.*4x1.*120x30",
        ),
        (Moved(item="B-1", count=7, from_place="rack 1", to_place="saw"), "Fewer lie in this place.*at most 6"),
        (Moved(item="B-2", count=1, from_place="rack 1", to_place="saw"), "no such thing in stock"),
        (BARS, "Bars of this tag are there already"),
    ):
        with pytest.raises(Refused, match=says):
            books_after([*story, teller(of)])


def test_kits_say_when_more_are_to_be_ordered() -> None:
    teller = Teller()
    kits = StockPut(item="K", sort="kit", name="screws", count=50, place="shelf", part="EX-101", revision="B")
    story = [
        teller(kits),
        teller(ReorderSet(item="K", at_count=20)),
        teller(StockTaken(item="K", count=29, place="shelf")),
    ]
    assert not item(story, "K").is_low
    story.append(teller(StockCounted(item="K", count=20, place="shelf")))
    assert item(story, "K").is_low
    story.append(teller(StockCounted(item="K", count=0, place="shelf")))
    assert [row[:3] for table, row in rows_of(item(story, "K")) if table == "stock"] == [("K", "", 0)]
    other = StockPut(item="K", sort="kit", name="screws", count=1, place="shelf", part="EX-101", revision="C")
    with pytest.raises(Refused, match=r"something else.*revision C.*revision B"):
        books_after([*story, teller(other)])


def test_only_bars_and_remnants_are_sawn() -> None:
    teller = Teller()
    put = StockPut(item="B-1", sort="kit", name="screws", count=50, place="rack 1", heat="H77")
    with pytest.raises(Refused, match=r"Only bars and remnants are sawn.*kit"):
        books_after([teller(put), *teller.release(), *teller.sawn(9)])


@pytest.mark.parametrize(("machine", "cutter"), [("mill\n5", "EM6"), ("mill-5", "EM\n6"), ("", "EM6"), ("mill-5", "")])
def test_a_cutter_in_use_has_a_machine_and_a_name(machine: str, cutter: str) -> None:
    """A line break parts machine from cutter in the name of its book: minutes would go to another cutter."""
    with pytest.raises(BadInput, match="A name is needed"):
        EdgeUse(machine=machine, cutter=cutter, used_s=1.0)


def test_minutes_left_of_a_cutter_follow_from_what_was_counted() -> None:
    """Worked: good for 3600 s, two counts of 700 s: 2200 s left; a fresh edge begins anew."""
    teller = Teller()
    used = (EdgeUse(machine="mill-5", cutter="EM6", used_s=700.0), EdgeUse(machine="mill-5", cutter="DR5", used_s=9.0))
    count = Counted(step="op1", good_count=1, used=used)
    story = [
        teller(EdgeChanged(machine="mill-5", cutter="EM6", life_s=3600.0)), teller(BARS), *teller.release(),
        *teller.sawn(9), teller(Started(step="op1")), teller(count), teller(count),
    ]  # fmt: skip
    edge = books_after(story)["edge:mill-5\nEM6"]
    assert isinstance(edge, Edge)
    assert edge.left_s == 2200.0
    unknown = books_after(story)["edge:mill-5\nDR5"]
    assert isinstance(unknown, Edge)
    assert (unknown.used_s, unknown.left_s) == (18.0, None), "nobody wrote when it was fresh"
    story.append(teller(EdgeChanged(machine="mill-5", cutter="EM6", life_s=3600.0)))
    edge = books_after(story)["edge:mill-5\nEM6"]
    assert isinstance(edge, Edge)
    assert (edge.left_s, edge.changes_count) == (3600.0, 2)


def test_coolant_people_and_stations_are_written_down() -> None:
    teller = Teller("")
    read = teller(CoolantRead(machine="mill-5", share_ratio=0.07, ph=9.1, added_l=12.0))
    assert log_rows(4, read, stated(read), None) == [
        ("coolant", (4, "mill-5", "2027-03-01T07:00:01Z", 0.07, 9.1, 12.0, "", "mara"))
    ]
    books = books_after(
        [teller(PersonNoted(who="mara", name="Mara")), teller(StationNoted(which="saw", name="Band saw"))]
    )
    assert [row for key in sorted(books) for row in rows_of(books[key])] == [
        ("people", ("mara", "Mara", 1)), ("stations", ("saw", "Band saw", 1)),
    ]  # fmt: skip


def test_every_row_has_the_columns_of_its_table() -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release(), *teller.sawn(9)]
    rows = [placed for book in books_after(story).values() for placed in rows_of(book)]
    assert {table for table, _ in rows} == {"batches", "counts", "papers", "stock"}
    assert all(len(row) == len(TABLES[table][1]) for table, row in rows)


CHECK = Check(step="op1", mark="7", text="20 H8", low=20.0, high=20.04, react_low=20.01, react_high=20.03)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (19.999, "outside"), (20.0, "react"), (20.009, "react"), (20.01, "within"), (20.03, "within"),
        (20.031, "react"), (20.04, "react"), (20.041, "outside"),
    ],
)  # fmt: skip
def test_a_reading_on_its_limit_is_inside_it(value: float, verdict: str) -> None:
    assert verdict_of(CHECK, value) == verdict


def test_limits_that_lie_across_each_other_are_refused() -> None:
    with pytest.raises(BadInput, match="reaction limits inside it"):
        Check(step="op1", mark="7", text="20 H8", low=20.0, high=20.04, react_high=20.05)
    with pytest.raises(BadInput, match="needs a limit"):
        Check(step="op1", mark="7", text="20 H8", low=None, high=None)


def test_pieces_in_stock_whose_revision_ends_are_each_said_of_once() -> None:
    teller = Teller()
    put = StockPut(item="P", sort="coated part", name="body", count=10, place="shelf", part="EX-101", revision="B")
    story = [teller(put)]

    def said(count: int, fate: StockFate, place: str = "shelf") -> Event:
        return teller(StockSettled(item="P", place=place, count=count, fate=fate, why="their bore is too tight"))

    story += [said(3, "use as they are"), said(2, "set aside"), said(1, "scrap")]
    found = item(story, "P")
    assert (found.counts, found.kept, found.aside) == ({"shelf": 9}, {"shelf": 3}, {"shelf": 2})
    for event, says in (
        (said(5, "scrap"), "More pieces than lie there undecided.*at most 4"),
        (said(1, "scrap", "bench"), "at most 0"),
        (teller(StockTaken(item="P", count=8, place="shelf")), "The rest is set aside.*at most 7"),
        (teller(Moved(item="P", count=8, from_place="shelf", to_place="van")), "The rest is set aside"),
    ):
        with pytest.raises(Refused, match=says):
            item([*story, event], "P")
    moved = item([*story, teller(Moved(item="P", count=4, from_place="shelf", to_place="van"))], "P")
    assert (moved.counts, moved.kept, moved.aside) == ({"shelf": 5, "van": 4}, {"van": 3}, {"shelf": 2})
    taken = item([*story, teller(StockTaken(item="P", count=2, place="shelf"))], "P")
    assert (taken.counts, taken.kept) == ({"shelf": 7}, {"shelf": 1})
    fewer = item([*story, teller(StockCounted(item="P", count=4, place="shelf"))], "P")
    assert (fewer.kept, fewer.aside) == ({"shelf": 2}, {"shelf": 2})
    rows = [row for table, row in rows_of(found) if table == "stock"]
    assert [row[-2:] for row in rows] == [(3, 2)]
