"""What is measured at each step of a batch: rings, radii and the gauges that the plan names."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set by runnable_home)
from __future__ import annotations

import msgspec
from fixture_shop import example_shop
from runnable_home import fixture_plan

from proveout.jobs.batch_route import COAT, GO, GO_ON, checks_of, route_steps
from proveout.jobs.gauge_of_size import gauge_of
from proveout.model.plan import InspectionLine, Plan, SizeNote, Window
from proveout.model.shop import Shop


def checked(plan: Plan, shop: Shop) -> dict[tuple[str, str], str]:
    """By step and mark, the coat's thickness apart."""
    found = checks_of(plan, shop, route_steps(plan))
    return {(check.step, check.mark): check.unit for check in found if check.mark != COAT}


def with_line(plan: Plan, **more: object) -> tuple[Plan, InspectionLine]:
    first = plan.inspection[0]
    line = msgspec.structs.replace(first, balloon=77, mark="77", **more)  # type: ignore[arg-type] - fields by name
    return msgspec.structs.replace(plan, inspection=(line,)), line


def test_a_ring_is_said_to_go_on_and_a_plug_to_enter() -> None:
    plan, shop = fixture_plan.example_plan(), example_shop()
    for text, is_inside, unit in (("M6 6g", False, GO_ON), ("M6 6H", True, GO)):
        changed, line = with_line(plan, text=text)
        window = Window(
            balloon=77, text=text, kind="thread", finished_low_mm=5.2, finished_high_mm=5.3, before_low_mm=5.2,
            before_high_mm=5.3, width_mm=0.1, is_masked=True, is_critical=False, face_ids=(), is_inside=is_inside,
        )  # fmt: skip
        assert line.text == text
        changed = msgspec.structs.replace(
            changed, finishing=msgspec.structs.replace(changed.finishing, windows=(window,))
        )  # fmt: skip
        assert set(checked(changed, shop).values()) == {unit}


def test_a_radius_is_read_where_its_faces_are_last_cut() -> None:
    plan, shop = fixture_plan.example_plan(), example_shop()
    first = plan.passes[0]
    early = next(one for one in plan.clampings if one.id == first.clamping_id)
    faces = tuple(
        f for f in first.face_ids if not any(f in p.face_ids for p in plan.passes if p.clamping_id != early.id)
    )
    assert faces
    note = SizeNote(
        balloon=77, mark="77", text="R4 ±0.2", kind="radius", unit="mm", low=3.8, high=4.2, before_low=3.8,
        before_high=4.2, is_critical=False, face_ids=faces,
    )  # fmt: skip
    changed, _ = with_line(plan, text="R4 ±0.2", of="radius", gauge="", is_decided=True)
    changed = msgspec.structs.replace(
        changed, finishing=msgspec.structs.replace(changed.finishing, windows=(), notes=(note,))
    )  # fmt: skip
    assert {step for step, _ in checked(changed, shop)} == {f"op{early.number}", "inspection"}


def test_a_gauge_is_found_by_the_name_that_the_plan_gives_it() -> None:
    plan, shop = fixture_plan.example_plan(), example_shop()
    gauge = msgspec.structs.replace(shop.gauges[0], id="g-17", name="the blue one")
    changed, line = with_line(plan, text="18 ±0.1", gauge="the blue one")
    shop = msgspec.structs.replace(shop, gauges=(gauge,))
    assert gauge_of(changed, shop, balloon=line.balloon, text=line.text) == gauge
    as_plug = msgspec.structs.replace(shop, gauges=(msgspec.structs.replace(gauge, kind="plug"),))
    assert set(checked(changed, as_plug).values()) == {GO}
