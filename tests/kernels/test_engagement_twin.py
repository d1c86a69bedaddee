"""Widths and walks: compiled against plain, and against what a fine raster counts."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from proveout.geometry.kernels.blocks import blocks_of, look_again
from proveout.geometry.kernels.engagement import at, cover_line, meets, signed_field, walk, width
from proveout.geometry.kernels.starts import is_open, pulled, start_in_line, start_in_reach

PROGRAM = """
import numpy as np
from proveout.geometry.kernels import blocks as k
from proveout.geometry.kernels import engagement as e
from proveout.geometry.kernels import starts as s
square = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 5.0], [0.0, 5.0]])
far = square * 4.0 - 6.0
grid = np.array([-3.0, -3.0, 0.25])
shape = (49, 45)
metal = e.signed_field(square, np.array([0, 4]), grid, shape, 0.75)
free = e.signed_field(far, np.array([0, 4]), grid, shape, 2.0)
turn = np.arange(32) * np.pi / 16.0
rim = np.column_stack([np.cos(turn), np.sin(turn)])
room = np.empty((60, 2))
held = k.blocks_of(metal)
beside = e.walk_beside(metal, held, free, grid, rim, -1.0, 2.0, -1.5, 1.0, 0.1, 0.01, 0.2, 0.3, room)
ways = [room[:beside].copy()]
start = room[beside - 1]
count, taken = e.walk(metal, held, free, grid, rim, start[0], start[1], 1.6, 1.0, 0.1, 0.4, 0.3, room)
ways.append(room[:count].copy())
k.look_again(metal, held, grid, room[:count], 1.5)
given_up = np.zeros((40, 40), dtype=np.bool_)
bare, clear = np.zeros_like(given_up), np.zeros_like(given_up)
came, queue = np.empty((40, 40), dtype=np.int64), np.empty(1600, dtype=np.int64)
nodes = [
    s.start_in_line(metal, held, metal, held, free, grid, rim, given_up, 0.3, 1.0, 1.0, 1.0, bare),
    s.start_in_reach(metal, held, metal, held, free, grid, rim, given_up, 0.3, -1.5, -1.5, 1.0, bare, clear, came,
                     queue),
    *s.pulled(metal, held, free, grid, rim, np.array([[-2.0, 1.0], [-2.0, 6.0], [2.0, 7.0], [8.0, 6.5]]), 0.9),
]
print(beside, held.sum(), count, taken.hex(), nodes, [float(v).hex() for w in ways for v in w.ravel()],
      [float(v).hex() for v in metal.ravel()])
