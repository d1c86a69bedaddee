"""Places over a floor at which a whole cutter stands free: found where there are any, by no luck of a pattern."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.reach.kernels.standing import BLOCK, LARGE, highest_blocks, stand_over, stands_at, stands_within

PITCH_MM, SIDE = 0.1, 240
RADIUS_MM = 4.0
PIECES = np.array([[0.0, 0.0, 30.0, RADIUS_MM, RADIUS_MM]])
LEAST_MM, ASIDE_MM, ABOVE_MM = 0.05, 0.02, 0.02


def walled(at: tuple[float, float], room_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, float, float, float]:
    """A round pit about a place, wider than the cutter by so much on every side, in metal 10 high."""
    low = -0.5 * SIDE * PITCH_MM
    middles = low + PITCH_MM * (np.arange(SIDE) + 0.5)
    x, y = np.meshgrid(middles, middles, indexing="ij")
    heights = np.where(np.hypot(x - at[0], y - at[1]) <= RADIUS_MM + room_mm, 0.0, 10.0)
    return heights, highest_blocks(heights, BLOCK), highest_blocks(heights, LARGE), low, low, PITCH_MM


def cone(radius_mm: float, high_mm: float) -> np.ndarray:
    """A flat end of half the radius that widens upward: what a thinner cutter may do is not what a lower one may."""
    return np.array([[0.0, 0.0, high_mm, 0.5 * radius_mm, radius_mm]])


@pytest.mark.parametrize("seed", range(8))
def test_the_one_place_where_a_cutter_fits_is_found(seed: int) -> None:
    """A pit 0.15 mm wider than the cutter on every side, its middle anywhere within reach of the point."""
    draw = np.random.default_rng(seed)
    away, turn = 3.8 * np.sqrt(draw.random()), 2.0 * np.pi * draw.random()
    at = (float(away * np.cos(turn)), float(away * np.sin(turn)))
    ground = walled(at, 0.15)
    found, dx, dy = stands_within(
        *ground, 0.0, 0.0, 0.0, RADIUS_MM, LEAST_MM, RADIUS_MM, PIECES, ASIDE_MM, ABOVE_MM
    )  # fmt: skip
    assert found
    assert np.hypot(dx - at[0], dy - at[1]) <= 0.3
    assert np.hypot(dx, dy) <= RADIUS_MM
    out = np.zeros(1, dtype=np.bool_)
    stand_over(
        *ground, np.zeros((1, 3)), np.zeros((1, 2)), RADIUS_MM, LEAST_MM, RADIUS_MM, PIECES, ASIDE_MM, ABOVE_MM, out
    )
    assert out[0]


def test_a_pit_that_is_narrower_or_out_of_reach_takes_no_cutter() -> None:
    for at, room in (((1.7, -0.9), -0.2), ((2.97, 2.97), 0.15)):
        found, _, _ = stands_within(
            *walled(at, room), 0.0, 0.0, 0.0, RADIUS_MM, LEAST_MM, RADIUS_MM, PIECES, ASIDE_MM, ABOVE_MM
        )  # fmt: skip
        assert not found


@pytest.mark.parametrize("seed", range(6))
def test_the_answer_is_that_of_trying_all_places(seed: int) -> None:
    """Random pillars, a cutter that widens upward: places 0.1 mm apart and the search agree but at a hair's breadth."""
    draw = np.random.default_rng(100 + seed)
    heights = np.zeros((SIDE, SIDE))
    for _ in range(60):
        i, j = draw.integers(0, SIDE - 6, 2)
        heights[i : i + 6, j : j + 6] = draw.uniform(0.5, 9.0)
    low = -0.5 * SIDE * PITCH_MM
    ground = (heights, highest_blocks(heights, BLOCK), highest_blocks(heights, LARGE), low, low, PITCH_MM)
    steps = np.arange(-20, 21) * 0.1
    for radius in (1.0, 1.5, 2.0, 2.6, 3.2):
        pieces = cone(radius, 8.0)

        def stands(dx: float, dy: float, aside: float, own: np.ndarray = pieces, reach: float = radius) -> bool:
            return bool(stands_at(*ground, dx, dy, 0.0, reach, own, aside, ABOVE_MM))

        within = [(float(a), float(b)) for a in steps for b in steps if np.hypot(a, b) <= 2.0]
        found, dx, dy = stands_within(
            *ground, 0.0, 0.0, 0.0, 2.0, LEAST_MM, radius, pieces, ASIDE_MM, ABOVE_MM
        )  # fmt: skip
        if found:
            assert stands(dx, dy, ASIDE_MM)
        # a cutter that stands with 0.1 mm to spare on every side is not missed
        if any(stands(a, b, ASIDE_MM - 0.1) for a, b in within):
            assert found
