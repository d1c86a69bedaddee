"""Where both jaws and the work are sure to touch, and how much of that is left as metal is cut away beside the jaws."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.interval import Interval, ends

Floats = NDArray[np.float64]
Number = float | Interval
COLUMN_MM = 0.5
THIN_MM = 2.0
"""Common practice, no source: metal thinner than this behind a jaw's face gives way and is not counted as touched."""
LEVEL_MM = 1e-6
GONE_MM = 1e-3
"""What is left of a side where nothing is sure: small enough to hold nothing, large enough to reckon with."""


class Patches(msgspec.Struct, frozen=True, kw_only=True):
    """The rectangle on which each jaw touches the work, at each of k moves: intervals as (k, 2) low and high.

    length_mm: along the jaws.  height_mm: up.  along_mm, up_mm: where its middle may lie, x and z of the clamping's
    frame.
    """

    length_mm: Floats
    height_mm: Floats
    along_mm: Floats
    up_mm: Floats


def whole_patches(
    *, length_mm: Number, height_mm: Number, jaw_top_mm: float, middle_mm: float, aside_mm: float, moves_count: int
) -> Patches:
    """The same patch at every move: no metal is cut where jaw and work meet.

    Formula:  the patch lies between the jaw tops and the greatest height below them, so its middle lies between
              z_t - H + h / 2 and z_t - h / 2, h the least and H the greatest height; along the jaws within o of x_m
    Args:     length_mm: > 0, corner radius, burr and ends off.   height_mm: > 0, likewise.   jaw_top_mm: z_t.
              middle_mm: x_m of the jaws.   aside_mm: o, how far from it the patch's middle may lie, >= 0.
              moves_count: k.
    Returns:  Patches of k like rows.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    flat parallel jaws; both patches across from each other.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/grip/test_jaw_patches.py
    """
    (long_low, long_high), (low, high) = ends(length_mm), ends(height_mm)
    above_zero(length_mm=long_low, height_mm=low)
    zero_or_more(aside_mm=aside_mm)
    rows = (
        (long_low, long_high), (low, high), (middle_mm - aside_mm, middle_mm + aside_mm),
        (jaw_top_mm - high + low / 2.0, jaw_top_mm - low / 2.0),
    )  # fmt: skip
    length, tall, along, up = (np.tile(np.array(row), (moves_count, 1)) for row in rows)
    return Patches(length_mm=length, height_mm=tall, along_mm=along, up_mm=up)


def remaining_patches(
    whole: Patches, *, at_low_mm: Floats, at_high_mm: Floats, jaw_top_mm: float, jaw_gap_mm: float
) -> Patches:
    """The patch that is sure at each move, once the moves before it and its own have cut away what they cut.

    Formula:  where a move's box lies lower than the jaw tops and within THIN_MM of either jaw's face, both patches end
              below it, over all its length; what is left is a skyline, and the largest rectangle under it is the
              patch, less what corner radius, burr and ends may take anywhere. Where the patch's own place along the
              jaws is not known, it loses every length cut and is parted at each cut, or it loses the depth all along:
              the better of both
    Args:     whole: before anything is cut, one row a move.   at_low_mm, at_high_mm: (k, 3) boxes in which each move
              cuts, in the clamping's frame, in the order of work.   jaw_top_mm: of the jaws above the seat.
              jaw_gap_mm: g, > 0: the jaws' faces stand at y = 0 and y = -g.
    Returns:  Patches; the upper ends of the sides are those of the whole, for the smaller parts may help or not.
    Raises:   OutOfRange when jaw_gap_mm leaves its bounds.
    Valid:    A rectangle inside what really touches carries at least what the bound says, as a field of forces in
              balance; that small parts beside it slip where they are is not covered. Boxes larger than what is really
              cut count against us.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/grip/test_jaw_patches.py
    """
    above_zero(jaw_gap_mm=jaw_gap_mm)
    beside = (at_low_mm[:, 2] < jaw_top_mm - LEVEL_MM) & (
        (at_high_mm[:, 1] > -THIN_MM) | (at_low_mm[:, 1] < THIN_MM - jaw_gap_mm)
    )
    if not beside.any():
        return whole
    first = int(np.flatnonzero(beside)[0])
    length, height, along, up = (
        side.copy() for side in (whole.length_mm, whole.height_mm, whole.along_mm, whole.up_mm)
    )
    left, right = whole.along_mm[0, 0] - whole.length_mm[0, 0] / 2.0, whole.along_mm[0, 1] + whole.length_mm[0, 0] / 2.0
    foot = jaw_top_mm - whole.height_mm[0, 1]
    is_placed = right - left <= whole.length_mm[0, 1] + LEVEL_MM
    columns = left + COLUMN_MM * np.arange(max(1, int(np.ceil((right - left) / COLUMN_MM - LEVEL_MM))) + 1)
    columns[-1] = right
    skyline = np.full(len(columns) - 1, jaw_top_mm)
    now = (length[0], height[0], along[0], up[0])
    for row in range(first, len(length)):
        if beside[row]:
            touched = (columns[1:] > at_low_mm[row, 0] + LEVEL_MM) & (columns[:-1] < at_high_mm[row, 0] - LEVEL_MM)
            lower = touched & (skyline > at_low_mm[row, 2])
            if lower.any():
                skyline[lower] = max(foot, at_low_mm[row, 2])
                now = _placed(columns, skyline, foot, whole) if is_placed else _anywhere(skyline, columns, foot, whole)
        length[row], height[row], along[row], up[row] = now
    return Patches(length_mm=length, height_mm=height, along_mm=along, up_mm=up)


