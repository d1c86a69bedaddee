"""The first piece goes through every clamping before the second is cut, whatever people try in whatever order."""

from __future__ import annotations

from contextlib import suppress

import pytest
from batch_story import PLAN, Teller
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.books.batches import batch_after
from proveout.books.first_piece import FIRST_PIECE, first_way_words, is_first_piece_due, pieces_ahead
from proveout.books.folding import stated
from proveout.jobs.batch_route import first_through_of
from proveout.jobs.first_off import first_off
from proveout.jobs.held_back import first_piece_way, is_held, refuse_next_piece
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import (
    Asked,
    Bad,
    Check,
    Counted,
    Done,
    Planned,
    ReadingTaken,
    Released,
    Rework,
    RouteStep,
    Started,
    Waived,
)
from proveout.model.events import Event, Stating
from proveout.model.stock_events import Sawn
from proveout.quantities.errors import Refused

ROUTE = (
    RouteStep(id="saw", station="saw", kind="saw", text="saw"),
    RouteStep(id="op1", station="mill-5", kind="mill", text="clamping 1"),
    RouteStep(id="op2", station="mill-3", kind="mill", text="clamping 2"),
    RouteStep(id="op3", station="mill-5", kind="mill", text="clamping 3"),
    RouteStep(id="coat", station="coater", kind="outside", text="coat"),
    RouteStep(id="op4", station="mill-5", kind="mill", text="clamping 4"),
)
CHECKS = (
    Check(step="op1", mark="7", text="20", low=19.9, high=20.1), Check(step="op3", mark="8", text="12", low=11, high=13)
)  # fmt: skip
STATIONS = {step.id: step.station for step in ROUTE}
MILLS = ("op1", "op2", "op3")
LAST = 3
"""Place of the last clamping before the coat in the route."""


class Shop:
    """A batch that people work on, held back as the floor holds it back."""

    def __init__(self, *, blanks: int = 6) -> None:
        self.teller, self.batch = Teller(), None
        self.told: list[tuple[Event, Stating]] = []
        first = first_through_of(ROUTE)
        for of in (
            Asked(part="EX-1", revision="B", wanted_count=blanks), Planned(plan=PLAN),
            Released(plan=PLAN, revision="B", blanks_count=blanks, route=ROUTE, checks=CHECKS, papers={"a": "cd" * 32},
                     first_through=first),
            Started(step="saw"),
            Sawn(step="saw", item="B", heat="H", place="r", bars_count=1, good_count=blanks), Done(step="saw"),
        ):  # fmt: skip
            self.writes(of)

    def writes(self, of: Stating) -> None:
        event = self.teller(of, station=STATIONS.get(getattr(of, "step", ""), "desk"))
        self.batch = batch_after(self.batch, event, stated(event))
        self.told.append((event, of))

    @property
    def now(self) -> Batch:
        assert self.batch is not None
        return self.batch

    def step(self, id: str) -> StepCount:
        return next(one for one in self.now.steps if one.id == id)

    def taps(self, of: Stating) -> None:
        """Writes what the floor lets in, as its pages ask it."""
        told, step = tuple(self.told), self.step(getattr(of, "step", "saw"))
        if isinstance(of, Started):
            if step.is_started and not is_held(self.now, step):
                raise Refused("This step is started already")
            refuse_next_piece(self.now, step, told, good_count=0)
        elif isinstance(of, Counted) and of.good_count:
            if words := first_off(self.now, step, told).words:
                raise Refused(words)
            refuse_next_piece(self.now, step, told, good_count=of.good_count)
        self.writes(of)

    def made(self) -> int:
        """Good pieces on their way between the first clamping and the end of the last."""
        return sum(one.waiting_count for one in self.now.steps[2 : LAST + 1]) + self.now.steps[LAST].good_count


STEPS = st.sampled_from(MILLS)
TAPS: st.SearchStrategy[Stating] = st.one_of(
    st.builds(Started, step=STEPS), st.builds(Counted, step=STEPS, good_count=st.integers(1, 3)),
    st.builds(Counted, step=STEPS, bad=st.just((Bad(reason="size", count=1),))),
    st.builds(Counted, step=st.sampled_from(("op2", "op3")),
              rework=st.tuples(st.builds(Rework, to_step=STEPS, reason=st.just("burr"), count=st.just(1)))),
    st.builds(ReadingTaken, step=st.just("op1"), mark=st.just("7"), value=st.sampled_from((20.0, 20.2)),
              piece=st.sampled_from(("1", "2"))),
    st.builds(ReadingTaken, step=st.just("op3"), mark=st.just("8"), value=st.sampled_from((12.0, 14.0)),
              piece=st.sampled_from(("1", "2"))),
)  # fmt: skip


@settings(max_examples=80, derandomize=True, deadline=None)
@given(st.lists(TAPS, max_size=40))
def test_no_second_piece_is_on_its_way_before_the_first_is_through_and_read(taps: list[Stating]) -> None:
    shop = Shop()
    for of in taps:
        was_due = is_first_piece_due(shop.now)
        with suppress(Refused):
            shop.taps(of)
        if was_due:
            assert shop.made() <= 1
        if not is_first_piece_due(shop.now):
            assert {one.step for _, one in shop.told if isinstance(one, ReadingTaken)} == {"op1", "op3"}
    _goes_on(shop)


