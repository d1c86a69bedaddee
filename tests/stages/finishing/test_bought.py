"""Sides that stay as bought: no offset for the coat, and what the bar may measure to be right after it."""

from __future__ import annotations

import msgspec
import pytest
from shapes import box, drilled, fact, solid_of

from proveout.model.job import Coat, Job, Order, PartText, Size
from proveout.model.run import Run
from proveout.quantities.errors import BadInput
from proveout.stages import survey
from proveout.stages.finishing.decide import FinishingResult, decide

COAT = Coat(
    process="hard coat", thickness_mm=fact(0.04, 0.05, 0.06, "mm"), build_up_ratio=fact(0.5, 0.5, 0.5, "ratio"),
    etch_mm=fact(0.0, 0.0, 0.0, "mm"),
)  # fmt: skip


def finished(**more: object) -> FinishingResult:
    solid = solid_of(drilled(box(60.0, 40.0, 20.0), at=(30, 20, 21), along=(0, 0, -1), dia=6.6, deep=10))
    given = {
        "part": PartText(number="x", name="x", revision="A", step="x.step"), "order": Order(quantity=1), "coat": COAT,
        "sizes": (), "masked_balloons": (), "show_faces": (), "general_tolerance": "m", "edge_break_mm": None,
        "other_finishers": (), "as_bought": ("-y", "+y", "-z"), **more,
    }  # fmt: skip
    job = Job(**given)  # type: ignore[arg-type]
    return decide(solid=solid, survey=survey.decide(solid=solid, run=Run()).value, job=job).value


def test_what_nobody_cuts_stays_where_it_is() -> None:
    result = finished()
    assert len(result.bought.face_ids) == 3
    for face_id, offset in result.finishing.offset_mm.items():
        assert offset == pytest.approx(0.0 if face_id in result.bought.face_ids else 0.025)


def test_the_bar_may_measure_what_is_right_after_the_coat() -> None:
    bought = finished().bought
    # 40 +-0.3 of class m; the coat adds 0.04 to 0.06
    assert bought.low_mm[1] == pytest.approx(39.7 - 0.04)
    assert bought.high_mm[1] == pytest.approx(40.3 - 0.06)
    assert (bought.low_mm[2], bought.high_mm[2]) == (None, None)


def test_a_written_length_goes_before_the_general_tolerance() -> None:
    low = next(f for f in finished().bought.face_ids if "-y" in f)
    high = next(f for f in finished().bought.face_ids if "+y" in f)
    bought = finished(sizes=(Size(balloon=9, text="40 ±0.5", face_ids=(low, high)),)).bought
    assert bought.low_mm[1] == pytest.approx(39.5 - 0.04)


def test_an_etch_that_nobody_said_leaves_the_bar_unjudged_where_it_decides() -> None:
    """Worked: 0.070 of ±0.035 less 0.020 for the coat and 0.050 for the etch is nothing; ±0.3 bears it."""
    unsaid = msgspec.structs.replace(COAT, etch_mm=None)
    low = next(f for f in finished().bought.face_ids if "-y" in f)
    high = next(f for f in finished().bought.face_ids if "+y" in f)
    tight = finished(coat=unsaid, sizes=(Size(balloon=9, text="40 ±0.035", face_ids=(low, high)),)).bought
    assert (tight.low_mm[1], tight.high_mm[1]) == (None, None)
    assert finished(coat=unsaid).bought.low_mm[1] == pytest.approx(39.7 + 0.01)


def test_a_size_over_one_such_side_is_made_on_the_other() -> None:
    offsets = finished().finishing.offset_mm
    low, high = next(f for f in offsets if "-z 0" in f), next(f for f in offsets if "+z 20" in f)
    result = finished(sizes=(Size(balloon=9, text="20 +0.4/+0.2", face_ids=(low, high)),))
    assert result.finishing.offset_mm[low] == 0.0
    assert result.finishing.offset_mm[high] == pytest.approx(-(0.3 - 0.05))


def test_without_limits_nobody_says_what_the_bar_may_measure() -> None:
    assert finished(general_tolerance=None).bought.low_mm[1] is None


def test_a_side_without_a_flat_face_is_refused() -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder  # pyright: ignore[reportAttributeAccessIssue]

    solid = solid_of(BRepPrimAPI_MakeCylinder(10.0, 30.0).Shape())
    job = Job(
        part=PartText(number="x", name="x", revision="A", step="x.step"), order=Order(quantity=1), coat=None, sizes=(),
        masked_balloons=(), show_faces=(), general_tolerance="m", edge_break_mm=None, other_finishers=(),
        as_bought=("+x",),
    )  # fmt: skip
    with pytest.raises(BadInput) as told:
        decide(solid=solid, survey=survey.decide(solid=solid, run=Run()).value, job=job)
    assert told.value.limit == "+z, -z"


def test_the_target_says_what_may_stand_between_two_lines_of_a_ball() -> None:
    assert (finished().target.cusp_mm, finished(cusp_mm=0.004).target.cusp_mm) == (0.01, 0.004)
