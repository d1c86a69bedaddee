"""What is beside the pieces of an order, in its schedule: blanks that no piece is begun from, and trial blanks."""

from __future__ import annotations

import msgspec
import pytest
from flows.ordered import line_of, lone_plan, part_of, steady_shop

from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.stages.schedule.cases import best_case
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.decide import decide
from proveout.stages.schedule.problem import problem_of
from proveout.stages.schedule.routes import routes_of

MINUTE = 60.0


@pytest.fixture(scope="module")
def shop() -> Shop:
    return steady_shop()


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Job]:
    return lone_plan(tmp_path_factory.mktemp("ordered"))


def test_all_that_is_sawn_takes_the_saw_its_minutes(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 12 pieces in one lot, 16 blanks with 3 spares and a trial blank: all 80 min of the ticket, not 60.

    At best, for 12 of the 16 blanks, 60: the others can be sawn when the order is away.
    """
    part = part_of(planned, pieces=12, sawn=15, minutes=30.0, due="2026-01-12", coat=False)
    lines = (*part.plan.time.lines, line_of("saw", "sawing", 80 * MINUTE, per="batch"))
    time = msgspec.structs.replace(part.plan.time, lines=lines)
    bars = msgspec.structs.replace(part.plan.bars, trial_count=1)
    sawn = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, time=time, bars=bars))
    schedule = decide(parts=[sawn], shop=shop).schedule
    assert schedule is not None
    assert schedule.faults == ()
    assert sum(s.end_s - s.begin_s for s in schedule.steps if s.kind == "saw") == 80 * MINUTE
    short = [
        msgspec.structs.replace(s, end_s=s.begin_s + 60 * MINUTE) if s.kind == "saw" else s for s in schedule.steps
    ]
    assert any("saw 1 takes 3600 s and needs 4800" in f for f in step_faults(
        steps=short, parts=[sawn], names=["EX-102"], shop=shop
    ))  # fmt: skip
    (route,) = routes_of([sawn], shop)
    best = problem_of((route,), shop, "2026-01-05", best_case(shop))
    assert [t.ways[0].duration for t, n in zip(best.problem.tasks, best.named, strict=True) if n.kind == "saw"] == [60]


def test_trial_blanks_hold_the_mill_before_its_lots(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 90 min once before the 496 of the lot, and a set-up before either; 60 + 90 + 496 + 36 at the bench."""
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-01-12", coat=False)
    first = part.plan.clampings[0].id
    trial = line_of("mill-3", f"{first}: 2 trial blanks, cut and loaded by hand", 90 * MINUTE, per="design")
    time = msgspec.structs.replace(part.plan.time, lines=(*part.plan.time.lines, trial))
    schedule = decide(parts=[msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, time=time))],
                      shop=shop).schedule  # fmt: skip
    assert schedule is not None
    assert (schedule.length_s, schedule.faults) == (682 * MINUTE, ())
    assert [s.kind for s in schedule.steps] == ["prepare", "machine", "bench"]


@pytest.mark.parametrize(("trial_count", "begins"), [(0, 60 * MINUTE), (2, 80 * MINUTE)])
def test_nothing_is_proved_out_before_its_trial_blanks_are_sawn(
    planned: tuple[Plan, Job], shop: Shop, trial_count: int, begins: float
) -> None:
    """worked: the ticket's 80 min of one lot come before the mill's 90; without any it is proved dry, after an hour's
    set-up.
    """
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-01-12", coat=False)
    first = part.plan.clampings[0].id
    lines = (
        *part.plan.time.lines, line_of("saw", "sawing", 80 * MINUTE, per="batch"),
        line_of("mill-3", f"{first}: proving out", 90 * MINUTE, per="design"),
    )  # fmt: skip
    bars = msgspec.structs.replace(part.plan.bars, trial_count=trial_count)
    time = msgspec.structs.replace(part.plan.time, lines=lines)
    asked = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, time=time, bars=bars))
    schedule = decide(parts=[asked], shop=shop).schedule
    assert schedule is not None
    assert schedule.faults == ()
    (prepare,) = (s for s in schedule.steps if s.kind == "prepare")
    assert prepare.begin_s == begins
    early = [
        msgspec.structs.replace(s, begin_s=s.begin_s - MINUTE, end_s=s.end_s - MINUTE) if s is prepare else s
        for s in schedule.steps
    ]
    told = step_faults(steps=early, parts=[asked], names=["EX-102"], shop=shop)
    assert any("before its trial blanks are sawn" in fault for fault in told) is bool(trial_count)
