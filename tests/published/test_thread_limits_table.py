"""Widia catalogue 2020, p. 286: pitch diameter limits and tap limits (values of ASME B1.1). Seen directly.

Limits printed; windows under a hard coat of 0.002 in +- 20 % at half build-up are worked: the pitch diameter shrinks
by 2 t = 0.0032 to 0.0048.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.threads import first_tap_limit_inside, tap_limit_window
from proveout.quantities.coat import SizeWindow, before_coat_window

INCH = 25.4
ROWS = [
    ("1/4-20 2B", 0.2175, 0.2224, "0.2223", "0.2256"),  # 0.2175 + 0.0048, 0.2224 + 0.0032
    ("10-32 2B", 0.1697, 0.1736, "0.1745", "0.1768"),  # 0.1697 + 0.0048, 0.1736 + 0.0032
]


def coated(low_in: float, high_in: float) -> SizeWindow:
    return before_coat_window(
        size="internal thread",
        finished_low_mm=low_in * INCH,
        finished_high_mm=high_in * INCH,
        thickness_low_mm=0.0016 * INCH,
        thickness_high_mm=0.0024 * INCH,
        share_low_ratio=0.5,
        share_high_ratio=0.5,
    )


@pytest.mark.parametrize(("thread", "low_in", "high_in", "before_low", "before_high"), ROWS)
def test_pitch_diameter_before_coat(
    agrees: Callable[..., None], thread: str, low_in: float, high_in: float, before_low: str, before_high: str
) -> None:
    assert thread
    window = coated(low_in, high_in)
    agrees(window.low_mm / INCH, before_low)
    agrees(window.high_mm / INCH, before_high)


def test_first_tap_limit_that_fits_a_coated_quarter_inch_thread() -> None:
    basic = 0.2175 * INCH
    window = coated(0.2175, 0.2224)
    assert first_tap_limit_inside(basic_pitch_diameter_mm=basic, window=window) == 11
    tap = tap_limit_window(basic_pitch_diameter_mm=basic, limit_number=11)
    assert (tap.low_mm / INCH, tap.high_mm / INCH) == pytest.approx((0.2225, 0.2230), abs=1e-9)
    assert first_tap_limit_inside(basic_pitch_diameter_mm=basic, window=SizeWindow(low_mm=6.0, high_mm=5.9)) is None


def test_printed_tap_limit_of_a_wire_insert_thread(agrees: Callable[..., None]) -> None:
    """Printed: .375-16, H3, basic 0.4156: 0.4166 to 0.4171."""
    tap = tap_limit_window(basic_pitch_diameter_mm=0.4156 * INCH, limit_number=3)
    agrees(tap.low_mm / INCH, "0.4166")
    agrees(tap.high_mm / INCH, "0.4171")
