"""Which other parts of an order a part's wrong loads are looked at with, and what of its plan is then new."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import msgspec
import pytest

from proveout.geometry.frames import Frame
from proveout.jobs import other_parts, wrong_loads
from proveout.jobs.other_parts import Made, among_others
from proveout.jobs.plan_job import Planned
from proveout.jobs.store import Store
from proveout.jobs.wrong_loads import InJaws
from proveout.model.loading import SisterWork
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.work import Blank, Clamping, PassPlan

FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))


class Plain(msgspec.Struct, frozen=True):
    """As much of a plan as is read here."""

    clampings: tuple[Any, ...]
    proofs: tuple[Proof, ...]
    loading: tuple[Any, ...] = ()
    ready: bool = False
    questions: tuple[str, ...] = ()


def proof(stage: str, found: float) -> Proof:
    return prove(
        id=f"{stage}:one", stage=stage, subject="", claim="", sense="at most", found_low=found, found_high=found,
        limit=0.0, unit="ways", blocks_release=True, basis=Basis(formula="", source="own-algorithm"),
    )  # fmt: skip


def made(number: str, solid: str, *, long_mm: float | None = 60.0) -> Made:
    """A part of which nothing is cut; None for one that has no plan."""
    if long_mm is None:
        return Made(number=number, solid=solid, work=None)
    blank = SimpleNamespace(low_mm=(0.0, 0.0, 0.0), high_mm=(long_mm, 20.0, 10.0))
    clamping = SimpleNamespace(number=1, id="c1", frame=FRAME, tilts=())
    work = SisterWork(
        number=number, blank=cast("Blank", blank), clampings=(cast("Clamping", clamping),),
        plan=PassPlan(passes=(), not_cut=(), moves={}), cutters=(),
    )  # fmt: skip
    return Made(number=number, solid=solid, work=work)


def looked_at(
    monkeypatch: pytest.MonkeyPatch, parts: list[Made], *, found: float = 0.0, before: tuple[Proof, ...] = ()
) -> tuple[Planned, list[str], list[str]]:
    """The first of the parts among the others; whose work was laid in, and whose could not."""
    asked: dict[str, Any] = {}

    def wrong(of: Any, **given: Any) -> Decision[Any]:
        asked.update(given, of=of)
        return Decision(value=("looked",), proofs=(proof("loading", found),))

    monkeypatch.setattr(other_parts, "wrong_loads", wrong)
    plan = Plain(clampings=(SimpleNamespace(id="c1"),), proofs=before)
    planned = Planned(
        plan=cast("Any", plan), read=cast("Any", None), target=cast("Any", None), moves=cast("Any", None), drawings={},
        part_views=None, programs={}, loads=cast("Any", None), in_jaws=cast("Any", "jaws"),
        asks=lambda proofs: cast("Any", tuple(p.id for p in proofs if p.verdict != "holds")),
    )  # fmt: skip
    anew = among_others(planned, 0, parts, store=Store(None), run=Run())
    return anew, [one.number for one in asked["works"]], list(asked["untried"])


def test_every_other_part_is_laid_in_once_and_what_is_made_as_the_part_itself_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Ordered again and made the same it is the same work; made otherwise, from a longer blank, it is another."""
    parts = [made("A", "a"), made("A (2)", "a"), made("A (3)", "a", long_mm=61.0), made("B", "b"), made("B (2)", "b")]
    _, works, untried = looked_at(monkeypatch, parts)
    assert (works, untried) == (["A (3)", "B"], [])


def test_a_part_without_a_plan_is_named_unless_it_is_the_part_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    parts = [made("A", "a"), made("A (2)", "a", long_mm=None), made("C", "c", long_mm=None), made("B", "b")]
    _, works, untried = looked_at(monkeypatch, parts)
    assert (works, untried) == (["B"], ["C"])


@pytest.mark.parametrize(("found", "ready"), [(0.0, True), (1.0, False)])
def test_proofs_of_loading_are_replaced_and_the_plan_is_ready_by_all_of_them(
    monkeypatch: pytest.MonkeyPatch, *, found: float, ready: bool
) -> None:
    """What was found of wrong loads before counts no more, for better or worse."""
    parts = [made("A", "a"), made("B", "b")]
    before = (proof("holding", 0.0), proof("loading", 1.0 - found))
    anew, _, _ = looked_at(monkeypatch, parts, found=found, before=before)
    assert {(p.stage, p.found_high) for p in anew.plan.proofs} == {("holding", 0.0), ("loading", found)}
    assert (anew.plan.ready, anew.plan.loading) == (ready, ("looked",))
    assert anew.plan.questions == (() if ready else ("loading:one",))


@pytest.mark.parametrize("is_of_order", [True, False])
def test_whose_pieces_and_whether_there_is_an_order_reaches_the_stage(
    monkeypatch: pytest.MonkeyPatch, *, is_of_order: bool
) -> None:
    received: dict[str, Any] = {}
    store = SimpleNamespace(get=lambda stage, function, **given: received.update(given, stage=stage))  # noqa: ARG005 - as a store is asked
    monkeypatch.setattr(wrong_loads, "raw_varies_mm", lambda *_: 0.2)
    shop = SimpleNamespace(cutters=(), vises=(), machines=())
    of = InJaws(
        blank=cast("Blank", None), clampings=(), passes=cast("PassPlan", None), forms=(), shop=cast("Any", shop),
        sisters=(), marks=(), general_tolerance="f", is_of_order=is_of_order,
    )  # fmt: skip
    work = made("B", "b").work
    assert work is not None
    wrong_loads.wrong_loads(of, works=(work,), untried=("C",), store=cast("Store", store), run=Run())
    assert (received["works"], received["untried"], received["is_of_order"]) == ((work,), ("C",), is_of_order)
    assert received["tolerance_mm"] == 0.05
