"""A batch runs only from a ready plan, and who answers for an open proof is written on every paper."""

from __future__ import annotations

import pytest
from batch_story import PLAN, Teller, batch_after_all, open_proof
from msgspec.structs import replace

from proveout.books.release import may_waive, opens_of
from proveout.books.rows import rows_of
from proveout.model.batch_events import Asked, Closed, Planned, Started, Waived
from proveout.model.proof import Basis, Proof, Verdict, prove
from proveout.quantities.errors import BadInput, Refused

REASON = "edges were timed on the last batch"


def proof(stage: str, id: str, verdict: Verdict = "not shown") -> Proof:
    low, high = {"holds": (0.0, 0.5), "fails": (2.0, 3.0), "not shown": (0.5, 2.0)}[verdict]
    return prove(
        id=id, stage=stage, subject="c1", claim="it holds", sense="at most", found_low=low, found_high=high, limit=1.0,
        unit="N", blocks_release=True, basis=Basis(formula="f", source="s"),
    )  # fmt: skip


@pytest.mark.parametrize("verdict", ["not shown", "fails"])
@pytest.mark.parametrize(
    ("stage", "id"),
    [
        ("holding", "holding:c1:grip"),
        ("holding", "holding:c1:rotary brake"),
        ("clampings", "clampings:c1:pivot"),
        ("loads", "loads:mill-3:EM6:rated speed"),
        ("clampings", "clampings:c1-z+:moves y"),
        ("clampings", "clampings:c1-z+:travel z"),
        ("clampings", "clampings:c1-z+ + c2-z-:all places x"),
        ("clampings", "clampings:c1-z+:range of A"),
        ("clampings", "clampings:c1-z+:clear at every tilt"),
        ("clampings", "clampings:mill-3:vise-3:spindle nose above the jaw seat"),
        ("clampings", "clampings:c2-z-:seat"),
        ("passes", "passes/c1-z+/above-seat"),
        ("removal check", "removal check:jaws"),
        ("removal check", "removal check:bodies"),
        ("removal check", "removal check:c2-z-:idle vises"),
        ("removal check", "removal check:shank and holder"),
        ("removal check", "removal check:rapid in metal"),
        ("removal check", "removal check:loose pieces"),
        ("removal check", "removal check:passes"),
        ("jaw forms", "jaw forms:c3-y-:work"),
        ("program", "program:c1-z+:strike"),
        ("program", "program:c1-z+:turn"),
        ("program", "program:c1-z+:over-travel"),
        ("program", "program:c1-z+:length"),
        ("program", "program:c1-z+:zero"),
        ("program", "program:c1-z+ in place 1:read back:clamping-1-place-1-alone.nc"),
        ("program", "program:c1-z+:a kind that comes with a later version"),
    ],
)
def test_where_somebody_can_get_hurt_nobody_waives(stage: str, id: str, verdict: Verdict) -> None:
    assert not may_waive(proof(stage, id, verdict))
    teller = Teller()
    events = [
        teller(Asked(part="EX-101", revision="B", wanted_count=8)),
        teller(Planned(plan=PLAN, opens=opens_of((proof(stage, id, verdict), proof("loads", "loads:power", "holds"))))),
    ]
    assert [one.id for one in batch_after_all(events).opens] == [id]
    with pytest.raises(
        Refused, match="Nobody can waive holding, a brake, a pivot, a rated speed, a strike or a way beyond"
    ):
        batch_after_all([*events, teller(Waived(proof_id=id, reason=REASON))])


@pytest.mark.parametrize(
    "id",
    [
        "removal check:gouge",
        "removal check:finished",
        "program:c1-z+:gouge",
        "program:c3-y--jaws:part",
        "loading:c1-z+:wrong loads",
        "inspection:1:gauge-can-tell",
        "stability:mill-3:EM16",
        "bench:edges:time-is-enough",
        "bars:25x25:pieces-suffice",
        "loads:mill-3:BN10:wall error",
    ],
)
def test_a_named_person_may_answer_for_what_costs_only_pieces(id: str) -> None:
    assert may_waive(proof(id.partition(":")[0], id))


