"""Run rules of control charts, as listed in glossaries: 1 beyond 3, 2 of 3 beyond 2, 4 of 5 beyond 1, 8 on one side."""

from __future__ import annotations

import pytest

from proveout.gauging.charts import BEYOND, EIGHT, FOUR_OF_FIVE, TWO_OF_THREE, ControlLimits, signals


def found(*points: float, runs: bool = True, low: float = -3.0) -> list[tuple[int, str]]:
    limits = ControlLimits(points=points, middle=0.0, low=low, high=3.0)
    return [(one.at, one.rule) for one in signals(limits, runs=runs)]


@pytest.mark.parametrize(
    ("points", "signal"),
    [
        ((0.0, 3.1), [(1, BEYOND)]),
        ((0.0, 3.0), []),
        ((2.1, 0.0, 2.1), [(2, TWO_OF_THREE)]),
        ((2.1, 2.1), [(1, TWO_OF_THREE)]),
        ((2.1, 0.0, -2.1), []),
        ((2.1, 0.0, 0.0, 2.1), []),
        ((1.1, 1.1, 0.0, 1.1, 1.1), [(4, FOUR_OF_FIVE)]),
        ((-1.1, -1.1, -1.1, -1.1), [(3, FOUR_OF_FIVE)]),
        ((1.1, 1.1, 0.0, 0.0, 1.1, 1.1), []),
        ((0.5,) * 8, [(7, EIGHT)]),
        ((-0.5,) * 7, []),
        ((0.5, 0.5, 0.5, 0.5, -0.1, 0.5, 0.5, 0.5, 0.5), []),
        ((), []),
    ],
)
def test_each_rule_sees_its_run_and_no_other(points: tuple[float, ...], signal: list[tuple[int, str]]) -> None:
    assert found(*points) == signal


def test_a_point_back_in_the_middle_ends_a_run_and_is_not_called() -> None:
    assert found(2.1, 2.1, 0.0) == [(1, TWO_OF_THREE)]


def test_on_a_chart_of_ranges_runs_do_not_count_and_its_low_limit_may_be_its_end() -> None:
    assert found(*(0.5,) * 9, runs=False) == []
    assert found(3.2, runs=False) == [(0, BEYOND)]
    assert found(-0.5, low=0.0) == [(0, BEYOND)]
