"""Niebel and Freivalds, man and machine (from memory): load 1.41, run 4.34, walk 0.08 min; 12 and 22 an hour.

Worked: (1.41 + 4.34) / (1.41 + 0.08) = 5.75 / 1.49 = 3.859. Three machines: 5.75 / 3 min x (12 + 66) / 60 = 2.4917.
Four: 1.49 min x (12 + 88) / 60 = 2.4833. A line: 54 s of work at a beat of 12 s: 4.5, so 5 stations, 54 / 60 = 90 %.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.money.attending import (
    attended_piece_price,
    line_efficiency_ratio,
    machines_a_person_ratio,
    stations_least_count,
)
from proveout.quantities.errors import OutOfRange

TIMES = {"load_s": 60.0 * 1.41, "run_s": 60.0 * 4.34, "walk_s": 60.0 * 0.08}


def test_machines_to_one_person(agrees: Callable[..., None]) -> None:
    agrees(machines_a_person_ratio(**TIMES), "3.86")


def test_four_machines_are_a_cent_cheaper_than_three(agrees: Callable[..., None]) -> None:
    price = {
        count: attended_piece_price(
            **TIMES, machines_count=count, person_rate_per_h=12.0, machine_rate_per_h=22.0
        )
        for count in range(1, 8)
    }  # fmt: skip
    agrees(price[3], "2.49")
    agrees(price[4], "2.48")
    assert min(price, key=lambda count: price[count]) == 4


def test_a_line_of_five_stations_is_busy_nine_tenths(agrees: Callable[..., None]) -> None:
    assert stations_least_count(work_s=54.0, beat_s=12.0) == 5
    busy = line_efficiency_ratio(work_s=54.0, beat_s=12.0, stations_count=5)
    agrees(100.0 * busy, "90")
    agrees(100.0 * (1.0 - busy), "10")
    with pytest.raises(OutOfRange, match="keep the beat"):
        line_efficiency_ratio(work_s=54.0, beat_s=12.0, stations_count=4)


def test_nobody_attends_machines_that_need_nothing() -> None:
    with pytest.raises(OutOfRange, match="both nothing"):
        machines_a_person_ratio(load_s=0.0, run_s=5.0, walk_s=0.0)
