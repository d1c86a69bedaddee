"""How two bodies on one grid differ: thickness of shells, shifted holes and chamfers, known by hand."""

from __future__ import annotations

from typing import Any

import manifold3d
import numpy as np
import pytest

from proveout.removal.apart import shared, thickest_mm, without
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields

LOW, HIGH = np.array([-4.0, -4.0, -4.0]), np.array([64.0, 44.0, 34.0])


def fields(body: Any) -> Fields:
    mesh = body.to_mesh64()
    points, triangles = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)
    return mesh_fields(points, triangles, low_mm=LOW, high_mm=HIGH, pitch_mm=0.5)


def block() -> Any:
    return manifold3d.Manifold.cube((60.0, 40.0, 30.0))


def drilled(x: float) -> Fields:
    return fields(block() - manifold3d.Manifold.cylinder(40.0, 3.0, 3.0, 96).translate((x, 20.0, -1.0)))


@pytest.mark.parametrize("aside", [0.05, 0.1, 0.2, 0.5])
def test_a_hole_that_lies_aside_leaves_a_sickle_as_thick_as_it_was_moved(aside: float) -> None:
    """Worked: the widest place of the sickle between two equal circles is the way between their middles."""
    one, other = drilled(20.0), drilled(20.0 + aside)
    for found in (without(one, other), without(other, one)):
        assert thickest_mm(found, least_mm=0.03)[0] == pytest.approx(aside, rel=0.02)


def test_a_thin_skin_beside_a_wall_is_not_thick_where_rays_run_along_it() -> None:
    """A block moved by 0.02 mm along x and y has a skin 60 mm long and 0.02 mm thick."""
    moved = fields(block().translate((0.02, 0.02, 0.0)))
    assert thickest_mm(without(moved, fields(block())), least_mm=0.03)[0] == 0.0


def test_a_chamfer_on_one_edge_alone_is_found() -> None:
    """Legs of 0.71 mm (worked: half the diagonal of a square of 1 mm): the chords are below that, and above a third."""
    bar = manifold3d.Manifold.cube((80.0, 1.0, 1.0), center=True).rotate((45.0, 0.0, 0.0)).translate((30.0, 0.0, 0.0))
    thick, place = thickest_mm(without(fields(block()), fields(block() - bar)), least_mm=0.03)
    assert 0.71 / 3.0 < thick < 0.71
    assert abs(place[1]) < 0.71
    assert abs(place[2]) < 0.71


def test_what_both_have_and_what_one_has_make_the_whole() -> None:
    one, other = drilled(20.0), drilled(24.0)
    whole = shared(one, other).volume_mm3() + without(one, other).volume_mm3()
    assert whole == pytest.approx(one.volume_mm3(), rel=1e-9)


def test_what_is_thinner_than_asked_is_not_found_though_it_is_wider_than_a_cell() -> None:
    """A sickle 0.7 mm thick and 30 mm deep, asked for from 0.8 mm up (worked)."""
    assert thickest_mm(without(drilled(20.7), drilled(20.0)), least_mm=0.8)[0] == 0.0
