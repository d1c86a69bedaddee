"""Yamawa catalogue 2022-23, p. 1173: M6x1-6H plated 8 to 16 micrometres. Seen directly.

Printed: pitch diameter shrinks 32 to 64 micrometres; before plating GO + 64, NOT-GO + 32.
"""

from __future__ import annotations

import pytest

from proveout.quantities.coat import before_coat_window


def test_plated_m6() -> None:
    """H4, as printed at the head of this file."""
    window = before_coat_window(
        size="internal thread",
        finished_low_mm=5.350,
        finished_high_mm=5.500,
        thickness_low_mm=0.008,
        thickness_high_mm=0.016,
        share_low_ratio=1.0,
        share_high_ratio=1.0,
    )
    assert (window.low_mm - 5.350) * 1000.0 == pytest.approx(64.0, abs=1e-9)
    assert (window.high_mm - 5.500) * 1000.0 == pytest.approx(32.0, abs=1e-9)


def test_an_outside_thread_is_made_smaller_by_the_same() -> None:
    window = before_coat_window(
        size="external thread",
        finished_low_mm=5.0,
        finished_high_mm=5.2,
        thickness_low_mm=0.008,
        thickness_high_mm=0.016,
        share_low_ratio=1.0,
        share_high_ratio=1.0,
    )
    assert (5.0 - window.low_mm, 5.2 - window.high_mm) == pytest.approx((0.032, 0.064), abs=1e-12)
