"""Which batches, runs of them and factors are named to the owner: seldom where nothing is amiss.

A lesson looks at every batch, at every run of them and at every factor of every machine. Each of these looks has its
share of one chance, so that together they name something without cause no more often than that.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import chdtrc, log_ndtr, ndtr, ndtri

from proveout.learning.prior import Array
from proveout.quantities.bounds import between

NAMED_RATIO = 0.05
"""Lessons in which nothing is amiss and something is named all the same, at most (our own)."""
SORTS = 3
"""Of looks at one group: at single batches, at runs of them, and at what was written."""
RUN_COUNT, RUN_REACH, RUN_MOST = 3, 1.0, 3.0
"""Batches of a run, at least; all lie farther to one side than RUN_REACH deviations, and each counts up to RUN_MOST of
them, so that one that is odd alone makes no run (our own)."""
BEYOND_LOG = float(log_ndtr(-RUN_REACH))
"""Logarithm of the chance that a batch lies beyond RUN_REACH to one side."""


def look_ratio(*, groups_count: int, looks_count: int, sorts_count: int = SORTS) -> float:
    """Chance that one look may name something without cause.

    Formula:  a / (g s n), a = 0.05
    Args:     groups_count: g, of numbers that a lesson learns together.   looks_count: n, at one group.
              sorts_count: s.
    Returns:  above 0, at most a.
    Raises:   OutOfRange when an argument is below 1.
    Valid:    looks however they depend on each other: chances of any of them add up to no more than their sum.
    Source:   bonferroni, from memory.   Departs: a is our own, and every group and sort has an equal part of it.
    Checked:  tests/laws/test_naming_laws.py
    """
    between(low=1, high=10**9, groups_count=groups_count, looks_count=looks_count, sorts_count=sorts_count)
    return NAMED_RATIO / (groups_count * sorts_count * looks_count)


def odd_batches(*, apart: Array, weights: Array, groups_count: int) -> tuple[int, ...]:
    """Batches that lie farther from all others than chance has it.

    Formula:  sum w_s 2 Phi(-|a_is|) <= a / (g s n)
    Args:     apart: a, (s, n): of every batch from all others, in standard deviations, at every spread.
              weights: w, (s,), how likely each spread is.   groups_count: g.
    Returns:  places of the batches, in order.
    Raises:   OutOfRange when groups_count is below 1.
    Valid:    normal scatter whose deviation is one of the spreads: while few batches tell it, few can be odd.
    Source:   bonferroni, from memory; own-algorithm, our own derivation: the tail of a mixture.   Departs: nothing.
    Checked:  tests/laws/test_naming_laws.py
    """
    count = apart.shape[1]
    if not count:
        return ()
    tails = weights @ (2.0 * ndtr(-np.abs(apart)))
    return tuple(int(k) for k in np.flatnonzero(tails <= look_ratio(groups_count=groups_count, looks_count=count)))


def runs_to_one_side(*, apart: Array, weights: Array, groups_count: int) -> tuple[tuple[int, int], ...]:
    """Batches in a row that together lie farther to one side than chance has it.

    Formula:  sum w_s 2 (n - 2) q^3 m(x_s) <= a / (g s): how many runs as far as this one chance makes, q = Phi(-1);
              x = q^(L - 3) P(chi^2 of 2 L > -2 sum ln (Phi(-min(|a_i|, 3)) / q)), L batches of the run beyond 1;
              m(x) = x ((1 - q) (floor(ln x / ln q) + 1) + 1), the chance of such an x where a run of 3 is there
    Args:     apart, weights, groups_count: as odd_batches takes them.
    Returns:  first and last place of each, of 3 batches at least.
    Raises:   OutOfRange when groups_count is below 1.
    Valid:    as odd_batches. That so many lie beyond 1 is chance, and how far beyond each lies is chance again.
    Source:   fisher_tails, chances put together, from memory; bonferroni, from memory; own-algorithm, our own
              derivation: lengths of runs, each a further one with q.   Departs: no batch counts beyond 3 deviations.
    Checked:  tests/laws/test_naming_laws.py
    """
    count = apart.shape[1]
    middles = weights @ apart
    sides = [0.0 if abs(one) <= RUN_REACH else float(np.sign(one)) for one in middles]
    most = look_ratio(groups_count=groups_count, looks_count=1)
    starts = 2.0 * (count - RUN_COUNT + 1) * math.exp(RUN_COUNT * BEYOND_LOG)
    found: list[tuple[int, int]] = []
    begin = 0
    for at in range(1, count + 1):
        if at < count and sides[at] == sides[begin]:
            continue
        if sides[begin] and at - begin >= RUN_COUNT:
            made = starts * _as_far(sides[begin] * apart[:, begin:at])
            if float(weights @ made) <= most:
                found.append((begin, at - 1))
        begin = at
    return tuple(found)


def _as_far(apart: Array) -> Array:
    """Chance at every spread that a run which is there lies as far out as one of these batches."""
    reach = np.clip(apart, RUN_REACH, RUN_MOST)
    length = np.sum(apart > RUN_REACH, axis=1)
    tails = np.sum(np.where(apart > RUN_REACH, log_ndtr(-reach) - BEYOND_LOG, 0.0), axis=1)
    longer = np.exp(np.maximum(length - RUN_COUNT, 0) * BEYOND_LOG)
    chance = np.where(length < RUN_COUNT, 1.0, longer * chdtrc(2.0 * np.maximum(length, 1), -2.0 * tails))
    lengths = np.floor(np.log(np.maximum(chance, 1e-300)) / BEYOND_LOG) + 1.0
    return np.asarray(chance * ((1.0 - math.exp(BEYOND_LOG)) * lengths + 1.0), dtype=np.float64)


def contradictions(*, against: Array, groups_count: int) -> tuple[int, ...]:
    """Factors of which batches and what was written say different things.

    Formula:  2 Phi(-|b_k|) <= a / (g s n)
    Args:     against: b, (n,): how far each was moved, over the standard deviation of how far it could be expected to.
              groups_count: g.
    Returns:  places of the factors, in order.
    Raises:   OutOfRange when groups_count is below 1.
    Valid:    factors that lie about what was written as it says; of normal laws b then is a standard normal number.
    Source:   bonferroni, from memory; normal_conjugate, that what is known moves by was^2 - now^2.   Departs: nothing.
    Checked:  tests/laws/test_naming_laws.py
    """
    if not len(against):
        return ()
    most = float(ndtri(1.0 - 0.5 * look_ratio(groups_count=groups_count, looks_count=len(against))))
    return tuple(int(k) for k in np.flatnonzero(np.abs(against) > most))
