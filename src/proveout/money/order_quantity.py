"""The quantity that costs least a year where each lot costs something and pieces that lie cost something."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange


def order_quantity(*, demand_per_year: float, lot_charge: float, holding_each: float) -> float:
    """Pieces in a lot at which charges of lots and cost of holding together are least, all coming at once.

    Formula:  Q = sqrt(2 D S / H)
    Args:     demand_per_year: D, pieces a year, > 0.   lot_charge: S, money once a lot, >= 0.
              holding_each: H, money to keep one piece for a year, > 0.
    Returns:  pieces, >= 0, not a whole number.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    demand even over the year, one price a piece whatever the lot, no lot charge that depends on it. Minimum
              charges and whole bars are cliffs that it does not see.
    Source:   lot_size_examples, from memory; lot_size_pencils as quoted.   Departs: nothing.
    Checked:  tests/published/test_lot_size_examples.py
    """
    above_zero(demand_per_year=demand_per_year, holding_each=holding_each)
    zero_or_more(lot_charge=lot_charge)
    return math.sqrt(2.0 * demand_per_year * lot_charge / holding_each)


def production_quantity(
    *, demand_per_year: float, lot_charge: float, holding_each: float, used_per_day: float, made_per_day: float
) -> float:
    """The same where pieces come as they are made, and some are used meanwhile.

    Formula:  Q = sqrt(2 D S / (H (1 - d / p)))
    Args:     demand_per_year: D, pieces a year, > 0.   lot_charge: S, money once a lot, >= 0.
              holding_each: H, money to keep one piece for a year, > 0.   used_per_day: d, >= 0, below made_per_day.
              made_per_day: p, > 0.
    Returns:  pieces, >= 0, not a whole number.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as order_quantity, with both rates even. At d = 0 it is that.
    Source:   lot_size_examples, from memory.   Departs: nothing.
    Checked:  tests/published/test_lot_size_examples.py
    """
    above_zero(made_per_day=made_per_day)
    zero_or_more(used_per_day=used_per_day)
    if used_per_day >= made_per_day:
        raise OutOfRange(
            "Pieces are used as fast as they are made: no lot ends", where="used_per_day", value=f"{used_per_day}",
            limit=f"below {made_per_day}", do="correct one of the two rates",
        )  # fmt: skip
    lying = holding_each * (1.0 - used_per_day / made_per_day)
    return order_quantity(demand_per_year=demand_per_year, lot_charge=lot_charge, holding_each=lying)


def lot_cost_per_year(*, quantity: float, demand_per_year: float, lot_charge: float, holding_each: float) -> float:
    """Money a year for charges of lots and for holding, beside what the pieces themselves cost.

    Formula:  C = S D / Q + H Q / 2
    Args:     quantity: Q, pieces a lot, > 0.   demand_per_year: D, pieces a year, >= 0.
              lot_charge: S, money once a lot, >= 0.   holding_each: H, money to keep one piece for a year, >= 0.
    Returns:  money a year, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as order_quantity; at that quantity both parts are equal.
    Source:   lot_size_examples, from memory.   Departs: nothing.
    Checked:  tests/published/test_lot_size_examples.py
    """
    above_zero(quantity=quantity)
    zero_or_more(demand_per_year=demand_per_year, lot_charge=lot_charge, holding_each=holding_each)
    return lot_charge * demand_per_year / quantity + 0.5 * holding_each * quantity