def _goes_on(shop: Shop) -> None:
    """From wherever they got to, people who read and count piece by piece come to the end: nothing is stuck."""
    for number in range(200):
        if all(shop.step(id).waiting_count == 0 for id in MILLS):
            return
        for id in reversed(MILLS):
            step = shop.step(id)
            if not step.waiting_count or (id != "op3" and first_piece_way(shop.now, id, tuple(shop.told))):
                continue
            if not step.is_started or is_held(shop.now, step):
                shop.taps(Started(step=id))
            for check in CHECKS:
                if check.step == id:
                    shop.taps(
                        ReadingTaken(step=id, mark=check.mark, value=(check.low or 0.0) + 0.1, piece=f"n{number}")
                    )
            shop.taps(Counted(step=id, good_count=1))
            break
    raise AssertionError(f"stuck: {shop.now.steps}")


def through_first(shop: Shop) -> None:
    shop.taps(Started(step="op1"))
    shop.taps(ReadingTaken(step="op1", mark="7", value=20.0, piece="1"))
    shop.taps(Counted(step="op1", good_count=1))


def test_the_first_piece_leaves_and_the_rest_waits_for_a_start_of_its_own() -> None:
    shop = Shop()
    through_first(shop)
    assert first_through_of(ROUTE) == MILLS  # not the clamping after the coat
    assert shop.step("op1").is_first_out
    with pytest.raises(Refused, match=r"goes through all clampings.*waits at op2 \(mill-3\)"):
        shop.taps(Started(step="op1"))
    with pytest.raises(Refused, match="goes through all clampings"):
        shop.taps(Counted(step="op1", good_count=1))
    shop.taps(Started(step="op2"))
    shop.taps(Counted(step="op2", good_count=1))
    assert pieces_ahead(shop.now, "op1") == (("op3", 1),)
    shop.taps(Started(step="op3"))
    with pytest.raises(Refused, match="not measured yet: 8"):
        shop.taps(Counted(step="op3", good_count=1))
    shop.taps(ReadingTaken(step="op3", mark="8", value=12.0, piece="1"))
    shop.taps(Counted(step="op3", good_count=1))
    assert not is_first_piece_due(shop.now)
    with pytest.raises(Refused, match="need a start of their own"):
        shop.taps(Counted(step="op1", good_count=5))
    shop.taps(Started(step="op1"))
    shop.taps(Counted(step="op1", good_count=5))
    with pytest.raises(Refused, match="started already"):
        shop.taps(Started(step="op1"))


def test_a_first_piece_that_turns_out_bad_makes_way_for_another() -> None:
    shop = Shop()
    through_first(shop)
    shop.taps(Started(step="op2"))
    shop.taps(Counted(step="op2", bad=(Bad(reason="size", count=1),)))
    shop.taps(Started(step="op1"))
    with pytest.raises(Refused, match="Only the first piece is made"):
        shop.taps(Counted(step="op1", good_count=2))
    shop.taps(Counted(step="op1", good_count=1))
    with pytest.raises(Refused, match="goes through all clampings"):
        shop.taps(Started(step="op1"))


def test_a_reading_corrected_to_outside_holds_the_rest_back_though_the_first_piece_is_counted() -> None:
    shop = Shop()
    through_first(shop)
    for id in ("op2", "op3"):
        shop.taps(Started(step=id))
        if id == "op3":
            shop.taps(ReadingTaken(step="op3", mark="8", value=12.0, piece="1"))
        shop.taps(Counted(step=id, good_count=1))
    shop.told = [
        (event, ReadingTaken(step="op3", mark="8", value=14.0, piece="1") if getattr(of, "mark", "") == "8" else of)
        for event, of in shop.told
    ]
    with pytest.raises(Refused, match="ever found right at op3"):
        shop.taps(Started(step="op1"))


def test_a_named_person_may_have_pieces_cut_before_and_it_is_told_with_the_reason() -> None:
    shop = Shop()
    through_first(shop)
    with pytest.raises(Refused, match="goes through all clampings"):
        shop.taps(Started(step="op1"))
    shop.writes(Waived(proof_id=FIRST_PIECE, reason="one machine, it would be set up twice"))
    shop.taps(Counted(step="op1", good_count=5))
    assert [one.words for one in shop.now.waivers] == [
        "Pieces may be cut before the first one went through all clampings. mara: one machine, it would be set up twice"
    ]
    with pytest.raises(Refused, match="already"):
        shop.writes(Waived(proof_id=FIRST_PIECE, reason="one machine, it would be set up twice"))


def test_nobody_answers_for_what_is_not_asked() -> None:
    shop = Shop()
    through_first(shop)
    shop.taps(Started(step="op2"))
    shop.taps(Counted(step="op2", good_count=1))
    shop.taps(Started(step="op3"))
    shop.taps(ReadingTaken(step="op3", mark="8", value=12.0, piece="1"))
    shop.taps(Counted(step="op3", good_count=1))
    with pytest.raises(Refused, match="Nobody waits here for a first piece"):
        shop.writes(Waived(proof_id=FIRST_PIECE, reason="one machine, it would be set up twice"))
    assert first_through_of(ROUTE[:2]) == ()
    assert (first_way_words(()), "op1, op2, op3" in first_way_words(MILLS)) == ("", True)
