"""Floors that end in something else than a wall: the strip that the floor pass keeps off it must not stay."""

from __future__ import annotations

import math
from typing import Any

import manifold3d
import numpy as np
import pytest

FLOOR = "plane +0.00+0.00+1.00 8.00"


@pytest.fixture(scope="module")
def hollowed(kit: Any) -> Any:
    """40 x 30 x 20: a floor at z 8 that runs into a hollow of R4, along y, up to a wall at x 19."""
    turn = np.linspace(0.0, math.pi / 2.0, 25)
    arc = np.column_stack([15.0 + 4.0 * np.sin(turn), 12.0 - 4.0 * np.cos(turn)])
    corners = np.vstack([[-1.0, 8.0], arc, [19.0, 21.0], [-1.0, 21.0]])
    gone = manifold3d.CrossSection([corners]).extrude(32.0).rotate((90.0, 0.0, 0.0)).translate((0.0, 31.0, 0.0))
    body = manifold3d.Manifold.cube((40.0, 30.0, 20.0)) - gone

    def name(middle: Any, normal: Any) -> str:
        is_hollow = abs(normal[1]) < 0.5 and math.hypot(middle[0] - 15.0, middle[2] - 12.0) < 4.01 and middle[2] < 12.0
        return "hollow" if is_hollow and middle[0] > 15.0 else kit.by_plane(middle, normal)

    target = kit.target_of(body, name)
    assert FLOOR in target.face_ids
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 32.0, 21.5)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=(FLOOR, "plane +0.00+0.00+1.00 20.00")),),
    )  # fmt: skip


def test_nothing_is_left_on_a_floor_beside_a_hollow(kit: Any, hollowed: Any) -> None:
    left, gouge = kit.removal_of(hollowed, above_mm=0.5, pitch_mm=0.2)[FLOOR]
    assert left < 0.01
    assert gouge < 0.01


def test_the_strip_is_a_floor_pass_of_its_own_after_the_walls(hollowed: Any) -> None:
    strips = [p for p in hollowed.passes if p.feature.startswith("strips on")]
    assert [p.kind for p in strips] == ["finish floor"]
    assert strips[0].face_ids == (FLOOR,)
    floors = [p for p in hollowed.passes if p.kind == "finish floor"]
    assert floors[-1] is strips[0]


def test_floors_between_walls_that_are_finished_here_get_no_second_pass(pocketed: Any) -> None:
    assert not [p.id for p in pocketed.passes if "strips on" in p.feature]


@pytest.fixture(scope="module")
def stepped(kit: Any) -> Any:
    """40 x 30 x 14: a floor at z 8 up to a wall at x 19 that no pass of this clamping finishes."""
    gone = manifold3d.Manifold.cube((20.0, 32.0, 10.0)).translate((-1.0, -1.0, 8.0))
    target = kit.target_of(manifold3d.Manifold.cube((40.0, 30.0, 14.0)) - gone, kit.by_plane)
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 32.0, 15.5)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=(FLOOR, "plane +0.00+0.00+1.00 14.00")),),
    )  # fmt: skip


def test_nothing_is_left_on_a_floor_along_a_wall_that_is_not_finished_here(kit: Any, stepped: Any) -> None:
    """What the floor pass leaves of the wall's metal is a tenth wide and as high as the wall."""
    assert "finish wall" not in stepped.kinds()
    left, gouge = kit.removal_of(stepped, above_mm=0.5, pitch_mm=0.2)[FLOOR]
    assert left < 0.01
    assert gouge < 0.01
