"""Geometry of side milling; mean chip thickness as in tool makers' technical guides (from memory).

K3 and K5 are different quantities: the mean over the arc and the peak. The last row is a public worked example.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from proveout.cutting.chip_thickness import (
    engagement_angle_rad,
    mean_chip_thickness_mm,
    peak_chip_thickness_mm,
    radial_thinning_ratio,
)


@pytest.mark.parametrize(
    ("engagement", "worked"),
    [
        ("10", "0.06366"),  # 0.1 * 2 * 1.00 / pi
        ("5", "0.06366"),  # 0.1 * 2 * 0.50 / (pi / 2)
        ("2.5", "0.04775"),  # 0.1 * 2 * 0.25 / (pi / 3)
        ("1", "0.03108"),  # 0.1 * 2 * 0.10 / 0.643501
    ],
)
def test_mean_chip_thickness(agrees: Callable[..., None], engagement: str, worked: str) -> None:
    found = mean_chip_thickness_mm(feed_per_tooth_mm=0.1, radial_engagement_mm=float(engagement), diameter_mm=10.0)
    agrees(found, worked)


def test_mean_chip_thickness_is_the_integral_over_the_arc() -> None:
    theta = engagement_angle_rad(radial_engagement_mm=2.5, diameter_mm=10.0)
    steps = 20_000
    total = sum(0.1 * math.sin((i + 0.5) * theta / steps) for i in range(steps)) / steps
    found = mean_chip_thickness_mm(feed_per_tooth_mm=0.1, radial_engagement_mm=2.5, diameter_mm=10.0)
    assert found == pytest.approx(total, rel=1e-8)


@pytest.mark.parametrize(
    ("share", "worked"),
    [
        ("0.05", "2.2942"),  # 1 / (2 * sqrt 0.0475)
        ("0.10", "1.6667"),  # 1 / (2 * 0.3)
        ("0.25", "1.1547"),  # 1 / (2 * sqrt 0.1875)
        ("0.50", "1.0000"),
        ("0.80", "1.0000"),
    ],
)
def test_radial_thinning(agrees: Callable[..., None], share: str, worked: str) -> None:
    agrees(radial_thinning_ratio(radial_engagement_mm=float(share), diameter_mm=1.0), worked)


def test_public_example_of_feed_for_a_wanted_chip(agrees: Callable[..., None]) -> None:
    """Printed, as quoted: D 0.5 in, a_e 0.05 in, chip 0.002 in: feed 0.00333 in a tooth, engagement 36.87 deg."""
    ratio = radial_thinning_ratio(radial_engagement_mm=0.05 * 25.4, diameter_mm=0.5 * 25.4)
    agrees(0.002 * ratio, "0.00333")
    agrees(math.degrees(engagement_angle_rad(radial_engagement_mm=0.05, diameter_mm=0.5)), "36.87")
    assert peak_chip_thickness_mm(
        feed_per_tooth_mm=0.002 * ratio, radial_engagement_mm=0.05, diameter_mm=0.5
    ) == pytest.approx(0.002)
