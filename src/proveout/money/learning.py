"""Learning curves: every doubling of pieces made takes the time of a piece, or its average, to the same share."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between


def _exponent(rate_ratio: float) -> float:
    return math.log2(rate_ratio)


def _checked(pieces_count: int, rate_ratio: float) -> None:
    above_zero(rate_ratio=rate_ratio)
    between(low=0.0, high=1.0, rate_ratio=rate_ratio)
    between(low=1, high=10_000_000, pieces_count=pieces_count)


def unit_learning_ratio(*, pieces_count: int, rate_ratio: float) -> float:
    """Time of the n-th piece against the first, where the time of single pieces falls: Crawford's curve.

    Formula:  T_n / T_1 = n^(log2 r)
    Args:     pieces_count: n, the number of the piece, 1 to 10 000 000.   rate_ratio: r, above 0, at most 1: the share
              that a doubling leaves.
    Returns:  a share of the first piece's time, above 0, at most 1.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    hand work of one person or crew without a long break. Not the curve of the average: beside Wright's it
              gives a larger sum for the same r.
    Source:   learning_curve_table, from memory.   Departs: nothing.
    Checked:  tests/published/test_learning_curve_table.py
    """
    _checked(pieces_count, rate_ratio)
    return float(pieces_count ** _exponent(rate_ratio))


def unit_learning_sum_ratio(*, pieces_count: int, rate_ratio: float) -> float:
    """Time of the first n pieces together against the first, on the curve of single pieces.

    Formula:  sum over k = 1..n of k^(log2 r)
    Args:     pieces_count: n, 1 to 10 000 000.   rate_ratio: r, above 0, at most 1.
    Returns:  a multiple of the first piece's time, from 1 to n.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as unit_learning_ratio. The sum is formed term by term.
    Source:   learning_curve_table, from memory.   Departs: nothing.
    Checked:  tests/published/test_learning_curve_table.py
    """
    _checked(pieces_count, rate_ratio)
    exponent = _exponent(rate_ratio)
    return math.fsum(k**exponent for k in range(1, pieces_count + 1))


def average_learning_sum_ratio(*, pieces_count: int, rate_ratio: float) -> float:
    """Time of the first n pieces together against the first, where the average of all made falls: Wright's curve.

    Formula:  n * n^(log2 r)
    Args:     pieces_count: n, 1 to 10 000 000.   rate_ratio: r, above 0, at most 1.
    Returns:  a multiple of the first piece's time, from 1 to n.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as unit_learning_ratio; the curve as first written down, of the cumulative average.
    Source:   learning_identities.   Departs: nothing.
    Checked:  tests/published/test_learning_curve_table.py
    """
    _checked(pieces_count, rate_ratio)
    return float(pieces_count * pieces_count ** _exponent(rate_ratio))


def average_learning_ratio(*, pieces_count: int, rate_ratio: float) -> float:
    """Time of the n-th piece against the first, where the average of all made falls: Wright's curve.

    Formula:  n^(1 + log2 r) - (n - 1)^(1 + log2 r)
    Args:     pieces_count: n, the number of the piece, 1 to 10 000 000.   rate_ratio: r, above 0, at most 1.
    Returns:  a share of the first piece's time, 0 to 1.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as average_learning_sum_ratio, of which it is the last step; at r up to 0.5 later pieces take no time.
    Source:   learning_identities.   Departs: never below 0.
    Checked:  tests/published/test_learning_curve_table.py
    """
    _checked(pieces_count, rate_ratio)
    if pieces_count == 1:
        return 1.0
    before = average_learning_sum_ratio(pieces_count=pieces_count - 1, rate_ratio=rate_ratio)
    return max(0.0, average_learning_sum_ratio(pieces_count=pieces_count, rate_ratio=rate_ratio) - before)
