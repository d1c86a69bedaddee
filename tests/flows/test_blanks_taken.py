"""Blanks of an order chosen together: planned again on their bars, and taken only where the whole order gains."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest
from flows.small import SHOP, write_job
from stages.sawn_parts import BAR, BLANK, SAW

from proveout.intake.job_file import read_job
from proveout.intake.order_file import order_from_text
from proveout.intake.shop_file import read_shop
from proveout.jobs import trying
from proveout.jobs.blanks_taken import bar_of_order, take_blanks, total_of
from proveout.jobs.plan_path import Asked
from proveout.jobs.request import Request
from proveout.jobs.sawn import sawn_together
from proveout.model.fact import exact_fact
from proveout.model.job import Job, Pin
from proveout.model.plan import Plan
from proveout.model.proof import Verdict
from proveout.model.sawing import BlanksTaken
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.sheets.order_html import marked_order, order_html

PRICE = 104.247  # of a bar of 3 m: 3000 x 45 x 26 x 2.7e-6 kg at 11
OTHER = msgspec.structs.replace(BAR, id="45 x 26 B")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return msgspec.structs.replace(
        read_shop(SHOP), bars=(BAR, OTHER), saw=SAW, remnants=(), density_kg_per_mm3=2.7e-6
    )  # fmt: skip


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return read_job(write_job(tmp_path_factory.mktemp("ordered")))


def plan_of(number: str, *, bar_id: str, batch: float, others: tuple[str, ...] = (), opens: int = 0) -> Plan:
    """15 pieces of 92.5 mm, half a bar."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    found = example_plan()
    fails = msgspec.structs.replace(found.proofs[0], verdict="fails", blocks_release=True)
    blanks = tuple(msgspec.structs.replace(BLANK, bar_id=one) for one in (bar_id, *others))
    return msgspec.structs.replace(
        found, part=msgspec.structs.replace(found.part, number=number, quantity=15), metal_unknown="",
        blank=msgspec.structs.replace(found.blank, chosen=blanks[0], others=blanks[1:]),
        bars=msgspec.structs.replace(
            found.bars, pieces_count=15, spare_count=0, cut_length_mm=92.5, rack=(), status="proved"
        ),
        cost=msgspec.structs.replace(found.cost, batch=exact_fact(batch, "money", "x", "assumed")),
        proofs=(fails,) * opens,
    )  # fmt: skip


def taken(shop: Shop, job: Job, again: Plan, *, pins: tuple[Pin, ...] = ()) -> tuple[dict[int, Plan], BlanksTaken]:
    """A on a bar of its own though its second-best is that of B; `again` is what planning it on that bar gives."""
    plans = [
        plan_of("A", bar_id="45 x 26", batch=200.0, others=("45 x 26 B",), opens=1),
        plan_of("B", bar_id="45 x 26 B", batch=200.0),
    ]  # fmt: skip
    jobs = [msgspec.structs.replace(job, pins=pins), job]

    def plan_on(number: int, bar_id: str) -> Plan:
        assert (number, bar_id) == (0, "45 x 26 B")
        return again

    return take_blanks(plans=plans, jobs=jobs, shop=shop, plan_on=plan_on)


def test_what_costs_the_order_less_is_planned_again_and_taken(shop: Shop, job: Job) -> None:
    """worked: two half bars become one: 400 less a bar is 295.75, and 10 more minutes' money 305.75."""
    again = plan_of("A", bar_id="45 x 26 B", batch=210.0, others=("45 x 26",), opens=1)
    anew, told = taken(shop, job, again)
    assert anew == {0: again}
    assert (told.is_taken, told.parts, told.bar_ids) == (True, ("A",), ("45 x 26 B",))
    assert (told.planned_total, told.total) == (400.0, pytest.approx(410.0 - PRICE, abs=0.01))


@pytest.mark.parametrize(
    ("batch", "opens", "why"),
    [(320.0, 1, "would not cost less"), (210.0, 2, "A would have more proofs open")],
)
def test_what_is_dearer_or_less_ready_is_told_and_left(
    shop: Shop, job: Job, batch: float, opens: int, why: str
) -> None:
    anew, told = taken(shop, job, plan_of("A", bar_id="45 x 26 B", batch=batch, opens=opens))
    assert (anew, told.is_taken) == ({}, False)
    assert why in told.why


