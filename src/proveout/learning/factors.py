"""Factors on planned numbers, learned from batches: pulled towards what was written, and not to be led astray by few.

Each batch gives one number: the logarithm of what happened over what was planned, where the plan is a sum of parts that
each have a factor of their own. All batches are looked at together, so that their order changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np
from scipy.special import stdtrit

from proveout.learning.prior import Array, Prior
from proveout.quantities.bounds import above_zero
from proveout.quantities.distribution import MEDIAN_ERROR, NORMAL_MAD
from proveout.quantities.errors import OutOfRange

CLIP = 1.5
"""Standard deviations beyond which a batch pulls no harder: its residual is cut off there (our own)."""
CLIP_SHARE = 0.7784654602
"""Mean square of a standard normal number cut off at 1.5: by it a spread of cut-off residuals is made up again."""
ODD = 3.0
"""Standard deviations beyond which a batch is named as odd (our own)."""
RUN_COUNT, RUN_REACH = 4, 1.0
"""So many batches in a row all as far to one side are named: a clock, a count or the machine changed (our own)."""
CONFLICT = 2.0
"""Standard deviations beyond which batches and what was written contradict each other (our own)."""
SPREAD, SPREAD_COUNT = 0.08, 6.0
"""From batch to batch, of the logarithm, before any was run, and how many batches that guess is worth (our own)."""
ROUNDS = 200
LEAST_SPREAD = 1e-3
"""Of the logarithm from batch to batch: none are more alike than this (our own)."""


class Seen(msgspec.Struct, frozen=True, kw_only=True):
    """One batch. name: which.   ratio: what happened over what was planned, > 0.   parts: planned shares, sum 1.

    noise: standard deviation of the logarithm from within the batch alone, 0 where nobody knows.
    """

    name: str
    ratio: float
    parts: tuple[float, ...]
    noise: float = 0.0


class Learned(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of each factor now.

    middles: of the factors;  low, high: between which each lies in eight cases of ten;  deviations: of the logarithms.
    covariance: of the logarithms.   spread: from batch to batch, of the logarithm;  freedom: its degrees of freedom.
    worth_count: batches that what was written weighs as much as, by factor.   odd: batches far from all others.
    runs: batches in a row to one side, first and last.   conflicts: factors that contradict what was written.
    shown_ratio: of each factor's written variance, what the batches took away: near 0 they say nothing of it.
    """

    middles: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    deviations: tuple[float, ...]
    covariance: Array
    spread: float
    freedom: float
    worth_count: tuple[float, ...]
    odd: tuple[str, ...]
    runs: tuple[tuple[str, str], ...]
    conflicts: tuple[int, ...]
    shown_ratio: tuple[float, ...]

    def next_between(self, parts: tuple[float, ...]) -> tuple[float, float, float]:
        """Low, middle and high of the ratio of a further batch of those planned shares, in eight cases of ten."""
        weights, middle = _tangent(np.log(self.middles), np.array(parts))
        side = math.sqrt(float(weights @ self.covariance @ weights) + self.spread**2) * _reach(self.freedom)
        return math.exp(middle - side), math.exp(middle), math.exp(middle + side)


