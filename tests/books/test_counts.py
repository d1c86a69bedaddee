"""Pieces are neither lost nor made on their way: a split finisher lot, a short count and rework included."""

from __future__ import annotations

import pytest
from batch_story import BARS, Teller, balance, batch_after_all, books_after, to_coat
from hypothesis import given
from hypothesis import strategies as st

from proveout.model.batch_events import Bad, Counted, Done, Packed, ReadingTaken, Resumed, Rework, Started, Stopped
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, Rejected, SentOut
from proveout.model.stock_events import Sawn
from proveout.model.stock_kept import Item
from proveout.quantities.errors import Refused


def test_a_split_lot_a_short_count_rework_and_a_reject_come_out_right() -> None:
    """Worked: 10 sawn; 1 bad, 9 to the coater as 5 and 4; of the 5 the slip says 5, 4 are found, 1 given up; of the 4
    two come back today and two later; one is rejected; 7 are packed: 7 + 1 + 1 + 1 = 10."""
    teller = Teller()
    story = [
        *to_coat(teller),
        teller(SentOut(step="coat", lot="L1", finisher="coater", count=5, promised="2027-03-12")),
        teller(SentOut(step="coat", lot="L2", finisher="coater", count=4)),
        teller(CameBack(lot="L1", count=5)),
        teller(CountedIn(lot="L1", good_count=4)),
        teller(CameBack(lot="L2", count=2)),
        teller(CountedIn(lot="L2", good_count=2)),
    ]
    states = [batch_after_all(story[: n + 1]).state for n in range(3, len(story))]
    assert states[0] == "released"
    assert states[1:-5] == ["running"] * (len(states) - 6)
    assert states[-5:] == ["away", "away", "running", "running", "running"], "coated pieces wait to be looked at"
    for n in range(3, len(story)):
        balance(batch_after_all(story[: n + 1]))
    batch = batch_after_all(story)
    assert [(lot.lot, lot.away_count, lot.uncounted_count) for lot in batch.lots] == [("L1", 1, 1), ("L2", 2, 0)]
    story += [
        teller(Rejected(lot="L1", count=1, reason="thin coat", claim_until="2027-03-26")),
        teller(GivenUp(lot="L1", count=1, reason="never found")),
        teller(Started(step="look")),
        teller(Counted(step="look", good_count=5)),
        teller(Started(step="pack")),
        teller(Packed(step="pack", count=5, code="A1")),
    ]
    assert batch_after_all(story).state == "away"
    story += [teller(CameBack(lot="L2", count=2)), teller(CountedIn(lot="L2", good_count=2))]
    story += [teller(Counted(step="look", good_count=2)), teller(Packed(step="pack", count=2))]
    batch = batch_after_all(story)
    balance(batch)
    assert batch.state == "counted"
    assert batch.steps[-1].good_count == 7
    assert {(one.step, one.reason): one.count for one in batch.bad} == {
        ("coat", "never found"): 1, ("coat", "thin coat"): 1, ("op1", "wall too thin"): 1,
    }  # fmt: skip
    assert batch.heats == ("H77",)
    bars = books_after(story)["item:B-1"]
    assert isinstance(bars, Item)
    assert bars.counts == {"rack 1": 9}


@pytest.mark.parametrize(
    ("of", "says"),
    [
        (Counted(step="op1", good_count=1), "More pieces are counted than wait"),
        (Counted(step="coat", good_count=1), "This step is not started"),
        (SentOut(step="coat", lot="L1", finisher="coater", count=10), "More pieces go out than wait"),
        (SentOut(step="bench", lot="L1", finisher="coater", count=1), "not done outside"),
        (CameBack(lot="L1", count=1), "No such lot was sent out"),
        (Counted(step="nowhere", good_count=1), "no such step"),
        (Packed(step="pack", count=1), "not started"),
        (Started(step="pack"), "No piece waits"),
        (Started(step="saw"), "started already"),
        (Resumed(step="op1", why="edge changed"), "does not stand still"),
        (Done(step="look"), "not started"),
        (ReadingTaken(step="op1", mark="8", value=1.0), "Nothing of this mark"),
        (Sawn(step="op1", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=1), "not written at such"),
        (Sawn(step="saw", item="B-1", heat="H78", place="rack 1", bars_count=1, good_count=1), "This step is done"),
    ],
)
def test_what_cannot_follow_is_refused_in_one_sentence(of: Counted, says: str) -> None:
    teller = Teller()
    story = to_coat(teller)
    with pytest.raises(Refused, match=says) as refusal:
        batch_after_all([*story, teller(of)])
    assert "\n" not in refusal.value.message