@pytest.mark.parametrize(
    ("before", "after", "is_taken"),
    [
        (("survey", "not shown"), ("holding", "not shown"), False),
        (("holding", "not shown"), ("holding", "fails"), False),
        (("holding", "fails"), ("holding", "not shown"), True),
    ],
)
def test_no_stage_has_more_open_or_failing_than_before(
    shop: Shop, job: Job, *, before: tuple[str, Verdict], after: tuple[str, Verdict], is_taken: bool
) -> None:
    def opened(plan: Plan, stage: str, verdict: Verdict) -> Plan:
        proofs = tuple(
            msgspec.structs.replace(one, stage=stage, verdict=verdict, decides="a measurement") for one in plan.proofs
        )
        return msgspec.structs.replace(plan, proofs=proofs)

    plans = [
        opened(plan_of("A", bar_id="45 x 26", batch=200.0, others=("45 x 26 B",), opens=1), *before),
        plan_of("B", bar_id="45 x 26 B", batch=200.0),
    ]  # fmt: skip
    again = opened(plan_of("A", bar_id="45 x 26 B", batch=200.0, opens=1), *after)
    _, told = take_blanks(plans=plans, jobs=[job, job], shop=shop, plan_on=lambda *_: again)
    assert told.is_taken == is_taken


def test_a_bar_that_the_owner_pinned_stays(shop: Shop, job: Job) -> None:
    pin = Pin(quantity="bar", value="45 x 26")
    anew, told = taken(shop, job, plan_of("A", bar_id="45 x 26 B", batch=0.0), pins=(pin,))
    assert (anew, told.total, told.why) == ({}, None, "the bar of A is pinned in its job file")


def test_a_part_ordered_twice_has_a_wish_for_each_item(shop: Shop, job: Job) -> None:
    """A by itself is to be sawn from B's bar; A ordered again, with nothing else to be sawn as, stays as it is."""
    plans = [
        plan_of("A", bar_id="45 x 26 B", batch=200.0),
        plan_of("A", bar_id="45 x 26", batch=200.0, others=("45 x 26 B",)),
    ]  # fmt: skip
    again = plan_of("A", bar_id="45 x 26 B", batch=210.0)
    asked: list[tuple[int, str]] = []

    def plan_on(number: int, bar_id: str) -> Plan:
        asked.append((number, bar_id))
        return again

    anew, told = take_blanks(plans=plans, jobs=[job, job], shop=shop, plan_on=plan_on)
    assert asked == [(1, "45 x 26 B")]
    assert (anew, told.parts) == ({1: again}, ("A (2)",))
    sawing, proofs = sawn_together(plans, shop)
    assert [lot.part for section in sawing.sections for lot in section.lots] == ["A (2)", "A"]
    both, proofs = sawn_together([again, again], shop)
    assert {lot.part for section in both.sections for lot in section.lots} == {"A", "A (2)"}
    assert len(next(p for p in proofs if p.id.endswith("all-lots-come-out")).basis.inputs) == 2


@pytest.mark.parametrize(
    ("numbers", "at", "pins", "bar_ids", "is_taken", "wanted"),
    [
        (("A", "B"), 0, (), ("45 x 26", "45 x 26 B"), True, "45 x 26 B"),
        (("A", "B"), 1, (), ("45 x 26", "45 x 26 B"), True, ""),  # nothing was chosen for it
        (("A", "A"), 1, (), ("45 x 26", "45 x 26 B"), True, ""),  # the other item of the same number
        (("A", "B"), 0, (Pin(quantity="bar", value="45 x 26"),), ("45 x 26", "45 x 26 B"), True, ""),  # the owner's
        (("A", "B"), 0, (), ("45 x 26",), True, ""),  # the shop has it no more
        (("A", "B"), 0, (), ("45 x 26", "45 x 26 B"), False, ""),  # told and left
    ],
)
def test_the_bar_that_an_order_took_is_known_again(
    shop: Shop, job: Job, *, numbers: tuple[str, ...], at: int, pins: tuple[Pin, ...], bar_ids: tuple[str, ...],
    is_taken: bool, wanted: str,
) -> None:  # fmt: skip
    told = BlanksTaken(
        is_taken=is_taken, parts=("A",), bar_ids=("45 x 26 B",), planned_total=1.0, total=1.0, why="it costs less"
    )
    has = msgspec.structs.replace(shop, bars=tuple(bar for bar in shop.bars if bar.id in bar_ids))
    pinned = msgspec.structs.replace(job, pins=pins)
    assert bar_of_order(told, numbers=numbers, at=at, job=pinned, shop=has) == wanted
    assert bar_of_order(None, numbers=numbers, at=at, job=pinned, shop=has) == ""