"""


def run(root: Path, *, compiled: bool) -> str:
    environment = dict(os.environ, NUMBA_DISABLE_JIT="0" if compiled else "1", PYTHONPATH=str(root / "src"))
    return subprocess.run(
        [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=True
    ).stdout


def numbers(text: str) -> list[float]:
    return [float.fromhex(word.strip("[]',")) for word in text.split() if "0x" in word]


def test_compiled_and_plain_kernels_walk_the_same_way(root: Path) -> None:
    compiled, plain = run(root, compiled=True), run(root, compiled=False)
    assert len(numbers(compiled)) > 2000
    assert compiled.split("0x")[0] == plain.split("0x")[0]
    assert numbers(compiled) == pytest.approx(numbers(plain), abs=1e-9)


def rim(count: int = 96) -> np.ndarray:
    turn = 2.0 * math.pi * np.arange(count) / count
    return np.column_stack([np.cos(turn), np.sin(turn)])


def half_plane(pitch: float) -> tuple[np.ndarray, np.ndarray]:
    """Metal where x is above 0."""
    grid = np.array([-10.0, -10.0, pitch])
    shape = (int(20.0 / pitch) + 1, int(20.0 / pitch) + 1)
    corners = np.array([[0.0, -30.0], [30.0, -30.0], [30.0, 30.0], [0.0, 30.0]])
    return signed_field(corners, np.array([0, 4]), grid, shape, 3.0 * pitch), grid


@pytest.mark.parametrize("bite", [0.2, 1.0, 2.5, 5.0])
def test_along_a_straight_edge_the_width_is_the_bite(bite: float) -> None:
    # worked: moving along +y with the axis 5 - bite to the left of the edge, the disc reaches over it by the bite
    metal, grid = half_plane(0.25)
    assert width(metal, blocks_of(metal), grid, rim(), bite - 5.0, 0.3, 0.0, 1.0, 5.0) == pytest.approx(bite, abs=0.02)


def test_head_on_the_width_is_the_chord() -> None:
    # worked: 1.5 mm into the edge, the chord is 2 sqrt(5^2 - 3.5^2)
    metal, grid = half_plane(0.25)
    chord = 2.0 * math.sqrt(5.0**2 - 3.5**2)
    assert width(metal, blocks_of(metal), grid, rim(), -3.5, 0.3, 1.0, 0.0, 5.0) == pytest.approx(chord, abs=0.05)


def test_backing_out_meets_nothing() -> None:
    metal, grid = half_plane(0.25)
    assert width(metal, blocks_of(metal), grid, rim(), -3.5, 0.3, -1.0, 0.0, 5.0) == 0.0


def test_signed_distances_are_those_to_the_border() -> None:
    grid, shape, band = np.array([-2.0, -2.0, 0.5]), (17, 13), 1.2
    corners = np.array([[0.1, 0.2], [4.3, 0.2], [4.3, 2.9], [0.1, 2.9], [1.0, 1.0], [1.0, 2.0], [2.0, 2.0], [2.0, 1.0]])
    field = signed_field(corners, np.array([0, 4, 8]), grid, shape, band)
    import shapely

    area = shapely.Polygon(corners[:4], [corners[4:]])
    for i in range(shape[0]):
        for j in range(shape[1]):
            spot = shapely.Point(grid[0] + i * 0.5, grid[1] + j * 0.5)
            away = min(band, area.boundary.distance(spot))
            assert field[i, j] == pytest.approx(away if area.contains(spot) else -away, abs=1e-12)


def test_what_a_walk_takes_is_what_a_raster_counts() -> None:
    """The width that steers the walk is area over length, counted here on a raster that shares nothing with it."""
    metal, grid = half_plane(0.2)
    free = np.full(metal.shape, 1.0)
    room = np.empty((60, 2))
    count, taken = walk(metal, blocks_of(metal), free, grid, rim(), -5.0, -8.0, math.pi / 2.0, 5.0, 0.2, 1.2, 0.3, room)
    line = room[:count]
    assert count == 60
    cells = np.arange(-10.0, 10.0, 0.05) + 0.025
    x, y = np.meshgrid(cells, cells, indexing="ij")
    covered = np.zeros(x.shape, dtype=bool)
    counted = []
    for k, (px, py) in enumerate(line):
        fresh = ~covered & ((x - px) ** 2 + (y - py) ** 2 <= 25.0) & (x > 0.0)
        covered |= fresh
        counted.append(float(fresh.sum()) * 0.05**2 if k else 0.0)
    assert sum(counted) == pytest.approx(taken, rel=0.03)
    assert max(np.convolve(counted, np.ones(5) / 5.0, "valid")) / 0.2 == pytest.approx(1.2, rel=0.05)


def test_a_covered_border_is_not_met_again() -> None:
    metal, grid = half_plane(0.25)
    cover_line(metal, grid, np.array([[-4.0, -9.0], [-4.0, 9.0]]), 5.0)
    assert width(metal, blocks_of(metal), grid, rim(), -4.0, 0.0, 0.0, 1.0, 5.0) == 0.0
    assert at(metal, grid, 0.9, 0.0) < 0.0 < at(metal, grid, 1.1, 0.0)


def test_the_nearest_start_is_found_again_and_again_while_metal_goes() -> None:
    """Beside every node looked at anew, from places in turn; what is known to be bare must not be missed later."""
    grid = np.array([-4.0, -4.0, 0.25])
    square = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 5.0], [0.0, 5.0]])
    metal = signed_field(square, np.array([0, 4]), grid, (57, 53), 0.75)
    free = signed_field(square * 4.0 - 6.0, np.array([0, 4]), grid, (57, 53), 2.0)
    turn = np.arange(32) * np.pi / 16.0
    rim = np.column_stack([np.cos(turn), np.sin(turn)])
    held = blocks_of(metal)
    apart, radius = 0.3, 1.0
    given_up = np.zeros((46, 43), dtype=np.bool_)
    bare = np.zeros_like(given_up)
    draw = np.random.default_rng(3)
    found = []
    for _ in range(14):
        x, y = (float(v) for v in draw.uniform(-3.0, 9.0, 2))
        least, best = math.inf, -1
        for i in range(46):
            for j in range(43):
                px, py = grid[0] + i * apart, grid[1] + j * apart
                is_start = (
                    not given_up[i, j]
                    and at(free, grid, px, py) >= 0.0
                    and not meets(metal, held, grid, rim, px, py, radius)
                    and any(meets(metal, held, grid, rim, px, py, radius + k * apart) for k in (0.5, 1.0, 1.5))
                )
                if is_start and math.hypot(px - x, py - y) < least:
                    least, best = math.hypot(px - x, py - y), i * 43 + j
        found.append(start_in_line(metal, held, metal, held, free, grid, rim, given_up, apart, x, y, radius, bare))
        assert found[-1] == best
        i, j = divmod(best, 43)
        given_up[i, j] = True
        start = np.array([grid[0] + i * apart, grid[1] + j * apart])
        gone = np.array([start, start + 0.4 * (np.array([3.0, 2.5]) - start)])
        cover_line(metal, grid, gone, radius)
        look_again(metal, held, grid, gone, radius + 2.0 * grid[2])
    assert len(set(found)) == 14
    assert bare.any()


def sea(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Islands of metal in a field that knows no distances, and its grid."""
    draw = np.random.default_rng(seed)
    field = draw.uniform(-1.0, 0.0, (75, 66))
    for i, j in draw.integers(0, 66, (9, 2)):
        field[i : i + 3, j : j + 2] += 1.0
    return field, np.array([-3.0, 2.0, 0.25])


