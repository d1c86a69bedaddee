"""Blanks of an order chosen together: planned again on their bars, and taken only where the whole order gains."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.small import SHOP, write_job
from stages.sawn_parts import BAR, BLANK, SAW

from proveout.intake.job_file import read_job
from proveout.intake.order_file import order_from_text
from proveout.intake.shop_file import read_shop
from proveout.jobs.blanks_taken import take_blanks, total_of
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
