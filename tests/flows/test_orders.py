"""Orders against the calendar, with hours that can be added up by hand."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import msgspec
import pytest
from flows.ordered import part_of
from flows.small import JOB, SHOP, plan, write_job

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.fitted import with_fits
from proveout.jobs.plan_path import Asked, riders_of
from proveout.jobs.replanning import replan_order
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Fit, FitSide, Job
from proveout.model.order import OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import Trouble
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.stages.schedule.calendar import day_after, days_until, wait_days_max, working_days
from proveout.stages.schedule.hours import order_load


@pytest.fixture(scope="module")
def shop() -> Shop:
    """30 spindle hours a week, two people of 8 h a day."""
    return read_shop(SHOP)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Job]:
    """An invented plan of one clamping on the 3-axis mill, and the job of the small plate."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    found = example_plan()
    clamping = found.clampings[0]
    level = msgspec.structs.replace(clamping.tilts[0], a_rad=0.0)
    alone = msgspec.structs.replace(clamping, machine_id="mill-3", tilts=(level,))
    job = read_job(write_job(tmp_path_factory.mktemp("ordered")))
    return msgspec.structs.replace(found, clampings=(alone,)), job


def _ends(fact: Fact) -> tuple[float, float, float]:
    return (fact.low, fact.nominal, fact.high)


