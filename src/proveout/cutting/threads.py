"""Tap drills and tap limits."""

from __future__ import annotations

import math
from typing import Literal

from proveout.model.size_text import Written
from proveout.quantities.bounds import above_zero
from proveout.quantities.coat import SizeWindow
from proveout.quantities.errors import OutOfRange
from proveout.quantities.units import MM_PER_INCH

# twice the basic depth of a 60 deg thread for each unit of pitch: 3/4 sqrt 3
FULL_DEPTH_RATIO = 0.75 * math.sqrt(3.0)
# basic minor diameter: 2 x 5/8 of the height of the sharp 60 deg profile below the major one, for each unit of pitch
# (basic profile of ISO 68-1, from memory)
MINOR_RATIO = 0.625 * math.sqrt(3.0)
# coarse pitches by major diameter, mm (ISO 261, from memory)
COARSE_PITCH_MM = {
    2.0: 0.4, 2.5: 0.45, 3.0: 0.5, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75, 14.0: 2.0,
    16.0: 2.0, 18.0: 2.5, 20.0: 2.5, 22.0: 2.5, 24.0: 3.0,
}  # fmt: skip
TapSeries = Literal["H", "D"]
TAP_LIMIT_STEP_MM = 0.0005 * MM_PER_INCH
TAP_LIMIT_LARGEST_MM = MM_PER_INCH
# tolerance of a metric ground tap, taken at least so wide below the top of its D limit (from memory)
METRIC_TAP_WIDTH_MM = 0.025


def pitch_of(thread: Written) -> float | None:
    """Pitch of a written thread in mm: its own, else the coarse one of a metric diameter; None when none is known."""
    return thread.pitch_mm if thread.pitch_mm is not None else COARSE_PITCH_MM.get(thread.nominal_mm or 0.0)


def thread_depth_ratio(*, major_mm: float, hole_mm: float, pitch_mm: float) -> float:
    """Share of the full thread depth that a tap drill leaves.

    Formula:  (d - hole) / (1.29904 P)
    Args:     major_mm: d, > 0.   hole_mm: above 0, below d.   pitch_mm: P, > 0.
    Returns:  0.75 means 75 % thread; can pass 1 when the hole is too small.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    60 deg threads cut, not formed.
    Source:   tap_drill_rule, from memory.   Departs: nothing.
    Checked:  tests/published/test_tap_drill_rule.py
    """
    above_zero(major_mm=major_mm, hole_mm=hole_mm, pitch_mm=pitch_mm)
    if hole_mm >= major_mm:
        raise OutOfRange(
            "A tapped hole must be below the major diameter", value=f"{hole_mm} mm", limit=f"{major_mm} mm"
        )
    return (major_mm - hole_mm) / (FULL_DEPTH_RATIO * pitch_mm)


def tap_limit_window(*, basic_pitch_diameter_mm: float, limit_number: int, series: TapSeries) -> SizeWindow:
    """Pitch diameters of a tap of a numbered limit: H of inch taps, D of metric ones.

    Formula:  H_n: basic + (n - 1) 0.0005 in to basic + n 0.0005 in
              D_n: the same top, and 0.025 mm below it
    Args:     basic_pitch_diameter_mm: > 0.   limit_number: n, >= 1.   series: H of inch taps, D of metric ones.
    Returns:  the window in mm.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    taps up to 1 in; a maker's metric taps may be wider still: read his figures.
    Source:   thread_limits_table p. 286, seen directly.   Departs: mm in place of inches; the metric
              width from memory, against ourselves.
    Checked:  tests/published/test_thread_limits_table.py
    """
    above_zero(basic_pitch_diameter_mm=basic_pitch_diameter_mm, limit_number=limit_number)
    low, high = (
        basic_pitch_diameter_mm + (limit_number - 1) * TAP_LIMIT_STEP_MM,
        basic_pitch_diameter_mm + limit_number * TAP_LIMIT_STEP_MM,
    )
    return SizeWindow(low_mm=min(low, high - METRIC_TAP_WIDTH_MM) if series == "D" else low, high_mm=high)


def first_tap_limit_inside(
    *, basic_pitch_diameter_mm: float, window: SizeWindow, series: TapSeries, highest: int = 40
) -> int | None:
    """Lowest tap limit number whose whole window lies inside the given one, or None; rounding slack is 1e-9 mm."""
    for number in range(1, highest + 1):
        tap = tap_limit_window(basic_pitch_diameter_mm=basic_pitch_diameter_mm, limit_number=number, series=series)
        if tap.low_mm >= window.low_mm - 1e-9 and tap.high_mm <= window.high_mm + 1e-9:
            return number
    return None
