"""Bodies in their own places on two grids: what begins as another body is only cut on, bit for bit as if made anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.stages.loading.bodies import UPRIGHT, Cuts, Standing, Stuff, box_mesh, standing
from proveout.stages.loading.metal import Cells, PosedCells, cells_of, grid_size
from proveout.stages.loading.readings import shape_of_cells

POINTS, TRIANGLES = box_mesh((0.0, 0.0, 0.0), (30.0, 20.0, 12.0))
PITCH_MM, CELL_MM = 0.7, 1.1
COARSE = (*grid_size(POINTS.min(axis=0), POINTS.max(axis=0), CELL_MM), CELL_MM)
STILL = {"turn": np.eye(3), "shift_mm": np.zeros(3)}


def slot(y: float, z: float) -> Cuts:
    """A cutter of 6 along x, slightly aslant, at a height."""
    piece = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=3.0, r_high_mm=3.0)
    return Cuts(
        pieces=(piece,), axis=np.array([0.0, 0.0, 1.0]), starts_mm=np.array([[-5.0, y, z]]),
        ends_mm=np.array([[35.0, y + 0.3, z]]),
    )  # fmt: skip


FIRST, SECOND = slot(5.0, 7.0), slot(14.0, 3.0)
RAW = Stuff(what="raw", part="", points_mm=POINTS, triangles=TRIANGLES, cuts=(), raw_mm=None)
ONCE, DONE = replace(RAW, cuts=(FIRST,)), replace(RAW, cuts=(FIRST, SECOND))


def stood(stuff: Stuff, known: list[Standing]) -> Standing:
    return standing(stuff, known, pitch_mm=PITCH_MM, coarse=COARSE)


def demand_same(one: Fields, other: Fields, along: tuple[int, ...]) -> None:
    for k in along:
        assert (one.counts[k] == other.counts[k]).all()
        used = np.arange(one.spans[k].shape[1])[None, :] < one.counts[k][:, None]
        assert (one.spans[k][used] == other.spans[k][: len(used), : used.shape[1]][used]).all()


@pytest.mark.parametrize("known", [[], [RAW], [RAW, ONCE], [ONCE, RAW]])
def test_work_that_is_cut_on_is_that_which_is_cut_from_the_blank(known: list[Stuff]) -> None:
    """Worked: by hand-made fields; a start from what is cut already, whichever is known, changes no interval."""
    low, high = POINTS.min(axis=0) - PITCH_MM, POINTS.max(axis=0) + PITCH_MM
    found = stood(DONE, [stood(one, []) for one in known])
    demand_same(found.fine, DONE.fields(**STILL, low_mm=low, high_mm=high, pitch_mm=PITCH_MM), (0, 1, 2))
    demand_same(found.coarse, DONE.fields(**STILL, low_mm=COARSE[0], high_mm=COARSE[1], pitch_mm=CELL_MM), UPRIGHT)


def test_cutting_on_leaves_what_is_known_as_it_was() -> None:
    once = stood(ONCE, [])
    before = once.fine.volume_mm3().copy()
    after = stood(DONE, [once]).fine.volume_mm3()
    assert (once.fine.volume_mm3() == before).all()
    # worked: the second slot takes 6 x 9 x 30 mm3
    np.testing.assert_allclose(before - after, 6.0 * 9.0 * 30.0, rtol=0.02)


def test_only_cuts_that_come_first_make_one_body_the_beginning_of_another() -> None:
    assert DONE.begins_as(ONCE)
    assert DONE.begins_as(DONE)
    assert DONE.begins_as(RAW)
    assert not ONCE.begins_as(DONE)
    assert not DONE.begins_as(replace(RAW, cuts=(SECOND,)))
    assert not DONE.begins_as(replace(ONCE, points_mm=POINTS.copy()))
    assert not DONE.begins_as(ONCE.mirrored("a left-hand piece"))


@pytest.mark.parametrize("seed", range(5))
def test_tops_of_a_posed_body_are_those_of_its_cells(seed: int) -> None:
    """Worked twice: columns looked at from above only, and whole ones by the depths of their cells."""
    draw = np.random.default_rng(seed)
    body = cells_of(DONE.fields(**STILL, low_mm=COARSE[0], high_mm=COARSE[1], pitch_mm=CELL_MM))
    turn, _ = np.linalg.qr(draw.normal(size=(3, 3)))
    turn = np.diag([1.0, -1.0, -1.0]) if seed == 0 else turn
    shift = draw.uniform(-3.0, 3.0, 3)
    posed = PosedCells(
        body=body, turn=turn, shift_mm=shift, low_mm=np.full(3, -40.0), cell_mm=1.3, shape=(70, 66, 62),
        first=np.array([2, 1, 3]), last=np.array([68, 66, 60]),
    )  # fmt: skip
    assert posed.is_metal.any()
    assert (posed.tops_mm() == Cells(posed.low_mm, posed.cell_mm, posed.is_metal).tops_mm()).all()
    assert shape_of_cells(posed).coarse_mm == 2.6


def test_a_posed_body_beside_the_grid_is_air() -> None:
    body = cells_of(ONCE.fields(**STILL, low_mm=COARSE[0], high_mm=COARSE[1], pitch_mm=CELL_MM))
    posed = PosedCells(
        body=body, turn=np.eye(3), shift_mm=np.zeros(3), low_mm=np.zeros(3), cell_mm=1.0, shape=(5, 5, 5),
        first=np.array([2, 5, 0]), last=np.array([5, 5, 5]),
    )  # fmt: skip
    assert not posed.is_metal.any()
    assert np.isinf(posed.tops_mm()).all()
