"""Between what ends nearly all pieces lie, from readings of a few lots, at a stated confidence."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
from scipy.special import chdtri, ndtri

from proveout.gauging.summary import deviation_of, finite, mean_of, pooled_deviation
from proveout.quantities.bounds import above_zero, between, inside_zero_and_one, zero_or_more
from proveout.quantities.errors import OutOfRange


class PiecesBetween(msgspec.Struct, frozen=True, kw_only=True):
    """Ends between which pieces lie. deviation: of a piece, lots and all;  freedom: its degrees of freedom."""

    low: float
    middle: float
    high: float
    deviation: float
    freedom: float
    factor: float


def tolerance_factor_ratio(
    *, mean_count: float, freedom: float, inside_ratio: float, confidence_ratio: float
) -> float:  # fmt: skip
    """How many standard deviations to either side of a mean hold a share of all pieces, at a confidence.

    Formula:  k = z sqrt(f (1 + 1 / N) / c): z the quantile (1 + p) / 2 of a normal law, c that of chi-square of f
              degrees of freedom which lies below with 1 - g
    Args:     mean_count: N, readings of which the mean is one, > 0.   freedom: f, of the deviation, > 0.
              inside_ratio: p, above 0, below 1.   confidence_ratio: g, above 0, below 1.
    Returns:  standard deviations, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal pieces; N and f may be found apart, and f need not be whole.
    Source:   howe_tolerance, its worked example as reproduced, seen as quoted.   Departs: nothing.
    Checked:  tests/published/test_tolerance.py
    """
    above_zero(mean_count=mean_count, freedom=freedom)
    inside_zero_and_one("A share", inside_ratio=inside_ratio, confidence_ratio=confidence_ratio)
    least = float(chdtri(freedom, confidence_ratio))
    return float(ndtri(0.5 * (1.0 + inside_ratio))) * math.sqrt(freedom * (1.0 + 1.0 / mean_count) / least)


def pieces_between(
    lots: Sequence[Sequence[float]], *, uncertainty: float, inside_ratio: float, confidence_ratio: float
) -> PiecesBetween:  # fmt: skip
    """Between what ends a share of all pieces of all lots lies, those to come among them.

    Formula:  m -+ (k d + U), m mean of the lots' means; d^2 = B + (1 - 1 / n) W, W within lots and at least (U / 2)^2,
              B of the lots' means and at least W / n, n harmonic mean of their counts; f = d^4 / (B^2 / (L - 1) +
              ((1 - 1 / n) W)^2 / F), F freedom of W, with W as read where that makes f less; k of L lots and f
    Args:     lots: readings of each, finite, two lots or more and one of two readings or more.   uncertainty: U,
              half-width at two standard deviations of one reading, >= 0.   inside_ratio: p, above 0, below 1.
              confidence_ratio: above 0, below 1.
    Returns:  ends in the unit of the readings, never closer than 2 U.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal lots of normal pieces, all of one spread. A gauge may be off by U in all readings alike, so that U
              stands beside its share of the scatter, and nothing of the scatter is put down to it.
    Source:   howe_tolerance, the factor, seen as quoted; satterthwaite_freedom, f of a sum of mean squares, from
              memory; own-algorithm, our own derivation: variance of a piece from that of lots, and U.
              Departs: k takes L as the count of the mean, which is fewer than there are, against ourselves.
    Checked:  tests/laws/test_tolerance_laws.py; tests/published/test_tolerance.py
    """
    zero_or_more(uncertainty=uncertainty)
    between(low=2, high=100_000, lots_count=len(lots))
    for lot in lots:
        finite(lot, least=1)
    if max(len(lot) for lot in lots) < 2:
        raise OutOfRange("No lot has two readings", value=f"{len(lots)} lots", limit="one lot of two or more")
    means = [mean_of(lot) for lot in lots]
    within = pooled_deviation(lots)
    count = len(lots) / math.fsum(1.0 / len(lot) for lot in lots)
    middle, found = mean_of(means), deviation_of(means) ** 2

    def parts(own: float) -> tuple[float, float]:
        return max(found, own / count), (1.0 - 1.0 / count) * own

    def freedom_of(of_means: float, rest: float) -> float:
        share = rest / of_means  # squares of small variances would be none
        return (1.0 + share) ** 2 / (1.0 / (len(lots) - 1) + share**2 / within.freedom_count)

    read, least = within.deviation**2, (0.5 * uncertainty) ** 2
    taken = parts(max(read, least))
    variance = sum(taken)
    if variance == 0.0:
        return PiecesBetween(low=middle - uncertainty, middle=middle, high=middle + uncertainty, deviation=0.0,
                             freedom=len(lots) - 1.0, factor=0.0)  # fmt: skip
    freedom = freedom_of(*taken)
    if read < least and sum(parts(read)) > 0.0:  # what a gauge hides makes nothing better known
        freedom = min(freedom, freedom_of(*parts(read)))
    factor = tolerance_factor_ratio(
        mean_count=len(lots), freedom=freedom, inside_ratio=inside_ratio, confidence_ratio=confidence_ratio
    )
    side = factor * math.sqrt(variance) + uncertainty
    return PiecesBetween(
        low=middle - side, middle=middle, high=middle + side, deviation=math.sqrt(variance), freedom=freedom,
        factor=factor,
    )  # fmt: skip
