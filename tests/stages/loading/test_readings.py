"""Touches from the side at single places, bit for bit against whole grids worked out layer by layer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter, minimum_filter

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut
from proveout.stages.loading.metal import Cells, PosedCells, cells_of
from proveout.stages.loading.readings import (
    ALONG,
    Shape,
    from_side_mm,
    places_mm,
    shape_of_cells,
    shape_of_fields,
)

Floats = NDArray[np.float64]


def drawn(seed: int, pitch_mm: float) -> Fields:
    """A box with random sweeps of a bar and a ball cut out of it, so that rays hold several intervals."""
    draw = np.random.default_rng(seed)
    found = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([16.0, 11.0, 9.0]), pitch_mm=pitch_mm)
    pieces = (
        Piece(kind="frustum", z_low_mm=0.0, z_high_mm=20.0, r_low_mm=0.8, r_high_mm=0.8),
        Piece(kind="ball", z_low_mm=-1.5, z_high_mm=1.5, r_low_mm=1.5, r_high_mm=1.5),
    )
    starts = draw.uniform(0.0, 1.0, (9, 3)) * found.high_mm
    for way in (0, 1, 2):
        axis = np.eye(3)[way]
        own = starts[3 * way : 3 * way + 3]
        cut(found, pieces=pieces, axis=axis, starts_mm=own, ends_mm=own + draw.uniform(-3.0, 3.0, own.shape))
    return found


def entries_mm(metal: Fields | Cells | PosedCells, axis: int, sense: float, level: float) -> Floats:
    """(lines, places) where metal begins from each place on, times sense; every place looked at by itself."""
    if not isinstance(metal, Fields):
        count, cell, low = metal.is_metal.shape, np.full(3, metal.cell_mm), metal.low_mm
    else:
        count, cell, low = metal.cells, metal.pitch_mm, metal.low_mm
    row = min(max(math.floor((level - low[2]) / cell[2]), 0), count[2] - 1)
    places = low[axis] + cell[axis] * (np.arange(count[axis]) + 0.5)
    found = np.full((count[1 - axis], count[axis]), np.inf)
    for line in range(count[1 - axis]):
        if not isinstance(metal, Fields):
            own = metal.is_metal[:, line, row] if axis == 0 else metal.is_metal[line, :, row]
            spans = [(places[k], places[k]) for k in np.flatnonzero(own)]
        else:
            ray = line * count[2] + row if axis == 0 else row * count[0] + line
            spans = metal.spans[axis][ray, : metal.counts[axis][ray]].tolist()
        for low_end, high_end in spans:
            near, far = (low_end, high_end) if sense > 0.0 else (-high_end, -low_end)
            start = sense * places
            ahead = np.where(start < near, near, np.where(start <= far, start, np.inf))
            found[line] = np.minimum(found[line], ahead)
    return found


def grid_mm(
    shape: Shape, axis: int, sense: float, level_mm: float, ball_mm: float, slop_mm: float
) -> tuple[Floats, Floats]:
    """(nx, ny) readings from every place, by shifting whole layers against each other."""
    radius, cell = ball_mm / 2.0, float(shape.cell_mm[1 - axis])
    starts = sense * places_mm(shape, axis)
    found = np.full((shape.tops_mm.shape[1 - axis], len(starts)), np.inf)
    step = max(cell, radius / 2.0)
    count = len(found)
    for up in np.arange(-math.floor(radius / step), math.floor(radius / step) + 1) * step:
        layer = entries_mm(shape.metal, axis, sense, level_mm + float(up))
        for side in range(-math.floor(radius / cell), math.floor(radius / cell) + 1):
            deep2 = radius**2 - up**2 - (side * cell) ** 2
            for line in range(max(0, -side), min(count, count - side)) if deep2 >= 0.0 else ():
                found[line] = np.minimum(found[line], layer[line + side] - math.sqrt(deep2))
    found = np.maximum(found, starts)
    size = (2 * math.ceil(slop_mm / cell + 1.0 - 1e-9) + 1, 1)
    low, high = (np.asarray(f(found, size=size, mode="nearest")) for f in (minimum_filter, maximum_filter))
    low, high = low - shape.coarse_mm, high + shape.coarse_mm
    return (low.T, high.T) if axis == 0 else (low, high)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("kind", ["fields", "cells"])
def test_single_places_read_as_the_whole_grid(seed: int, kind: str) -> None:
    pitch = (0.4, 0.5, 0.7, 1.0)[seed]
    metal = drawn(seed, pitch)
    shape = shape_of_fields(metal) if kind == "fields" else shape_of_cells(cells_of(metal))
    nx, ny = shape.tops_mm.shape
    i, j = (rows.reshape(-1) for rows in np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"))
    for axis, sense in ALONG:
        for level in (0.3, 4.1, 8.9, 12.0):
            low, high = from_side_mm(shape, axis=axis, sense=sense, level_mm=level, ball_mm=2.6, slop_mm=0.03, i=i, j=j)
            wanted_low, wanted_high = grid_mm(shape, axis, sense, level, 2.6, 0.03)
            assert np.array_equal(low.reshape(nx, ny), wanted_low)
            assert np.array_equal(high.reshape(nx, ny), wanted_high)
            assert np.isfinite(low).any()


def test_a_flat_wall_is_met_a_radius_before_it() -> None:
    """Metal from x = 6 to 10 mm: the middle of a ball of 2 mm stands at 5 or at 11 mm when it meets it (worked)."""
    metal = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([16.0, 10.0, 8.0]), pitch_mm=0.5)
    metal.spans[0][:, 0] = (6.0, 10.0)
    shape = shape_of_fields(metal)
    touched = {
        sense: from_side_mm(
            shape, axis=0, sense=sense, level_mm=4.0, ball_mm=2.0, slop_mm=0.03, i=np.array([i]), j=np.array([9])
        )
        for sense, i in ((1.0, 2), (-1.0, 29))
    }  # fmt: skip
    assert [float(v[0]) for v in touched[1.0]] == [5.0, 5.0]
    assert [float(v[0]) for v in touched[-1.0]] == [-11.0, -11.0]
