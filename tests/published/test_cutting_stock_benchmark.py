"""Encyclopaedia example of the cutting stock problem (from memory): 13 lengths out of 5600, 73 bars at least.

printed: 73 bars, waste 0.401 %.  worked: the metal alone needs 407 160 / 5600 = 72.707 bars, so 73.
"""

from __future__ import annotations

from proveout.solving.cutting_stock import solve_bars

DEMAND = {
    1380.0: 22, 1520.0: 25, 1560.0: 12, 1710.0: 14, 1820.0: 18, 1880.0: 18, 1930.0: 20, 2000.0: 10, 2050.0: 12,
    2100.0: 14, 2140.0: 16, 2150.0: 18, 2200.0: 20,
}  # fmt: skip


def test_the_example_takes_73_bars_and_no_fewer() -> None:
    plan = solve_bars(demand=DEMAND, stock=[(5600.0, 1.0, None)], kerf_mm=0.0, trim_mm=0.0, tail_mm=0.0, bundle_max=1)
    metal = sum(length * count for length, count in DEMAND.items())
    assert round(metal / 5600.0, 3) == 72.707
    assert (plan.bars_count, plan.status, plan.lower_bound) == (73, "proved", 73.0)
    assert dict(plan.produced) == DEMAND
    assert f"{100.0 * (1.0 - metal / (73 * 5600.0)):.3f}" == "0.401"
