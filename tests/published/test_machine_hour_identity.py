"""Straight machine-hour rate. Worked: 80 000 over 8 years is 10 000 a year; with 4 000 interest, 3 000 floor, 2 000
power and 3 000 upkeep 22 000 a year, over 1 600 h 13.75 an hour. With 16 000 left at the end 2 000 a year
less: 12.50.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.money.hour_rate import machine_hour_rate
from proveout.quantities.errors import OutOfRange

MILL = {
    "price": 80_000.0, "years": 8.0, "interest_per_year": 4_000.0, "floor_per_year": 3_000.0,
    "power_per_year": 2_000.0, "upkeep_per_year": 3_000.0, "hours_per_year": 1_600.0,
}  # fmt: skip


def test_an_hour_of_the_mill(agrees: Callable[..., None]) -> None:
    agrees(machine_hour_rate(**MILL), "13.75")
    agrees(machine_hour_rate(**MILL, rest_value=16_000.0), "12.50")


def test_a_machine_that_gains_worth_or_never_runs_is_refused() -> None:
    with pytest.raises(OutOfRange, match="worn"):
        machine_hour_rate(**MILL, rest_value=90_000.0)
    with pytest.raises(OutOfRange, match="hours_per_year"):
        machine_hour_rate(**{**MILL, "hours_per_year": 0.0})
