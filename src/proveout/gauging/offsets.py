"""Whether readings say that a size lies off its aim, and by how much an offset may follow them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from proveout.gauging.charts import ControlLimits, Signal, signals
from proveout.gauging.constants import mean_range_ratio
from proveout.gauging.summary import finite, mean_of
from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange

FEWEST = 4
"""Readings since the last change below which nothing is said."""
REACH = 3.0
"""Standard deviations of a mean that it must lie off its aim: chance alone asks for one change in some hundreds."""


class Offset(msgspec.Struct, frozen=True, kw_only=True):
    """How far readings lie off, in their unit.

    off: of their mean from the aim, positive where they read large;  dead_band: within it the offset stays.
    signals: what is out of order about the aim.   added: what the size is to be moved by, 0 where the offset stays.
    is_capped: more would be asked for, and something else is wrong.
    """

    off: float
    dead_band: float
    deviation: float
    signals: tuple[Signal, ...]
    added: float
    is_capped: bool


def offset_mm(*, readings_mm: Sequence[float], aim_mm: float, gauge_mm: float, cap_mm: float) -> Offset:
    """How far the size is to be moved so that readings lie about their aim, if they show that they do not.

    Formula:  -(m - a) where |m - a| > max(3 s / sqrt(n), u) and a run rule about the aim calls, s = R / d2 of the
              ranges from each reading to the next; at most cap, and 0 elsewhere
    Args:     readings_mm: since the last change, in order, at least one.   aim_mm: a.   gauge_mm: u, half-width of the
              gauge's uncertainty, >= 0.   cap_mm: > 0.
    Returns:  mm, with its sign: added to the size.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    four readings or more; with fewer nothing is added. One reading inside the limits never moves anything: a
              run rule needs several, or one beyond three deviations.
    Source:   run_rules, as quoted; control_chart_factors, seen directly; own-algorithm, our own derivation of the band.
              Departs: the rules are asked about the aim, not about the mean.
    Checked:  tests/laws/test_offsets.py
    """
    finite(readings_mm, least=1)
    zero_or_more(gauge_mm=gauge_mm)
    above_zero(cap_mm=cap_mm)
    if not math.isfinite(aim_mm):
        raise OutOfRange("An aim is a size", value=f"{aim_mm}")
    count = len(readings_mm)
    mean = mean_of(readings_mm)
    if count < FEWEST:
        return Offset(off=mean - aim_mm, dead_band=math.inf, deviation=0.0, signals=(), added=0.0, is_capped=False)
    ranges = [abs(after - before) for before, after in pairwise(readings_mm)]
    deviation = mean_of(ranges) / mean_range_ratio(group_count=2)
    wide = max(3.0 * deviation, gauge_mm)
    called = signals(
        ControlLimits(points=tuple(readings_mm), middle=aim_mm, low=aim_mm - wide, high=aim_mm + wide), runs=True
    )
    band = max(REACH * deviation / math.sqrt(count), gauge_mm)
    off = mean - aim_mm
    added = -off if called and abs(off) > band else 0.0
    is_capped = abs(added) > cap_mm
    return Offset(
        off=off, dead_band=band, deviation=deviation, signals=called,
        added=math.copysign(min(abs(added), cap_mm), added) if added else 0.0, is_capped=is_capped,
    )  # fmt: skip
