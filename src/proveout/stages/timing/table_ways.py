"""Ways from place to place with the cutter in the spindle: how high, how many, how long."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from proveout.geometry.boxes import box_corners
from proveout.model.moves import Moves
from proveout.model.shop import Machine
from proveout.model.table_load import Laid, moves_at, zero_at
from proveout.model.work import Blank, Clamping, Pass
from proveout.motion.chain_time import chain_times_s
from proveout.stages.timing.cycle import STOP_ANGLE_RAD, corner_jump_mm_per_s, over_s

CLEAR_MM = 25.0
"""Over the highest of all places. Common practice, no source: zeros are set by hand beside where they were measured."""


def top_of_place_mm(clamping: Clamping, blank: Blank) -> float:
    """Highest of a vise's jaws and of the piece as it was sawn, above the work zero."""
    corners = box_corners(blank.low_mm, blank.high_mm)
    return max(clamping.jaw_top_mm, float(clamping.frame.into(corners)[:, 2].max()))


def clear_height_mm(laid: Sequence[Laid], clampings: Mapping[str, Clamping], blank: Blank) -> float | None:
    """Machine Z of the spindle's nose, were it the tip, clear of every vise and piece; None where one is unmeasured."""
    tops: list[float] = []
    for one in laid:
        clamping = clampings[one.clamping_id]
        zero = zero_at(clamping, one.place)
        if zero is None:
            return None
        tops.append(zero[2] + top_of_place_mm(clamping, blank))
    return math.ceil(max(tops) + CLEAR_MM)


def ways_of(
    steps: Sequence[tuple[Laid, Pass]], clear_mm: float | None, clampings: Mapping[str, Clamping],
    moves: Mapping[str, Moves], machine: Machine,
) -> tuple[int, float]:  # fmt: skip
    """How many ways lead from place to place without a change of cutter, and their seconds together.

    The seconds hold those from pass to pass in one place too.
    Where nobody measured where the places stand each counts the machine's whole travel along X, and Z up and down.
    """
    count, seconds = 0, 0.0
    for (here, before), (there, after) in pairwise(steps):
        if here == there:
            seconds += over_s(before, after, moves, machine)
        if here == there or before.cutter_id != after.cutter_id:
            continue
        count += 1
        one, two = zero_at(clampings[here.clamping_id], here.place), zero_at(clampings[there.clamping_id], there.place)
        if clear_mm is None or one is None or two is None:
            x, _, z = machine.travel_mm
            points = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, z], [x, 0.0, z], [x, 0.0, 0.0]])
        else:
            start = moves_at(moves[before.moves_digest], here.place).points[-1] + np.array(one)
            end = moves_at(moves[after.moves_digest], there.place).points[0] + np.array(two)
            points = np.array([start, [start[0], start[1], clear_mm], [end[0], end[1], clear_mm], end])
        seconds += float(
            chain_times_s(
                points, np.full(len(points), np.inf), rapid_mm_per_s=machine.rapid_mm_per_s,
                accel_mm_per_s2=machine.accel_mm_per_s2, stop_angle_rad=STOP_ANGLE_RAD,
                jerk_mm_per_s3=math.inf if machine.jerk_mm_per_s3 is None else machine.jerk_mm_per_s3,
                jump_mm_per_s=corner_jump_mm_per_s(machine),
            ).sum()
        )  # fmt: skip
    return count, seconds
