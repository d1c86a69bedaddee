"""Sizes without limits of their own: what may be gauged at the machine, and what only once the coat is on."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import fixture_plan as fixture
import msgspec
from hypothesis import given
from hypothesis import strategies as st

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.general_sizes import BEFORE
from proveout.sheets.general_steps import general_steps
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.pages_records import receiving_page
from proveout.sheets.writer import Writer


def test_general_tolerances_are_listed_by_size(plan: Plan, shop: Shop) -> None:
    """Worked from the class m of the table: up to 6 +-0.1, up to 30 +-0.2, up to 120 +-0.3; 90 needs no more."""
    steps = general_steps(general_class="m", largest_mm=90.0)
    assert [(s.over_mm, s.up_to_mm, s.deviation_mm) for s in steps] == [
        (0.5, 6.0, 0.1),
        (6.0, 30.0, 0.2),
        (30.0, 120.0, 0.3),
    ]
    assert all(step.outside_mm is None for step in steps)
    bare = msgspec.structs.replace(plan, finishing=msgspec.structs.replace(plan.finishing, coated_area_mm2=0.0))
    sheet = page_text(inspection_page, bare, shop)
    assert "general tolerance m of ISO 2768-1" in sheet
    assert "± 0.30" in sheet


def page_text(page: Callable[[Writer], Any], plan: Plan, shop: Shop) -> str:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    return json.dumps(page(writer), ensure_ascii=False)


def test_before_a_coat_general_sizes_leave_it_room(plan: Plan, shop: Shop) -> None:
    """Worked for 0.018 to 0.033 on a surface and +-0.2: a length grows by 0 to 0.066, coated on both ends, one or none.

    So it may be 0.20 short, and 0.20 - 0.066 = 0.134 long, printed 0.13; a hole the other way round; a step moves by
    0.033 at most, either way: 0.167, printed 0.16.
    """
    coated = general_steps(general_class="m", largest_mm=90.0, build_up_mm=(0.018, 0.033))[1]
    assert (coated.outside_mm, coated.inside_mm, coated.step_mm) == ((-0.2, 0.13), (-0.13, 0.2), (-0.16, 0.16))
    etched = general_steps(general_class="m", largest_mm=90.0, build_up_mm=(-0.01, 0.033))[1]
    assert etched.outside_mm == (-0.18, 0.13)
    assert general_steps(general_class="f", largest_mm=5.0, build_up_mm=(0.0, 0.06))[0].outside_mm is None
    sheet = page_text(inspection_page, plan, shop)
    assert "−0.20 to +0.13" in sheet
    assert "−0.16 to +0.16" in sheet


@given(
    grown=st.tuples(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05)).map(sorted),
    corners=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)), end=st.sampled_from((0, 1)),
    coats=st.tuples(st.sampled_from((0.0, 1.0)), st.sampled_from((0.0, 1.0))),
)  # fmt: skip
def test_no_coat_takes_such_a_size_out_of_its_general_tolerance(
    grown: list[float], corners: tuple[float, float], end: int, coats: tuple[float, float]
) -> None:
    """Both surfaces coated, one or none, each anywhere in the interval: the finished size keeps the step's limits."""
    low, high = grown
    first, second = (coat * (low + corner * (high - low)) for coat, corner in zip(coats, corners, strict=True))
    for step in general_steps(general_class="m", largest_mm=90.0, build_up_mm=(low, high)):
        for told, change in (
            (step.outside_mm, first + second), (step.inside_mm, -first - second), (step.step_mm, first - second)
        ):  # fmt: skip
            assert told is None or abs(told[end] + change) <= step.deviation_mm + 1e-9


def test_finished_general_limits_of_a_coated_part_stand_on_the_receiving_check_alone(plan: Plan, shop: Shop) -> None:
    """A plus-minus of the finished part beside boxes at the machine would be gauged there."""
    before = page_text(inspection_page, plan, shop)
    assert "±" not in before.split(BEFORE)[1]
    assert "All other sizes, after the coat: general tolerance m" in page_text(receiving_page, plan, shop)
    unordered = msgspec.structs.replace(plan, finish_orders=())
    unknown = page_text(inspection_page, unordered, shop).split(BEFORE)[1]
    assert "nobody said how thick the coat gets" in unknown
    assert "±" not in unknown
