"""Learning curves: a textbook's table of the curve of single pieces, from memory, and identities of the other.

Printed, 80 %: n 2, 3, 4, 5, 8, 10, 16, 20: 0.8000 0.7021 0.6400 0.5956 0.5120 0.4765 0.4096 0.3812; sums of ten 6.315
and of four 3.142. 90 %: n 10 0.7047, sum of ten 7.994. The table is of single pieces; the curve first written down, of
aircraft, is of the cumulative average. Worked, average, 80 %, n 4: the average is 0.64, so the sum 2.56; the third and
fourth together 2.56 - 1.6 = 0.96.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.money.learning import (
    average_learning_ratio,
    average_learning_sum_ratio,
    unit_learning_ratio,
    unit_learning_sum_ratio,
)
from proveout.quantities.errors import OutOfRange

EIGHTY = {2: "0.8000", 3: "0.7021", 4: "0.6400", 5: "0.5956", 8: "0.5120", 10: "0.4765", 16: "0.4096", 20: "0.3812"}


@pytest.mark.parametrize(("n", "printed"), EIGHTY.items())
def test_eighty_percent(n: int, printed: str, agrees: Callable[..., None]) -> None:
    agrees(unit_learning_ratio(pieces_count=n, rate_ratio=0.8), printed)


def test_sums_of_single_pieces(agrees: Callable[..., None]) -> None:
    agrees(unit_learning_sum_ratio(pieces_count=10, rate_ratio=0.8), "6.315")
    agrees(unit_learning_sum_ratio(pieces_count=4, rate_ratio=0.8), "3.142")
    agrees(unit_learning_ratio(pieces_count=10, rate_ratio=0.9), "0.7047")
    agrees(unit_learning_sum_ratio(pieces_count=10, rate_ratio=0.9), "7.994")


def test_the_average_falls_faster_than_single_pieces(agrees: Callable[..., None]) -> None:
    agrees(average_learning_sum_ratio(pieces_count=4, rate_ratio=0.8), "2.56")
    last_two = [average_learning_ratio(pieces_count=n, rate_ratio=0.8) for n in (3, 4)]
    agrees(sum(last_two), "0.96")
    assert average_learning_sum_ratio(pieces_count=4, rate_ratio=0.8) < unit_learning_sum_ratio(
        pieces_count=4, rate_ratio=0.8
    )


def test_nothing_is_learnt_at_a_hundred_percent_and_more_is_refused() -> None:
    assert unit_learning_sum_ratio(pieces_count=7, rate_ratio=1.0) == 7.0
    assert average_learning_ratio(pieces_count=7, rate_ratio=1.0) == 1.0
    assert average_learning_ratio(pieces_count=1, rate_ratio=0.8) == 1.0
    with pytest.raises(OutOfRange, match="rate_ratio"):
        unit_learning_ratio(pieces_count=2, rate_ratio=1.1)
    with pytest.raises(OutOfRange, match="pieces_count"):
        average_learning_sum_ratio(pieces_count=0, rate_ratio=0.8)
