"""A move left out of the replay because it seems to meet no metal would be a strike that nobody sees."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut, overlap_mm
from proveout.stages.removal_check.near import Skyline

CUTTER = (
    Piece(kind="frustum", z_low_mm=0.0, z_high_mm=6.0, r_low_mm=1.5, r_high_mm=1.5),
    Piece(kind="frustum", z_low_mm=6.0, z_high_mm=20.0, r_low_mm=5.0, r_high_mm=5.0),
)
WIDE = (Piece(kind="ball", z_low_mm=0.0, z_high_mm=16.0, r_low_mm=8.0, r_high_mm=8.0),)
AXES = ((0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (0.6, 0.0, 0.8))


@pytest.fixture(scope="module")
def worked() -> Fields:
    """A block of 40 x 30 x 12 with a deep slot, a step and a hole, so that its skyline is uneven."""
    fields = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([40.0, 30.0, 12.0]), pitch_mm=0.5)
    up = np.array([0.0, 0.0, 1.0])
    starts = np.array([[-20.0, 8.0, 3.0], [30.0, -20.0, 9.0], [34.0, 24.0, 20.0]])
    ends = np.array([[60.0, 8.0, 3.0], [30.0, 50.0, 9.0], [34.0, 24.0, -1.0]])
    cut(fields, pieces=CUTTER[1:], axis=up, starts_mm=starts - [0, 0, 6], ends_mm=ends - [0, 0, 6])
    return fields


@pytest.mark.parametrize("pieces", [CUTTER, CUTTER[1:], WIDE], ids=["mill", "holder", "ball"])
@pytest.mark.parametrize("axis", AXES)
def test_every_move_that_meets_metal_is_near(
    worked: Fields, axis: tuple[float, ...], pieces: tuple[Piece, ...]
) -> None:
    draw = np.random.default_rng(20)
    starts = draw.uniform([-15, -15, -15], [55, 45, 27], (1500, 3))
    steps = draw.normal(0.0, 1.0, (1500, 3)) * draw.choice([0.1, 1.0, 12.0], (1500, 1))
    ends = starts + steps
    met = overlap_mm(worked, pieces=pieces, axis=np.array(axis), starts_mm=starts, ends_mm=ends) > 0.0
    near = Skyline(worked, np.array(axis)).near(pieces, starts, ends)
    assert met.sum() > 100
    assert not np.any(met & ~near)


def test_most_moves_above_the_metal_are_left_out(worked: Fields) -> None:
    draw = np.random.default_rng(21)
    starts = draw.uniform([0, 0, 4.5], [40, 30, 14], (1000, 3))
    slot = (np.abs(starts[:, 1] - 8.0) < 1.0) & (starts[:, 0] < 20.0)
    pieces = CUTTER[:1]
    near = Skyline(worked, np.array([0.0, 0.0, 1.0])).near(pieces, starts, starts)
    assert near[starts[:, 2] < 8.0].mean() > 0.5
    assert not near[starts[:, 2] > 12.0].any()
    assert slot.any()
    beside = starts[starts[:, 2] < 11.0] + [60.0, 0.0, 0.0]
    assert not Skyline(worked, np.array([0.0, 0.0, 1.0])).near(pieces, beside, beside).any()


def test_no_metal_is_near_to_nothing() -> None:
    fields = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([4.0, 4.0, 4.0]), pitch_mm=1.0)
    for k in range(3):
        fields.counts[k][:] = 0
    place = np.array([[2.0, 2.0, 0.0]])
    assert not Skyline(fields, np.array([0.0, 0.0, 1.0])).near(CUTTER, place, place).any()
