"""Pieces of other parts of the same order: what lies about of them, and that one which seats is found and named."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import msgspec
import numpy as np
import pytest
from loading_cases import Case, decided, made_of_case, sister_of
from loading_shop import blank_of, clamping_of, machine_of

from proveout.geometry.frames import Frame
from proveout.model.loading import Loading, Sister, SisterWork
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.work import PassPlan
from proveout.stages.loading.bodies import Stuff
from proveout.stages.loading.decide import RAW, may_carry
from proveout.stages.loading.others import others_of
from proveout.stages.loading.proofs import others_words, prove_loading

HALF = "the work after operation 1 of"
BLOCK = Case(
    size_mm=(60.0, 30.0, 14.0), before=((10.0, 9.0, 5.0, 20.0), (50.0, 21.0, 5.0, 20.0)),
    now=((30.0, 15.0, 5.0, 20.0),), offset_mm=0.0, has_probe=True, has_sister=True,
)  # fmt: skip
FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 30.0, 0.0))
NOTHING = PassPlan(passes=(), not_cut=(), moves={})


@cache
def known(sister_mm: float) -> tuple[Loading, Proof]:
    return decided(replace(BLOCK, sister_mm=sister_mm))


def work(
    number: str, size_mm: tuple[float, float, float], *, clampings: int = 2, is_marked: bool = False
) -> SisterWork:
    return SisterWork(
        number=number, blank=blank_of(size_mm), plan=NOTHING, cutters=(), is_marked=is_marked,
        clampings=tuple(clamping_of(f"c{k}", k, FRAME, 30.0) for k in range(1, clampings + 1)),
    )  # fmt: skip


def test_a_half_made_piece_that_differs_too_little_to_be_told_escapes() -> None:
    """A hole 0.1 mm aside: twice probe, slop and part variation make 0.18 mm (worked). Both its ways up and round."""
    found, proof = known(0.1)
    escaping = [one for one in found.wrong if one.caught_by == "none" and not one.is_mirrored]
    assert {(one.what, one.part) for one in escaping} == {(HALF, "EX-9")}
    assert [one.wrong_mm for one in escaping] == pytest.approx([0.1] * len(escaping), abs=0.02)
    assert (proof.verdict, proof.blocks_release) == ("fails", True)
    assert f"{HALF} EX-9" in proof.remedy
    assert any(look.title.startswith(f"{HALF} EX-9") and "NOTHING TELLS IT" in look.words for look in found.looks)


def test_one_that_differs_by_half_a_millimetre_is_told_by_the_probe() -> None:
    found, proof = known(0.5)
    seats = [one for one in found.wrong if one.what == HALF]
    assert seats
    assert {one.caught_by for one in seats} == {"touch"}
    assert proof.verdict == "holds"


def test_one_that_is_the_same_is_harmless_and_a_finished_one_is_told() -> None:
    found, proof = known(0.0)
    assert any(words.startswith(f"{HALF} EX-9") for words in found.harmless)
    assert proof.verdict == "holds"


def test_a_part_without_a_plan_leaves_it_not_shown_unless_something_escapes_anyway() -> None:
    """Half-made pieces of which nobody knows the shape: nothing is shown of them."""
    clamping, machine = clamping_of("c2", 2, FRAME, 30.0), machine_of(has_probe=True)
    for sister_mm, verdict in ((0.5, "not shown"), (0.1, "fails")):
        found = msgspec.structs.replace(known(sister_mm)[0], others_untried=("EX-7",))
        proof, mirrored = prove_loading(
            found, clamping, machine=machine, tolerance_mm=0.05, cut_varies_mm=0.05, raw_varies_mm=0.2, seats=True,
            is_of_order=True,
        )  # fmt: skip
        assert proof.verdict == verdict
        assert ("EX-7" in proof.decides) == (verdict == "not shown")
        assert "Half-made pieces of EX-7 were not" in proof.basis.formula
        assert "EX-7" not in mirrored.decides


def test_the_proof_says_whose_pieces_were_laid_in() -> None:
    found = known(0.5)[0]
    assert "Of EX-9 blanks, half-made and finished pieces were laid in." in known(0.5)[1].basis.formula
    assert others_words(found, is_of_order=False).endswith("the part is planned by itself.")
    three = msgspec.structs.replace(found, others_tried=("A", "B", "C"), others_untried=())
    assert "Of A, B and C blanks" in others_words(three, is_of_order=True)
    alone = msgspec.structs.replace(found, others_tried=(), others_untried=())
    assert others_words(alone, is_of_order=True) == "The order has no other part."


def test_progress_names_the_part_that_a_body_is_of(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    monkeypatch.setattr("loading_cases.Run", lambda: Run(tell=lambda _stage, text, _share: told.append(text)))
    decided(BLOCK)
    assert any(text.endswith(f"{HALF} EX-9") for text in told)
    assert not [text for text in told if text.endswith(" of")]


def test_of_three_operations_two_leave_half_made_work_and_the_blank_is_one_of_its_kind() -> None:
    """The blank that is sawn as the work's own is looked at anyway; two parts that are sawn alike have one."""
    own = blank_of((60.0, 30.0, 14.0))
    works = [work("A", (30.0, 60.0, 14.0), clampings=3), work("B", (70.0, 30.0, 14.0)), work("C", (14.0, 30.0, 70.0))]
    sister = Sister(number="A", vertices_mm=np.eye(3), triangles=np.array([[0, 1, 2]], dtype=np.int32))
    there = others_of((sister, msgspec.structs.replace(sister, number="D")), works, ("E",), own=own)
    assert [f"{one.what} {one.part}" for one in there.laid(FRAME)] == [
        "the raw blank of B and C", "a finished piece of A", f"{HALF} A", "the work after operation 2 of A",
        f"{HALF} B", f"{HALF} C", "a finished piece of D",
    ]  # fmt: skip
    assert (there.tried, there.untried) == (("A", "B", "C"), ("E",))


