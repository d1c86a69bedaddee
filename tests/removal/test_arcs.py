"""Circular moves against the distance from an arc, against Pappus' volumes and against fine chords."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.arcs import CHORD_WITHIN_MM, cut_arcs
from proveout.removal.comparing import difference_mm3
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut

FLAT = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=3.0, r_high_mm=3.0),)
POINT = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=3.0, r_low_mm=0.5, r_high_mm=4.0),)
DOVETAIL = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=3.0, r_low_mm=4.0, r_high_mm=2.0),)
BALL = (Piece(kind="ball", z_low_mm=0.0, z_high_mm=5.0, r_low_mm=2.5, r_high_mm=2.5),)
CORNER = (Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=2.0, r_high_mm=3.0),)
CUTTERS = (FLAT, POINT, DOVETAIL, BALL, CORNER)
HIGH = np.array([30.0, 26.0, 10.0])
AXES = [np.array(a, float) for a in ((0, 0, 1), (0, 0, -1), (1, 0, 0), (0, -1, 0))]


def block(pitch: float = 0.4) -> Fields:
    return Fields.from_box(low_mm=np.zeros(3), high_mm=HIGH, pitch_mm=pitch)


def plane(axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    one = np.roll(np.abs(axis), 1)
    return one, np.cross(axis, one)


def one_arc(
    fields: Fields, pieces: tuple[Piece, ...], axis: np.ndarray, centre: np.ndarray, radius: float, begin: float,
    stop: float, turn: int, rise: float = 0.0,
) -> np.ndarray:  # fmt: skip
    one, two = plane(axis)
    start = centre + radius * (math.cos(begin) * one + math.sin(begin) * two)
    end = centre + radius * (math.cos(stop) * one + math.sin(stop) * two) + rise * axis
    return cut_arcs(
        fields, pieces=pieces, axis=axis, starts_mm=start[None], ends_mm=end[None], centres_mm=centre[None],
        turns=np.array([turn]),
    )[0]  # fmt: skip


def outside_by(
    piece: Piece, axis: np.ndarray, centre: np.ndarray, radius: float, begin: float, sweep: float, points: np.ndarray
) -> np.ndarray:
    """Distance from the arc seen along the axis, less the piece's radius there; sweep > 0 turns left from begin."""
    one, two = plane(axis)
    x, y, z = (points - centre) @ one, (points - centre) @ two, (points - centre) @ axis
    angle = (np.arctan2(y, x) - begin) % (2.0 * math.pi)
    ends = [np.hypot(x - radius * math.cos(a), y - radius * math.sin(a)) for a in (begin, begin + sweep)]
    away = np.where(angle <= sweep, np.abs(np.hypot(x, y) - radius), np.minimum(*ends))
    if piece.kind == "frustum":
        share = (z - piece.z_low_mm) / (piece.z_high_mm - piece.z_low_mm)
        own = piece.r_low_mm + (piece.r_high_mm - piece.r_low_mm) * share
        return np.where((share < 0.0) | (share > 1.0), np.inf, away - own)
    ring = piece.r_low_mm if piece.kind == "round corner" else 0.0
    beside = 0.5 * (piece.z_low_mm + piece.z_high_mm) - z
    return np.hypot(np.maximum(away - ring, 0.0), beside) - piece.corner_mm


CASES = [(5.0, 0.3, 1.2, 1), (5.0, 0.3, 1.2, -1), (1.5, -2.0, 1.4, 1), (6.0, 1.0, 1.0, -1), (4.0, 0.0, math.pi, 1)]


@pytest.mark.parametrize("pieces", CUTTERS)
@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("axis", AXES)
def test_metal_ends_exactly_where_the_arc_says(
    pieces: tuple[Piece, ...], case: tuple[float, float, float, int], axis: np.ndarray
) -> None:
    """Every new end lies on the swept surface; of points at random none left lies within it, none taken beyond it."""
    radius, begin, stop, turn = case
    centre = 0.5 * HIGH - 1.2 * axis + 0.0123
    fields = block()
    removed = one_arc(fields, pieces, axis, centre, radius, begin, stop, turn)
    assert removed.min() > 10.0
    left = begin if turn > 0 else stop
    sweep = (turn * (stop - begin)) % (2.0 * math.pi) or 2.0 * math.pi
    points = fields.surface_points_mm()
    inner = np.all((points > 1e-9) & (points < HIGH - 1e-9), axis=1)
    away = outside_by(pieces[0], axis, centre, radius, left, sweep, points[inner])
    z = (points[inner] - centre) @ axis
    on_end = np.minimum(np.abs(z - pieces[0].z_low_mm), np.abs(z - pieces[0].z_high_mm)) < 1e-9
    assert inner.sum() > 200
    assert np.abs(away[~on_end]).max() < 1e-9
    for k in range(3):
        u, v = np.divmod(np.arange(fields.counts[k].size), fields.rays_uv(k)[1])
        grid, (shift_u, shift_v) = fields.grid_mm(k), fields.ray_shifts_mm(k)
        at = np.random.default_rng(k).uniform(0.0, HIGH[k], len(u))
        where = np.empty((len(u), 3))
        where[:, k] = at
        where[:, (k + 1) % 3] = grid[0] + grid[1] * u + shift_u[v]
        where[:, (k + 2) % 3] = grid[2] + grid[3] * v + shift_v[u]
        used = np.arange(fields.spans[k].shape[1])[None, :] < fields.counts[k][:, None]
        spans = fields.spans[k]
        metal = np.any(used & (spans[:, :, 0] <= at[:, None]) & (at[:, None] <= spans[:, :, 1]), axis=1)
        away = outside_by(pieces[0], axis, centre, radius, left, sweep, where)
        assert np.all(metal[away > 1e-9])
        assert not np.any(metal[away < -1e-9])


