"""What a plan assumed of a machine, against what was measured: zero, rotation centre, stick-outs."""

from __future__ import annotations

import msgspec
import pytest
import worked_home

from proveout.jobs.set_up import Assumed, Hindrance, assumed_of, clamping_of, hindrances
from proveout.model.batch import Batch
from proveout.model.fact import Fact
from proveout.model.floor_events import Measure, SetUpMeasured
from proveout.model.measured import Response
from proveout.model.plan import Plan
from proveout.model.shop import Rotary, Shop
from proveout.model.work import Tilt
from proveout.quantities.canonical import digest_of

RELEASED = Batch(batch="B1", part="EX-1", revision="B", wanted_count=8, due="")
STANDS = (300.0, -200.0, -350.0)
PIVOT = (300.012, -224.987, -352.405)
ERROR = Fact(low=0.0, nominal=0.005, high=0.015, unit="mm", source="ball bar", strength="measured here")


@pytest.fixture(scope="module")
def plan() -> Plan:
    return worked_home.plan()


def shop(*, zero_error: Fact | None = None, pivot_error: Fact | None = ERROR, response_mm: float | None = None) -> Shop:
    """The worked shop whose mill turns, with its vise measured; response_mm: stick-out of the end mill's response."""
    known = worked_home.shop()
    rotary = Rotary(
        a_low_rad=-0.1, a_high_rad=1.9, c_is_continuous=True, pivot_in_machine_mm=PIVOT, pivot_error_mm=pivot_error,
        brake_torque_n_mm=None, tilt_s=2.0,
    )  # fmt: skip
    machine = msgspec.structs.replace(known.machines[0], rotary=rotary, zero_error_mm=zero_error)
    vise = msgspec.structs.replace(known.vises[0], stands_mm=STANDS)
    responses = () if response_mm is None else (
        Response(machine_id=machine.id, cutter_id=worked_home.cutter_of("end mill"), stick_out_mm=response_mm,
                 error_ratio=ERROR, frequency_error_ratio=ERROR, measured="", file="r.csv", rows=()),
    )  # fmt: skip
    return msgspec.structs.replace(
        known, machines=(machine, *known.machines[1:]), vises=(vise, *known.vises[1:]), responses=responses
    )


def tilted(plan: Plan) -> Plan:
    first = plan.clampings[0]
    tilt = Tilt(id="a90", frame=first.frame, a_rad=1.5707963, c_rad=0.0)
    return msgspec.structs.replace(
        plan, clampings=(msgspec.structs.replace(first, tilts=(*first.tilts, tilt)), *plan.clampings[1:])
    )


def assumed(plan: Plan, of: Shop) -> dict[str, Assumed]:
    return {one.name: one for one in assumed_of(plan, of, plan.clampings[0])}


def judged(plan: Plan, of: Shop, **off: float) -> tuple[Hindrance, ...]:
    """What stands in the way when all is as assumed but what is named, by how far it is off."""
    known = assumed(plan, of)
    by = {name.replace("_", " "): value for name, value in off.items()}
    assert set(by) <= set(known)
    measures = tuple(Measure(name=name, value_mm=one.value_mm + by.get(name, 0.0)) for name, one in known.items())
    said = SetUpMeasured(step="op1", program="", revision="B", measures=measures)
    return hindrances(said, plan=plan, shop=of, clamping=plan.clampings[0], batch=RELEASED)


def test_every_length_that_the_plan_rests_on_is_asked_for(plan: Plan) -> None:
    found = assumed(plan, shop())
    zero = {name: one.value_mm for name, one in found.items() if name.startswith("zero")}
    # worked: the vise stands at X 300, the middle of its jaws lies 30 mm from the part's left end
    assert zero == {"zero X": 270.0, "zero Y": -200.0, "zero Z": -350.0}
    assert [found[f"rotation centre {axis}"].value_mm for axis in "XYZ"] == list(PIVOT)
    outs = {name for name in found if name.startswith("stick-out")}
    assert outs == {f"stick-out {worked_home.cutter_of(kind)}" for kind in ("end mill", "drill")}
    assert clamping_of(plan, "op1") == plan.clampings[0]
    assert clamping_of(plan, "bench") is None


