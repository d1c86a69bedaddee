"""What a plug keeps the coat off: everything in its hole, the shoulder between two steps among it."""

from __future__ import annotations

import pytest
from shapes import box, cut_box, drilled, solid_of
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


def _plugs_of(shape: object, size: Size) -> tuple[str, ...]:
    solid = solid_of(shape)
    survey = surveying.decide(solid=solid, run=Run()).value
    job = job_of(size, coat=coat())
    return decide(solid=solid, survey=survey, job=job).value.finishing.plugs


def test_a_plug_says_which_hole_lets_the_bath_in_behind_it() -> None:
    """A cross hole Ø4 runs through a plugged blind hole Ø10: the mouth shut, the bath comes in from both sides."""
    shape = drilled(box(30, 30, 20), at=(15, 15, 20), along=(0, 0, -1), dia=10.0, deep=15.0)
    shape = drilled(shape, at=(0, 15, 10), along=(1, 0, 0), dia=4.0, deep=30.0)
    survey = surveying.decide(solid=solid_of(shape), run=Run()).value
    plugged = next(hole for hole in survey.holes if hole.diameter_mm == pytest.approx(10.0))
    cross = sorted(hole.balloon for hole in survey.holes if hole is not plugged)
    (line,) = _plugs_of(shape, Size(balloon=plugged.balloon, text="10 H11 mask"))
    assert line.startswith(
        f"{plugged.balloon}: 10 H11, blind: plug; {' and '.join(f'hole {n} (Ø4)' for n in cross)} open"
    )
    assert "a plug in the mouth alone lets the bath in" in line


def test_a_plug_in_a_hole_that_breaks_into_a_pocket_says_so() -> None:
    """A slot is milled across a plugged through hole, half-way down: neither mouth touches it."""
    shape = drilled(box(30, 30, 20), at=(15, 15, 20), along=(0, 0, -1), dia=8.0, deep=20.0)
    plain = _plugs_of(shape, Size(balloon=1, text="8 H11 mask"))
    assert plain == ("1: 8 H11, through: plug",)
    cut = cut_box(shape, (17.0, 12.0, 8.0), (31.0, 18.0, 12.0))
    survey = surveying.decide(solid=solid_of(cut), run=Run()).value
    plugged = next(hole for hole in survey.holes if hole.diameter_mm == pytest.approx(8.0))
    (line,) = _plugs_of(cut, Size(balloon=plugged.balloon, text="8 H11 mask"))
    assert "open into it: a plug in the mouth alone" in line
    assert "face" in line