def test_a_try_keeps_the_bar_that_its_order_took_and_says_who_fixed_it(
    shop: Shop, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The job of the tried part pins nothing; its order took the other bar for it."""
    file = write_job(tmp_path)
    asked = [Asked(job=job, step=tmp_path / job.part.step, job_file=file) for _ in range(2)]
    number = job.part.number
    told = BlanksTaken(
        is_taken=True, parts=(f"{number} (2)",), bar_ids=("45 x 26 B",), planned_total=2.0, total=1.0, why="less"
    )
    sawing = SimpleNamespace(taken=told)
    home: Any = SimpleNamespace(
        entry=lambda name: name, order=lambda _: SimpleNamespace(sawing=sawing, folders=("first", "second"))
    )
    planned: list[Request] = []

    def kept(request: Request, **_: object) -> Any:
        planned.append(request)
        return SimpleNamespace(plan=None)

    monkeypatch.setattr(trying, "plan_job", kept)
    monkeypatch.setattr(trying, "_made", lambda *_: ())
    monkeypatch.setattr(trying, "among_others", lambda own, *_, **__: own)
    for folder, blanks in (("second", "together"), ("first", "together"), ("second", "alone")):
        wanted: Any = SimpleNamespace(
            place=SimpleNamespace(entry="two", folder=Path(folder), plan=SimpleNamespace(start="", rounds=())),
            files={"job": SimpleNamespace(path=file)}, texts={"shop": ""}, is_as_cut=False, asked=asked, shop=shop,
            order=SimpleNamespace(blanks=blanks, fits=()),
        )  # fmt: skip
        trying._planned(home, wanted, store=None, run=None)  # type: ignore[arg-type]
    pins = [request.job.pins for request in planned]
    assert pins == [(Pin(quantity="bar", value="45 x 26 B", by="order"),), (), ()]


def test_without_a_cheaper_choice_nothing_is_planned_again(shop: Shop, job: Job) -> None:
    plans = [plan_of(name, bar_id="45 x 26", batch=200.0) for name in ("A", "B")]
    anew, told = take_blanks(
        plans=plans, jobs=[job, job], shop=shop, plan_on=lambda *_: pytest.fail("planned again")
    )  # fmt: skip
    assert (anew, told.parts, told.total) == ({}, (), None)
    assert total_of(plans, shop) == pytest.approx(400.0 - PRICE, abs=0.01)


def test_the_page_names_the_choice_with_total_and_bound(shop: Shop, job: Job) -> None:
    from sheets.test_order_page import load_of  # pyright: ignore[reportMissingImports]
    from test_addresses import left_over, page_text  # pyright: ignore[reportMissingImports]

    again = plan_of("A", bar_id="45 x 26 B", batch=210.0, others=("45 x 26",), opens=1)
    _, told = taken(shop, job, again)
    plans = [again, plan_of("B", bar_id="45 x 26 B", batch=200.0)]
    sawing = msgspec.structs.replace(sawn_together(plans, shop)[0], taken=told)
    rows = [(plan, plan.part.number) for plan in plans]
    page = order_html(parts=rows, load=load_of("fits"), shop=shop, sawing=sawing)
    assert "Taken, blanks chosen together: A on 45 x 26 B; 305.75" in page
    assert "no choice looked at costs less than" in page
    assert left_over(page_text(marked_order(parts=rows, load=load_of("fits"), shop=shop, sawing=sawing)[0])) == []


def test_an_order_asks_for_it_by_a_key() -> None:
    text = 'name = "x"\n{}[[item]]\njob = "a.toml"\nquantity = 1\n'
    assert order_from_text(text.format("")).blanks == "alone"
    assert order_from_text(text.format('blanks = "together"\n')).blanks == "together"
    with pytest.raises(BadInput, match="blanks"):
        order_from_text(text.format('blanks = "cheap"\n'))


def test_a_job_asks_for_trial_blanks_by_a_key(tmp_path: Path) -> None:
    path = write_job(tmp_path)
    assert read_job(path).order.trial_count == 0
    path.write_text(path.read_text("utf-8").replace("[order]\n", "[order]\ntrial_count = 2\n"), encoding="utf-8")
    assert read_job(path).order.trial_count == 2
