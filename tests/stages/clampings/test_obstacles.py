"""What a choice of clampings keeps cutters off: jaws, strip, and the seat between the jaws."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from shapes import CUTTERS, VISE, box, cutter, drilled, solid_of, target_of

from proveout.model.choice_of_clampings import Grip
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.stages import survey
from proveout.stages.clampings.covering import Obstacle, reached_from, samples_of
from proveout.stages.clampings.obstacles import later_obstacles, op1_obstacles

UP, ALONG, ACROSS = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
GRIP = Grip(
    across=ACROSS, faces=(), patch_length_mm=50.0, patch_height_mm=3.0, low_mm=0.0, gap_mm=60.0, seat_faces=()
)  # fmt: skip


def prism(profile: list[tuple[float, float]], long_mm: float) -> Any:
    """A profile in x, z drawn along y."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    rim = BRepBuilderAPI_MakePolygon()
    for x, z in profile:
        rim.Add(gp_Pnt(x, 0.0, z))
    rim.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(rim.Wire()).Face(), gp_Vec(0.0, long_mm, 0.0)).Shape()


def part(height_mm: float) -> Solid:
    """A block with a hole right through along x, so high above its underside."""
    return solid_of(drilled(box(40.0, 60.0, 40.0), at=(-1, 30, height_mm), along=ALONG, dia=6.6, deep=50))


def holes_reached(solid: Solid, obstacles: tuple[Obstacle, ...]) -> bool:
    target = target_of(solid)
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    reached, _ = reached_from(
        ALONG, target=target, samples=samples, obstacles=obstacles, cutters=CUTTERS, solid=solid, run=Run()
    )  # fmt: skip
    bore = next(f.index for f in solid.faces if f.surface.kind == "cylinder")
    return bool(reached[samples.face == bore].all())


def heights_between_jaws(obstacles: tuple[Obstacle, ...], at: tuple[float, float]) -> list[tuple[float, float]]:
    """From where to where boxes stand over a place seen from above."""
    found = []
    for one in obstacles:
        low, high = one.corners.min(axis=0), one.corners.max(axis=0)
        if np.all(low[:2] < at) and np.all(high[:2] > at):
            found.append((float(low[2]), float(high[2])))
    return sorted(found)


def test_the_seat_lies_between_the_jaws_beside_the_work() -> None:
    """Beside the work and between the jaws only the seat stands; on the raw bar the jaws lie along its longer side."""
    target = target_of(part(20.0))
    (raw,) = heights_between_jaws(op1_obstacles(UP, target, 3.0, VISE), (20.0, 70.0))
    (later,) = heights_between_jaws(later_obstacles(UP, GRIP, target, VISE), (50.0, 30.0))
    assert raw[1] == -4.5  # 1.5 mm below the part and a strip of 3 mm
    assert -0.1 < later[1] < 0.0


def test_a_low_cross_hole_is_not_drilled_where_its_holder_meets_the_seat() -> None:
    """A holder of 28 mm at 10 mm above the seat reaches 4 mm below it; at 30 mm it stands free (worked)."""
    for height, is_reached in ((10.0, False), (30.0, True)):
        solid = part(height)
        assert holes_reached(solid, ()), "free of everything it is reached"
        assert holes_reached(solid, later_obstacles(UP, GRIP, target_of(solid), VISE)) is is_reached


@pytest.mark.parametrize(("shank_mm", "goes_in"), [(6.6, True), (10.6, True), (11.4, False)])
def test_a_shank_wider_than_its_drill_must_go_down_the_step_above(
    shank_mm: float, goes_in: bool  # noqa: FBT001 - as parametrized
) -> None:  # fmt: skip
    """Worked: Ø6.6 through 10 mm below a step of Ø11, 20 deep; flutes of 16 end 3.5 mm up in the step."""
    shape = drilled(box(40.0, 40.0, 30.0), at=(20, 20, 31), along=(0, 0, -1), dia=6.6, deep=32)
    solid = solid_of(drilled(shape, at=(20, 20, 31), along=(0, 0, -1), dia=11.0, deep=21))
    drill = cutter("d", "drill", 6.6, 16.0, 60.0, shank_diameter_mm=shank_mm, tip_angle_rad=math.radians(118.0))
    target = target_of(solid)
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    reached, _ = reached_from(
        UP, target=target, samples=samples, obstacles=(), cutters=(drill,), solid=solid, run=Run()
    )  # fmt: skip
    bore = next(f.index for f in solid.faces if abs((f.surface.radius_mm or 0.0) - 3.3) < 1e-6)
    assert bool(reached[samples.face == bore].all()) is goes_in


@pytest.mark.parametrize(("diameter_mm", "is_reached"), [(32.0, False), (40.0, True)])
def test_an_undercut_cutter_needs_room_for_its_holder_with_its_flank_on_the_face(
    diameter_mm: float, is_reached: bool  # noqa: FBT001 - as parametrized
) -> None:  # fmt: skip
    """Worked. 10 mm of a wall of 30 lean under by 20°, so that the foot lies 3.64 deep. With its flank on it the axis
    of Ø32 stands 12.36 before the wall above, nearer than a holder of R14 and its air of 0.5; that of Ø40 16.36.
    """
    tan = math.tan(math.radians(20.0))
    solid = solid_of(prism([(0.0, 30.0), (0.0, 10.0), (10.0 * tan, 0.0), (40.0, 0.0), (40.0, 30.0)], 60.0))
    tool = cutter("u", "undercut", diameter_mm, 12.0, 15.0, shank_diameter_mm=10.0, tip_angle_rad=math.radians(20.0),
                  holder_diameter_mm=28.0)  # fmt: skip
    mill = cutter("m", "end mill", 6.0, 40.0, 50.0)
    target = target_of(solid)
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    reached, _ = reached_from(
        UP, target=target, samples=samples, obstacles=(), cutters=(tool, mill), solid=solid, run=Run()
    )  # fmt: skip
    face = next(f.index for f in solid.faces if -0.5 < f.normal[2] < -0.1)
    assert bool(reached[samples.face == face].all()) is is_reached
