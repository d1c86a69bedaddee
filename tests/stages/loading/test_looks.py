"""What the eye sees of a body, its mirror image, and places and poses in words."""

from __future__ import annotations

import numpy as np

from proveout.model.loading import Pose
from proveout.removal.fields import Fields
from proveout.stages.loading.bodies import Stuff, box_mesh
from proveout.stages.loading.looks import different_mm, page_of, seen
from proveout.stages.loading.naming import place_words, way_words

LOW, HIGH = np.array([0.0, -30.0, 0.0]), np.array([60.0, 0.0, 20.0])
STILL = {"turn": np.eye(3), "shift_mm": np.zeros(3)}


def block(x: float) -> Stuff:
    points, triangles = box_mesh((0.0, -30.0, 0.0), (x, 0.0, 20.0))
    return Stuff(what="a block", part="", points_mm=points, triangles=triangles, cuts=(), raw_mm=None)


def fields(stuff: Stuff) -> Fields:
    return stuff.fields(**STILL, low_mm=LOW - 70.0, high_mm=HIGH + 10.0, pitch_mm=0.4)


def test_two_alike_look_alike() -> None:
    page = page_of(LOW - 5.0, HIGH + 5.0)
    own = seen(fields(block(60.0)).surface_points_mm(), **STILL, above_mm=3.0, page=page)
    assert different_mm(own, own)[0] == 0.0


def test_a_block_that_is_longer_by_five_millimetres_is_seen_there() -> None:
    """A strip 5 mm wide is in sight (worked): less half a millimetre or two for the cells of the page."""
    page = page_of(LOW - 5.0, HIGH + 5.0)
    one, other = (
        seen(fields(block(x)).surface_points_mm(), **STILL, above_mm=3.0, page=page) for x in (60.0, 55.0)
    )  # fmt: skip
    wide, at = different_mm(one, other)
    assert 3.0 <= wide <= 5.0
    assert 55.0 <= at[0] <= 60.0


def test_a_left_hand_piece_is_the_mirror_image() -> None:
    points, triangles = box_mesh((0.0, -30.0, 0.0), (60.0, 0.0, 20.0))
    other = Stuff(what="a", part="", points_mm=points, triangles=triangles, cuts=(), raw_mm=None).mirrored("b")
    assert other.points_mm[:, 0].min() == -60.0
    metal = other.fields(**STILL, low_mm=LOW - 70.0, high_mm=HIGH + 10.0, pitch_mm=0.5)
    assert abs(metal.volume_best_mm3() - 60.0 * 30.0 * 20.0) < 40.0


def test_poses_are_told_as_the_operator_sees_them() -> None:
    def words(*rows: tuple[float, float, float]) -> str:
        return way_words(Pose(turn=rows, shift_mm=(0.0, 0.0, 0.0), gap_mm=1.0))  # type: ignore[arg-type]

    assert words((1, 0, 0), (0, 1, 0), (0, 0, 1)) == "the right way round"
    assert words((-1, 0, 0), (0, -1, 0), (0, 0, 1)) == "turned end for end"
    assert words((1, 0, 0), (0, -1, 0), (0, 0, -1)) == "upside down, its right end still at the right"
    assert words((-1, 0, 0), (0, 1, 0), (0, 0, -1)) == "upside down, its right end now at the left"
    assert words((0, 0, -1), (0, 1, 0), (1, 0, 0)) == "right end up, its top to the left"


def test_places_are_told_by_ends_and_sides() -> None:
    assert place_words(np.array([2.0, -29.0, 10.0]), LOW, HIGH) == "at the left end, near you"
    assert place_words(np.array([58.0, -1.0, 10.0]), LOW, HIGH) == "at the right end, near the fixed jaw"
