"""After a stop, a new edge, a shifted offset, a new set-up and a night the next piece is a first one again."""

from __future__ import annotations

from datetime import timedelta

import pytest
from batch_story import BARS, BEGIN, Teller, batch_after_all
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from proveout.books.folding import stated
from proveout.books.renewed import NIGHT, is_moved, must_be_measured
from proveout.books.stretches import Told
from proveout.jobs.first_off import FirstOff, first_off
from proveout.jobs.held_back import is_measured_since_stop, moved_words, other_work_since
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Check, Counted, ReadingTaken, Resumed, Started, Stopped
from proveout.model.events import Event, Stating
from proveout.model.floor_events import OffsetAnswered, SetUpMeasured
from proveout.model.stock_events import EdgeChanged

MILL = "mill-5"
MEASURED = SetUpMeasured(step="op1", revision="B")


def batch() -> Batch:
    teller = Teller()
    return batch_after_all([teller(BARS), *teller.release(), *teller.sawn(8), teller(Started(step="op1"))])


def op1(of: Batch) -> StepCount:
    return next(one for one in of.steps if one.id == "op1")


def read(piece: str, value: float = 20.06) -> ReadingTaken:
    return ReadingTaken(step="op1", mark="7", value=value, piece=piece)


def told(*of: Stating, hours: tuple[float, ...] = ()) -> Told:
    """The start and what follows, hours after it; a second apart where nothing is said."""
    teller, found = Teller(seed=3), []
    for number, one in enumerate((Started(step="op1"), *of)):
        event = teller(one, station=MILL)
        later = timedelta(hours=hours[number - 1] if hours and number else 0.0, seconds=number)
        found.append((replace(event, at=BEGIN + later), one))
    return tuple(found)


def found(*of: Stating, cutters: frozenset[str] | None = frozenset({"EM6"})) -> FirstOff:
    own = batch()
    return first_off(own, op1(own), told(*of), cutters=cutters)


STOP = (Stopped(step="op1", why="alarm", told="jon"), Resumed(step="op1", why="cleared"))
CHANGES: tuple[tuple[tuple[Stating, ...], str], ...] = (
    (STOP, "a stop (alarm)"), ((EdgeChanged(machine=MILL, cutter="EM6", life_s=60.0),), "a new edge of EM6"),
    ((OffsetAnswered(step="op1", advice="y", is_taken=True),), "an offset was shifted"),
    ((MEASURED,), "the set-up was measured anew"),
)  # fmt: skip


@pytest.mark.parametrize(("change", "why"), CHANGES, ids=[why for _, why in CHANGES])
def test_what_was_right_before_a_change_says_nothing_of_the_next_piece(change: tuple[Stating, ...], why: str) -> None:
    assert found(read("1")).state == "right"
    after = found(read("1"), *change)
    assert (after.state, after.why) == ("to measure", why)
    assert f"After {why} the next piece is a first piece again. It is not measured yet: 7" in after.words
    assert found(read("1"), *change, read("1")).state == "to measure"  # it was cut before
    assert found(read("1"), *change, read("2", 20.08)).state == "outside"
    assert found(read("1"), *change, read("2")).state == "right"
    assert found(read("1", 20.08), *change, read("1")).state == "right"  # cut once more, and right now


def test_a_piece_half_read_before_a_change_is_read_anew_in_full() -> None:
    own = batch()
    two = replace(own, checks=(*own.checks, Check(step="op1", mark="9", text="12", low=11.9, high=12.1)))
    nine = ReadingTaken(step="op1", mark="9", value=12.0, piece="2")
    half = first_off(two, op1(two), told(read("1"), read("2"), *STOP, nine))
    assert (half.state, half.missing) == ("to measure", ("7",))
    assert first_off(two, op1(two), told(read("2"), *STOP, nine, read("2"))).state == "right"


def test_what_changes_nothing_at_the_step_asks_for_nothing() -> None:
    for of in (
        OffsetAnswered(step="op1", advice="y", is_taken=False), EdgeChanged(machine=MILL, cutter="DR5", life_s=60.0),
        EdgeChanged(machine="mill-3", cutter="EM6", life_s=60.0), Counted(step="op1", good_count=1),
        OffsetAnswered(step="bench", advice="y", is_taken=True),
    ):  # fmt: skip
        assert found(read("1"), of).state == "right", of
    # of which cutters the step is nobody knows: any of its machine may be among them
    assert found(read("1"), EdgeChanged(machine=MILL, cutter="DR5", life_s=60.0), cutters=None).state == "to measure"


def test_before_its_start_nothing_is_asked_again() -> None:
    own, teller = batch(), Teller(seed=4)
    before = tuple(
        (teller(of, station=MILL), of) for of in (MEASURED, EdgeChanged(machine=MILL, cutter="EM6", life_s=60.0))
    )
    assert first_off(own, op1(own), (*before, *told(read("1"))), cutters=None).state == "right"