@pytest.mark.parametrize("seed", range(6))
def test_what_lies_in_empty_blocks_is_no_metal(seed: int) -> None:
    """Against every vector looked at by itself: what is met, how wide, and what can be gone through straight."""
    field, grid = sea(seed)
    held, free = blocks_of(field), np.full(field.shape, 1.0)
    assert held.any()
    assert not held.all()
    draw = np.random.default_rng(seed + 100)
    vectors = rim(32)
    told = []
    for _ in range(300):
        x, y = (float(v) for v in grid[:2] + draw.uniform(-1.0, 18.0, 2))
        radius, turn = float(draw.uniform(0.3, 2.5)), float(draw.uniform(-math.pi, math.pi))
        places = np.array([x, y]) + radius * vectors
        values = np.array([at(field, grid, *place) for place in places])
        assert meets(field, held, grid, vectors, x, y, radius) == (values[::2] > 0.0).any()
        ux, uy = math.cos(turn), math.sin(turn)
        ahead = vectors @ np.array([ux, uy]) > 0.0
        wide = 0.0
        for k in range(32):
            here, there = values[k], values[(k + 1) % 32]
            if ahead[k] and ahead[(k + 1) % 32] and max(here, there) > 0.0:
                across = radius * abs(
                    ux * (vectors[(k + 1) % 32, 1] - vectors[k, 1]) - uy * (vectors[(k + 1) % 32, 0] - vectors[k, 0])
                )
                wide += across * (1.0 if min(here, there) > 0.0 else max(here, there) / abs(here - there))
        assert width(field, held, grid, vectors, x, y, ux, uy, radius) == pytest.approx(wide, abs=1e-12)
        told.append(wide > 0.0)
        bx, by = (float(v) for v in np.array([x, y]) + draw.uniform(-2.0, 2.0, 2))
        count = max(1, math.ceil(math.hypot(bx - x, by - y) / (radius / 8.0)))
        stands = [
            at(free, grid, px, py) >= 0.0
            and all(at(field, grid, px + radius * c, py + radius * s) <= 0.0 for c, s in vectors)
            for px, py in ((x + (bx - x) * k / count, y + (by - y) * k / count) for k in range(count + 1))
        ]
        assert is_open(field, held, free, grid, vectors, x, y, bx, by, radius) == all(stands)
    assert 10 < sum(told) < 280


