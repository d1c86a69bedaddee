"""How much of a bar its pieces take, when the saw cuts them short, right and long."""

from __future__ import annotations

import math
from collections.abc import Sequence

from proveout.model.shop import Saw
from proveout.quantities.bounds import above_zero

TINY_MM = 1e-6
IN_DOUBT = "measure the first ten pieces of the first bar: on the average they may not be long"


def taken_of_bar_mm(*, pieces: Sequence[tuple[float, int]], saw: Saw) -> tuple[float, float, float]:
    """Length of a bar that trim, pieces, kerfs between them and tail take.

    Formula:  trim + sum of n x (p + t) + (sum of n - 1) x kerf + tail, with t = -tolerance, 0 and +tolerance of the saw
    Args:     pieces: cut length p, > 0, and count n, >= 1, of each length.   saw: gives trim, kerf, tail, tolerance.
    Returns:  mm with every piece as short as the saw may cut it, at its cut length, as long as the saw may cut it.
    Raises:   OutOfRange when there is no piece or a length is not above 0.
    Valid:    one tolerance for all pieces; trim, kerf and tail as written.
    Source:   saw_arithmetic.   Departs: with the saw's tolerance.
    Checked:  tests/stages/bars/test_bars.py
    """
    count = sum(number for _, number in pieces)
    above_zero(pieces_count=count, shortest_mm=min((length for length, _ in pieces), default=0.0))
    nominal = saw.trim_mm + sum(length * number for length, number in pieces) + (count - 1) * saw.kerf_mm + saw.tail_mm
    spread = count * saw.length_tolerance_mm
    return nominal - spread, nominal, nominal + spread


def is_last_in_doubt(*, pieces: Sequence[tuple[float, int]], bar_length_mm: float, saw: Saw) -> bool:
    """Whether the last piece of a bar may not come out where the saw cuts all as long as it may."""
    _, _, most = taken_of_bar_mm(pieces=pieces, saw=saw)
    return most > bar_length_mm + TINY_MM


def sure_cut_length_mm(*, cut_length_mm: float, pieces_count: int, bar_length_mm: float, saw: Saw) -> float:
    """The longest cut length, no longer than that given, of which a bar gives so many pieces however the saw cuts them.

    Formula:  p - max(0, most taken of the bar - L) / n, rounded down to 0.01
    Args:     cut_length_mm: p, > 0.   pieces_count: n, >= 1.   bar_length_mm: L, > 0.   saw: as in taken_of_bar_mm.
    Returns:  mm; 0 or less where the tolerance alone takes as much.
    Raises:   OutOfRange as taken_of_bar_mm does.
    Valid:    as taken_of_bar_mm.
    Source:   saw_arithmetic.   Departs: with the saw's tolerance.
    Checked:  tests/stages/bars/test_bars.py
    """
    _, _, most = taken_of_bar_mm(pieces=((cut_length_mm, pieces_count),), saw=saw)
    over = max(0.0, most - bar_length_mm)
    return math.floor((cut_length_mm - over / pieces_count) * 100.0 + TINY_MM) / 100.0
