"""What is measured at each step of a batch, as its plan has it."""

from __future__ import annotations

import msgspec
from sheets import fixture_finish
from worked_home import plan as worked_plan
from worked_home import shop

from proveout.jobs.batch_route import COAT, checks_of, route_steps
from proveout.model.plan import Plan


def coated() -> Plan:
    return msgspec.structs.replace(worked_plan(), finish_orders=fixture_finish.finish_orders())


def test_the_thickness_of_each_coat_is_read_by_a_named_gauge_and_nothing_of_other_outside_work() -> None:
    plan = coated()
    steps = route_steps(plan)
    (coat,) = [one for one in checks_of(plan, shop(), steps) if one.names_gauge]
    order = next(one for one in plan.finish_orders if one.thickness_mm is not None)
    assert order.thickness_mm is not None
    assert [one.kind for one in steps if one.id == coat.step] == ["outside"]
    assert (coat.step, coat.mark) == (order.finisher_id, COAT)
    assert (coat.low, coat.high) == (order.thickness_mm.low, order.thickness_mm.high)