def test_blocks_looked_at_again_hold_what_is_left() -> None:
    field, grid = sea(3)
    held = blocks_of(field)
    before = held.sum()
    line = grid[:2] + np.array([[0.5, 0.5], [8.0, 9.0], [15.0, 3.0]])
    cover_line(field, grid, line, 4.0)
    look_again(field, held, grid, np.linspace(line[0], line[1], 40), 4.0 + 2.0 * grid[2])
    look_again(field, held, grid, np.linspace(line[1], line[2], 40), 4.0 + 2.0 * grid[2])
    assert np.array_equal(held, blocks_of(field))
    assert held.sum() < before


def test_a_way_is_pulled_as_far_as_it_stays_clear() -> None:
    # worked: from the left round the lower end of a wall along y, whose free end lies at y = 0
    grid, shape = np.array([-10.0, -10.0, 0.25]), (81, 81)
    wall = np.array([[-0.5, 0.0], [0.5, 0.0], [0.5, 30.0], [-0.5, 30.0]])
    metal = signed_field(wall, np.array([0, 4]), grid, shape, 0.75)
    free = np.full(shape, 1.0)
    line = np.array([[-6.0, 6.0], [-6.0, 2.0], [-5.0, 0.0], [-2.0, -3.0], [0.0, -3.5], [2.0, -3.0], [6.0, 6.0]])
    rows = pulled(metal, blocks_of(metal), free, grid, rim(), line, 2.0)
    assert rows[0] == 0
    assert rows[-1] == 6
    assert 2 < len(rows) < 7
    for (ax, ay), (bx, by) in pairwise(line[rows].tolist()):
        assert is_open(metal, blocks_of(metal), free, grid, rim(), ax, ay, bx, by, 2.0)


def test_what_is_kept_of_nodes_changes_no_start_in_reach() -> None:
    """Call after call while metal goes, against a call that knows nothing yet."""
    grid = np.array([-4.0, -4.0, 0.25])
    square = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 5.0], [0.0, 5.0]])
    metal = signed_field(square, np.array([0, 4]), grid, (57, 53), 0.75)
    free = signed_field(square * 4.0 - 6.0, np.array([0, 4]), grid, (57, 53), 2.0)
    given_up = np.zeros((46, 43), dtype=np.bool_)
    bare, clear = np.zeros_like(given_up), np.zeros_like(given_up)
    held = blocks_of(metal)
    came, queue = np.empty((46, 43), dtype=np.int64), np.empty(46 * 43, dtype=np.int64)
    x, y, found = -2.0, -2.0, []
    for _ in range(8):
        bodies = (metal, held, metal, held, free, grid, rim(32), given_up, 0.3, x, y, 1.0)
        node = start_in_reach(*bodies, bare, clear, came, queue)
        fresh = start_in_reach(*bodies, np.zeros_like(bare), np.zeros_like(bare), came.copy(), queue)
        assert node == fresh
        found.append(node)
        i, j = divmod(node, 43)
        given_up[i, j] = True
        start = np.array([grid[0] + i * 0.3, grid[1] + j * 0.3])
        gone = np.array([start, start + 0.3 * (np.array([3.0, 2.5]) - start)])
        cover_line(metal, grid, gone, 1.0)
        look_again(metal, held, grid, gone, 1.0 + 2.0 * grid[2])
        x, y = (float(v) for v in gone[-1])
    assert len(set(found)) == 8
    assert bare.any()
    assert clear.any()
