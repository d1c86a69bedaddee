"""What an hour of a machine costs when its yearly costs are spread evenly over its hours."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, zero_or_more


def machine_hour_rate(
    *,
    price: float,
    years: float,
    interest_per_year: float,
    floor_per_year: float,
    power_per_year: float,
    upkeep_per_year: float,
    hours_per_year: float,
    rest_value: float = 0.0,
) -> float:
    """Money an hour of a machine, without its operator.

    Formula:  ((price - rest value) / years + interest + floor + power + upkeep) / hours
    Args:     price: bought for, >= rest_value.   years: of use, > 0.   interest_per_year: on the money in it, >= 0.
              floor_per_year: for the room it stands in, >= 0.   power_per_year: >= 0.
              upkeep_per_year: repairs and service, >= 0.   hours_per_year: that it is paid for, > 0.
              rest_value: sold for at the end, >= 0.
    Returns:  money an hour, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    worth falls evenly over the years. The hours are those that pieces pay for, not those of the calendar:
              with twice the hours it is half.
    Source:   machine_hour_identity.   Departs: nothing.
    Checked:  tests/published/test_machine_hour_identity.py
    """
    above_zero(years=years, hours_per_year=hours_per_year)
    zero_or_more(
        interest_per_year=interest_per_year, floor_per_year=floor_per_year, power_per_year=power_per_year,
        upkeep_per_year=upkeep_per_year, rest_value=rest_value, price=price, worn=price - rest_value,
    )  # fmt: skip
    fixed = (price - rest_value) / years + interest_per_year + floor_per_year + power_per_year + upkeep_per_year
    return fixed / hours_per_year
