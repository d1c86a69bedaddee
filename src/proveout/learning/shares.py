"""A share of pieces that is lost, learned from counts."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
from scipy.special import betainc, betaincinv, betaln, gammaln

from proveout.learning.naming import look_ratio
from proveout.learning.prior import INSIDE_RATIO, REACH, Array
from proveout.quantities.bounds import above_zero, between, inside_zero_and_one
from proveout.quantities.errors import OutOfRange

LEAST_WEIGHT, MOST_WEIGHT = 20.0, 400.0
"""Pieces that a written share weighs as much as, at least and at most (our own)."""
LIKE_RATIO = 0.02
"""How alike pieces of one batch are: one cause loses several of them (our own)."""
TAIL_RATIO = 0.01
"""Chance below which a count of bad pieces is cut off (our own)."""
CONFLICT_RATIO = 0.05
"""Chance below which the interval is widened to what the batches alone say (our own)."""
SORTS = 2
"""Of looks at a share: at single batches, and at what was written."""


class Counted(msgspec.Struct, frozen=True, kw_only=True):
    """One batch: pieces begun and those that were lost."""

    name: str
    pieces_count: int
    bad_count: int


class LearnedShare(msgspec.Struct, frozen=True, kw_only=True):
    """A share of pieces.

    middle: its mean;  low, high: between which it lies in eight cases of ten.   weight: pieces that the prior is worth.
    pieces: that the batches are worth, those of one batch being alike.   odd: batches with more bad ones than chance.
    is_conflict: what was written and the batches contradict each other.   is_widened: the interval is, up to these.
    """

    middle: float
    low: float
    high: float
    weight: float
    pieces: float
    odd: tuple[str, ...]
    is_conflict: bool
    is_widened: bool


def prior_weight_count(*, low: float, nominal: float, high: float) -> float:
    """Pieces that a written share weighs as much as.

    Formula:  m (1 - m) / d^2 - 1, d = max(h - m, m - l) / 1.2816; from 20 to 400
    Args:     low: l, 0 to m.   nominal: m, above 0, below 1.   high: h, from m, below 1.
    Returns:  pieces, 20 to 400; 20 where l = h.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    an interval that holds the share in eight cases of ten.
    Source:   beta_binomial, variance of a beta law; own-algorithm, our own derivation of the weight.
              Departs: nothing.
    Checked:  tests/laws/test_learning_laws.py
    """
    inside_zero_and_one("A share", nominal=nominal)
    between(low=0.0, high=nominal, low_end=low)
    between(low=nominal, high=1.0, high_end=high)
    side = max(high - nominal, nominal - low) / REACH
    if side <= 0.0:
        return LEAST_WEIGHT
    return min(MOST_WEIGHT, max(LEAST_WEIGHT, nominal * (1.0 - nominal) / side**2 - 1.0))


def alike_pieces_ratio(*, pieces_count: int) -> float:
    """Of the pieces of one batch, what they are worth as pieces that have nothing to do with each other.

    Formula:  1 / (1 + (n - 1) r), r = 0.02
    Args:     pieces_count: n, 1 or more.
    Returns:  above 0, at most 1; n times it never passes 50 pieces.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    pieces of one batch of which each two are lost together as often as r says.
    Source:   design_effect, from memory.   Departs: r is our own.
    Checked:  tests/laws/test_learning_laws.py
    """
    between(low=1, high=10_000_000, pieces_count=pieces_count)
    return 1.0 / (1.0 + (pieces_count - 1) * LIKE_RATIO)


def share_between(*, bad: float, good: float, inside_ratio: float) -> tuple[float, float]:
    """Between what ends a share lies, with as much beyond either, from counts that hold what was known before.

    Formula:  quantiles (1 -+ c) / 2 of beta(a, b)
    Args:     bad: a, > 0.   good: b, > 0.   inside_ratio: c, above 0 and below 1.
    Returns:  two shares, the low one first.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   beta_binomial, equal-tailed limits, seen directly.   Departs: nothing.
    Checked:  tests/published/test_learning.py
    """
    above_zero(bad=bad, good=good)
    inside_zero_and_one("A share", inside_ratio=inside_ratio)
    low, high = (float(betaincinv(bad, good, 0.5 * (1.0 + side * inside_ratio))) for side in (-1.0, 1.0))
    return low, high


def learned_share(
    *, low: float, nominal: float, high: float, batches: Sequence[Counted], groups_count: int = 1
) -> LearnedShare:  # fmt: skip
    """The share lost, from counts and from what was written before.

    Formula:  beta(a + x, b + n - x), a = m w, b = (1 - m) w; n and x of each batch times what its pieces are worth, x
              cut off where all other batches leave it a chance below 0.01
    Args:     low, nominal, high: of the written share, as prior_weight_count takes them.   batches: with 0 to all of
              their pieces bad.   groups_count: as learned_factors takes it.
    Returns:  a share with its interval; without a batch that of the prior.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    one batch weighs at most 50 pieces against the prior's w and those of all others.
    Source:   beta_binomial, conjugate update, seen directly; design_effect, from memory; own-algorithm, our own
              derivation: the cut-off.   Departs: counts are weighed down.
    Checked:  tests/published/test_learning.py; tests/laws/test_learning_laws.py
    """
    weight = prior_weight_count(low=low, nominal=nominal, high=high)
    for one in batches:
        if one.pieces_count < 1 or not 0 <= one.bad_count <= one.pieces_count:
            raise OutOfRange("A batch has pieces, and no more bad ones than those", where=one.name,
                             value=f"{one.bad_count} of {one.pieces_count}")  # fmt: skip
    worth = [one.pieces_count * alike_pieces_ratio(pieces_count=one.pieces_count) for one in batches]
    bad = [one.bad_count * share / one.pieces_count for one, share in zip(batches, worth, strict=True)]
    odd: list[str] = []
    kept = list(bad)
    for at, one in enumerate(batches):
        others = sum(kept) - kept[at], sum(worth) - worth[at]
        a, b = nominal * weight + others[0], (1.0 - nominal) * weight + others[1] - others[0]
        law = _chances_bad(a, b, one.pieces_count)
        most = int(np.searchsorted(np.cumsum(law), 1.0 - TAIL_RATIO))
        look = look_ratio(groups_count=groups_count, looks_count=len(batches), sorts_count=SORTS)
        if float(law[one.bad_count :].sum()) <= look:
            odd.append(one.name)
        if one.bad_count > most:
            kept[at] = most * worth[at] / one.pieces_count
    a, b = nominal * weight + sum(kept), (1.0 - nominal) * weight + sum(worth) - sum(kept)
    ends = list(share_between(bad=a, good=b, inside_ratio=INSIDE_RATIO))
    beside = _chance_beside(nominal * weight, (1.0 - nominal) * weight, sum(kept), sum(worth)) if batches else 1.0
    is_widened = beside < CONFLICT_RATIO
    if is_widened:  # the interval then reaches at least to what the batches alone say
        alone = sum(kept) / sum(worth)
        ends = [min(ends[0], alone), max(ends[1], alone)]
    return LearnedShare(
        middle=a / (a + b), low=ends[0], high=ends[1], weight=weight, pieces=float(sum(worth)), odd=tuple(odd),
        is_conflict=beside <= look_ratio(groups_count=groups_count, looks_count=2, sorts_count=SORTS),
        is_widened=is_widened,
    )  # fmt: skip


def _chances_bad(a: float, b: float, pieces_count: int) -> Array:
    """How likely a batch has 0, 1 and so on to all of its pieces bad, of a beta-binomial law."""
    counts = np.arange(pieces_count + 1, dtype=float)
    # pieces of one batch are alike: their own law is wider than that of the share by as much
    size = min(a + b, 1.0 / LIKE_RATIO - 1.0)
    a, b = a / (a + b) * size, b / (a + b) * size
    ways = gammaln(pieces_count + 1) - gammaln(counts + 1) - gammaln(pieces_count - counts + 1)
    return np.asarray(np.exp(ways + betaln(counts + a, pieces_count - counts + b) - betaln(a, b)), dtype=np.float64)


def _chance_beside(a: float, b: float, bad: float, pieces: float) -> float:
    """Chance of a written share, to one side, beyond what the batches alone leave open in nine cases of ten."""
    alone = [float(betaincinv(bad + 0.5, pieces - bad + 0.5, one)) for one in (0.05, 0.95)]
    below, above = float(betainc(a, b, alone[1])), 1.0 - float(betainc(a, b, min(alone[0], 1.0)))
    return min(below, above)
