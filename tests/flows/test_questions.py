"""Which questions are asked, what each says would change, and that its weight is reckoned from the plan."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from msgspec import structs
from shapes import fact

from proveout.jobs.questions import ask, coarse_thread, of_places
from proveout.model.fact import Fact
from proveout.model.marking import Marking
from proveout.model.plan import Question
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Finisher
from proveout.model.table_load import TableOption
from proveout.stages.timing.table_groups import UNMEASURED
from proveout.stages.timing.table_pins import LESS_MONEY

PULL_TESTS = "What do ten pull tests"
LONE = fact(0.4, 0.4, 0.4)
KNOWN = fact(0.3, 0.4, 0.45)
HARD_COAT = Finisher(
    id="coat", process="hard coat", lot_minimum=300.0, price_each=6.5, freight=45.0, days_low=5, days_high=8,
    pickup_weekdays=(3,),
)  # fmt: skip
LASER = structs.replace(HARD_COAT, id="laser", process="laser marking", lot_minimum=2000.0)


def open_proof(
    id: str, *, stage: str = "holding", low: float | None = None, high: float | None = None, decides: str = "",
    friction: Fact | None = None, blocks: bool = True,
) -> Proof:  # fmt: skip
    inputs = {} if friction is None else {"mu, friction": friction}
    return prove(
        id=id, stage=stage, subject="c1", claim="c", sense="at least", found_low=low, found_high=high, limit=1.0,
        unit="faces", blocks_release=blocks, basis=Basis(formula="f", source="own-algorithm", inputs=inputs),
        decides=decides,
    )  # fmt: skip


def asked(*proofs: Proof, is_bare: bool = False, quantity: int = 30, **job: Any) -> dict[str, Question]:
    """Of a job with a coat, a written size and a shown face, 600 s once a batch and 180 s a piece at 5 EUR."""
    given: Any = {
        "coat": "yes", "sizes": (SimpleNamespace(balloon=1),), "masked_balloons": (), "show_faces": ("f",),
        "order": SimpleNamespace(quantity=quantity), "part": SimpleNamespace(alloy="6061-T6"),
        "unsaid": ("order/quantity", "part/alloy", "coated") if is_bare else (), "other_finishers": (),
        "markings": (), **job,
    }  # fmt: skip
    hole = SimpleNamespace(balloon=2, diameter_mm=5.0, steps=(SimpleNamespace(face_ids=("f1",)),))
    found = ask(
        job=SimpleNamespace(**given),  # type: ignore[arg-type]
        read=SimpleNamespace(unit_is_doubtful=False),  # type: ignore[arg-type]
        survey=SimpleNamespace(holes=(hole,) if is_bare else ()),  # type: ignore[arg-type]
        cost=SimpleNamespace(each=fact(4.0, 5.0, 6.0), currency="EUR"),  # type: ignore[arg-type]
        time=SimpleNamespace(batch_s=fact(600.0, 600.0, 600.0), piece_s=fact(180.0, 180.0, 180.0)),  # type: ignore[arg-type]
        proofs=proofs, finishers=(HARD_COAT, LASER),
    )  # fmt: skip
    assert [q.weight for q in found] == sorted((q.weight for q in found), reverse=True)
    return {q.id: q for q in found}


@pytest.mark.parametrize(
    ("one", "is_asked"),
    [
        (open_proof("holding:c1:grip", decides="pull tests"), True),
        (open_proof("holding:c1:grip", decides="pull tests", friction=LONE), True),
        (open_proof("holding:c1:grip", low=0.8, high=2.0, friction=KNOWN), True),
        (open_proof("holding:c1:grip", decides="the jaw force of v", friction=KNOWN), False),
        (open_proof("holding:c1:grip", low=0.2, high=0.8, friction=KNOWN), False),
        (open_proof("holding:c1:grip", low=1.8, high=2.8, friction=KNOWN), False),
        (open_proof("holding:c1:bearing", decides="the jaw force of v"), False),
        (open_proof("holding:c1:rotary brake", decides="the brake's holding torque"), False),
        (open_proof("holding:c1:vise rating", low=0.8, high=2.0), False),
    ],
)
def test_pull_tests_are_asked_for_only_where_they_decide(one: Proof, is_asked: bool) -> None:  # noqa: FBT001
    found = asked(one)
    assert ("grip" in found) == is_asked
    assert any(q.text.startswith(PULL_TESTS) for q in found.values()) == is_asked


def test_what_else_is_missing_is_asked_for_in_its_own_words_once() -> None:
    """Worked: of four open proofs two wait for the jaw force, one for the brake, one fails and waits for nothing."""
    found = asked(
        open_proof("holding:c1:bearing", decides="the jaw force of v, by load cell"),
        open_proof("holding:c1:vise rating", decides="the jaw force of v, by load cell"),
        open_proof("holding:c1:rotary brake", decides="the brake's holding torque"),
        open_proof("holding:c1:grip", low=0.2, high=0.8, friction=KNOWN),
        open_proof("loads:m:power", stage="loads", decides="anything", blocks=False),
    )
    assert {q.text: q.weight for q in found.values()} == {
        "The jaw force of v, by load cell.": 0.5,
        "The brake's holding torque.": 0.25,
    }
    assert found["open holding:c1:bearing"].would_change == "2 of the 4 proofs that block release and do not hold"


def test_weights_of_a_bare_file_are_worked_by_hand() -> None:
    """Worked. 600 / 30 = 20 s once of 20 + 180 = 0.1. Coat max(300, 195) + 45 = 345, 11.5 a piece of 16.5 = 0.697.

    One thread adds 3 proofs to 2 open ones = 0.6; five sizes add 20 to 2 = 0.9091; one of two open proofs is 0.5.
    """
    found = asked(
        open_proof("holding:c1:grip", decides="pull tests"),
        open_proof("holding:c1:grip b", low=0.1, high=0.2, friction=KNOWN),
        is_bare=True, coat=None, sizes=(), show_faces=(),
    )  # fmt: skip
    assert {id: q.weight for id, q in found.items()} == {
        "sizes": 0.9091, "coat": 0.697, "threads": 0.6, "grip": 0.5, "quantity": 0.1,
    }  # fmt: skip
    assert "11.50 EUR a piece" in found["coat"].would_change
    assert asked(is_bare=True, coat="yes", show_faces=())["show faces"].weight == 0.0


@pytest.mark.parametrize(
    ("diameter_mm", "thread"),
    [
        (4.917, "M6"),
        (5.0, "M6"),
        (4.134, "M5"),
        (6.647, "M8"),
        (8.376, "M10"),
        (6.6, None),
        (4.5, None),
        (6.0, None),
        (5.1, None),
    ],
)
def test_a_hole_of_the_minor_diameter_is_asked_about_too(diameter_mm: float, thread: str | None) -> None:
    """Worked: M6 x 1, 6 - 0.625 sqrt 3 = 4.917; M5 x 0.8, 4.134; M8 x 1.25, 6.647; M10 x 1.5, 8.376."""
    assert coarse_thread(diameter_mm) == thread


def test_the_quantity_weighs_what_it_moves() -> None:
    few, many = asked(is_bare=True, quantity=2)["quantity"].weight, asked(is_bare=True, quantity=500)["quantity"].weight
    assert (few, many) == (pytest.approx(300.0 / 480.0), pytest.approx(1.2 / 181.2, abs=1e-4))


def test_only_faces_that_nothing_reaches_ask_for_another_design() -> None:
    reached = open_proof("clampings:part:every face reached", stage="clampings", low=0.0, high=0.0)
    rival = open_proof("clampings:sequence:least bound", stage="clampings", low=0.0, high=0.0, blocks=False)
    travel = open_proof("clampings:c1:travel x", stage="clampings", low=0.0, high=0.0)
    assert asked(rival, travel) == {}
    assert asked(reached, travel)["unreached"].weight == 1.5


def test_where_vises_stand_is_asked_for_the_money_that_it_would_save() -> None:
    """worked: 2.50 of 25 a piece is a tenth; what costs more, or waits for something else, asks nothing."""

    def option(each: float, why_not: str) -> TableOption:
        return TableOption(
            loads=("2 x c1",), text="2 pieces of c1", machine_ids=("mill-3",), seconds=100.0, each=each, why_not=why_not
        )

    cost: Any = SimpleNamespace(each=fact(20.0, 25.0, 30.0, "EUR"), currency="EUR")
    taken = option(10.0, "")
    (question,) = of_places((taken, option(7.5, UNMEASURED)), cost)
    assert question.weight == 0.1
    assert "2.50 EUR a piece less" in question.would_change
    assert "mill-3" in question.text
    assert (
        of_places((taken, option(12.0, UNMEASURED), option(7.0, "the head meets"), option(11.0, LESS_MONEY)), cost)
        == []
    )
    assert of_places((), cost) == []


def test_what_a_finisher_marks_is_asked_until_the_job_says_it() -> None:
    """Only where the part goes to one who marks; it weighs nothing that can be reckoned."""
    assert "marking laser" not in asked()
    found = asked(other_finishers=("laser",))["marking laser"]
    assert "What is marked on the part by laser marking, on which face" in found.text
    assert found.weight == 0.0
    said = (Marking(finisher="laser", text="EX-9"),)
    assert "marking laser" not in asked(other_finishers=("laser",), markings=said)
