"""Lot sizes of least cost: examples of two textbooks of operations management.

Printed, from memory: demand 1000, lot charge 10, holding 0.50 a year: 200 pieces, 50 + 50 a year; made 8 a day and used
4 a day: 282.8. Inputs as quoted, answers from memory: pencils, 60 a week, set-up 12, 0.02 each at 25 % a year: 3870,
9.67 each a year; demand 19 500, 25, 4: 493.7, 987.42 each.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.money.order_quantity import lot_cost_per_year, order_quantity, production_quantity
from proveout.quantities.errors import OutOfRange

BOOK = {"demand_per_year": 1000.0, "lot_charge": 10.0, "holding_each": 0.5}
PENCILS = {"demand_per_year": 60.0 * 52.0, "lot_charge": 12.0, "holding_each": 0.02 * 0.25}
LARGE = {"demand_per_year": 19_500.0, "lot_charge": 25.0, "holding_each": 4.0}


def test_a_lot_of_two_hundred(agrees: Callable[..., None]) -> None:
    agrees(order_quantity(**BOOK), "200")
    agrees(lot_cost_per_year(quantity=200.0, **BOOK), "100.0")
    free_lots = lot_cost_per_year(quantity=200.0, **{**BOOK, "lot_charge": 1e-9})
    agrees(free_lots, "50")  # of holding; the other 50 are for lots


def test_pencils(agrees: Callable[..., None]) -> None:
    """3870 is 3869.9 as hand work rounds it; half of the yearly money is for set-ups, half for holding."""
    lot = order_quantity(**PENCILS)
    agrees(lot, "3870")
    agrees(0.5 * lot_cost_per_year(quantity=lot, **PENCILS), "9.67")


def test_a_large_demand(agrees: Callable[..., None]) -> None:
    lot = order_quantity(**LARGE)
    agrees(lot, "493.7")
    agrees(0.5 * lot_cost_per_year(quantity=lot, **LARGE), "987.42")


def test_a_lot_that_comes_as_it_is_made(agrees: Callable[..., None]) -> None:
    agrees(production_quantity(**BOOK, used_per_day=4.0, made_per_day=8.0), "282.8")
    assert production_quantity(**BOOK, used_per_day=0.0, made_per_day=8.0) == order_quantity(**BOOK)


def test_what_has_no_answer_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no lot ends"):
        production_quantity(**BOOK, used_per_day=8.0, made_per_day=8.0)
    with pytest.raises(OutOfRange, match="holding_each"):
        order_quantity(demand_per_year=1.0, lot_charge=1.0, holding_each=0.0)
