"""Half-made pieces whose revision ends: kept, taken out or brought elsewhere, and none of them lost on the way."""

from __future__ import annotations

import pytest
from batch_story import BARS, Teller, balance, batch_after_all, books_after, to_coat
from msgspec.structs import replace

from proveout.model.batch import Batch
from proveout.model.batch_events import Asked, Bad, Counted, Done, Planned, Rework, Started
from proveout.model.change_events import GO_ON, KEPT, Fate, PiecesSettled, RevisionEnds, RevisionStays, SolidHeld
from proveout.model.events import Event
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.revision_book import Revisions
from proveout.quantities.errors import BadInput, ProveoutError, Refused

WHY = "the slot gets deeper"
ENDS = RevisionEnds(part="EX-101", ends="B", begins="C", from_day="2027-03-20", why=f"{WHY}.")
MARK = "ab" * 32


def said(fate: Fate, count: int, *, step: str = "coat", **more: str) -> PiecesSettled:
    return PiecesSettled(step=step, count=count, fate=fate, why=WHY, **more)  # pyright: ignore[reportArgumentType]


def at(batch: Batch, step: str) -> tuple[int, int, int]:
    """Waiting, kept and taken out at a step."""
    found = next(one for one in batch.steps if one.id == step)
    return found.waiting_count, found.kept_count, found.taken_count


def test_pieces_that_are_kept_stay_so_from_step_to_step_and_the_others_leave() -> None:
    """Worked: nine wait for the coater; four are kept, three scrapped; of the four all go out, one is lost there."""
    teller = Teller()
    story = [*to_coat(teller), teller(said(KEPT, 4)), teller(said("scrap", 3))]
    assert at(batch_after_all(story), "coat") == (6, 4, 3)
    story += [teller(SentOut(step="coat", lot="L1", finisher="coater", count=4)), teller(CameBack(lot="L1", count=4)),
              teller(CountedIn(lot="L1", good_count=3, bad=(Bad(reason="thin", count=1),)))]  # fmt: skip
    batch = batch_after_all(story)
    balance(batch)
    assert at(batch, "look") == (3, 3, 0)
    assert at(batch, "coat")[0] == 2
    assert sum(one.count for one in batch.bad) == 2, "what was scrapped by the change is no bad piece of the batch"


def test_pieces_away_can_only_be_kept() -> None:
    teller = Teller()
    story = [*to_coat(teller), teller(SentOut(step="coat", lot="L1", finisher="coater", count=9))]
    assert at(batch_after_all([*story, teller(said(KEPT, 9))]), "coat") == (0, 9, 0)
    with pytest.raises(Refused, match="More pieces than wait here undecided"):
        batch_after_all([*story, teller(said("scrap", 1))])


def test_nobody_says_twice_what_becomes_of_a_piece() -> None:
    teller = Teller()
    story = [*to_coat(teller), teller(said(KEPT, 4))]
    for fate in (KEPT, "scrap", "set aside"):
        assert at(batch_after_all([*story, teller(said(fate, 5))]), "coat")[0] in (9, 4)
        with pytest.raises(Refused, match="at most 5"):
            batch_after_all([*story, teller(said(fate, 6))])


def test_a_kept_piece_that_goes_back_is_undecided_again() -> None:
    """Worked: ten are kept at op1 and come to the bench so; of three that the bench sends back nobody said anything."""
    teller = Teller()
    story = [teller(BARS), *teller.release(), *teller.sawn(10), teller(Done(step="saw")),
             teller(said(KEPT, 10, step="op1"))]  # fmt: skip
    story += [teller(Started(step="op1")), teller(Counted(step="op1", good_count=10)), teller(Started(step="bench"))]
    assert at(batch_after_all(story), "bench") == (10, 10, 0)
    back = (Rework(to_step="op1", reason="burr", count=3),)
    batch = batch_after_all([*story, teller(Counted(step="bench", good_count=7, rework=back))])
    assert (at(batch, "op1"), at(batch, "bench"), at(batch, "coat")) == ((3, 0, 0), (0, 0, 0), (7, 7, 0))


def test_blanks_that_nobody_made_do_not_leave() -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release()]
    assert at(batch_after_all([*story, teller(said(KEPT, 10, step="saw"))]), "saw") == (10, 10, 0)
    with pytest.raises(Refused, match="nobody made"):
        batch_after_all([*story, teller(said("scrap", 1, step="saw"))])


def other(name: str, *, is_one_heat: bool = False) -> list[Event]:
    """A released batch of the new revision."""
    teller = Teller(name, seed=int(name))
    release = replace(Teller.released(), revision="C", is_one_heat=is_one_heat)
    return [teller(Asked(part="EX-101", revision="C", wanted_count=8)), teller(Planned(plan=release.plan)),
            teller(release)]  # fmt: skip


