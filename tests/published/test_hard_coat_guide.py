"""A hard-coat finisher's design guide: item 3 and worked examples. Seen directly. Inches as printed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.quantities.coat import SizeWindow, before_coat_window, build_up_mm

INCH = 25.4


def window_in(size: str, finished: tuple[float, float], build_up: tuple[float, float]) -> SizeWindow:
    """Window in inches for build-up given per surface."""
    return before_coat_window(
        size=size,  # type: ignore[arg-type]
        finished_low_mm=finished[0],
        finished_high_mm=finished[1],
        thickness_low_mm=build_up[0],
        thickness_high_mm=build_up[1],
        share_low_ratio=1.0,
        share_high_ratio=1.0,
    )


def test_half_of_the_coat_builds_up() -> None:
    """H1. Printed: 0.002 in of hard coat adds 0.001 a surface, 0.002 on an outside, -0.002 on an inside diameter."""
    low, high = build_up_mm(
        thickness_low_mm=0.002 * INCH, thickness_high_mm=0.002 * INCH, share_low_ratio=0.5, share_high_ratio=0.5
    )
    assert low == high == pytest.approx(0.001 * INCH, rel=1e-12)
    shaft = window_in("shaft", (1.0, 1.0), (0.001, 0.001))
    bore = window_in("bore", (1.0, 1.0), (0.001, 0.001))
    assert (shaft.low_mm, bore.low_mm) == pytest.approx((0.998, 1.002), abs=1e-12)


def test_shaft_example(agrees: Callable[..., None]) -> None:
    """H2. Printed: 1.500 +- 0.001 with 0.001 +- 0.0001 a surface: machine 1.498 +- 0.0008."""
    window = window_in("shaft", (1.499, 1.501), (0.0009, 0.0011))
    agrees(window.middle_mm, "1.498")
    agrees(window.width_mm / 2.0, "0.0008")
    assert window.width_mm / 2.0 == pytest.approx(0.0008, abs=1e-12)


def test_inside_thread_example(agrees: Callable[..., None]) -> None:
    """H3. Printed: 7/16-20, pitch diameter 0.4050 to 0.4091 after 0.0009 to 0.0011 a surface: 0.4094 to 0.4127."""
    window = window_in("internal thread", (0.4050, 0.4091), (0.0009, 0.0011))
    agrees(window.low_mm, "0.4094")
    agrees(window.high_mm, "0.4127")


def test_a_spread_as_wide_as_the_tolerance_leaves_almost_nothing() -> None:
    """H7. Worked: +- 0.0005 on a diameter, coat 0.002 +- 0.0004 at half: growth 0.0016 to 0.0024, +- 0.0001 remains."""
    window = before_coat_window(
        size="shaft",
        finished_low_mm=0.9995,
        finished_high_mm=1.0005,
        thickness_low_mm=0.0016,
        thickness_high_mm=0.0024,
        share_low_ratio=0.5,
        share_high_ratio=0.5,
    )
    assert window.width_mm / 2.0 == pytest.approx(0.0001, abs=1e-12)


@pytest.mark.parametrize(("shares", "width_um"), [((0.5, 0.5), 13.0), ((0.45, 0.55), 3.0)])
def test_a_20_h8_bore_under_50_um_of_coat(shares: tuple[float, float], width_um: float) -> None:
    """Worked: 33 - 2 (30 - 20) = 13; 33 - 2 (33 - 18) = 3."""
    window = before_coat_window(
        size="bore",
        finished_low_mm=20.000,
        finished_high_mm=20.033,
        thickness_low_mm=0.040,
        thickness_high_mm=0.060,
        share_low_ratio=shares[0],
        share_high_ratio=shares[1],
    )
    assert window.width_mm * 1000.0 == pytest.approx(width_um, abs=1e-9)
    assert not window.is_empty


def test_a_20_h7_bore_under_the_same_coat_has_no_window() -> None:
    """Worked: 21 - 2 (33 - 18) = -9: no size fits, and the shortage is told."""
    window = before_coat_window(
        size="bore",
        finished_low_mm=20.000,
        finished_high_mm=20.021,
        thickness_low_mm=0.040,
        thickness_high_mm=0.060,
        share_low_ratio=0.45,
        share_high_ratio=0.55,
    )
    assert window.is_empty
    assert window.width_mm * 1000.0 == pytest.approx(-9.0, abs=1e-9)
