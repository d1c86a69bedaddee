"""What turns with a rotary axis is held clear of the spindle also between two steps of the turn."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from proveout.geometry.turning import turn_of
from proveout.stages.removal_check.turns import _air_mm


@pytest.mark.parametrize("radius", [100.0, 300.0, 400.0])
def test_a_corner_far_out_is_not_lost_between_two_steps(radius: float) -> None:
    """A box of 12 mm at 45 degrees goes diagonally by up to 7 mm a step, past a cylinder of radius 3 above it.

    The truth by the box's points, 13 along each side, turned in steps of a fiftieth of a degree.
    """
    high = np.array([[6.0, radius * math.sqrt(0.5), radius * math.sqrt(0.5)]])
    low = high - 12.0
    steps = [turn_of(a_rad=a, c_rad=0.0) for a in np.radians(np.arange(-5.0, 1.01, 1.0)).tolist()]
    fine = [turn_of(a_rad=a, c_rad=0.0) for a in np.radians(np.arange(-5.0, 1.0001, 0.02)).tolist()]
    sides = [np.linspace(low[0][k], high[0][k], 13) for k in range(3)]
    cloud = np.stack(np.meshgrid(*sides, indexing="ij"), -1).reshape(-1, 3)
    for off in np.linspace(-8.0, 8.0, 17).tolist():
        tip = high[0] * np.array([0.0, 1.0, 1.0]) + np.array([0.0, off, 3.0])
        said = min(_air_mm(low, high, both, tip, [(3.0, 0.0)]) for both in pairwise(steps))
        true = math.inf
        for turn in fine:
            turned = cloud @ turn.T
            near = np.hypot(turned[:, 0] - tip[0], turned[:, 1] - tip[1]) <= 3.0
            if near.any():
                true = min(true, float(tip[2] - turned[near, 2].max()))
        assert said <= true + 1e-9, off