def test_a_night_counts_where_the_plan_says_so_and_nowhere_else() -> None:
    own = batch()
    daily = replace(own, is_measured_daily=True)
    for hours, is_night in ((5.9, False), (6.1, True)):
        now = BEGIN + timedelta(hours=hours)
        assert first_off(daily, op1(own), told(read("1")), now=now).words.startswith("After a night") == is_night
        assert first_off(own, op1(own), told(read("1")), now=now).state == "right"
    nights = told(read("1"), read("2"), Counted(step="op1", good_count=1), hours=(0.0, 14.0, 14.5))
    assert first_off(daily, op1(own), nights, now=BEGIN + timedelta(hours=15)).state == "right"
    same = told(read("1"), read("1"), hours=(0.0, 14.0))
    assert first_off(daily, op1(own), same, now=BEGIN + timedelta(hours=15)).state == "to measure"
    assert timedelta(hours=1) < NIGHT < timedelta(hours=10)


HAPPENED = st.one_of(
    st.sampled_from([change for change, _ in CHANGES]), st.just((Counted(step="op1", good_count=1),)),
    st.builds(lambda piece, value: (read(piece, value),), st.sampled_from(("1", "2", "3")),
              st.sampled_from((20.06, 20.08))),
)  # fmt: skip


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.lists(HAPPENED, max_size=15))
def test_right_is_only_what_was_read_right_after_the_last_change(parts: list[tuple[Stating, ...]]) -> None:
    """Told the slow way: the readings after the last change alone, of pieces that were never right before it."""
    ends = [number for number, one in enumerate(parts) if one in [change for change, _ in CHANGES]]
    was_right: set[str] = set()
    last: dict[str, float] = {}
    for number, part in enumerate(parts):
        if number in ends:
            was_right |= {piece for piece, value in last.items() if value == 20.06}
            last = {}
        for of in part:
            if isinstance(of, ReadingTaken):
                last[of.piece] = of.value
    wanted = any(value == 20.06 and piece not in was_right for piece, value in last.items())
    assert (found(*(of for part in parts for of in part)).state == "right") == wanted


WORDS = (
    ("Work moved", True), ("Strike", True), ("Vise bumped", True), ("it hit the jaw", True), ("part is loose", True),
    ("two strikes", True), ("work shifted in the vise", True), ("the blank spun", True),
    ("Size is off", False), ("Cutter broke", False), ("end of shift", False), ("white spot", False),
)  # fmt: skip


@pytest.mark.parametrize(("why", "moved"), WORDS)
def test_a_stop_says_that_something_moved_by_its_words_or_its_mark(why: str, *, moved: bool) -> None:
    assert is_moved(Stopped(step="op1", why=why, told="jon")) == moved
    assert is_moved(Stopped(step="op1", why=why, told="jon", is_moved=True))


def test_after_something_moved_the_set_up_is_measured_since_that_stop() -> None:
    own, bump = batch(), Stopped(step="op1", why="Vise bumped", told="jon")
    step = op1(own)
    assert "measure zero" in moved_words(own, step, told(MEASURED, bump))
    assert "Vise bumped" in moved_words(own, step, told(MEASURED, bump, Resumed(step="op1", why="looks fine")))
    assert moved_words(own, step, told(MEASURED, bump, MEASURED)) == ""
    assert moved_words(own, step, told(MEASURED, bump, MEASURED, bump)) != ""
    assert must_be_measured(own, "bench", told(bump)) is None
    assert [is_measured_since_stop(own, step, told(*of)) for of in ((bump,), (bump, MEASURED), (MEASURED, bump))] == [
        False, True, False,
    ]  # fmt: skip


def test_a_set_up_stands_until_other_work_is_started_on_its_machine() -> None:
    own = batch()
    step, none = op1(own), frozenset({"op1"})

    def other(of: Stating, station: str, batch: str) -> tuple[Event, Stating]:
        event = Teller(batch, seed=7)(of, station=station)
        return event, stated(event)

    before = (*told(MEASURED), other(Started(step="op1"), MILL, "200"))
    assert other_work_since(own, step, before, together=none) == "batch 200, op1"
    assert other_work_since(own, step, (*before, *told(MEASURED)), together=none) == ""
    for at, name, together in ((MILL, "100", frozenset({"op1", "op2"})), ("mill-3", "200", none)):
        others = (*told(MEASURED), other(Started(step="op2"), at, name))
        assert other_work_since(own, step, others, together=together) == ""
    assert other_work_since(own, step, (*told(MEASURED), other(Started(step="op2"), MILL, "100")), together=none)
