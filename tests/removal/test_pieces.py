"""Pieces that hang together, against shapes whose pieces are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.removal.pieces import lumps_of
from proveout.removal.sweeping import cut

UP = np.array([0.0, 0.0, 1.0])


def block(pitch: float = 0.3) -> Fields:
    """60 x 40 x 20 mm of metal."""
    return Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([60.0, 40.0, 20.0]), pitch_mm=pitch)


def mill(work: Fields, points: list[tuple[float, float, float]], *, dia: float = 2.0) -> None:
    """Takes a flat cutter along a path."""
    pieces = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=50.0, r_low_mm=dia / 2.0, r_high_mm=dia / 2.0),)
    at = np.array(points, dtype=float)
    cut(work, pieces=pieces, axis=UP, starts_mm=at[:-1], ends_mm=at[1:])


def ring(z: float, *, to: float = 1.0) -> list[tuple[float, float, float]]:
    """A round path of radius 8 about (30, 20), as far as a share of a turn."""
    angles = np.linspace(0.0, 2.0 * math.pi * to, 160)
    return [(30.0 + 8.0 * math.cos(a), 20.0 + 8.0 * math.sin(a), z) for a in angles]


def test_a_whole_block_is_one_piece_and_an_empty_one_none() -> None:
    work = block()
    (only,) = lumps_of(work, least_mm3=1.0)
    assert only.volume_mm3 == pytest.approx(48000.0)
    mill(work, [(-1.0, y, -1.0) for y in (0.0, 0.1)], dia=400.0)
    assert lumps_of(work, least_mm3=0.0) == ()


def test_a_ring_cut_through_sets_a_round_slug_free() -> None:
    """Worked: the slug inside a ring of radius 8 by a Ø2 cutter is a round of radius 7, 20 high."""
    work = block()
    mill(work, ring(-1.0))
    rest, slug = lumps_of(work, least_mm3=1.0)
    assert slug.volume_mm3 == pytest.approx(math.pi * 49.0 * 20.0, rel=2e-3)
    assert slug.low_mm == pytest.approx((23.0, 13.0, 0.0), abs=0.05)
    assert slug.high_mm == pytest.approx((37.0, 27.0, 20.0), abs=0.05)
    assert rest.volume_mm3 > slug.volume_mm3


@pytest.mark.parametrize("path", [ring(0.1), ring(-1.0, to=0.92)])
def test_a_skin_or_a_tab_holds_it(path: list[tuple[float, float, float]]) -> None:
    """A tenth of a millimetre of floor, thinner than a cell, or a tab of 2 mm: no piece comes loose."""
    work = block()
    mill(work, path)
    assert len(lumps_of(work, least_mm3=1.0)) == 1


def test_a_wall_thinner_than_a_cell_holds_what_hangs_on_it() -> None:
    """Two halves that a fin of 0.2 mm along the slot joins, at a pitch of 0.5."""
    work = block(0.5)
    for y in (18.9, 21.1):
        mill(work, [(-5.0, y, -1.0), (65.0, y, -1.0)])
    halves = lumps_of(work, least_mm3=300.0)
    assert len(halves) == 2  # the fin of 0.2 x 20 x 60 stands alone: it joins neither half
    work = block(0.5)
    mill(work, [(30.0, -5.0, -1.0), (30.0, 19.9, -1.0)])
    mill(work, [(30.0, 45.0, -1.0), (30.0, 22.1, -1.0)])
    assert len(lumps_of(work, least_mm3=300.0)) == 1


def test_crumbs_below_the_least_volume_are_not_told() -> None:
    work = block()
    mill(work, ring(-1.0))
    assert len(lumps_of(work, least_mm3=3000.0 + 1000.0)) == 1


def every_cell(work: Fields, least_mm3: float) -> list[float]:
    """Volumes of the pieces when every interval is looked at in every cell, by the kernels alone."""
    from proveout.removal import pieces
    from proveout.removal.kernels.joining import join_across, join_field

    offsets, total = pieces._numbered(work)
    parent = np.arange(total, dtype=np.int64)
    for k in range(3):
        rays_u, rays_v = work.rays_uv(k)
        join_field(work.counts[k], work.spans[k], offsets[k], rays_u, rays_v, pieces.OVERLAP_MM, parent)
        other, grid = (k + 1) % 3, work.grid_mm(k)
        places = grid[0] + np.arange(rays_u)[:, None] * grid[1] + work.ray_shifts_mm(k)[0][None, :]
        join_across(
            work.counts[k], work.spans[k], offsets[k], work.counts[other], work.spans[other], offsets[other], places,
            float(work.low_mm[k]), float(work.pitch_mm[k]), 1, np.ones(total, dtype=np.bool_), parent,
        )  # fmt: skip
    return [lump.volume_mm3 for lump in pieces._measured(work, offsets, pieces._pieces(parent), least_mm3)]


def test_pieces_are_those_of_looking_everywhere() -> None:
    """Random cuts of small blocks, right through them and not, at slants: rings, bars, fins and crumbs."""
    most = 0
    for seed in range(6):
        random = np.random.default_rng(seed)
        work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([16.0, 12.0, 6.0]), pitch_mm=0.5)
        for _ in range(14):
            start, end = random.uniform([-2.0, -2.0, -2.0], [18.0, 14.0, 3.0], (2, 3))
            piece = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=20.0, r_low_mm=0.4, r_high_mm=0.4)
            axis = random.normal(0.0, 0.3, 3) + UP
            cut(work, pieces=(piece,), axis=axis / np.linalg.norm(axis), starts_mm=start[None], ends_mm=end[None])
        found = [lump.volume_mm3 for lump in lumps_of(work, least_mm3=0.5)]
        assert found == every_cell(work, 0.5), seed
        most = max(most, len(found))
    assert most > 2


def test_what_hangs_together_by_one_cell_alone_is_found() -> None:
    """Long thin intervals drawn at random, which no body has: where they cross lies seldom where every twelfth cell is
    looked at. Volumes of all pieces, crumbs too, are those of looking everywhere."""
    for seed in range(8):
        random = np.random.default_rng(seed)
        work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([30.0, 24.0, 27.0]), pitch_mm=1.0)
        for k in range(3):
            rays = work.counts[k].size
            taken = random.random(rays) < 0.2
            ends = np.sort(random.uniform(0.0, 24.0, (rays, 2)), axis=1)
            work.counts[k] = taken.astype(np.int32)
            work.spans[k] = np.where(taken[:, None], ends, 0.0)[:, None, :]
        found = sorted(lump.volume_mm3 for lump in lumps_of(work, least_mm3=0.0))
        assert found == pytest.approx(sorted(every_cell(work, 0.0)), abs=1e-9), seed