def test_a_whole_turn_leaves_the_ring_of_pappus() -> None:
    """Worked: 2 pi R times the section: 6 x 4 for the flat cutter, a circle less a cap for the ball."""
    axis, centre = AXES[0], np.array([15.0, 13.0, 6.0])
    fields = block(0.1)
    removed = one_arc(fields, FLAT, axis, centre, 7.0, 0.4, 0.4, 1)
    np.testing.assert_allclose(removed, 2.0 * math.pi * 7.0 * 6.0 * 4.0, rtol=1e-3)
    fields = block(0.1)
    removed = one_arc(fields, BALL, axis, centre, 7.0, 0.4, 0.4, -1)
    section = math.pi * 2.5**2 - (2.5**2 * math.acos(1.5 / 2.5) - 1.5 * math.sqrt(2.5**2 - 1.5**2))
    np.testing.assert_allclose(removed, 2.0 * math.pi * 7.0 * section, rtol=1e-3)


@pytest.mark.parametrize(("axis", "rise"), [(AXES[0], -3.0), (AXES[1], 2.0), (np.array([0.0, 0.6, 0.8]), 0.0)])
def test_helices_and_slanting_arcs_stay_within_the_chords_bound(axis: np.ndarray, rise: float) -> None:
    """Against chords eight times as fine: what differs is less than the bound times the area of the walls."""
    one = np.array([1.0, 0.0, 0.0])
    two = np.cross(axis, one)
    centre, radius = 0.5 * HIGH - 1.2 * axis, 4.0
    angles = 0.3 + 2.5 * np.linspace(0.0, 1.0, 801)
    path = centre + radius * (np.cos(angles)[:, None] * one + np.sin(angles)[:, None] * two)
    path += rise * np.linspace(0.0, 1.0, 801)[:, None] * axis
    coarse, fine = block(0.2), block(0.2)
    cut_arcs(
        coarse, pieces=CORNER, axis=axis, starts_mm=path[:1], ends_mm=path[-1:], centres_mm=centre[None],
        turns=np.array([1]),
    )  # fmt: skip
    removed = cut(fine, pieces=CORNER, axis=axis, starts_mm=path[:-1], ends_mm=path[1:]).sum(axis=0)
    more, less = difference_mm3(coarse, fine)
    walls_mm2 = 200.0
    assert removed.min() > 50.0
    assert max(more.max(), less.max()) < CHORD_WITHIN_MM * walls_mm2


def test_arcs_and_straight_moves_go_in_order_and_each_has_its_own_chips() -> None:
    axis = AXES[0]
    starts = np.array([[5.0, 8.0, 6.0], [15.0, 8.0, 6.0], [15.0, 16.0, 6.0]])
    ends = np.array([[15.0, 8.0, 6.0], [15.0, 16.0, 6.0], [5.0, 16.0, 6.0]])
    centres = np.array([[np.nan] * 3, [15.0, 12.0, 0.0], [np.nan] * 3])
    both, apart = block(), block()
    removed = cut_arcs(
        both, pieces=FLAT, axis=axis, starts_mm=starts, ends_mm=ends, centres_mm=centres, turns=np.array([0, 1, 0])
    )
    for move in range(3):
        own = cut_arcs(
            apart, pieces=FLAT, axis=axis, starts_mm=starts[move : move + 1], ends_mm=ends[move : move + 1],
            centres_mm=centres[move : move + 1], turns=np.array([int(move == 1)]),
        )[0]  # fmt: skip
        np.testing.assert_allclose(removed[move], own, rtol=1e-12)
    assert both.digest() == apart.digest()
    np.testing.assert_allclose(both.volume_mm3() + removed.sum(axis=0), np.prod(HIGH), rtol=1e-11)


def test_wrong_arcs_are_refused_in_words() -> None:
    axis, spot = AXES[0], np.array([[5.0, 5.0, 5.0]])
    asked = {"pieces": FLAT, "axis": axis, "starts_mm": spot, "ends_mm": spot + 1.0}
    with pytest.raises(BadInput, match="its own centre"):
        cut_arcs(block(), **asked, centres_mm=spot, turns=np.array([1]))
    with pytest.raises(OutOfRange, match="different distances"):
        cut_arcs(block(), **asked, centres_mm=spot + np.array([[3.0, 0.0, 0.0]]), turns=np.array([1]))
    with pytest.raises(BadInput, match="turns of 1, 0 or -1"):
        cut_arcs(block(), **asked, centres_mm=spot, turns=np.array([2]))
    with pytest.raises(BadInput, match="not a finite number"):
        cut_arcs(block(), **asked, centres_mm=spot * np.nan, turns=np.array([1]))
