"""A closed mesh as intervals: every shared edge and corner counts once, also where a ray meets it exactly."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import trimesh

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput
from proveout.removal.fields import Fields, empty_fields
from proveout.removal.meshing import mesh_fields
from proveout.removal.sweeping import cut

GRID = {"low_mm": np.zeros(3), "high_mm": np.array([6.0, 5.0, 4.0]), "pitch_mm": 0.5}
BOX_TRIANGLES = np.array(
    [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ]
)  # fmt: skip


def box_corners(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    return np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])


def ray_places(k: int) -> np.ndarray:
    """Coordinates along axis k at which the rays of the two other fields run."""
    fields = empty_fields(**GRID)
    first, step = fields.grid_mm((k + 2) % 3)[:2]
    return first + step * np.arange(fields.cells[k])


@pytest.fixture
def in_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rays in straight rows, so that a whole row can lie in a face: the ties that the crossings must settle."""
    monkeypatch.setattr(
        Fields, "ray_shifts_mm", lambda self, k: (np.zeros(self.rays_uv(k)[1]), np.zeros(self.rays_uv(k)[0]))
    )


@pytest.mark.usefixtures("in_rows")
def test_a_box_with_faces_edges_and_corners_exactly_on_rays_is_counted_once() -> None:
    """Rays run in its faces, through its corners and along its diagonals; still every one goes in and out once."""
    places = [ray_places(k) for k in range(3)]
    low = np.array([place[2] for place in places])
    high = np.array([place[-2] for place in places])
    found = mesh_fields(box_corners(low, high), BOX_TRIANGLES, **GRID)
    assert found.odd_rays == (0, 0, 0)
    cells = np.rint((high - low) / found.pitch_mm)
    for k in range(3):
        assert found.counts[k].max() == 1
        assert found.counts[k].sum() == cells[(k + 1) % 3] * cells[(k + 2) % 3]  # one of each two faces counts
        hit = found.counts[k] == 1
        assert np.all(found.spans[k][hit, 0] == (low[k], high[k]))


@pytest.mark.usefixtures("in_rows")
def test_a_fan_about_a_corner_on_a_ray_is_crossed_once() -> None:
    """A ten-sided double pyramid whose two points and several rim corners lie exactly on rays."""
    places = [ray_places(k) for k in range(3)]
    middle = np.array([places[0][6], places[1][5], 2.0])
    turn = 2.0 * math.pi * np.arange(10) / 10.0
    rim = middle + 2.0 * np.stack([np.cos(turn), np.sin(turn), 0.0 * turn], axis=1)
    rim[::2, :2] = np.stack(
        [
            [places[0][np.abs(places[0] - x).argmin()] for x in rim[::2, 0]],
            [places[1][np.abs(places[1] - y).argmin()] for y in rim[::2, 1]],
        ],
        axis=1,
    )
    up = np.array([0.0, 0.0, 1.0])
    points = np.vstack([rim, middle + 1.7 * up, middle - 1.7 * up])
    sides = list(pairwise([*range(10), 0]))
    triangles = np.array([[a, b, 10] for a, b in sides] + [[b, a, 11] for a, b in sides])
    found = mesh_fields(points, triangles, **GRID)
    assert found.odd_rays == (0, 0, 0)
    assert max(int(counts.max()) for counts in found.counts) == 1
    ray = 6 * found.cells[1] + 5
    assert np.allclose(found.spans[2][ray, 0], (0.3, 3.7), atol=1e-12)


def test_a_sphere_has_its_volume_and_its_ends_on_the_mesh() -> None:
    ball = trimesh.creation.icosphere(subdivisions=3, radius=1.9)
    ball.apply_translation([3.0, 2.5, 2.0])
    found = mesh_fields(ball.vertices, ball.faces, **{**GRID, "pitch_mm": 0.05})
    np.testing.assert_allclose(found.volume_mm3(), ball.volume, rtol=2e-3)
    radii = np.linalg.norm(found.surface_points_mm() - [3.0, 2.5, 2.0], axis=1)
    assert radii.max() <= 1.9 + 1e-9
    assert radii.min() >= 1.9 * math.cos(0.1)


