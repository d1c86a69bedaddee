"""Coolant: a fluid supplier's and a mixer maker's factors, and an article's example of a tank that is made up."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.jobs.coolant import mix_to_add, share_by_refractometer


@pytest.mark.parametrize(("factor", "printed"), [(1.6, "8.0"), (1.5, "7.5")])
def test_five_on_the_scale_times_the_factor(factor: float, printed: str, agrees: Callable[..., None]) -> None:
    """Printed: 5 x 1.60 is 8 %, 5.0 x 1.5 is 7.5 %."""
    agrees(100.0 * share_by_refractometer(reading_percent=5.0, factor=factor), printed)


def test_a_tank_of_a_thousand_litres_is_made_up(agrees: Callable[..., None]) -> None:
    """Printed: wanted 8 %, 700 l left at 10 %: add 300 l at 3.33 %, which is 10 l of concentrate."""
    mix = mix_to_add(sump_l=700.0, share_ratio=0.10, wanted_ratio=0.08, added_l=300.0)
    agrees(100.0 * mix, "3.33")
    agrees(300.0 * mix, "10")


def test_one_to_twenty_is_less_than_five_percent(agrees: Callable[..., None]) -> None:
    """Worked: 1 / 21 is 4.76 %: one litre of concentrate into twenty of water brings them there and no higher."""
    share = 1.0 / 21.0
    agrees(100.0 * share, "4.76")
    assert mix_to_add(sump_l=20.0, share_ratio=0.0, wanted_ratio=share, added_l=1.0) == pytest.approx(1.0)
