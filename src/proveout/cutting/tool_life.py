"""How long an edge lasts by the power law, and the life that costs or takes least."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, between, zero_or_more


def edge_life_s(*, cutting_speed_mm_per_s: float, minute_speed_mm_per_s: float, exponent_ratio: float) -> float:
    """Life of an edge at a cutting speed.

    Formula:  V T^n = C, T in minutes: T = (C / V)^(1/n)
    Args:     cutting_speed_mm_per_s: V, > 0.   minute_speed_mm_per_s: C, the speed at which it lasts a minute, > 0.
              exponent_ratio: n, 0.01..1.
    Returns:  s, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    wear that grows with time, over the speeds that C and n were found at. In aluminium an edge mostly ends by
              metal built up on it, by chipping or by breaking: no trustworthy pair for carbide in it was found, so that
              plans count the minutes that the owner writes.
    Source:   tool_life_problems, as quoted.   Departs: seconds and mm/s in place of minutes and m/min.
    Checked:  tests/published/test_tool_life_problems.py
    """
    above_zero(cutting_speed_mm_per_s=cutting_speed_mm_per_s, minute_speed_mm_per_s=minute_speed_mm_per_s)
    between(low=0.01, high=1.0, exponent_ratio=exponent_ratio)
    return 60.0 * (minute_speed_mm_per_s / cutting_speed_mm_per_s) ** (1.0 / exponent_ratio)


def life_speed_mm_per_s(*, edge_life_s: float, minute_speed_mm_per_s: float, exponent_ratio: float) -> float:
    """Cutting speed at which an edge lasts a given time.

    Formula:  V = C / T^n, T in minutes
    Args:     edge_life_s: T, > 0.   minute_speed_mm_per_s: C, > 0.   exponent_ratio: n, 0.01..1.
    Returns:  mm/s, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as edge_life_s.
    Source:   tool_life_problems, as quoted.   Departs: seconds and mm/s in place of minutes and m/min.
    Checked:  tests/published/test_tool_life_problems.py
    """
    above_zero(edge_life_s=edge_life_s, minute_speed_mm_per_s=minute_speed_mm_per_s)
    between(low=0.01, high=1.0, exponent_ratio=exponent_ratio)
    return minute_speed_mm_per_s / (edge_life_s / 60.0) ** exponent_ratio


def least_cost_life_s(*, change_s: float, edge_worth_s: float, exponent_ratio: float) -> float:
    """Life of an edge at which a piece costs least; without a worth of the edge, at which it takes least time.

    Formula:  T = (1/n - 1) (t_c + C_e / C_m), C_e the price of an edge and C_m that of the machine's second
    Args:     change_s: t_c, time to change the edge, >= 0.   edge_worth_s: C_e / C_m, the time of machine and operator
              that an edge costs as much as, >= 0.   exponent_ratio: n, 0.01 up to 1.
    Returns:  s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as edge_life_s; money of scrap and of a broken cutter is not in it.
    Source:   tool_life_problems, as quoted.   Departs: nothing.
    Checked:  tests/published/test_tool_life_problems.py
    """
    zero_or_more(change_s=change_s, edge_worth_s=edge_worth_s)
    between(low=0.01, high=1.0, exponent_ratio=exponent_ratio)
    return (1.0 / exponent_ratio - 1.0) * (change_s + edge_worth_s)