def test_pieces_that_go_on_come_in_at_the_same_step_of_the_other_batch_with_their_heat() -> None:
    teller = Teller()
    of = said(GO_ON, 4, step="coat", to_batch="7")
    story = [*to_coat(teller), *other("7"), teller(replace(of, heats=("H77",)))]
    left, came = batch_after_all(story), batch_after_all(story, "7")
    balance(left)
    balance(came)
    assert (at(left, "coat"), at(came, "coat")) == ((5, 0, 4), (4, 0, 0))
    assert came.heats == ("H77",)


def test_pieces_of_another_heat_do_not_come_where_all_are_of_one() -> None:
    teller = Teller()
    of = replace(said(GO_ON, 1, to_batch="7"), heats=("H77",))
    story = [*to_coat(teller), *other("7", is_one_heat=True), teller(of)]
    batch_after_all(story, "7")
    two = replace(of, heats=("H77", "H78"))
    with pytest.raises(Refused, match=r"all be of one heat.*H77, H78"):
        batch_after_all([*story, teller(two)], "7")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"to_batch": "7"}, "no such batch to go on in"), ({"to_batch": "100"}, "in the batch that they leave"),
    ],
)  # fmt: skip
def test_pieces_do_not_go_on_in_no_batch_or_their_own(more: dict[str, str], words: str) -> None:
    teller = Teller()
    with pytest.raises(Refused, match=words):
        batch_after_all([*to_coat(teller), teller(said(GO_ON, 1, **more))])


def test_pieces_do_not_go_on_behind_nothing_or_before_a_release() -> None:
    teller = Teller()
    start = [*to_coat(teller)]
    with pytest.raises(Refused, match="released and open"):
        batch_after_all([*start, *other("7")[:2], teller(said(GO_ON, 1, to_batch="7"))])


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: said("scrap", 0), lambda: said(GO_ON, 1), lambda: said("scrap", 1, to_batch="7"),
        lambda: replace(ENDS, begins="B"), lambda: replace(ENDS, from_day=""), lambda: replace(ENDS, from_day="soon"),
        lambda: replace(ENDS, why="so"), lambda: SolidHeld(part="x", ends="B", plan="x", solid=MARK, found=MARK),
    ],
)  # fmt: skip
def test_what_cannot_be_said_is_no_event(wrong: object) -> None:
    assert callable(wrong)
    with pytest.raises(BadInput):
        wrong()


def revisions(*events: Event) -> Revisions:
    found = books_after(list(events))["revisions:EX-101"]
    assert isinstance(found, Revisions)
    return found


def test_a_revision_ends_from_its_day_on_and_not_before() -> None:
    ending = revisions(Teller("")(ENDS)).ending_of("B")
    assert ending is not None
    assert [ending.holds_on(day) for day in ("2027-03-19", "2027-03-20", "2028-01-01")] == [False, True, True]
    assert (ending.begins, ending.person, ending.why) == ("C", "mara", WHY)
    assert revisions(Teller("")(ENDS)).ending_of("C") is None


def test_one_change_ends_a_revision_until_it_is_taken_back() -> None:
    teller = Teller("")
    first, stays = teller(ENDS), teller(RevisionStays(part="EX-101", ends="B", why="the change comes with D"))
    again = teller(replace(ENDS, begins="D"))
    with pytest.raises(Refused, match=r"ends this revision already.*C from 2027-03-20"):
        revisions(first, again)
    book = revisions(first, stays, again)
    assert [(one.begins, one.stands) for one in book.endings] == [("C", False), ("D", True)]
    assert not book.endings[0].holds_on("2030-01-01")
    with pytest.raises(Refused, match="itself ended"):
        revisions(first, teller(replace(ENDS, ends="A", begins="B")))
    with pytest.raises(Refused, match="No change ends this revision"):
        revisions(first, stays, teller(stays.of))  # pyright: ignore[reportArgumentType]


def test_the_last_finding_of_a_plan_stands_with_the_change() -> None:
    teller = Teller("")
    held = [SolidHeld(part="EX-101", ends="B", plan=plan * 32, solid=MARK, found=found * 32)
            for plan, found in (("01", "aa"), ("02", "bb"), ("01", "cc"))]  # fmt: skip
    ending = revisions(teller(ENDS), *(teller(one) for one in held)).ending_of("B")
    assert ending is not None
    assert [(one.plan[:2], one.found[:2]) for one in ending.held] == [("02", "bb"), ("01", "cc")]


def test_pieces_are_settled_in_a_released_batch_only() -> None:
    teller = Teller()
    asked = [teller(Asked(part="EX-101", revision="B", wanted_count=8)), teller(Planned(plan="ab" * 32))]
    with pytest.raises(ProveoutError, match="not released"):
        batch_after_all([*asked, teller(said("scrap", 1))])
