"""Which batches, runs of them and factors are named to the owner: seldom where nothing is amiss.

A lesson looks at every batch, at every run of them and at every factor of every machine. Each of these looks has its
share of one chance, so that together they name something without cause no more often than that.
"""

from __future__ import annotations

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

    Formula:  sum w_s q^L P(chi^2 of 2 L > -2 sum ln (Phi(-min(|a_is|, 3)) / q)) <= a / (g s n (n + 1)), L batches in
              a row, all beyond 1 to the same side, q = Phi(-1); with q = 1 at spreads of which not all lie beyond 1
    Args:     as odd_batches takes them.
    Returns:  first and last place of each, of 3 batches at least.
    Raises:   OutOfRange when groups_count is below 1.
    Valid:    as odd_batches; of n batches there are n (n + 1) / 2 rows, each of two sides.
    Source:   fisher_tails, chances of several looks put together, from memory; bonferroni, from memory.
              Departs: no batch counts beyond 3 deviations.
    Checked:  tests/laws/test_naming_laws.py
    """
    count = apart.shape[1]
    middles = weights @ apart
    sides = [0.0 if abs(one) <= RUN_REACH else float(np.sign(one)) for one in middles]
    found: list[tuple[int, int]] = []
    begin = 0
    for at in range(1, count + 1):
        if at < count and sides[at] == sides[begin]:
            continue
        if sides[begin] and at - begin >= RUN_COUNT:
            reach = np.clip(sides[begin] * apart[:, begin:at], -RUN_MOST, RUN_MOST)
            # that all lie beyond RUN_REACH is chance too: it counts once, and how far beyond once more
            beyond = np.where(np.min(reach, axis=1) >= RUN_REACH, log_ndtr(-RUN_REACH), 0.0)
            tails = np.sum(log_ndtr(-reach) - beyond[:, None], axis=1)
            chances = np.exp((at - begin) * beyond) * chdtrc(2.0 * (at - begin), -2.0 * tails)
            if float(weights @ chances) <= look_ratio(groups_count=groups_count, looks_count=count * (count + 1)):
                found.append((begin, at - 1))
        begin = at
    return tuple(found)


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
