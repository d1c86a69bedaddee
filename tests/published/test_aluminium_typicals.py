"""Typical figures of 6061-T6 as printed in pounds and inches, beside those of the starting shop and a bar's mass."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from proveout.intake.starting_shop import starting_shop
from proveout.quantities.errors import OutOfRange
from proveout.quantities.mass import bar_mass_kg
from proveout.quantities.warmth import warm_growth_mm

KG_PER_LB = 0.45359237
MM_PER_IN = 25.4
MPA_PER_KSI = 6.894757


def test_the_starting_shop_has_the_printed_figures(agrees: Callable[..., None]) -> None:
    """Printed: 0.0975 lb/in3 beside 2.70 g/cm3; 10 000 ksi beside 68.9 GPa; yield 40 ksi beside 276 MPa."""
    shop = starting_shop()
    agrees(shop.density_kg_per_mm3 * 1e6, "2.70")
    agrees(shop.density_kg_per_mm3 * MM_PER_IN**3 / KG_PER_LB, "0.0975")
    assert shop.elastic_mpa is not None
    agrees(shop.elastic_mpa.nominal / 1e3, "68.9")
    agrees(shop.elastic_mpa.nominal / MPA_PER_KSI / 1e4, "1.00")
    agrees(shop.yield_mpa.nominal, "276")
    agrees(shop.yield_mpa.nominal / MPA_PER_KSI, "40")


@pytest.mark.parametrize(
    ("width_in", "height_in", "length_in", "worked_lb"),
    [(1.0, 1.0, 12.0, "1.17"), (4.0, 1.5, 144.0, "84.2"), (2.0, 2.0, 0.0, "0")],
)
def test_a_bar_weighs_its_inches_times_the_printed_density(
    width_in: float, height_in: float, length_in: float, worked_lb: str, agrees: Callable[..., None]
) -> None:
    """Worked from 0.0975 lb/in3: 12 in3 are 1.170 lb, 864 in3 are 84.24 lb; both printed densities are rounded."""
    found = bar_mass_kg(
        width_mm=width_in * MM_PER_IN, height_mm=height_in * MM_PER_IN, length_mm=length_in * MM_PER_IN,
        density_kg_per_mm3=starting_shop().density_kg_per_mm3,
    )  # fmt: skip
    agrees(found / KG_PER_LB, worked_lb, more=0.0005 * float(worked_lb))


@pytest.mark.parametrize(
    ("density", "worked_lb", "worked_kg"), [("0.0975", "112.32", "50.95"), ("0.098", "112.90", "51.2")]
)
def test_a_twelve_foot_bar_of_two_by_four(
    density: str, worked_lb: str, worked_kg: str, agrees: Callable[..., None]
) -> None:
    """Worked: 2 x 4 x 144 = 1152 in3."""
    found = bar_mass_kg(
        width_mm=4.0 * MM_PER_IN, height_mm=2.0 * MM_PER_IN, length_mm=144.0 * MM_PER_IN,
        density_kg_per_mm3=float(density) * KG_PER_LB / MM_PER_IN**3,
    )  # fmt: skip
    agrees(found / KG_PER_LB, worked_lb)
    agrees(found, worked_kg)


def test_grams_a_cubic_centimetre_in_pounds_a_cubic_inch(agrees: Callable[..., None]) -> None:
    """Worked: 2.70 x 16.387064 / 453.59237."""
    agrees(starting_shop().density_kg_per_mm3 * MM_PER_IN**3 / KG_PER_LB, "0.09754")


def test_what_ten_kelvin_add_to_300_mm(agrees: Callable[..., None]) -> None:
    """Worked from the printed 23.6 µm/(m K): 300 x 23.6e-6 x 10 mm; more than half the width of IT7 at 300, 52 µm."""
    agrees(1000.0 * warm_growth_mm(length_mm=300.0, warmer_k=10.0), "70.8")
    assert warm_growth_mm(length_mm=300.0, warmer_k=0.0) == 0.0
    with pytest.raises(OutOfRange, match="warmer_k"):
        warm_growth_mm(length_mm=300.0, warmer_k=-1.0)


def test_square_corners_overstate_a_rounded_bar_by_what_is_said() -> None:
    """Worked: (4 - pi) 1^2 = 0.8584 mm2 of 625 mm2 are 0.137 %."""
    square = bar_mass_kg(width_mm=25.0, height_mm=25.0, length_mm=1000.0, density_kg_per_mm3=2.7e-6)
    rounded = (25.0 * 25.0 - (4.0 - math.pi)) * 1000.0 * 2.7e-6
    assert square == pytest.approx(1.6875)
    assert square / rounded - 1.0 == pytest.approx(0.00137, abs=1e-5)


def test_a_bar_without_density_is_refused() -> None:
    with pytest.raises(OutOfRange, match="density_kg_per_mm3"):
        bar_mass_kg(width_mm=1.0, height_mm=1.0, length_mm=1.0, density_kg_per_mm3=0.0)