def test_a_pivot_within_its_error_passes_and_beyond_it_nobody_may_answer(plan: Plan) -> None:
    assert judged(plan, shop(), rotation_centre_X=0.015, rotation_centre_Y=-0.015) == ()
    (one,) = judged(plan, shop(), rotation_centre_X=0.0151)
    assert (one.may_agree, "plan again" in one.do) == (False, True)
    (one,) = judged(plan, shop(), rotation_centre_Z=-0.0151)
    assert not one.may_agree
    (one,) = judged(plan, shop(pivot_error=None), rotation_centre_Z=0.001)
    assert one.may_agree


def test_a_zero_is_bound_where_turned_work_is_carried_from_it(plan: Plan) -> None:
    error = shop(zero_error=ERROR)
    assert judged(tilted(plan), error, zero_X=0.015) == ()
    (one,) = judged(tilted(plan), error, zero_X=-0.016)
    assert not one.may_agree
    (one,) = judged(plan, error, zero_X=-0.016)  # no tilt: the program goes where the zero is set
    assert one.may_agree
    (one,) = judged(tilted(plan), shop(), zero_X=0.001)
    assert one.may_agree
    assert "does not say" in one.do


def test_a_stick_out_may_differ_by_what_its_response_leaves_and_else_by_nothing(plan: Plan) -> None:
    mill = worked_home.cutter_of("end mill")
    planned = assumed(plan, shop())[f"stick-out {mill}"].value_mm
    off = {f"stick-out {mill}": 0.3}
    (one,) = judged(plan, shop(), **off)
    assert one.may_agree
    # worked: the response is of 0.1 mm more, so that 0.4 of the 0.5 mm are left
    known = shop(response_mm=planned + 0.1)
    assert judged(plan, known, **off) == ()
    assert judged(plan, known, **{f"stick-out {mill}": 0.399}) == ()
    (one,) = judged(plan, known, **{f"stick-out {mill}": 0.401})
    assert one.may_agree


def test_what_was_not_measured_and_a_name_nobody_planned_stand_in_the_way(plan: Plan) -> None:
    known = assumed(plan, shop())
    said = SetUpMeasured(step="op1", program="", revision="B", measures=(Measure(name="zero W", value_mm=1.0),))
    found = hindrances(said, plan=plan, shop=shop(), clamping=plan.clampings[0], batch=RELEASED)
    assert len(found) == len(known) + 1
    assert not any(one.may_agree for one in found)


def test_a_program_of_its_own_is_not_compared_with_nothing(plan: Plan) -> None:
    said = SetUpMeasured(step="op1", program="ab" * 6, revision="B", measures=())
    bare = msgspec.structs.replace(plan, programs=())
    found = hindrances(said, plan=bare, shop=shop(), clamping=plan.clampings[0], batch=RELEASED)
    assert "wrote no program" in found[0].what


def test_a_scanned_code_tells_papers_of_another_plan_or_batch(plan: Plan) -> None:
    mark = digest_of(plan)[:12]
    for code, words in (
        (f"EX;B;{mark};2027-01-01;B1", ""), (f"EX;B;{mark.upper()};", ""), ("B", ""), ("A", "another revision"),
        (f"EX;A;{mark};", "another revision"), (f"EX;B;{mark};2027-01-01;B2", "another plan or batch"),
        ("EX;B;000000000000;", "another plan or batch"),
    ):  # fmt: skip
        said = SetUpMeasured(step="op1", program="", revision=code, measures=())
        found = hindrances(
            said,
            plan=plan,
            shop=shop(),
            clamping=plan.clampings[0],
            batch=msgspec.structs.replace(RELEASED, plan=digest_of(plan)),
        )
        papers = [one.what for one in found if "papers" in one.what]
        assert len(papers) == bool(words), code
        assert not words or words in papers[0]
