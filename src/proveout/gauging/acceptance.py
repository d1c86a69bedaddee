"""How likely a sample lets a lot pass, how large a sample must be, and what a sample without bad pieces proves."""

from __future__ import annotations

import math

from proveout.quantities.bounds import between, inside_zero_and_one
from proveout.quantities.errors import OutOfRange

HAIR = 1e-12


def _counts(**values: int) -> None:
    for name, value in values.items():
        if value < 0:
            raise OutOfRange("A count is 0 or more", where=name, value=f"{value}", limit="0 or more")


def lot_accept_ratio(*, lot_count: int, bad_count: int, sample_count: int, accept_count: int) -> float:
    """Probability that a lot with so many bad pieces is accepted by a sample drawn at random.

    Formula:  sum over k = 0..c of C(D, k) C(N - D, n - k) / C(N, n), with whole numbers
    Args:     lot_count: N, >= 1.   bad_count: D, 0..N.   sample_count: n, 0..N.   accept_count: c, most bad pieces in
              the sample with which the lot is accepted, >= 0.
    Returns:  0..1; 1 when nothing is drawn.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    every piece of the lot as likely to be drawn as any other, none twice, and every bad piece seen as bad.
    Source:   acceptance_identities, hypergeometric distribution.   Departs: for c = 0 the product of its n or D
              factors, by the sum of their logarithms.
    Checked:  tests/published/test_acceptance_sampling.py; tests/laws/test_gauging_laws.py
    """
    _counts(bad_count=bad_count, sample_count=sample_count, accept_count=accept_count)
    if lot_count < 1 or bad_count > lot_count or sample_count > lot_count:
        raise OutOfRange(
            "Bad pieces and sample are part of the lot", value=f"{bad_count} bad, {sample_count} drawn",
            limit=f"lot of {lot_count}, 1 or more",
        )  # fmt: skip
    good_count = lot_count - bad_count
    if min(bad_count, sample_count) <= accept_count:
        return 1.0
    if sample_count - good_count > accept_count:
        return 0.0
    if accept_count == 0:
        fewer, other = sorted((bad_count, sample_count))
        return math.exp(math.fsum(math.log1p(-other / (lot_count - i)) for i in range(fewer)))
    least = max(0, sample_count - good_count)
    ways = sum(
        math.comb(bad_count, k) * math.comb(good_count, sample_count - k) for k in range(least, accept_count + 1)
    )
    return ways / math.comb(lot_count, sample_count)


def share_accept_ratio(*, bad_ratio: float, sample_count: int, accept_count: int) -> float:
    """Probability that work with such a share of bad pieces is accepted, however large the lot.

    Formula:  sum over k = 0..c of C(n, k) p^k (1 - p)^(n - k)
    Args:     bad_ratio: p, 0..1.   sample_count: n, >= 0.   accept_count: c, >= 0.
    Returns:  0..1; 1 when c is n or more.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    pieces bad independently of each other, each with the same probability; of a lot of known size
              lot_accept_ratio is the true one.
    Source:   acceptance_identities, binomial distribution.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py
    """
    from scipy.special import bdtr

    between(low=0.0, high=1.0, bad_ratio=bad_ratio)
    _counts(sample_count=sample_count, accept_count=accept_count)
    if accept_count >= sample_count:
        return 1.0
    return float(bdtr(accept_count, sample_count, bad_ratio))


def bad_of_lot_count(*, lot_count: int, bad_ratio: float) -> int:
    """Fewest whole pieces of a lot that are such a share of it or more.

    Formula:  D = the least whole number >= p N, at least 1
    Args:     lot_count: N, >= 1.   bad_ratio: p, above 0 to 1.
    Returns:  pieces, 1..N.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere within the bounds.
    Source:   acceptance_identities, whole pieces.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py
    """
    if lot_count < 1 or not 0.0 < bad_ratio <= 1.0:
        raise OutOfRange(
            "A share of a lot is above 0", value=f"{bad_ratio:g} of {lot_count}", limit="above 0 to 1 of 1 or more"
        )
    return max(1, math.ceil(bad_ratio * lot_count - HAIR * lot_count))