def test_hours_and_days_are_those_of_a_hand_sum(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 300 pieces of 30 min: 150 h of programs; loading 5 h; 1 h of setting up.

    At 2 % of scrap 307 are made, 158.6 h and 1; at 4 % 313, but 312 are sawn: 161.2 h and 1.
    """
    load = order_load(
        parts=[part_of(planned, pieces=300, sawn=312, minutes=30.0, due="2026-02-16", coat=False)], shop=shop
    )
    mill = next(s for s in load.stations if s.station == "mill-3")
    assert _ends(mill.asked_h) == pytest.approx((150.0, 307 * 31 / 60 + 1.0, 162.2), abs=1e-4)
    assert (load.working_days_count, mill.there_h) == (31, 186.0)
    assert _ends(mill.days_needed) == pytest.approx((25.0, 307 * 31 / 360 + 1 / 8, 161.2 / 6.0 + 1 / 8), abs=1e-4)
    people = next(s for s in load.stations if s.station == "people")
    # people: 4 min a piece and setting up 1 h; at best of the 300
    assert _ends(people.asked_h) == pytest.approx((21.0, 307 / 15 + 1.0, 5.2 + 1.0 + 15.6), abs=1e-4)
    assert people.there_h == 31 * 16.0
    assert (load.verdict, load.bottleneck) == ("not shown", "mill-3")
    assert "but nobody waits for anybody in them" in load.notes[0]
    assert mill.end_low == "2026-02-09"


def test_days_outside_make_the_same_hours_late(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: hard coat 6 to 8 days, collected on Thursdays only: up to 4 more; 25 + 6 = 31 of 30 days at best."""
    load = order_load(
        parts=[part_of(planned, pieces=300, sawn=312, minutes=30.0, due="2026-02-13", coat=True)], shop=shop
    )
    assert load.late_days is not None
    assert _ends(load.late_days) == pytest.approx(
        (1.0, 307 * 31 / 360 + 1 / 8 + 9.0 - 30.0, 161.2 / 6 + 1 / 8 + 12.0 - 30.0), abs=1e-4
    )
    assert (load.verdict, load.bottleneck) == ("late", "mill-3")
    assert load.notes[0].startswith("LATE (from 2026-01-05, due 2026-02-13, 30 working days with both): by 1 to 9")


def test_between_best_and_worst_nothing_is_shown(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 25 days at best, 161.2 / 6 + 1 / 8 = 26.99 at worst; 26 are there."""
    load = order_load(
        parts=[part_of(planned, pieces=300, sawn=312, minutes=30.0, due="2026-02-09", coat=False)], shop=shop
    )
    assert load.verdict == "not shown"
    assert "not shown" in load.notes[0]


def test_two_parts_share_their_machine(planned: tuple[Plan, Job], shop: Shop) -> None:
    one = part_of(planned, pieces=150, sawn=150, minutes=30.0, due="2026-02-16", coat=False)
    both = order_load(parts=[one, one], shop=shop)
    single = order_load(parts=[one], shop=shop)
    asked = [next(s for s in load.stations if s.station == "mill-3").asked_h.nominal for load in (single, both)]
    assert asked[1] == pytest.approx(2.0 * asked[0])


def test_without_a_date_lateness_is_not_shown(planned: tuple[Plan, Job], shop: Shop) -> None:
    load = order_load(parts=[part_of(planned, pieces=3, sawn=3, minutes=30.0, due="", coat=False)], shop=shop)
    assert (load.verdict, load.late_days, load.working_days_count) == ("not shown", None, None)
    assert "no due date" in load.notes[0]


def test_an_order_names_each_part_and_reads_back(tmp_path: Path, store: Path) -> None:
    """Two jobs of one plate; as each asks for 4 to 12 h, six weeks are enough.

    The rack holds 2.9 m of each section: enough for either lot at about 64 mm a piece, and not for both.
    """
    rack = "".join(
        f'[[remnant]]\nid = "R-{bar}"\nbar = "{bar}"\nlength_mm = 2900\nheat = "H"\n' for bar in ("45x20", "45x25")
    )
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP.read_text("utf-8") + "\n" + rack + "[calendar]\nclosed = []\n", "utf-8")
    for name in ("a", "b"):
        write_job(tmp_path / name)
    (tmp_path / "order.toml").write_text(
        'name = "two"\nstart = 2026-01-05\ndue = 2026-02-16\n[[item]]\njob = "a/plate.toml"\nquantity = 20\n'
        '[[item]]\njob = "b/plate.toml"\nquantity = 30\n'
    )
    outcome = plan(tmp_path / "order.toml", tmp_path / "out", shop=shop, store=store)
    whole = msgspec.json.decode((tmp_path / "out" / "order.json").read_bytes())
    for part in outcome.parts:
        assert (part.plan.bars.rack, part.plan.bars.is_rack_shared) == ((), True)
        assert "not needed if the rack is taken" in part.plan.purchases[0].why
    tags = [row["tag"] for section in whole["sawing"]["sections"] for row in section["rows"] if row["tag"]]
    assert tags == [f"R-{outcome.parts[0].plan.blank.chosen.bar_id}"]
    assert [(p["folder"], p["quantity"]) for p in whole["parts"]] == [("T-1", 20), ("T-1-2", 30)]
    assert all((tmp_path / "out" / p["folder"] / "plan.json").is_file() for p in whole["parts"])
    page = (tmp_path / "out" / "order.html").read_text("utf-8")
    links = re.findall(r'href="([^#"]+)"', page)
    own = ["papers.pdf", "purchases.csv", "lists.xlsx", "saw.csv"]
    assert sorted(links) == sorted(["T-1/plan.html", "T-1/papers.pdf", "T-1-2/plan.html", "T-1-2/papers.pdf", *own])
    assert all((tmp_path / "out" / link).is_file() for link in links)
    load = msgspec.convert(whole["load"], type=OrderLoad, strict=True)
    assert load == outcome.load
    assert load.verdict == "not shown"  # the shop file does not say how many days the bars take
    assert load.notes[0].startswith("On time once the bars are there")
    assert load.schedule is not None
    assert load.schedule.faults == ()
    assert {p for s in load.schedule.steps for p in s.parts} == {"T-1", "T-1 (2)"}
    for name in ("schedule.csv", "dates.ics"):
        assert (tmp_path / "out" / name).is_file()
    again = replan_order(tmp_path / "out", trouble=Trouble(at="2026-01-06"), out=tmp_path / "again")
    assert again.replanned.moved == ()
    assert again.replanned.steps == load.schedule.steps
    assert {p.name for p in (tmp_path / "again").iterdir()} == {"replan.json", "moved.csv", "schedule.csv", "dates.ics"}
    uids = [set(re.findall(rb"UID:\S+", (tmp_path / at / "dates.ics").read_bytes())) for at in ("out", "again")]
    assert uids[1] < uids[0]  # a calendar takes them for the same entries; the promise is left out


def test_a_part_whose_fit_is_not_shown_is_not_ready(planned: tuple[Plan, Job]) -> None:
    """Nobody wrote a size at balloon 99: both parts of the fit wait for it, a third one does not."""
    found, job = planned
    sound = msgspec.structs.replace(found, ready=True, proofs=tuple(p for p in found.proofs if p.verdict == "holds"))
    plans = [
        msgspec.structs.replace(sound, part=msgspec.structs.replace(sound.part, number=number)) for number in "ABC"
    ]
    fit = Fit(
        name="slides", sides=(FitSide(part="A", mark="99"), FitSide(part="B", mark="99")), clearance_low_mm=0.0,
        clearance_high_mm=0.1,
    )  # fmt: skip
    fitted, proofs = with_fits(plans, [job] * 3, (fit,))
    assert [p.verdict for p in proofs] == ["not shown", "not shown"]
    assert [one.ready for one in fitted] == [False, False, True]
    assert [[p in one.proofs for p in proofs] for one in fitted] == [[True, True], [True, True], [False, False]]
    assert fitted[2] == plans[2]
    assert with_fits(plans, [job] * 3, ()) == (tuple(plans), ())


def test_the_papers_of_both_parts_know_that_their_fit_is_not_shown(tmp_path: Path, store: Path) -> None:
    write_job(tmp_path / "a")
    write_job(tmp_path / "b", job=JOB.replace('"T-1"', '"T-2"'))
    (tmp_path / "order.toml").write_text(
        'name = "two"\n[[item]]\njob = "a/plate.toml"\nquantity = 20\n[[item]]\njob = "b/plate.toml"\nquantity = 30\n'
        '[[fit]]\nname = "lies in"\nsizes = ["T-1 1", "T-2 2"]\nclearance_low_mm = 0.0\nclearance_high_mm = 0.1\n'
    )
    outcome = plan(tmp_path / "order.toml", tmp_path / "out", store=store)
    assert [p.verdict for p in outcome.fits] == ["not shown", "not shown"]
    for number in ("T-1", "T-2"):
        written = msgspec.json.decode((tmp_path / "out" / number / "plan.json").read_bytes(), type=Plan)
        assert not written.ready
        assert all(fit in written.proofs for fit in outcome.fits)
        assert "lies in" in (tmp_path / "out" / number / "plan.html").read_text("utf-8")


def test_what_is_done_on_the_day_due_is_in_time() -> None:
    """worked: Monday 5 to Friday 16 January are two weeks of five; a Saturday adds no day to them."""
    for due, count in (
        ("2026-01-05", 1),
        ("2026-01-16", 10),
        ("2026-01-17", 10),
        ("2026-01-19", 11),
        ("2026-01-02", 0),
        ("2025-12-31", -2),
    ):
        assert days_until(date(2026, 1, 5), date.fromisoformat(due)) == count


@pytest.mark.parametrize("more", [{"quantity": 5}, {"solid_name": "plate"}])
def test_what_speaks_of_one_part_is_refused_for_an_order(tmp_path: Path, more: dict[str, Any]) -> None:
    write_job(tmp_path / "a")
    (tmp_path / "order.toml").write_text('name = "one"\n[[item]]\njob = "a/plate.toml"\nquantity = 20\n')
    with pytest.raises(BadInput, match="an order has several"):
        plan(tmp_path / "order.toml", tmp_path / "out", **more)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("first", "end", "count"),
    [
        ("2026-01-05", "2026-02-16", 30),
        ("2026-01-05", "2026-01-05", 0),
        ("2026-01-09", "2026-01-12", 1),
        ("2026-01-10", "2026-01-12", 0),
        ("2026-02-16", "2026-01-05", 0),
    ],
)
def test_working_days_are_monday_to_friday(first: str, end: str, count: int) -> None:
    assert working_days(date.fromisoformat(first), date.fromisoformat(end)) == count


@pytest.mark.parametrize(
    ("first", "days", "end"),
    [("2026-01-05", 0.0, "2026-01-05"), ("2026-01-05", 4.1, "2026-01-12"), ("2026-01-10", 1.0, "2026-01-13")],
)
def test_days_pass_over_week_ends(first: str, days: float, end: str) -> None:
    assert day_after(date.fromisoformat(first), days).isoformat() == end


@pytest.mark.parametrize(("weekdays", "days"), [((3,), 4), ((1, 4), 2), ((0, 1, 2, 3, 4), 0), ((), 0), ((6,), 0)])
def test_the_longest_wait_for_a_collection(weekdays: tuple[int, ...], days: int) -> None:
    """worked: Thursdays: ready on Friday waits Fri, Mon, Tue, Wed. Tue and Fri: ready on Wednesday waits Wed, Thu."""
    assert wait_days_max(weekdays) == days


def test_what_rides_in_a_coat_s_lot_goes_to_the_same_finisher_with_its_spares(tmp_path: Path) -> None:
    """worked: 90 / 0.96 = 93.75 at four of a hundred lost: 94; eight and two fixed spares: 10."""
    bare = read_job(write_job(tmp_path))

    def asked(number: str, quantity: int, finisher: str, load: str = "a", spare: int | None = None) -> Asked:
        coat = Coat(
            process="coat", thickness_mm=exact_fact(0.05, "mm", "x", "assumed"),
            build_up_ratio=exact_fact(0.5, "ratio", "x", "assumed"), finisher=finisher,
        ) if finisher else None  # fmt: skip
        job = msgspec.structs.replace(
            bare, part=msgspec.structs.replace(bare.part, number=number), coat=coat,
            order=msgspec.structs.replace(bare.order, quantity=quantity, spare_count=spare),
        )  # fmt: skip
        return Asked(job=job, step=tmp_path / "plate.step", job_file=None, coat_load=load)

    first = asked("A", 40, "hard")
    others = [
        asked("B", 90, "hard"), asked("C", 8, "hard", spare=2), asked("D", 5, "soft"), asked("E", 5, ""),
        asked("F", 5, "hard", load=""),
    ]  # fmt: skip
    lost = Fact(low=0.01, nominal=0.02, high=0.04, unit="ratio", source="shop", strength="owner's guess")
    riders = riders_of(first, [first, *others], lost)
    assert [(rider.number, rider.pieces_count) for rider in riders] == [("B", 94), ("C", 10)]
    assert riders_of(others[-1], [first, *others], lost) == ()
