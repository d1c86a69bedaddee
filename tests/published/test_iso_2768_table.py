"""ISO 2768-1: Table 1 of f and m from DIN ISO 2768-1, the rest from a page (printed, as quoted)."""

from __future__ import annotations

import math

import pytest

from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import (
    general_angle_deviation_rad,
    general_deviation_mm,
    general_radius_deviation_mm,
)

ROWS = [
    ("f", 3.0, 0.05),
    ("f", 6.0, 0.05),
    ("f", 6.1, 0.1),
    ("f", 100.0, 0.15),
    ("f", 2000.0, 0.5),
    ("m", 0.5, 0.1),
    ("m", 6.0, 0.1),
    ("m", 30.0, 0.2),
    ("m", 30.1, 0.3),
    ("m", 400.0, 0.5),
    ("m", 1000.0, 0.8),
    ("m", 2000.0, 1.2),
    ("m", 4000.0, 2.0),
    *(("c", top, deviation) for top, deviation in zip(
        (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0), (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0), strict=True
    )),
    *(("v", top, deviation) for top, deviation in zip(
        (6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0), (0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0), strict=True
    )),
]  # fmt: skip


@pytest.mark.parametrize(("general_class", "size_mm", "printed_mm"), ROWS)
def test_general_deviations(general_class: str, size_mm: float, printed_mm: float) -> None:
    assert general_deviation_mm(size_mm=size_mm, general_class=general_class) == printed_mm


@pytest.mark.parametrize(
    ("general_class", "size_mm"), [("x", 10.0), ("f", 2000.1), ("m", 0.49), ("m", 4000.1), ("v", 3.0), ("c", 0.49)]
)
def test_what_the_table_does_not_give_is_refused(general_class: str, size_mm: float) -> None:
    with pytest.raises(OutOfRange, match="class"):
        general_deviation_mm(size_mm=size_mm, general_class=general_class)


@pytest.mark.parametrize(
    ("radius_mm", "fine_mm", "coarse_mm"),
    [(0.5, 0.2, 0.4), (3.0, 0.2, 0.4), (3.1, 0.5, 1.0), (6.0, 0.5, 1.0), (30.0, 1.0, 2.0)],
)
def test_radii(radius_mm: float, fine_mm: float, coarse_mm: float) -> None:
    """Printed: Table 2."""
    for name, printed in (("f", fine_mm), ("m", fine_mm), ("c", coarse_mm), ("v", coarse_mm)):
        assert general_radius_deviation_mm(radius_mm=radius_mm, general_class=name) == printed


@pytest.mark.parametrize(
    ("leg_mm", "minutes"),
    [
        (10.0, (60.0, 60.0, 90.0, 180.0)), (10.1, (30.0, 30.0, 60.0, 120.0)), (50.0, (30.0, 30.0, 60.0, 120.0)),
        (120.0, (20.0, 20.0, 30.0, 60.0)), (400.0, (10.0, 10.0, 15.0, 30.0)), (401.0, (5.0, 5.0, 10.0, 20.0)),
    ],
)  # fmt: skip
def test_angles(leg_mm: float, minutes: tuple[float, ...]) -> None:
    """Printed: Table 3."""
    for name, printed in zip("fmcv", minutes, strict=True):
        found = general_angle_deviation_rad(leg_mm=leg_mm, general_class=name)
        assert math.degrees(found) * 60.0 == pytest.approx(printed)


def test_radii_and_angles_of_other_classes_are_refused() -> None:
    with pytest.raises(OutOfRange, match="class"):
        general_radius_deviation_mm(radius_mm=5.0, general_class="x")
    with pytest.raises(OutOfRange, match="class"):
        general_angle_deviation_rad(leg_mm=5.0, general_class="x")
    with pytest.raises(OutOfRange):
        general_radius_deviation_mm(radius_mm=0.4, general_class="m")