def zero_sample_count(*, lot_count: int, bad_ratio: float, confidence_ratio: float) -> int:
    """Fewest pieces whose all being good shows, with such a confidence, that fewer than a share of the lot are bad.

    Formula:  the least n with C(N - D, n) / C(N, n) <= 1 - C, D the least whole number >= p N
    Args:     lot_count: N, >= 1.   bad_ratio: p, above 0 to 1.   confidence_ratio: C, above 0 and below 1.
    Returns:  pieces, 1..N.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as lot_accept_ratio.
    Source:   acceptance_identities, hypergeometric distribution.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py; tests/laws/test_gauging_laws.py
    """
    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
    bad_count = bad_of_lot_count(lot_count=lot_count, bad_ratio=bad_ratio)
    low, high = 0, lot_count - bad_count + 1
    while high - low > 1:
        middle = (low + high) // 2
        accept = lot_accept_ratio(lot_count=lot_count, bad_count=bad_count, sample_count=middle, accept_count=0)
        low, high = (low, middle) if accept <= 1.0 - confidence_ratio + HAIR else (middle, high)
    return high


def least_caught_count(
    *, lot_count: int, sample_count: int, accept_count: int, confidence_ratio: float
) -> int:  # fmt: skip
    """Fewest bad pieces in a lot that a sample refuses with such a confidence.

    Formula:  the least D with the sum over k = 0..c of C(D, k) C(N - D, n - k) / C(N, n) <= 1 - C
    Args:     lot_count: N, >= 1.   sample_count: n, 0..N.   accept_count: c, >= 0.   confidence_ratio: C, above 0 and
              below 1.
    Returns:  pieces, 1..N; N + 1 where even a lot of bad pieces alone is not refused.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as lot_accept_ratio.
    Source:   acceptance_identities, hypergeometric distribution.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py; tests/laws/test_gauging_laws.py
    """
    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
    low, high = 0, lot_count + 1
    while high - low > 1:
        middle = (low + high) // 2
        accept = lot_accept_ratio(
            lot_count=lot_count, bad_count=middle, sample_count=sample_count, accept_count=accept_count
        )
        low, high = (low, middle) if accept <= 1.0 - confidence_ratio + HAIR else (middle, high)
    return high


def success_run_count(*, confidence_ratio: float, good_ratio: float) -> int:
    """Fewest trials in a row, all good, that show a share of good ones with such a confidence.

    Formula:  n = ln(1 - C) / ln(R), rounded up
    Args:     confidence_ratio: C, above 0 and below 1.   good_ratio: R, above 0 and below 1.
    Returns:  trials, >= 1.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    trials good independently of each other, each with the same probability.
    Source:   acceptance_identities, success run.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py
    """
    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
    inside_zero_and_one("A share of good ones", good_ratio=good_ratio)
    return max(1, math.ceil(math.log1p(-confidence_ratio) / math.log(good_ratio) - 1e-9))


def most_bad_ratio(*, sample_count: int, bad_count: int, confidence_ratio: float) -> float:
    """Largest share of bad pieces that a sample with so many bad ones leaves open, with such a confidence.

    Formula:  the p with sum over k = 0..d of C(n, k) p^k (1 - p)^(n - k) = 1 - C
    Args:     sample_count: n, >= 1.   bad_count: d, 0..n.   confidence_ratio: C, above 0 and below 1.
    Returns:  0..1; 1 when every piece of the sample is bad.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as share_accept_ratio; nothing is said of how the readings are spread.
    Source:   acceptance_identities, binomial distribution turned round.   Departs: nothing.
    Checked:  tests/published/test_acceptance_sampling.py; tests/laws/test_gauging_laws.py
    """
    from scipy.special import betaincinv

    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
    if sample_count < 1 or not 0 <= bad_count <= sample_count:
        raise OutOfRange(
            "Bad pieces are part of the sample", value=f"{bad_count} of {sample_count}", limit="0 to n, n 1 or more"
        )
    if bad_count == sample_count:
        return 1.0
    return float(betaincinv(bad_count + 1, sample_count - bad_count, confidence_ratio))
