"""The survey names features, and puts the job's threads on the holes they are written at."""

from __future__ import annotations

from typing import Any

import pytest
from shapes import box, drilled, solid_of

from proveout.model.job import Size
from proveout.model.run import Run
from proveout.model.work import Survey
from proveout.stages import survey


def tapped() -> Any:
    """A bore Ø20 with a hole Ø4.2 in its bottom."""
    shape = drilled(box(40, 40, 30), at=(20, 20, 30), along=(0, 0, -1), dia=20.0, deep=12.0)
    return drilled(shape, at=(20, 20, 18), along=(0, 0, -1), dia=4.2, deep=10.0)


def with_sizes(*texts: str, balloon: int = 1) -> Survey:
    found = survey.decide(solid=solid_of(tapped()), run=Run()).value
    return survey.with_threads(found, tuple(Size(balloon=balloon, text=text) for text in texts))


def test_the_survey_carries_the_features_of_its_solid() -> None:
    (one,) = with_sizes().features
    assert (one.kind, one.hole_id) == ("hole", with_sizes().holes[0].id)


def test_a_written_thread_is_the_round_next_below_its_diameter() -> None:
    found = with_sizes("20 H8 mask", "M5 6H mask")
    (thread,) = [f for f in found.features if f.kind == "thread"]
    assert thread.name == "thread M5 6H in hole Ø4.2, 10 deep, from +z"
    assert thread.sizes_mm == {"thread_mm": 5.0, "diameter_mm": 4.2, "depth_mm": 10.0}
    (hole,) = [f for f in found.features if f.kind == "hole"]
    assert thread.within == hole.id
    assert set(thread.face_ids) < set(hole.face_ids)


def test_an_inch_thread_is_named_by_its_text_and_lies_below_its_major_diameter() -> None:
    """worked: No. 10 is 0.060 + 10 x 0.013 = 0.190 in, 4.826 mm."""
    (thread,) = [f for f in with_sizes("#10-32 UNF-2B mask").features if f.kind == "thread"]
    assert thread.name == "thread #10-32 UNF-2B in hole Ø4.2, 10 deep, from +z"
    assert thread.sizes_mm == {"thread_mm": pytest.approx(4.826), "diameter_mm": 4.2, "depth_mm": 10.0}
    assert all(f.kind != "thread" for f in with_sizes("#8-32 UNC").features)


def test_a_thread_that_no_round_can_carry_is_not_made_up() -> None:
    assert all(f.kind != "thread" for f in with_sizes("M4 6H").features)
    assert all(f.kind != "thread" for f in with_sizes("M5 6H", balloon=2).features)
    assert all(f.kind != "thread" for f in with_sizes("Mask", "20 H8").features)
    assert all(f.kind != "thread" for f in with_sizes("M5 left").features)