def learned_factors(prior: Prior, batches: Sequence[Seen]) -> Learned:
    """Factors from batches and from what was written before.

    Formula:  y = ln(sum p_k exp(t_k)) + e, e of variance s^2 + v;  t = C (P m + sum w z / (s^2 + v)),
              C^-1 = P + sum w w' / (s^2 + v), w the slope of the sum in t, z = y about that slope with its residual
              from all other batches cut off at 1.5 of its standard deviations
    Args:     prior: m and P^-1.   batches: in order of time; ratios > 0, as many parts each as the prior has.
    Returns:  factors with their intervals; without a batch those of the prior.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    up to some hundred batches; one batch moves no factor by more than twice its standard deviation without
              that batch. s is pulled towards 0.08 as six batches would.
    Source:   normal_conjugate, precisions add, seen directly; innovation_saturation, the cut-off, abstract seen
              directly; own-algorithm, our own derivation: the slope of the sum, and that all others judge each batch.
              Departs: s is found from cut-off residuals, and intervals widen where batches contradict what was written.
    Checked:  tests/laws/test_learning_laws.py; tests/published/test_learning.py
    """
    count = len(prior.middles)
    for one in batches:
        above_zero(ratio=one.ratio)
        if len(one.parts) != count or abs(sum(one.parts) - 1.0) > 1e-6 or min(one.parts) < 0.0:
            raise OutOfRange("Planned shares of a batch sum to 1", where=one.name, value=str(one.parts))
    precision = np.linalg.inv(prior.covariance)
    ys = np.log([one.ratio for one in batches])
    noises = np.array([one.noise**2 for one in batches])
    middles, spread = prior.middles.copy(), SPREAD
    covariance, apart = prior.covariance, np.zeros(len(batches))
    cut = ys.copy()
    for _ in range(ROUNDS if len(batches) else 0):
        rows = [_tangent(middles, np.array(one.parts)) for one in batches]
        weights = np.array([row[0] for row in rows])
        level = np.array([row[1] for row in rows]) - weights @ middles
        variances = spread**2 + noises
        covariance = np.asarray(np.linalg.inv(precision + (weights.T / variances) @ weights), dtype=np.float64)
        before = middles
        middles = covariance @ (precision @ prior.middles + weights.T @ ((cut - level) / variances))
        # each batch as all others foresee it
        lever = np.minimum(np.einsum("ik,kl,il->i", weights, covariance, weights) / variances, 1.0 - 1e-9)
        foreseen = level + weights @ middles - lever / (1.0 - lever) * (cut - level - weights @ middles)
        sides = np.sqrt(variances / (1.0 - lever))
        apart = (ys - foreseen) / sides
        held = np.clip(apart, -CLIP, CLIP)
        cut = foreseen + held * sides
        # a batch that is unsure by itself says little of the spread between batches
        worth = spread**2 / variances
        grown = (SPREAD_COUNT * (SPREAD / spread) ** 2 + float(np.sum(worth * held**2) / CLIP_SHARE)) / (
            SPREAD_COUNT + float(np.sum(worth))
        )
        spread = max(LEAST_SPREAD, spread * math.sqrt(grown))
        if float(np.max(np.abs(middles - before))) < 1e-10:
            break
    return _told(prior, batches, middles, covariance, spread, apart)


def _tangent(logs: Array, parts: Array) -> tuple[Array, float]:
    """Slope of the logarithm of a sum of parts in the logarithms of their factors, and its value."""
    made = parts * np.exp(logs)
    total = float(made.sum())
    return made / total, math.log(total)


def _reach(freedom: float) -> float:
    """Standard deviations to either end of eight cases of ten, by Student's law."""
    return float(stdtrit(freedom, 0.9))


def _told(
    prior: Prior, batches: Sequence[Seen], middles: Array, covariance: Array, spread: float, apart: Array
) -> Learned:  # fmt: skip
    """The result, widened where what was written and the batches lie apart, or the batches scatter too far."""
    was, now = np.diag(prior.covariance), np.diag(covariance)
    moved = middles - prior.middles
    free = np.maximum(was - now, 1e-12)
    against = np.abs(moved) / np.sqrt(free)
    conflicts = tuple(int(k) for k in np.flatnonzero((against > CONFLICT) & (was - now > 1e-9)))
    left = _left_behind(batches, middles)
    scatter = max(1.0, float(np.mean(np.minimum(apart**2, ODD**2)))) if len(batches) else 1.0
    wide = covariance * scatter + left**2
    sides = np.sqrt(np.diag(wide))
    freedom = SPREAD_COUNT + len(batches)
    reach = sides * _reach(freedom)
    names = [one.name for one in batches]
    return Learned(
        middles=tuple(map(float, np.exp(middles))), low=tuple(map(float, np.exp(middles - reach))),
        high=tuple(map(float, np.exp(middles + reach))), deviations=tuple(map(float, sides)), covariance=wide,
        spread=spread, freedom=freedom, worth_count=tuple(float(spread**2 / one) for one in was),
        odd=tuple(name for name, one in zip(names, apart, strict=True) if abs(one) > ODD),
        runs=_runs(names, apart), conflicts=conflicts, shown_ratio=tuple(map(float, 1.0 - now / was)),
    )  # fmt: skip


def _left_behind(batches: Sequence[Seen], middles: Array) -> float:
    """How far batches agree to lie beside the estimate that what was written holds back; 0 where chance explains it.

    They are measured by their own scatter about their median: one that contradicts what was written is not wide itself.
    """
    if not batches:
        return 0.0
    beside = np.log([one.ratio for one in batches]) - [_tangent(middles, np.array(one.parts))[1] for one in batches]
    middle = float(np.median(beside))
    own = max(SPREAD, NORMAL_MAD * float(np.median(np.abs(beside - middle))))
    return middle if abs(middle) > CONFLICT * MEDIAN_ERROR * own / math.sqrt(len(batches)) else 0.0


def _runs(names: list[str], apart: Array) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    begin, side = 0, 0.0
    for at, one in enumerate([*map(float, apart), 0.0]):
        here = math.copysign(1.0, one) if abs(one) > RUN_REACH else 0.0
        if here == side and side:
            continue
        if side and at - begin >= RUN_COUNT:
            found.append((names[begin], names[at - 1]))
        begin, side = at, here
    return tuple(found)