def test_each_operation_takes_off_what_those_before_left() -> None:
    clampings, plan, cutters = made_of_case(replace(BLOCK, now=((30.0, 15.0, 5.0, 20.0), (35.0, 15.0, 6.0, 20.0))))
    third = msgspec.structs.replace(clampings[1], id="c3", number=3)
    made = SisterWork(
        number="A", blank=blank_of(BLOCK.size_mm), clampings=(third, *clampings[::-1]), plan=plan, cutters=cutters
    )
    first, second = others_of((), (made,), (), own=blank_of((1.0, 1.0, 1.0))).bodies[1:]
    assert [len(one.cuts) for one in (first, second)] == [1, 3]
    assert second.begins_as(first)
    assert first.points_mm.max(axis=0) == pytest.approx(np.array([60.0, 0.0, 14.0]))


def test_a_finished_piece_lies_as_in_its_own_first_operation() -> None:
    sister = sister_of(replace(BLOCK, sister_mm=3.0))
    (there,) = (
        one for one in others_of((sister,), (work("EX-9", (60.0, 30.0, 14.0)),), (), own=blank_of(BLOCK.size_mm)).bodies
        if one.what == "a finished piece of"
    )  # fmt: skip
    assert there.points_mm.min(axis=0) == pytest.approx(np.array([0.0, -30.0, 0.0]))


@pytest.mark.parametrize(("is_marked", "part", "may"), [(True, "A", True), (False, "A", False), (True, "", False)])
def test_a_mark_tells_no_piece_that_may_carry_one_of_its_own(*, is_marked: bool, part: str, may: bool) -> None:
    """Work after an operation of this part carries that operation's mark; of another part only where one is made."""
    stuff = Stuff(
        what=f"{HALF}" if part else RAW, part=part, points_mm=np.eye(3), triangles=np.zeros((1, 3), dtype=np.int64),
        cuts=(), raw_mm=None, may_be_marked=is_marked,
    )  # fmt: skip
    assert may_carry(stuff, 1, ((2, "a notch"),)) == may


def test_a_marked_part_may_carry_its_mark_at_every_stage() -> None:
    sister = Sister(number="A", vertices_mm=np.eye(3), triangles=np.array([[0, 1, 2]], dtype=np.int32))
    for is_marked in (True, False):
        there = others_of(
            (sister,), (work("A", (70.0, 30.0, 14.0), is_marked=is_marked),), (), own=blank_of((1.0, 1.0, 1.0))
        )
        assert [one.may_be_marked for one in there.bodies] == [is_marked] * 3
