"""Samples of a lot: worked hypergeometric and binomial sums, success runs, and what no bad piece among n proves.

Worked: C(98, 20) / C(100, 20) = 80 x 79 / (100 x 99) = 0.63838; 37 / 50 = 0.74; (0.95 ^ 59 = 0.0485, 0.95 ^ 58 =
0.0510). The plans (5, 1) and (10, 3) are those of A. Kiermeier, Visualising and assessing acceptance sampling plans,
2008.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.gauging.acceptance import (
    bad_of_lot_count,
    least_caught_count,
    lot_accept_ratio,
    most_bad_ratio,
    share_accept_ratio,
    success_run_count,
    zero_sample_count,
)
from proveout.quantities.errors import OutOfRange


@pytest.mark.parametrize(
    ("lot", "bad", "sample", "worked"),
    [(100, 2, 20, "0.63838"), (50, 1, 13, "0.74000"), (200, 4, 32, "0.49500"), (120, 3, 20, "0.57577")],
)
def test_a_lot_with_a_few_bad_pieces_is_accepted_so_often(
    lot: int, bad: int, sample: int, worked: str, agrees: Callable[..., None]
) -> None:
    """Q3."""
    agrees(lot_accept_ratio(lot_count=lot, bad_count=bad, sample_count=sample, accept_count=0), worked)


def test_plans_that_allow_bad_pieces(agrees: Callable[..., None]) -> None:
    """Q4: the first three; Q5: the last two."""
    agrees(lot_accept_ratio(lot_count=50, bad_count=5, sample_count=5, accept_count=1), "0.92825")
    agrees(share_accept_ratio(bad_ratio=0.1, sample_count=5, accept_count=1), "0.91854")
    agrees(share_accept_ratio(bad_ratio=0.2, sample_count=10, accept_count=3), "0.87913")
    agrees(share_accept_ratio(bad_ratio=0.01, sample_count=50, accept_count=1), "0.91056")
    agrees(share_accept_ratio(bad_ratio=0.025, sample_count=20, accept_count=1), "0.91176")


@pytest.mark.parametrize(
    ("confidence", "good", "printed"), [(0.95, 0.99, 299), (0.95, 0.95, 59), (0.90, 0.90, 22), (0.5, 0.01, 1)]
)
def test_a_run_of_good_ones(confidence: float, good: float, printed: int) -> None:
    """Q6: the first three."""
    assert success_run_count(confidence_ratio=confidence, good_ratio=good) == printed


@pytest.mark.parametrize(("sample", "below"), [(29, 0.10), (59, 0.05), (299, 0.01)])
def test_no_bad_piece_among_so_many_shows_fewer_bad_than(sample: int, below: float) -> None:
    """Printed in trade: zero bad in 29 shows below 10 % bad, in 59 below 5 %, in 299 below 1 % (95 %)."""
    assert most_bad_ratio(sample_count=sample, bad_count=0, confidence_ratio=0.95) < below
    assert most_bad_ratio(sample_count=sample - 1, bad_count=0, confidence_ratio=0.95) > below


def test_the_smallest_sample_without_a_bad_piece_is_the_smallest() -> None:
    """Worked, 2 bad of 20: C(18, n) / C(20, n) = (20 - n)(19 - n) / 380; 0.05 x 380 = 19: n = 15 gives 20, 16 12."""
    assert zero_sample_count(lot_count=20, bad_ratio=0.1, confidence_ratio=0.95) == 16
    assert zero_sample_count(lot_count=1, bad_ratio=0.1, confidence_ratio=0.95) == 1
    assert zero_sample_count(lot_count=1_000_000, bad_ratio=0.05, confidence_ratio=0.95) == 59
    assert [bad_of_lot_count(lot_count=n, bad_ratio=0.05) for n in (1, 20, 21, 100, 10_000)] == [1, 1, 2, 5, 500]


def test_the_fewest_bad_pieces_that_are_caught() -> None:
    """Worked as above turned round: 16 of 20 refuse 2 bad, not 1 (4 / 20 = 0.2); one piece of 20 refuses 19 bad."""
    caught = [
        least_caught_count(lot_count=20, sample_count=n, accept_count=c, confidence_ratio=0.95)
        for n, c in ((16, 0), (20, 0), (1, 0), (0, 0), (2, 2))
    ]
    assert caught == [2, 1, 19, 21, 21]


def test_whole_lots_empty_samples_and_wrong_counts() -> None:
    assert lot_accept_ratio(lot_count=9, bad_count=9, sample_count=0, accept_count=0) == 1.0
    assert lot_accept_ratio(lot_count=9, bad_count=1, sample_count=9, accept_count=0) == 0.0
    assert lot_accept_ratio(lot_count=9, bad_count=3, sample_count=8, accept_count=1) == 0.0
    assert most_bad_ratio(sample_count=4, bad_count=4, confidence_ratio=0.95) == 1.0
    with pytest.raises(OutOfRange, match="part of the lot"):
        lot_accept_ratio(lot_count=9, bad_count=1, sample_count=10, accept_count=0)
    with pytest.raises(OutOfRange, match="0 or more"):
        lot_accept_ratio(lot_count=9, bad_count=1, sample_count=2, accept_count=-1)
    with pytest.raises(OutOfRange, match="confidence"):
        zero_sample_count(lot_count=9, bad_ratio=0.1, confidence_ratio=1.0)
    with pytest.raises(OutOfRange, match="share of good ones"):
        success_run_count(confidence_ratio=0.9, good_ratio=1.0)
    with pytest.raises(OutOfRange, match="above 0"):
        bad_of_lot_count(lot_count=9, bad_ratio=0.0)
    with pytest.raises(OutOfRange, match="part of the sample"):
        most_bad_ratio(sample_count=3, bad_count=4, confidence_ratio=0.9)
