"""Of several sequences planned in full the best is kept: fewest open proofs, then least money, then the first."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import msgspec
import pytest
from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

from proveout.jobs import ways
from proveout.jobs.plan_job import Planned
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.fact import Fact
from proveout.model.plan import Plan, WayOfHolding
from proveout.model.proof import Basis, Proof, prove
from proveout.model.run import Run

WAYS = tuple(
    WayOfHolding(
        why=f"way {k}", ups=(f"+{axis}",), machines=("mill",), bound_each=float(k), tilts_each=0.0, leaning_each=0.0,
        reached_ratio=1.0, is_chosen=k == 0,
    )
    for k, axis in enumerate("xyz")
)  # fmt: skip


def proof(name: str, *, holds: bool, is_shown: bool = True) -> Proof:
    low = 0.0 if holds or not is_shown else 2.0
    return prove(
        id=name, stage="test", subject="all", claim="something holds", sense="at most",
        found_low=low, found_high=0.0 if holds else 2.0, limit=1.0, unit="mm", blocks_release=True,
        basis=Basis(formula="as told", source="own-algorithm"),
    )  # fmt: skip


def plan_of(money: float, open_count: int, others: tuple[Proof, ...] = ()) -> Plan:
    plan = example_plan()
    each = Fact(low=money, nominal=money, high=money, unit="money", source="test", strength="assumed")
    proofs = [proof(f"open {k}", holds=False) for k in range(open_count)]
    return msgspec.structs.replace(
        plan, ways=WAYS, proofs=(*proofs, *others, proof(ways.LEAST_BOUND, holds=True)), metal_unknown="",
        cost=msgspec.structs.replace(plan.cost, each=each),
    )  # fmt: skip


def request_with(monkeypatch: pytest.MonkeyPatch, plans: list[Plan]) -> tuple[Request, list[tuple[str, ...]]]:
    """A request whose sequences come to these plans, and the ways up that are pinned for each, as they are asked."""
    asked: list[tuple[str, ...]] = []

    def planned(request: Request, **_: Any) -> Planned:
        asked.append(tuple(pin.value for pin in request.job.pins if pin.quantity == "ups"))
        made = Planned(
            plan=plans[len(asked) - 1], read=cast("Any", None), target=cast("Any", None),
            moves=cast("Any", None), drawings={}, part_views=None, programs={}, loads=cast("Any", None),
        )  # fmt: skip
        return replace(made)

    monkeypatch.setattr(ways, "plan_job", planned)
    job = SimpleNamespace(pins=())
    monkeypatch.setattr(
        ways, "_with_pins", lambda request, way: replace(request, job=SimpleNamespace(pins=(pin_of(way),)))
    )  # fmt: skip
    request = Request(step=Path("part.step"), job=cast("Any", job), shop=cast("Any", None), start="", inputs={})
    return request, asked


@pytest.mark.parametrize(
    ("came_to", "best"),
    [
        ([(40.0, 1), (30.0, 1), (20.0, 1)], 2),
        ([(20.0, 1), (30.0, 1), (40.0, 1)], 0),
        ([(20.0, 2), (30.0, 1), (40.0, 1)], 1),
        ([(30.0, 1), (20.0, 2), (30.0, 1)], 0),
    ],
)
def test_fewest_open_proofs_then_least_money(
    monkeypatch: pytest.MonkeyPatch, came_to: list[tuple[float, int]], best: int
) -> None:
    """The plans themselves are made up; only which is kept and what is told of the others is looked at."""
    request, asked = request_with(monkeypatch, [plan_of(*one) for one in came_to])
    kept = ways.plan_best(request, also_count=2, store=Store(None), run=Run()).plan
    assert asked == [(), ("+y",), ("+z",)]
    assert [way.is_chosen for way in kept.ways] == [k == best for k in range(3)]
    assert (kept.cost.each.nominal, sum(p.id.startswith("open") for p in kept.proofs)) == came_to[best]
    assert [(w.cost_each.nominal if w.cost_each else None, w.open_count) for w in kept.ways] == came_to
    (full,) = (p for p in kept.proofs if p.id == "clampings:sequence:planned in full")
    assert full.verdict == "holds"
    assert [p.id for p in kept.proofs].count(ways.LEAST_BOUND) == 1


GRIP_FAILS = proof("test:c9:grip", holds=False)
SIZE_OPEN = proof("test:c1:size", holds=False, is_shown=False)
GRIP_OPEN = proof("test:c2:grip", holds=False, is_shown=False)


@pytest.mark.parametrize(
    ("first", "second", "best", "opens"),
    [
        ((SIZE_OPEN,), (GRIP_FAILS,), 0, ("test: grip (fails)",)),  # as many open, and a graver one
        ((SIZE_OPEN, GRIP_OPEN), (GRIP_FAILS,), 0, ("test: grip (fails)",)),  # fewer, of which one now fails
        ((SIZE_OPEN, SIZE_OPEN), (GRIP_OPEN,), 0, ("test: grip",)),  # fewer, and another
        ((GRIP_FAILS,), (GRIP_OPEN,), 1, ()),  # the same of another clamping, no longer failing
        ((SIZE_OPEN, GRIP_FAILS), (GRIP_FAILS,), 1, ()),
    ],
)
def test_what_closes_a_proof_and_opens_another_is_not_taken(
    monkeypatch: pytest.MonkeyPatch, *, first: tuple[Proof, ...], second: tuple[Proof, ...], best: int,
    opens: tuple[str, ...],
) -> None:  # fmt: skip
    """The second costs half as much; what it opens is told beside it."""
    request, _ = request_with(monkeypatch, [plan_of(40.0, 0, first), plan_of(20.0, 0, second)])
    kept = ways.plan_best(request, also_count=1, store=Store(None), run=Run()).plan
    assert [way.is_chosen for way in kept.ways] == [best == 0, best == 1, False]
    assert kept.ways[1].opens == opens
    (full,) = (p for p in kept.proofs if p.id == "clampings:sequence:planned in full")
    assert full.verdict == "holds"
    assert all(one in full.basis.formula for one in opens)


def pin_of(way: WayOfHolding) -> SimpleNamespace:
    return SimpleNamespace(quantity="ups", value="\n".join(way.ups))
