"""Ceilings of a T-slot: what comes under them, and where nothing does which cutter would."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, cutter, drilled, solid_of, target_of

from proveout.model.reach import FaceReach
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.stages import clampings, survey
from proveout.stages.clampings.reasons import wanted_words
from proveout.stages.clampings.under_wanted import wanted_under

HEAD = cutter("ts", "T-slot", 13.8, 3.5, 30.0, shank_diameter_mm=5.5)


def slotted() -> Solid:
    """120 long, 40 wide, 20 high: a slot 6 wide down to 8 over one 14 wide and 4 high, right through."""
    shape = cut_box(box(120, 40, 20), (-1, 17, 8), (121, 23, 21))
    return solid_of(cut_box(shape, (-1, 13, 8), (121, 27, 12)))


def reaches(solid: Solid, cutters: tuple[Cutter, ...]) -> dict[str, FaceReach]:
    """What the chosen clampings reach, by face."""
    found = clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=(MILL,),
        vises=(VISE,), jaws=(TOOTHED, SOFT), cutters=cutters, quantity=50, load_s=LOAD, pins=(), run=Run(),
    )  # fmt: skip
    return {r.face_id: r for r in found.value.reach}


def test_without_a_t_slot_cutter_a_ceiling_is_not_reached_and_one_is_named_that_would() -> None:
    """Worked: the head less than 14, the neck less than 6, 4 high; it must stick out from 8 to 20."""
    found = [r for f, r in reaches(slotted(), CUTTERS).items() if f.startswith("plane -z 12")]
    assert len(found) == 2
    for one in found:
        assert not one.is_reached
        assert one.why_not == "it looks straight down on this side, and the shop has no T-slot cutter"
        assert one.wanted is not None
        assert one.wanted.kind == "T-slot"
        assert one.would_reach == (
            "a T-slot cutter of Ø13.9 mm at most, with a neck of Ø5.9 mm at most, a head 4 mm high at most, "
            "12 mm out of its holder at least"
        )


def test_the_named_cutter_does_reach_ceilings_walls_and_floor() -> None:
    found = reaches(slotted(), (*CUTTERS, HEAD))
    room = {f: r for f, r in found.items() if f.startswith(("plane -z 12", "plane +y 13", "plane -y 27", "plane +z 8"))}
    assert len(room) >= 5
    assert all(r.is_reached for r in room.values()), {f: r.why_not for f, r in room.items() if not r.is_reached}
    assert {r.by[0].cutter_id for f, r in room.items() if f.startswith(("plane -z", "plane +y", "plane -y"))} == {"ts"}
    for one in (r for f, r in room.items() if f.startswith("plane -z")):
        assert one.least_s is not None


@pytest.mark.parametrize(
    "more", [{"diameter_mm": 14.2}, {"shank_diameter_mm": 6.2}, {"flute_length_mm": 4.2}, {"stick_out_mm": 11.0}]
)
def test_a_cutter_larger_than_the_named_one_does_not(more: dict[str, Any]) -> None:
    tool = msgspec.structs.replace(HEAD, **more)
    found = [r for f, r in reaches(slotted(), (*CUTTERS, tool)).items() if f.startswith("plane -z 12")]
    assert [r.is_reached for r in found] == [False, False]
    assert found[0].why_not.endswith("no T-slot cutter of the shop comes under all of it")


def test_a_roof_without_a_slot_asks_for_no_cutter() -> None:
    solid = solid_of(cut_box(box(80, 80, 30), (10, -1, 8), (70, 81, 14)))
    corners = solid.vertices_mm[solid.triangles]
    points = np.array([[x, y, 14.0] for x in (20.0, 40.0, 60.0) for y in (20.0, 40.0, 60.0)])
    assert wanted_under(corners, points, whole_ratio=0.85) is None


def test_over_nothing_no_height_of_the_head_is_named() -> None:
    """A shelf 30 wide that overhangs by 8, open below."""
    solid = solid_of(cut_box(box(60, 38, 20), (-1, 30, -1), (61, 39, 14)))
    points = np.array([[x, y, 14.0] for x in (5.0, 30.0, 55.0) for y in (31.0, 34.0, 37.0)])
    found = wanted_under(solid.vertices_mm[solid.triangles], points, whole_ratio=0.85)
    assert found is not None
    assert found.flute_max_mm is None
    assert math.isclose(found.diameter_max_mm or 0.0, 80.0, abs_tol=0.2)
    assert "high" not in wanted_words(found)


@pytest.mark.parametrize("flute_mm", [9.0, 20.0])
def test_a_mill_too_short_for_a_hole_is_told_by_its_shank(flute_mm: float) -> None:
    """A blind hole of 4.9, 18 deep: a mill of 3 fits it, and with flutes of 9 its shank of 6 would have to go in."""
    solid = solid_of(drilled(box(60, 40, 25), at=(30, 20, 25), along=(0, 0, -1), dia=4.9, deep=18.0))
    tool = cutter("mill 3", "end mill", 3.0, flute_mm, 26.0, shank_diameter_mm=6.0)
    wall = next(r for f, r in reaches(solid, (*CUTTERS, tool)).items() if f.startswith("cylinder"))
    assert wall.is_reached is (flute_mm > 18.0)
    if not wall.is_reached:
        assert wall.why_not == (
            "hole Ø4.900, 18.0 deep: mill 3 fits it, but goes in only 9 deep, then comes its shank of Ø6"
        )
        assert wall.would_reach == "a drill of Ø4.9 mm, with flutes of 18 mm at least"
