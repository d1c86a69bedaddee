"""A tilt lies within the ends of A and of C, whichever of the two ways round gets there; else it is not called so."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapes import box, solid_of
from tilting import UP, laid, of, tilting

from proveout.model.run import Run
from proveout.model.work import Survey, Vector
from proveout.quantities.units import deg_from_rad
from proveout.stages import survey
from proveout.stages.clampings.offers import directions_for


def leaning(angle_deg: float, around_deg: float = 90.0) -> Vector:
    """A direction so far from upright, towards +y unless turned about z."""
    a, around = math.radians(angle_deg), math.radians(around_deg)
    return (math.sin(a) * math.cos(around), math.sin(a) * math.sin(around), math.cos(a))


def test_a_tilt_is_taken_from_the_side_that_the_axis_reaches() -> None:
    """75 degrees on A -110 to 30: only A -75 lies within; C turns the work half round for it."""
    found = laid(tilting(a_deg=(-110.0, 30.0)), leaning(75.0))
    tilt = found.value.clampings[0].tilts[1]
    assert (deg_from_rad(tilt.a_rad), deg_from_rad(tilt.c_rad)) == pytest.approx((-75.0, 180.0))
    assert tilt.id == "a-75.000-c180.000"
    proof = of(found, "range of A")
    # worked: from -75 it is 35 to -110 and 105 to 30
    assert (proof.found_low, proof.verdict) == (pytest.approx(35.0), "holds")


@pytest.mark.parametrize(("ends", "room"), [((-30.0, 60.0), -15.0), ((-60.0, 30.0), -45.0)])
def test_a_tilt_that_neither_way_reaches_fails_when_it_is_laid_all_the_same(
    ends: tuple[float, float], room: float
) -> None:
    proof = of(laid(tilting(a_deg=ends), leaning(75.0)), "range of A")
    assert (proof.verdict, proof.found_low, proof.blocks_release) == ("fails", pytest.approx(room), True)


def test_where_both_ways_lie_within_c_turns_less() -> None:
    for around, worked in ((90.0, (40.0, 0.0)), (-90.0, (-40.0, 0.0)), (0.0, (40.0, 90.0)), (180.0, (40.0, -90.0))):
        tilt = laid(tilting(a_deg=(-50.0, 50.0)), leaning(40.0, around)).value.clampings[0].tilts[1]
        assert (deg_from_rad(tilt.a_rad), deg_from_rad(tilt.c_rad)) == pytest.approx(worked)


def test_a_c_axis_with_ends_is_kept_within_them() -> None:
    """C 0 to 200 cannot stand at -90: it goes the other way round, by A negative and C 90."""
    ends = {"c_is_continuous": False, "c_low_rad": 0.0, "c_high_rad": math.radians(200.0)}
    found = laid(tilting(a_deg=(-50.0, 50.0), **ends), leaning(40.0, 180.0))
    tilt = found.value.clampings[0].tilts[1]
    assert (deg_from_rad(tilt.a_rad), deg_from_rad(tilt.c_rad)) == pytest.approx((-40.0, 90.0))
    assert of(found, "range of C").verdict == "holds"
    short = laid(tilting(a_deg=(0.0, 50.0), **ends), leaning(40.0, 180.0))
    assert of(short, "range of A").verdict == "holds"
    assert (of(short, "range of C").verdict, of(short, "range of C").found_low) == ("fails", pytest.approx(-90.0))


def test_a_c_axis_whose_ends_nobody_wrote_is_not_shown() -> None:
    found = laid(tilting(c_is_continuous=False), leaning(40.0, 0.0))
    assert of(found, "range of C").verdict == "not shown"
    assert "c_low_deg" in of(found, "range of C").decides
    straight = laid(tilting(c_is_continuous=False), leaning(40.0))
    assert [p.id for p in straight.proofs if "range of C" in p.id] == []


def test_a_direction_out_of_reach_is_not_offered() -> None:
    seen = survey.decide(solid=solid_of(box(60.0, 40.0, 20.0)), run=Run()).value
    wide = directions_for(tilting(a_deg=(-110.0, 30.0)), UP, seen)
    assert len(wide) == 5
    assert directions_for(tilting(a_deg=(-80.0, 80.0)), UP, seen) == (UP,)
    leans = Survey(faces=(), holes=(), directions=(UP, leaning(75.0)), access=(), unreached=())
    for ends, offered in (((-110.0, 30.0), 2), ((-30.0, 110.0), 2), ((-30.0, 74.0), 1), ((-74.0, 30.0), 1)):
        assert len(directions_for(tilting(a_deg=ends), UP, leans)) == offered
    assert np.allclose(wide[0], UP)
