"""Shadows and tops from the upward triangles, against whole-body booleans; the memory must never change a result."""

from __future__ import annotations

import math
from typing import Any

import manifold3d
import numpy as np
import pytest

from proveout.stages.passes import shadows
from proveout.stages.passes.areas import area_of
from proveout.stages.passes.shadows import Memory, shadow_of, upward_of

TURN = np.array([[0.8, 0.6, 0.0], [-0.36, 0.48, 0.8], [0.48, -0.64, 0.6]])


def bodies() -> list[Any]:
    """Upright with vertices at the heights asked, and the same turned so that no edge lies along an axis."""
    block = manifold3d.Manifold.cube((30.0, 20.0, 10.0)) - manifold3d.Manifold.cylinder(20.0, 4.0, 2.0, 48).translate(
        (10.0, 10.0, -5.0)
    )
    mushroom = block + manifold3d.Manifold.cylinder(6.0, 3.0, 7.0, 48).translate((22.0, 10.0, 9.0))
    hollow = mushroom - manifold3d.Manifold.cube((50.0, 4.0, 3.0)).translate((-5.0, 8.0, 4.0))
    return [hollow, hollow.transform(np.column_stack([TURN, [1.0, 2.0, 3.0]]))]


@pytest.mark.parametrize("body", bodies())
def test_a_shadow_is_what_a_plane_cut_and_a_projection_leave(body: Any) -> None:
    upward = upward_of(body)
    low, high = body.bounding_box()[2], body.bounding_box()[5]
    for z in [*np.linspace(low - 0.5, high + 0.5, 23), 4.0, 7.0, 9.9995, 10.0005]:
        part = body.trim_by_plane((0.0, 0.0, 1.0), float(z))
        slow = area_of(part.project().to_polygons()) if not part.is_empty() else area_of([])
        found = shadow_of(upward, float(z))
        assert (found - slow).area() + (slow - found).area() < 0.01, z


@pytest.mark.parametrize("body", bodies())
def test_the_top_under_a_disc_is_the_top_of_the_body_inside_a_column(body: Any) -> None:
    upward, box = upward_of(body), body.bounding_box()
    draw = np.random.default_rng(7)
    met = 0
    for _ in range(60):
        x, y, radius = draw.uniform(box[0], box[3]), draw.uniform(box[1], box[4]), draw.uniform(0.3, 6.0)
        column = manifold3d.Manifold.cylinder(box[5] - box[2] + 2.0, radius, radius, 720).translate((x, y, box[2] - 1))
        inside = body ^ column
        found = upward.top_mm(x_mm=x, y_mm=y, radius_mm=radius)
        if inside.is_empty():
            assert found == -math.inf or found < box[5]
            continue
        met += 1
        assert found == pytest.approx(float(inside.bounding_box()[5]), abs=1e-3)
    assert met > 20


def test_a_warm_memory_gives_the_same_moves_as_a_cold_one(pocketed: Any, kit: Any) -> None:
    hole = kit.hole_of("hole A", entry=(20.0, 5.0, 20.0), steps=(("cylinder", 6.6, 0.0, 20.0, "hole wall"),))
    digests = []
    for is_cold in (True, False):
        if is_cold:
            shadows.MEMORY.clear()
        again = kit.planned(target=pocketed.target, blank=pocketed.blank, clampings=pocketed.clampings, holes=(hole,))
        digests.append([p.moves_digest for p in again.passes])
    assert digests[0] == digests[1] == [p.moves_digest for p in pocketed.passes]


def test_a_memory_tells_frames_and_meshes_apart(pocketed: Any) -> None:
    frame = pocketed.clampings[0].frame
    moved = type(frame)(x=frame.x, y=frame.y, z=frame.z, origin_mm=(0.0, 0.0, 0.5))
    assert shadows.content_key(pocketed.target, frame) != shadows.content_key(pocketed.target, moved)


def test_a_full_memory_forgets_its_oldest_entry() -> None:
    memory, made = Memory(most=2), []
    for key in ("a", "b", "a", "c", "a", "b"):
        memory.get(key, lambda k=key: made.append(k))
    assert made == ["a", "b", "c", "b"]
