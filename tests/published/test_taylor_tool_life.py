"""Taylor's law of tool life and the speeds it makes cheapest; problems of textbooks as quoted, so strength as quoted.

L1, L2: Ghosh and Mallik, Manufacturing Science, problems 26 and 28; L4, L5: Groover, end-of-chapter problems.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.tool_life import cheapest_life_s, speed_for_life_mm_per_s, tool_life_s

MM_PER_S = 1000.0 / 60.0
"""Of one m/min."""


def speed(one_minute: float, exponent: float, life_s: float) -> float:
    found = speed_for_life_mm_per_s(
        life_s=life_s, one_minute_speed_mm_per_s=one_minute * MM_PER_S, exponent=exponent
    )  # fmt: skip
    return found / MM_PER_S


def test_l1_the_cheapest_speed(agrees: Callable[..., None]) -> None:
    life = cheapest_life_s(exponent=0.25, change_s=120.0, edge_cost_s=2.50 / 0.15 * 60.0)
    agrees(speed(75.0, 0.25, life), "27.42")


def test_l2_and_l5_the_speed_of_most_pieces(agrees: Callable[..., None]) -> None:
    life = cheapest_life_s(exponent=0.25, change_s=120.0, edge_cost_s=0.0)
    assert life == pytest.approx(6.0 * 60.0)
    agrees(speed(75.0, 0.25, life), "47.92")


def test_l4_a_high_speed_steel_edge(agrees: Callable[..., None]) -> None:
    life = cheapest_life_s(exponent=0.13, change_s=180.0, edge_cost_s=3.33 / 0.667 * 60.0)
    agrees(life / 60.0, "53.49", more=0.01)
    agrees(speed(80.0, 0.13, life), "47.69", more=0.01)


def test_life_and_speed_undo_each_other() -> None:
    at = speed_for_life_mm_per_s(life_s=900.0, one_minute_speed_mm_per_s=1250.0, exponent=0.2)
    assert tool_life_s(
        cutting_speed_mm_per_s=at, one_minute_speed_mm_per_s=1250.0, exponent=0.2
    ) == pytest.approx(900.0)  # fmt: skip