def test_walls_along_the_rays_have_their_place_to_a_small_share_of_a_cell() -> None:
    """A box whose faces stand at 27 places within their cells: rays in straight rows would err by up to half a cell."""
    worst = 0.0
    for shift in np.linspace(0.0, 0.1, 27):
        low, high = np.array([0.9, 0.9, 0.9]) + shift, np.array([4.1, 3.9, 3.1]) + shift / 2.0
        volume = float(np.prod(high - low))
        found = mesh_fields(box_corners(low, high), BOX_TRIANGLES, **{**GRID, "pitch_mm": 0.1})
        worst = max(worst, float(np.abs(found.volume_mm3() / volume - 1.0).max()))
    assert worst < 3e-3  # two rays of some 700; half a cell of 0.1 mm on a side of 2.2 mm would be 2.3 %


def test_a_solid_is_kept_within_the_box() -> None:
    found = mesh_fields(box_corners(np.full(3, -1.0), np.full(3, 9.0)), BOX_TRIANGLES, **GRID)
    assert found.digest() == Fields.from_box(**GRID).digest()


def test_a_hole_in_the_mesh_is_reported_by_rays() -> None:
    corners = box_corners(np.array([0.9, 0.9, 0.9]), np.array([4.1, 3.9, 3.1]))
    assert mesh_fields(corners, BOX_TRIANGLES, **GRID).odd_rays == (0, 0, 0)
    found = mesh_fields(corners, BOX_TRIANGLES[1:], **GRID)
    assert max(found.odd_rays) > 5
    with pytest.raises(BadInput, match="does not have"):
        mesh_fields(corners[:7], BOX_TRIANGLES, **GRID)


def test_many_crossings_of_one_ray_are_all_kept() -> None:
    """Twelve plates: each ray through them enters and leaves twelve times."""
    plates = [box_corners(np.array([1.0, 1.0, z]), np.array([5.0, 4.0, z + 0.1])) for z in 0.2 + 0.3 * np.arange(12)]
    triangles = np.vstack([BOX_TRIANGLES + 8 * k for k in range(12)])
    found = mesh_fields(np.vstack(plates), triangles, **GRID)
    assert found.counts[2].max() == 12
    inside = found.counts[2] == 12
    lengths = found.spans[2][inside, :12, 1] - found.spans[2][inside, :12, 0]
    np.testing.assert_allclose(lengths.sum(axis=1), 1.2, rtol=1e-12)


def test_a_milled_slot_is_the_same_as_the_mesh_of_the_slotted_block() -> None:
    """Two ways to one shape: cutting the block, and stabbing the mesh of what should be left."""
    work = Fields.from_box(**GRID)
    cutter = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=9.0, r_low_mm=1.0, r_high_mm=1.0),)
    moves: dict[str, Any] = {"starts_mm": np.array([[-2.0, 2.5, 1.3]]), "ends_mm": np.array([[8.0, 2.5, 1.3]])}
    cut(work, pieces=cutter, axis=np.array([0.0, 0.0, 1.0]), **moves)
    profile = np.array([[0, 0], [5, 0], [5, 4], [3.5, 4], [3.5, 1.3], [1.5, 1.3], [1.5, 4], [0, 4]], dtype=float)
    points = np.vstack([np.column_stack([np.full(8, x), profile]) for x in (0.0, 6.0)])
    caps = np.array([[0, 1, 4], [0, 4, 5], [1, 2, 3], [1, 3, 4], [0, 5, 6], [0, 6, 7]])
    walls = [[a, b + 8, b] for a, b in pairwise([*range(8), 0])] + [
        [a, a + 8, b + 8] for a, b in pairwise([*range(8), 0])
    ]
    solid = mesh_fields(points, np.vstack([caps[:, ::-1], caps + 8, walls]), **GRID)
    assert solid.odd_rays == (0, 0, 0)
    for k in range(3):
        assert np.array_equal(solid.counts[k], work.counts[k])
        for ray in range(solid.counts[k].size):
            used = slice(0, int(solid.counts[k][ray]))
            np.testing.assert_allclose(solid.spans[k][ray, used], work.spans[k][ray, used], atol=1e-12)
