"""Pictures and limit marks say what the plan says."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import fixture_plan as fixture
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.model.plan import Plan
from proveout.model.proof import Basis, Sense, prove
from proveout.model.shop import Shop
from proveout.sheets.clamping_svg import clamping_svg
from proveout.sheets.derived import mark_of
from proveout.sheets.picture import ClampingDrawings, end_picture, end_view, hull, operator_picture, operator_view

VALUES = st.floats(-1e6, 1e6, allow_nan=False)


@given(ends=st.tuples(VALUES, VALUES), limit=VALUES, sense=st.sampled_from(["at most", "at least"]))
def test_a_bar_stops_short_when_the_proof_holds_and_crosses_when_it_fails(
    ends: tuple[float, float], limit: float, sense: Sense
) -> None:
    proof = prove(
        id="x",
        stage="holding",
        subject="x",
        claim="x",
        sense=sense,
        found_low=min(ends),
        found_high=max(ends),  # type: ignore[arg-type]
        limit=limit,
        unit="mm",
        blocks_release=True,
        basis=Basis(formula="x", source="x"),
    )
    mark = mark_of(proof)
    assert mark.best_ratio is not None
    assert mark.worst_ratio is not None
    assert 0.0 <= mark.best_ratio <= mark.worst_ratio <= 1.45
    if proof.verdict == "holds":
        assert mark.worst_ratio < 1.0
    elif proof.verdict == "fails":
        assert mark.best_ratio > 1.0
    else:
        assert mark.best_ratio < 1.0 < mark.worst_ratio


def test_a_bar_ends_where_the_found_value_stands_against_the_limit() -> None:
    """Worked: found 20 to 30 of at most 40 ends at 0.5 and 0.75; found 50 to 80 of at least 40 ends at 0.5 and 0.8."""
    more = {
        "id": "x",
        "stage": "loads",
        "subject": "x",
        "claim": "x",
        "unit": "N",
        "blocks_release": True,
        "basis": Basis(formula="x", source="x"),
        "limit": 40.0,
    }
    most = mark_of(prove(sense="at most", found_low=20.0, found_high=30.0, **more))  # type: ignore[arg-type]
    least = mark_of(prove(sense="at least", found_low=50.0, found_high=80.0, **more))  # type: ignore[arg-type]
    assert (most.best_ratio, most.worst_ratio) == (0.5, 0.75)
    assert (least.best_ratio, least.worst_ratio) == (0.5, 0.8)


def test_the_operator_sees_x_to_the_right_and_the_work_from_above(plan: Plan) -> None:
    for clamping in plan.clampings:
        view = operator_view(clamping)
        origin = view.flat(clamping.frame.out_of([[0.0, 0.0, 0.0]]))
        x, y, z = view.flat(clamping.frame.out_of(np.eye(3))) - origin
        assert x == pytest.approx([1.0, 0.0], abs=1e-12)
        assert y[1] > 0.3  # farther from the operator is higher on the paper
        assert z[1] > 0.3


def test_across_the_jaws_the_fixed_jaw_stands_right_and_up_is_up(plan: Plan) -> None:
    for clamping in plan.clampings:
        view = end_view(clamping)
        origin = view.flat(clamping.frame.out_of([[0.0, 0.0, 0.0]]))
        _, y, z = view.flat(clamping.frame.out_of(np.eye(3))) - origin
        assert y == pytest.approx([1.0, 0.0], abs=1e-12)
        assert z == pytest.approx([0.0, 1.0], abs=1e-12)


def test_the_jaws_close_on_the_blank(plan: Plan, shop: Shop) -> None:
    """The two section-lined jaws stand the gap apart at their tops, and the blank fills it: worked, 25 mm in op 1."""
    picture = end_picture(plan=plan, shop=shop, clamping=plan.clampings[0], part=None)
    fixed, moving = (line.points_mm for line in picture.lines if line.style == "jaw cut")
    blank = next(line.points_mm for line in picture.lines if line.style == "blank")
    top = fixed[:, 1].max()
    assert fixed[fixed[:, 1] == top][:, 0].min() - moving[moving[:, 1] == top][:, 0].max() == pytest.approx(25.0)
    assert blank[:, 0].max() - blank[:, 0].min() == pytest.approx(25.0)
    assert blank[:, 0].max() == pytest.approx(fixed[fixed[:, 1] == top][:, 0].min())


def test_the_strip_is_hatched_until_it_is_cut_away(plan: Plan, shop: Shop) -> None:
    styles = [
        {line.style for line in operator_picture(plan=plan, shop=shop, clamping=c, part=None).lines}
        for c in plan.clampings
    ]
    assert ["strip" in seen for seen in styles] == [False, True, False]
    assert ["blank" in seen for seen in styles] == [True, False, False]


def test_the_moving_jaw_is_painted_last(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    """It stands nearest to the operator: whatever is painted after it would show through it."""
    for clamping in plan.clampings:
        picture = operator_picture(plan=plan, shop=shop, clamping=clamping, part=drawings[clamping.id].operator)
        assert picture.lines[-1].style == "jaw"


def test_a_drawing_is_one_named_well_formed_svg(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    id = fixture.OPS[1]
    made = clamping_svg(plan=plan, shop=shop, clamping_id=id, drawings=drawings[id])
    root = ET.fromstring(made)  # noqa: S314 - our own text
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert "where the operator stands" in (title.text or "")
    assert made == clamping_svg(plan=plan, shop=shop, clamping_id=id, drawings=drawings[id])


def test_a_hull_of_points_on_one_line_does_not_fall_over() -> None:
    assert len(hull(np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]))) >= 2
    assert len(hull(np.array([[1.0, 1.0]]))) == 1
    square = hull(np.array([[0, 0], [2, 0], [2, 2], [0, 2], [1, 1], [1, 0]], dtype=float))
    assert sorted(map(tuple, square.tolist())) == [(0.0, 0.0), (0.0, 2.0), (2.0, 0.0), (2.0, 2.0)]
