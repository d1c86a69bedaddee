"""How fast to cut by Taylor's law of wear: cheapest, or most pieces; what edges of a soft metal seldom die of."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.units import S_PER_MIN


def tool_life_s(*, cutting_speed_mm_per_s: float, one_minute_speed_mm_per_s: float, exponent: float) -> float:
    """Life of an edge at a cutting speed.

    Formula:  v T^n = C
    Args:     cutting_speed_mm_per_s: v, > 0.   one_minute_speed_mm_per_s: C, the speed at which an edge lasts a minute,
              > 0.   exponent: n, 0.05..1.
    Returns:  s, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    wear by time alone, near the speeds at which C and n were found. Edges in wrought aluminium seldom die of
              it: they break, chip or clog. No pair for it is among our sources.
    Source:   taylor_tool_life, as quoted.   Departs: seconds.
    Checked:  tests/published/test_taylor_tool_life.py
    """
    above_zero(cutting_speed_mm_per_s=cutting_speed_mm_per_s, one_minute_speed_mm_per_s=one_minute_speed_mm_per_s)
    between(low=0.05, high=1.0, exponent=exponent)
    return S_PER_MIN * (one_minute_speed_mm_per_s / cutting_speed_mm_per_s) ** (1.0 / exponent)


def speed_for_life_mm_per_s(*, life_s: float, one_minute_speed_mm_per_s: float, exponent: float) -> float:
    """Cutting speed at which an edge lasts so long.

    Formula:  v = C / T^n
    Args:     life_s: T, > 0.   one_minute_speed_mm_per_s: C, > 0.   exponent: n, 0.05..1.
    Returns:  mm/s, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as tool_life_s.
    Source:   taylor_tool_life, as quoted, solved for v.   Departs: seconds.
    Checked:  tests/published/test_taylor_tool_life.py
    """
    above_zero(life_s=life_s, one_minute_speed_mm_per_s=one_minute_speed_mm_per_s)
    between(low=0.05, high=1.0, exponent=exponent)
    return one_minute_speed_mm_per_s / (life_s / S_PER_MIN) ** exponent


def cheapest_life_s(*, exponent: float, change_s: float, edge_cost_s: float) -> float:
    """Life of an edge at which a piece costs least.

    Formula:  T = (1/n - 1) (t_c + K / R)
    Args:     exponent: n, 0.05..1.   change_s: t_c, machine standing for a change, >= 0.   edge_cost_s: K / R, price of
              an edge over what the machine costs each second, >= 0; 0 gives the life for most pieces an hour.
    Returns:  s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as tool_life_s, with one cutter and its own time alone.
    Source:   taylor_tool_life, as quoted.   Departs: seconds, and the price as seconds of the machine.
    Checked:  tests/published/test_taylor_tool_life.py
    """
    between(low=0.05, high=1.0, exponent=exponent)
    zero_or_more(change_s=change_s, edge_cost_s=edge_cost_s)
    return (1.0 / exponent - 1.0) * (change_s + edge_cost_s)