Rows = tuple[Floats, Floats, Floats, Floats]


def _placed(columns: Floats, skyline: Floats, foot: float, whole: Patches) -> Rows:
    """The largest rectangle under the skyline, less what may be lost of either side."""
    lost_long, lost_high = (float(side[0, 1] - side[0, 0]) for side in (whole.length_mm, whole.height_mm))
    best, found = -1.0, (0.0, 0.0, 0.0)
    for height in np.unique(skyline - foot):
        stands = np.concatenate([[False], skyline - foot >= height - LEVEL_MM, [False]])
        begins, stops = np.flatnonzero(~stands[:-1] & stands[1:]), np.flatnonzero(stands[:-1] & ~stands[1:])
        at = int(np.argmax(columns[stops] - columns[begins]))
        left, right = float(columns[begins[at]]), float(columns[stops[at]])
        sure = max(0.0, right - left - lost_long) * max(0.0, float(height) - lost_high)
        if sure > best:
            best, found = sure, (left, right, float(height))
    left, right, height = found
    return _rows(
        whole, max(GONE_MM, right - left - lost_long), max(GONE_MM, height - lost_high), (left, right),
        (foot, foot + height),
    )  # fmt: skip


def _anywhere(skyline: Floats, columns: Floats, foot: float, whole: Patches) -> Rows:
    """The larger of what is left when the patch loses the lengths cut, or the greatest depth cut all along."""
    top = foot + float(whole.height_mm[0, 1])
    cut = skyline < top - LEVEL_MM
    lost = float((columns[1:] - columns[:-1])[cut].sum())
    parts = 1 + int((cut & ~np.concatenate([[False], cut[:-1]])).sum())
    long, high = float(whole.length_mm[0, 0]), float(whole.height_mm[0, 0])
    shorter = max(GONE_MM, (long - lost) / parts)
    lower = max(GONE_MM, high - (top - float(skyline.min())))
    reach = (float(columns[0]), float(columns[-1]))
    if shorter * high >= long * lower:
        return _rows(whole, shorter, high, reach, (foot, top))
    return _rows(whole, long, lower, reach, (foot, max(foot + lower, float(skyline.min()))))


def _rows(
    whole: Patches, long: float, high: float, reach: tuple[float, float], tall: tuple[float, float]
) -> Rows:  # fmt: skip
    """Intervals of a patch that is at least long x high, anywhere within a reach along the jaws and up."""
    return (
        np.array([long, max(long, float(whole.length_mm[0, 1]))]),
        np.array([high, max(high, float(whole.height_mm[0, 1]))]),
        np.array([min(reach[0] + long / 2.0, sum(reach) / 2.0), max(reach[1] - long / 2.0, sum(reach) / 2.0)]),
        np.array([min(tall[0] + high / 2.0, sum(tall) / 2.0), max(tall[1] - high / 2.0, sum(tall) / 2.0)]),
    )
