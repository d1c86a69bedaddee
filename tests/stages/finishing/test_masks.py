"""What a plug keeps the coat off: everything in its hole, the shoulder between two steps among it."""

from __future__ import annotations

import pytest
from shapes import box, drilled, solid_of
from stages.coated_parts import coat, job_of

from proveout.model.job import Size
from proveout.model.run import Run
from proveout.model.work import Survey
from proveout.stages import survey as surveying
from proveout.stages.finishing.decide import FinishingResult, decide


@pytest.fixture(scope="module")
def stepped() -> tuple[FinishingResult, Survey]:
    """A block of 30 x 30 x 20 with a blind hole Ø6, 12 deep, counterbored Ø14, 5 deep; the hole is plugged."""
    shape = drilled(box(30, 30, 20), at=(15, 15, 20), along=(0, 0, -1), dia=14.0, deep=5.0)
    shape = drilled(shape, at=(15, 15, 15), along=(0, 0, -1), dia=6.0, deep=7.0)
    solid = solid_of(shape)
    survey = surveying.decide(solid=solid, run=Run()).value
    job = job_of(Size(balloon=survey.holes[0].balloon, text="6 H11 mask"), coat=coat())
    return decide(solid=solid, survey=survey, job=job).value, survey


def test_a_plug_keeps_the_coat_off_the_shoulder_between_two_steps(stepped: tuple[FinishingResult, Survey]) -> None:
    """Worked: coated are the six sides less the mouth, 2 x 900 + 4 x 600 - 49 pi."""
    result, survey = stepped
    (hole,) = survey.holes
    within = survey.faces_within(hole)
    shoulder = next(n for n in survey.faces if n.kind == "plane" and n.area_mm2 == pytest.approx(40.0 * 3.14159265))
    assert shoulder.face_id in within
    assert result.finishing.offset_mm[shoulder.face_id] == 0.0  # the bore itself stands at the middle of its limits
    assert set(result.finishing.coated_faces).isdisjoint(within)
    assert result.finishing.coated_area_mm2 == pytest.approx(4200.0 - 49.0 * 3.14159265, rel=1e-6)


def test_one_plug_is_counted_for_the_whole_hole(stepped: tuple[FinishingResult, Survey]) -> None:
    result, survey = stepped
    assert result.finishing.plugs == (f"{survey.holes[0].balloon}: 6 H11, blind: plug",)
