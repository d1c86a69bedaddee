"""Encyclopaedia example of the cutting stock problem (from memory; optimum proved anew here): 73 bars of 5600.

Worked bound: the pieces add up to 407 160; 407 160 / 5600 = 72.707, so no plan has fewer than 73 bars.
"""

from __future__ import annotations

from proveout.solving.cutting_stock import solve_bars

DEMAND = {
    1380.0: 22,
    1520.0: 25,
    1560.0: 12,
    1710.0: 14,
    1820.0: 18,
    1880.0: 18,
    1930.0: 20,
    2000.0: 10,
    2050.0: 12,
    2100.0: 14,
    2140.0: 16,
    2150.0: 18,
    2200.0: 20,
}


def test_seventy_three_bars_and_no_fewer() -> None:
    assert sum(length * count for length, count in DEMAND.items()) == 407_160
    plan = solve_bars(demand=DEMAND, stock=[(5600.0, 1.0, None)], kerf_mm=0.0, trim_mm=0.0, tail_mm=0.0, bundle_max=1)
    assert (plan.bars_count, plan.lower_bound, plan.status) == (73, 73.0, "proved")
    waste = 1.0 - 407_160 / (73 * 5600)
    assert f"{100.0 * waste:.3f}" == "0.401"