@pytest.mark.parametrize(
    "id", ["holding:c1:grip", "clampings:c1:pivot", "loads:mill-3:EM6:rated speed", "program:c1-z+:strike"]
)
def test_a_plan_that_says_itself_that_such_a_proof_may_be_waived_is_not_believed(id: str) -> None:
    teller = Teller()
    asked = teller(Asked(part="EX-101", revision="B", wanted_count=8))
    planned = teller(Planned(plan=PLAN, opens=(open_proof(id, may_waive=True),)))
    with pytest.raises(
        Refused, match="Nobody can waive holding, a brake, a pivot, a rated speed, a strike or a way beyond"
    ):
        batch_after_all([asked, planned, teller(Waived(proof_id=id, reason=REASON))])


def test_a_named_person_answers_for_another_proof_and_the_words_are_kept_for_the_papers() -> None:
    teller = Teller()
    asked = teller(Asked(part="EX-101", revision="B", wanted_count=8))
    planned = teller(Planned(plan=PLAN, opens=(open_proof(),)))
    release = teller(teller.released())
    assert batch_after_all([asked]).state == "asked"
    assert batch_after_all([asked, planned]).state == "planned"
    with pytest.raises(Refused, match=r"Only a ready batch is released.*bench:edges:time"):
        batch_after_all([asked, planned, release])
    waived = teller(Waived(proof_id="bench:edges:time", reason=REASON), person="jon")
    batch = batch_after_all([asked, planned, waived])
    assert batch.state == "ready"
    assert [(one.person, one.words) for one in batch.waivers] == [
        (
            "jon",
            f"Released although not shown or failing: the edges are broken in time (bench:edges:time). jon: {REASON}",
        )
    ]
    released = batch_after_all([asked, planned, waived, release])
    assert released.state == "released"
    assert next(row for table, row in rows_of(released) if table == "waivers")[2:] == ("jon", batch.waivers[0].words)


def test_another_plan_ends_the_waivers_of_the_one_before() -> None:
    teller = Teller()
    events = [
        teller(Asked(part="EX-101", revision="B", wanted_count=8)),
        teller(Planned(plan=PLAN, opens=(open_proof(),))),
        teller(Waived(proof_id="bench:edges:time", reason=REASON)),
        teller(Planned(plan="12" * 32, opens=(open_proof(),))),
    ]
    assert batch_after_all(events).state == "planned"


@pytest.mark.parametrize("reason", ["", "ok", "         ok        ", "long " * 61])
def test_a_reason_that_is_none_is_refused(reason: str) -> None:
    with pytest.raises(BadInput, match="A written reason is needed"):
        Waived(proof_id="bench:edges:time", reason=reason)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"plan": "12" * 32}, "not the plan"),
        ({"revision": "C"}, "another revision"),
        ({"blanks_count": 7}, "fewer blanks than pieces wanted"),
    ],
)
def test_a_release_of_something_else_is_refused(change: dict, says: str) -> None:
    teller = Teller()
    asked, planned, release = teller.release()
    wrong = replace(release, of=replace(release.of, **change))
    with pytest.raises(Refused, match=says):
        batch_after_all([asked, planned, wrong])


@pytest.mark.parametrize(
    "of",
    [
        Asked(part="EX-101", revision="B", wanted_count=8),
        Planned(plan=PLAN),
        Teller.released(),
        Waived(proof_id="x", reason=REASON),
    ],
)
def test_a_released_batch_stays_as_it_was_released(of: Asked) -> None:
    teller = Teller()
    with pytest.raises(Refused):
        batch_after_all([*teller.release(), teller(of)])


def test_a_closed_batch_takes_nothing_more() -> None:
    teller = Teller()
    events = [*teller.release(), teller(Closed())]
    assert batch_after_all(events).state == "closed"
    with pytest.raises(Refused, match="The batch is closed"):
        batch_after_all([*events, teller(Started(step="saw"))])
