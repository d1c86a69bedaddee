"""Widia catalogue 2020, p. 286: pitch diameter limits and tap limits (values of ASME B1.1). Seen directly.

Limits printed; windows under a hard coat of 0.002 in +- 20 % at half build-up are worked: the pitch diameter shrinks
by 2 t = 0.0032 to 0.0048.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.thread_limits import unified_pitch_diameters_mm
from proveout.cutting.threads import first_tap_limit_inside, tap_limit_window
from proveout.quantities.coat import SizeWindow, before_coat_window
from proveout.quantities.errors import OutOfRange

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
    """H5 and H6. Printed limits, worked windows."""
    assert thread
    window = coated(low_in, high_in)
    agrees(window.low_mm / INCH, before_low)
    agrees(window.high_mm / INCH, before_high)


def test_first_tap_limit_that_fits_a_coated_quarter_inch_thread() -> None:
    basic = 0.2175 * INCH
    window = coated(0.2175, 0.2224)
    assert first_tap_limit_inside(basic_pitch_diameter_mm=basic, window=window, series="H") == 11
    tap = tap_limit_window(basic_pitch_diameter_mm=basic, limit_number=11, series="H")
    assert (tap.low_mm / INCH, tap.high_mm / INCH) == pytest.approx((0.2225, 0.2230), abs=1e-9)
    none = SizeWindow(low_mm=6.0, high_mm=5.9)
    assert first_tap_limit_inside(basic_pitch_diameter_mm=basic, window=none, series="H") is None


def test_printed_tap_limit_of_a_wire_insert_thread(agrees: Callable[..., None]) -> None:
    """Printed: .375-16, H3, basic 0.4156: 0.4166 to 0.4171."""
    tap = tap_limit_window(basic_pitch_diameter_mm=0.4156 * INCH, limit_number=3, series="H")
    agrees(tap.low_mm / INCH, "0.4166")
    agrees(tap.high_mm / INCH, "0.4171")


def test_a_metric_tap_is_taken_wider_than_its_step() -> None:
    """From memory, not printed: the top of D3 is 3 x 0.0127 above the basic pitch diameter, its foot 0.025 lower."""
    tap = tap_limit_window(basic_pitch_diameter_mm=5.350, limit_number=3, series="D")
    assert (tap.low_mm, tap.high_mm) == pytest.approx((5.3631, 5.3881), abs=1e-9)


# printed: size, turns, least pitch diameter, most of 2B and of 3B
LIMITS = [
    (0.112, 40, "0.0958", "0.0991", "0.0982"), (0.138, 32, "0.1177", "0.1214", "0.1204"),
    (0.164, 32, "0.1437", "0.1475", "0.1465"), (0.190, 24, "0.1629", "0.1672", "0.1661"),
    (0.190, 32, "0.1697", "0.1736", "0.1726"), (0.25, 20, "0.2175", "0.2224", "0.2211"),
    (0.25, 28, "0.2268", "0.2311", "0.2300"), (0.3125, 18, "0.2764", "0.2817", "0.2803"),
    (0.375, 16, "0.3344", "0.3401", "0.3387"), (0.5, 13, "0.4500", "0.4565", "0.4548"),
]  # fmt: skip


@pytest.mark.parametrize(("size", "turns", "least", "most_2b", "most_3b"), LIMITS)
def test_the_rule_gives_the_printed_limits(
    agrees: Callable[..., None], size: float, turns: int, least: str, most_2b: str, most_3b: str
) -> None:
    for name, most in (("2B", most_2b), ("3B", most_3b)):
        low, high = unified_pitch_diameters_mm(major_mm=size * INCH, turns_count=turns, thread_class=name)
        agrees(low / INCH, least)
        agrees(high / INCH, most)


def test_two_more_printed_limits(agrees: Callable[..., None]) -> None:
    """Printed: 1/4-20 1B at most 0.2248 (here), 7/16-20 0.4050 to 0.4091 in a finisher's guide, which is 3B."""
    agrees(unified_pitch_diameters_mm(major_mm=0.25 * INCH, turns_count=20, thread_class="1B")[1] / INCH, "0.2248")
    low, high = unified_pitch_diameters_mm(major_mm=0.4375 * INCH, turns_count=20, thread_class="3B")
    agrees(low / INCH, "0.4050")
    agrees(high / INCH, "0.4091")


# printed, as quoted by an engineering page: size, turns, class, most and least pitch diameter of an outside thread
OUTSIDE = [
    (0.060, 80, "2A", "0.0514", "0.0496"), (0.060, 80, "3A", "0.0519", "0.0506"), (0.073, 64, "2A", "0.0623", "0.0603"),
    (0.073, 64, "3A", "0.0629", "0.0614"), (0.073, 72, "2A", "0.0634", "0.0615"), (0.073, 72, "3A", "0.0640", "0.0626"),
    (0.086, 56, "2A", "0.0738", "0.0717"), (0.086, 56, "3A", "0.0744", "0.0728"), (0.086, 64, "2A", "0.0753", "0.0733"),
    (0.086, 64, "3A", "0.0759", "0.0744"), (0.099, 48, "2A", "0.0848", "0.0825"),
]  # fmt: skip


@pytest.mark.parametrize(("size", "turns", "name", "most", "least"), OUTSIDE)
def test_the_rule_gives_the_printed_limits_of_screws(
    agrees: Callable[..., None], size: float, turns: int, name: str, most: str, least: str
) -> None:
    low, high = unified_pitch_diameters_mm(major_mm=size * INCH, turns_count=turns, thread_class=name)
    agrees(high / INCH, most)
    agrees(low / INCH, least)


def test_the_least_pitch_diameter_of_a_quarter_inch_screw_is_that_of_its_engagement(
    agrees: Callable[..., None],
) -> None:
    """The 0.2127 in that the length of engagement of 1/4-20 is reckoned with (2A); 1A is twice as wide as 3A."""
    agrees(unified_pitch_diameters_mm(major_mm=0.25 * INCH, turns_count=20, thread_class="2A")[0] / INCH, "0.2127")
    widths = {
        name: high - low for name in ("1A", "3A")
        for low, high in [unified_pitch_diameters_mm(major_mm=0.25 * INCH, turns_count=20, thread_class=name)]
    }  # fmt: skip
    assert widths["1A"] == pytest.approx(2.0 * widths["3A"], rel=1e-9)


@pytest.mark.parametrize(("size", "turns", "name"), [
    (0.25, 24, "2B"), (0.26, 20, "2B"), (0.25, 20, "4B"), (0.25, 20, "4A"),
    (0.216, 32, "2B"), (1.0, 20, "2B"), (3.0, 4, "2B"),
])  # fmt: skip
def test_another_unified_thread_is_refused(size: float, turns: int, name: str) -> None:
    with pytest.raises(OutOfRange, match="unified"):
        unified_pitch_diameters_mm(major_mm=size * INCH, turns_count=turns, thread_class=name)
