"""Holes are found with their steps, whichever way they lie; numbers on the drawing follow from the geometry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from shapes import box, cut_box, drilled, solid_of

from proveout.model.job import Balloon
from proveout.model.run import Run
from proveout.model.work import Survey
from proveout.stages import survey


def surveyed(shape: Any) -> Survey:
    return survey.decide(solid=solid_of(shape), run=Run()).value


def test_a_counterbored_through_hole_is_one_hole_with_two_steps() -> None:
    shape = drilled(box(40, 30, 20), at=(12, 15, -1), along=(0, 0, 1), dia=6.6, deep=30)
    shape = drilled(shape, at=(12, 15, 14), along=(0, 0, 1), dia=11, deep=10)
    (hole,) = surveyed(shape).holes
    assert hole.is_through
    assert hole.outward == (0.0, 0.0, 1.0)
    assert hole.entry_mm == pytest.approx((12.0, 15.0, 20.0))
    steps = [(s.diameter_mm, s.depth_low_mm, s.depth_high_mm) for s in hole.steps]
    assert steps == [pytest.approx((11.0, 0.0, 6.0)), pytest.approx((6.6, 6.0, 20.0))]


@pytest.mark.parametrize(("at", "along", "out"), [
    ((20, 15, 20), (0, 0, -1), (0, 0, 1)), ((20, 15, 0), (0, 0, 1), (0, 0, -1)),
    ((0, 15, 10), (1, 0, 0), (-1, 0, 0)), ((20, 30, 10), (0, -1, 0), (0, 1, 0)),
])  # fmt: skip
def test_a_blind_hole_points_out_of_its_open_end(at: Any, along: Any, out: Any) -> None:
    (hole,) = surveyed(drilled(box(40, 30, 20), at=at, along=along, dia=5, deep=8)).holes
    assert hole.outward == pytest.approx(out)
    assert not hole.is_through
    assert hole.bottom == "flat"
    assert hole.depth_mm == pytest.approx(8.0)


def test_two_holes_on_one_line_through_two_walls_stay_two() -> None:
    shape = cut_box(box(40, 30, 20), (10, -1, 5), (30, 31, 21))
    shape = drilled(shape, at=(-1, 15, 12), along=(1, 0, 0), dia=5, deep=60)
    assert len(surveyed(shape).holes) == 2


def test_the_round_ends_of_a_slot_are_no_hole_but_give_a_corner_radius() -> None:
    shape = cut_box(box(40, 30, 10), (10, 12, -1), (30, 18, 11))
    shape = drilled(shape, at=(10, 15, -1), along=(0, 0, 1), dia=6, deep=12)
    shape = drilled(shape, at=(30, 15, -1), along=(0, 0, 1), dia=6, deep=12)
    found = surveyed(shape)
    assert found.holes == ()
    assert {f.corner_mm for f in found.faces if f.corner_mm is not None} == {3.0}


def test_a_slanted_hole_gives_its_axis_as_a_direction_to_look_from() -> None:
    lean = (0.0, -math.sin(0.3), -math.cos(0.3))
    found = surveyed(drilled(box(40, 30, 20), at=(20, 15 + 5, 20.5), along=lean, dia=5, deep=10))
    assert any(np.allclose(d, (0.0, math.sin(0.3), math.cos(0.3)), atol=1e-6) for d in found.directions)


def test_every_face_and_hole_has_one_balloon_and_they_do_not_depend_on_the_run() -> None:
    shape = drilled(box(40, 30, 20), at=(12, 15, -1), along=(0, 0, 1), dia=6.6, deep=30)
    one, two = surveyed(shape), surveyed(shape)
    assert one == two
    numbers = [h.balloon for h in one.holes] + [f.balloon for f in one.faces if not f.hole_id]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))


def test_numbers_of_the_job_file_follow_their_hole_when_another_comes_before_it() -> None:
    """Worked: a second hole at a smaller x is found first and would take number 1 from the hole that was drafted."""
    drafted = surveyed(drilled(box(40, 30, 20), at=(30, 15, -1), along=(0, 0, 1), dia=6, deep=30))
    (old,) = drafted.holes
    both = drilled(box(40, 30, 20), at=(30, 15, -1), along=(0, 0, 1), dia=6, deep=30)
    changed = surveyed(drilled(both, at=(10, 15, -1), along=(0, 0, 1), dia=6, deep=30))
    assert [h.balloon for h in changed.holes if h.id == old.id] == [2]
    names = [(old.balloon, old.id), *((n.balloon, n.face_id) for n in drafted.faces if not n.hole_id)]
    found = survey.numbered_as(changed, tuple(Balloon(number=number, id=id) for number, id in names))
    assert [h.balloon for h in found.holes if h.id == old.id] == [old.balloon] == [1]
    numbers = [h.balloon for h in found.holes] + [f.balloon for f in found.faces if not f.hole_id]
    assert len(set(numbers)) == len(numbers)
    of_holes = {h.id: h.balloon for h in found.holes}
    assert all(f.balloon == of_holes[f.hole_id] for f in found.faces if f.hole_id)
    gone = survey.numbered_as(drafted, (Balloon(number=1, id="hole of another solid"),))
    assert 1 not in {h.balloon for h in gone.holes} | {f.balloon for f in gone.faces}
    assert survey.numbered_as(changed, ()) is changed


def test_the_flat_bottom_of_a_blind_hole_belongs_to_the_hole() -> None:
    found = surveyed(drilled(box(40, 30, 20), at=(20, 15, 20), along=(0, 0, -1), dia=5, deep=8))
    (hole,) = found.holes
    owned = [f for f in found.faces if f.hole_id == hole.id]
    assert sorted(f.kind for f in owned) == ["cylinder", "plane"]
    # worked: pi 2.5^2
    assert min(f.area_mm2 for f in owned) == pytest.approx(math.pi * 2.5**2, rel=1e-6)
