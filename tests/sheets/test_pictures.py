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
from proveout.sheets.derived import derive, mark_of
from proveout.sheets.picture import ClampingDrawings, end_picture, end_view, hull, operator_picture, operator_view
from proveout.sheets.svg import hatched, picture_svg

LETTER_MM = 3.7
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


def test_the_strip_is_as_wide_as_the_bar_and_as_thick_as_op_1_left_it(plan: Plan, shop: Shop) -> None:
    """Worked: across the jaws the bar is 25 wide; op 1 goes round down to a lowest tip of 5.4 above its step."""
    assert min(
        cut.low_mm
        for cut, one in zip(plan.removal.passes, plan.passes, strict=True)
        if one.clamping_id == fixture.OPS[0] and one.kind in ("rough", "finish wall")
    ) == pytest.approx(5.4)
    picture = end_picture(plan=plan, shop=shop, clamping=plan.clampings[1], part=None)
    strip = next(line.points_mm for line in picture.lines if line.style == "strip")
    assert np.ptp(strip[:, 0]) == pytest.approx(25.0)
    assert np.ptp(strip[:, 1]) == pytest.approx(5.4)
    assert "hatched" in operator_picture(plan=plan, shop=shop, clamping=plan.clampings[1], part=None).caption


def test_the_height_above_the_jaws_is_of_the_work_as_drawn(plan: Plan, shop: Shop) -> None:
    """Worked: op 1 blank 25 - 3; op 2 part 18 with the strip down to 6 below it, 24 - 8; op 3 part 22 on edge - 10."""
    sheets = derive(plan=plan, shop=shop).clampings
    assert [sheets[op].above_jaw_mm for op in fixture.OPS] == pytest.approx([22.0, 16.0, 12.0])


def test_captions_tell_what_is_drawn(plan: Plan, shop: Shop) -> None:
    captions = [operator_picture(plan=plan, shop=shop, clamping=c, part=None).caption for c in plan.clampings]
    assert "sawn blank" in captions[0]
    assert all("all cuts made" in words for words in captions[1:])
    assert ["hatched" in words for words in captions] == [False, True, False]


def test_nothing_of_a_picture_is_cut_off_by_its_frame(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    """Letters of 3.7 mm over every place where words stand, arrows and lines: all within the frame."""
    for clamping in plan.clampings:
        picture = operator_picture(plan=plan, shop=shop, clamping=clamping, part=drawings[clamping.id].operator)
        for width, height in ((112.0, 66.0), (52.0, 50.0), (180.0, 120.0)):
            root = ET.fromstring(picture_svg(picture, width_mm=width, height_mm=height, ids="x"))  # noqa: S314
            tall = float((root.get("viewBox") or "").split()[3])
            for words in root.iter("{http://www.w3.org/2000/svg}text"):
                assert float(words.get("y", "-1")) - LETTER_MM * 0.7 >= 0.0
                assert float(words.get("y", "-1")) <= tall


@given(slope=st.sampled_from([1.0, -1.0]), spacing=st.floats(0.5, 3.0))
def test_hatching_stays_inside_and_covers_evenly(slope: float, spacing: float) -> None:
    """Worked: strokes a distance s apart over an area A are A / s long together, to within the outline's length."""
    angle = np.array([[0, 0], [30, 0], [30, 10], [10, 10], [10, 25], [0, 25]], dtype=float)
    strokes = hatched(angle, spacing_mm=spacing, slope=slope)
    total = sum(float(np.linalg.norm(line[1] - line[0])) for line in strokes)
    assert total == pytest.approx(450.0 / spacing, rel=0.12)
    for line in strokes:
        for x, y in np.linspace(line[0], line[1], 9):
            assert -1e-9 <= x <= 30.0 + 1e-9
            assert -1e-9 <= y <= (10.0 if x > 10.0 + 1e-6 else 25.0) + 1e-6
        assert abs((line[1] - line[0])[1]) == pytest.approx(abs((line[1] - line[0])[0]))


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