def test_a_lot_gives_back_no_more_than_went_out() -> None:
    teller = Teller()
    story = [*to_coat(teller), teller(SentOut(step="coat", lot="L1", finisher="coater", count=5))]
    for of, says in (
        (CameBack(lot="L1", count=6), "More pieces came back than are out.*at most 5"),
        (CountedIn(lot="L1", good_count=1), "More pieces are counted than came back.*at most 0"),
        (GivenUp(lot="L1", count=6, reason="lost"), "More pieces are given up than are away.*at most 5"),
        (Rejected(lot="L1", count=1, reason="thin"), "More pieces are rejected than were counted in"),
        (SentOut(step="coat", lot="L1", finisher="coater", count=1), "A lot of this name went out"),
        (SentOut(step="coat", lot="L2", finisher="plater", count=1), "planned for another station"),
    ):
        with pytest.raises(Refused, match=says):
            batch_after_all([*story, teller(of)])


def test_pieces_that_have_gone_on_are_not_rejected_out_of_their_lot() -> None:
    teller = Teller()
    story = [
        *to_coat(teller), teller(SentOut(step="coat", lot="L1", finisher="coater", count=9)),
        teller(CameBack(lot="L1", count=9)), teller(CountedIn(lot="L1", good_count=9)), teller(Started(step="look")),
        teller(Counted(step="look", good_count=8)),
    ]  # fmt: skip
    with pytest.raises(Refused, match=r"gone on.*at most 1 that wait at look"):
        batch_after_all([*story, teller(Rejected(lot="L1", count=2, reason="thin coat"))])
    balance(batch_after_all([*story, teller(Rejected(lot="L1", count=1, reason="thin coat"))]))


def test_a_step_is_written_at_its_own_station_and_not_while_it_stands_still() -> None:
    teller = Teller()
    story = [*teller.release(), teller(BARS), *teller.sawn(4), teller(Started(step="op1"))]
    with pytest.raises(Refused, match=r"planned for another station.*mill-3"):
        batch_after_all([*story, teller(Counted(step="op1", good_count=1), station="mill-3")])
    story.append(teller(Stopped(step="op1", why="chatter", told="jon")))
    for of in (Counted(step="op1", good_count=1), Done(step="op1"), Stopped(step="op1", why="again", told="jon")):
        with pytest.raises(Refused, match=r"stands still.*chatter"):
            batch_after_all([*story, teller(of)])
    story += [teller(Resumed(step="op1", why="new edge")), teller(Counted(step="op1", good_count=1))]
    assert batch_after_all(story).steps[1].good_count == 1


def test_a_short_count_at_the_saw_is_no_loss_and_done_waits_for_what_comes_before() -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release(), *teller.sawn(6), teller(Started(step="op1"))]
    story.append(teller(Counted(step="op1", good_count=6)))
    with pytest.raises(Refused, match=r"An earlier step is not done.*saw"):
        batch_after_all([*story, teller(Done(step="op1"))])
    story += [teller(Done(step="saw")), teller(Done(step="op1"))]
    batch = batch_after_all(story)
    balance(batch)
    assert (batch.steps[0].unmade_count, batch.steps[0].waiting_count, batch.steps[1].is_done) == (4, 0, True)
    back = Counted(step="bench", rework=(Rework(to_step="op1", reason="burr", count=2),))
    batch = batch_after_all([*story, teller(Started(step="bench")), teller(back)])
    balance(batch)
    assert not batch.steps[1].is_done, "pieces wait there again"


def test_rework_never_goes_on_ahead_and_never_to_the_saw() -> None:
    teller = Teller()
    story = to_coat(teller)[:-2]
    for to_step in ("saw", "bench"):
        with pytest.raises(Refused, match="Rework goes to this step or an earlier one"):
            batch_after_all(
                [*story, teller(Counted(step="op1", rework=(Rework(to_step=to_step, reason="burr", count=1),)))]
            )


CHOICES = st.lists(
    st.tuples(st.integers(0, 11), st.integers(1, 6), st.integers(0, 2), st.sampled_from(["L1", "L2", "L3"])),
    max_size=60,
)


@given(CHOICES)
def test_counts_agree_after_whatever_may_happen(choices: list[tuple[int, int, int, str]]) -> None:
    """Random taps; those refused change nothing, and after each of the others all counts agree."""
    teller = Teller()
    story = [*teller.release(), teller(BARS), *teller.sawn(8)]
    batch = batch_after_all(story)
    for what, count, lost, lot in choices:
        step = ("op1", "bench", "look")[lost]
        bad = (Bad(reason="bad", count=lost),) if lost else ()
        of = (
            Started(step=step), Counted(step="op1", good_count=count, bad=bad),
            Counted(step="bench", good_count=count, rework=(Rework(to_step="op1", reason="burr", count=1),)),
            Counted(step="bench", good_count=count, bad=bad),
            SentOut(step="coat", lot=lot, finisher="coater", count=count),
            CameBack(lot=lot, count=count), CountedIn(lot=lot, good_count=count, bad=bad),
            Rejected(lot=lot, count=count, reason="thin"), GivenUp(lot=lot, count=count, reason="lost"),
            Counted(step="look", good_count=count, bad=bad), Done(step="saw"), Done(step=step),
        )[what]  # fmt: skip
        try:
            batch = batch_after_all([*story, event := teller(of)])
        except Refused:
            continue
        story.append(event)
        balance(batch)
