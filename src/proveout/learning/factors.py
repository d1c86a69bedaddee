"""Factors on planned numbers, learned from batches: pulled towards what was written, and not to be led astray by few.

Each batch gives one number: the logarithm of what happened over what was planned, where the plan is a sum of parts that
each have a factor of their own. All batches are looked at together, so that their order changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from proveout.learning.naming import contradictions, odd_batches, runs_to_one_side
from proveout.learning.prior import Array, Prior
from proveout.learning.spread import SPREADS, reach_ratio, spread_weights
from proveout.quantities.bounds import above_zero
from proveout.quantities.distribution import MEDIAN_ERROR, NORMAL_MAD
from proveout.quantities.errors import OutOfRange

CLIP = 1.5
"""Standard deviations beyond which a batch pulls no harder: its residual is cut off there (our own)."""
CLIP_SHARE = 0.7784654602
"""Mean square of a standard normal number cut off at 1.5: by it a spread of cut-off residuals is made up again."""
FAR = 3.0
"""Standard deviations beyond which a batch counts no more towards how far all scatter (our own)."""
BEYOND_CHANCE = 2.0
"""Standard deviations beyond which intervals are widened, by scatter or by what batches agree on (our own)."""
ROUNDS, CLOSE = 80, 1e-7
"""At most, and how near the middles of two of them lie at the end, each spread weighed by how likely it is."""
FREE_ROUNDS, PART_STEP = 6, 0.35
"""After so many, what is cut off moves by such a part of its way: few batches of many kinds swing to and fro."""
LOOSE = 1.0
"""Of the logarithm: how far all factors together may lie off what was written while the spread is learned (our own)."""
MOST_STEP, FARTHEST = 0.1, 20.0
"""Of a logarithm in one round, and of any cut-off residual: where batches are taken to be far more alike than they are,
whole steps overshoot, and such a spread is not likely in the end."""


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
    weights: how likely each of SPREADS is, from batch to batch;  covariances: of the logarithms, one for each.
    spread: the middle one of them;  noise: of the logarithm of one batch from within it, as batches so far had it.
    worth_count: batches that what was written weighs as much as, by factor.   odd: batches far from all others.
    runs: batches in a row to one side, first and last.   conflicts: factors that contradict what was written.
    is_widened: the intervals reach out to what the batches agree on, beside what was written.
    shown_ratio: of each factor's written variance, what the batches took away: near 0 they say nothing of it.
    """

    middles: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    deviations: tuple[float, ...]
    covariances: Array
    weights: Array
    spread: float
    noise: float
    worth_count: tuple[float, ...]
    odd: tuple[str, ...]
    runs: tuple[tuple[str, str], ...]
    conflicts: tuple[int, ...]
    is_widened: bool
    shown_ratio: tuple[float, ...]

    def next_between(self, parts: tuple[float, ...]) -> tuple[float, float, float]:
        """Low, middle and high of the ratio of a further batch of those planned shares, in eight cases of ten."""
        return self._between(parts, SPREADS**2 + self.noise**2)

    def mean_between(self, parts: tuple[float, ...]) -> tuple[float, float, float]:
        """The same of the mean of very many further batches."""
        return self._between(parts, np.zeros_like(SPREADS))

    def _between(self, parts: tuple[float, ...], beside: Array) -> tuple[float, float, float]:
        slopes, middle = _tangent(np.log(self.middles), np.array(parts))
        own = np.einsum("k,gkl,l->g", slopes, self.covariances, slopes)
        side = reach_ratio(deviations=np.sqrt(own + beside), weights=self.weights)
        return math.exp(middle - side), math.exp(middle), math.exp(middle + side)


def learned_factors(prior: Prior, batches: Sequence[Seen], *, groups_count: int = 1) -> Learned:
    """Factors from batches and from what was written before, and with them how far batches lie apart.

    Formula:  y = ln(sum p_k exp(t_k)) + e, e of variance s^2 + v. For every s: t = C (P m + sum w z / (s^2 + v)),
              C^-1 = P + sum w w' / (s^2 + v), w the slope of the sum in t, z = y about that slope with its residual
              from all other batches cut off at 1.5 of its standard deviation d; all s are weighed together by what
              they were before and u = sum (s / d)^2 (r^2 / 0.7785 - 1), r = the cut-off residual over d, both with
              1 added to all of P^-1
    Args:     prior: m and P^-1.   batches: in order of time; ratios > 0, as many parts each as the prior has.
              groups_count: groups of numbers that are learned beside these, these among them: naming.py has why.
    Returns:  factors with their intervals; without a batch those of the prior.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    up to some 200 batches; one batch moves no factor by more than twice the larger of its standard
              deviations with and without it. u is the slope in ln s of the probability of all batches together; that
              it is a sum over batches, each as all others foresee it, is exact where nothing is cut off.
    Source:   normal_conjugate, precisions add, seen directly; half_cauchy_spread, the law of s before and that all s
              are weighed, seen directly; innovation_saturation, the cut-off, abstract seen directly;
              squared_residuals_cut, the mean square of what is cut off, from memory; own-algorithm, our own
              derivation: the slopes of sum and probability, and that all others judge each batch.
              Departs: intervals widen where batches contradict what was written.
    Checked:  tests/laws/test_learning_laws.py; tests/laws/test_learned_spread.py; tests/published/test_learning.py
    """
    count = len(prior.middles)
    for one in batches:
        above_zero(ratio=one.ratio)
        if len(one.parts) != count or abs(sum(one.parts) - 1.0) > 1e-6 or min(one.parts) < 0.0:
            raise OutOfRange("Planned shares of a batch sum to 1", where=one.name, value=str(one.parts))
    size = len(SPREADS)
    if not batches:
        nothing = np.zeros((size, 0))
        return _told(prior, batches, _Weighed(
            middles=np.tile(prior.middles, (size, 1)), covariances=np.tile(prior.covariance, (size, 1, 1)),
            apart=nothing, scores=np.zeros(size), weights=spread_weights(np.zeros(size)),
        ), groups_count)  # fmt: skip
    # how far all lie off what was written, together, says nothing of how far they lie from each other
    loose = Prior(middles=prior.middles, covariance=prior.covariance + LOOSE**2)
    found = _weighed(prior, batches, spread_weights(_weighed(loose, batches).scores))
    return _told(prior, batches, found, groups_count)


class _Weighed(msgspec.Struct, frozen=True, kw_only=True):
    """What batches say at every spread. apart: each of them from all others, in standard deviations.

    scores: slope, in the logarithm of the spread, of that of the probability of all batches.
    """

    middles: Array
    covariances: Array
    apart: Array
    scores: Array
    weights: Array


def _weighed(prior: Prior, batches: Sequence[Seen], weights: Array | None = None) -> _Weighed:
    """At every spread. weights: of the spreads, where they are told already."""
    precision = np.linalg.inv(prior.covariance)
    parts = np.array([one.parts for one in batches])
    ys = np.log([one.ratio for one in batches])
    variances = SPREADS[:, None] ** 2 + np.array([one.noise**2 for one in batches])
    middles = np.tile(prior.middles, (len(SPREADS), 1))
    cut = np.tile(ys, (len(SPREADS), 1))
    for number in range(ROUNDS):
        made = parts * np.exp(middles)[:, None, :]
        slopes = made / made.sum(axis=2, keepdims=True)
        level = np.log(made.sum(axis=2)) - np.einsum("gik,gk->gi", slopes, middles)
        weighed = slopes / variances[:, :, None]
        covariances = np.linalg.inv(precision + weighed.transpose(0, 2, 1) @ slopes)
        before = middles
        pull = np.einsum("gik,gi->gk", weighed, cut - level) + precision @ prior.middles
        middles = before + np.clip(np.einsum("gkl,gl->gk", covariances, pull) - before, -MOST_STEP, MOST_STEP)
        # each batch as all others foresee it
        lever = np.minimum(np.sum((weighed @ covariances) * slopes, axis=2), 1.0 - 1e-9)
        fitted = level + np.einsum("gik,gk->gi", slopes, middles)
        foreseen = fitted - lever / (1.0 - lever) * (cut - fitted)
        sides = np.sqrt(variances / (1.0 - lever))
        apart = (ys - foreseen) / sides
        held = np.clip(apart, -CLIP, CLIP)
        step = 1.0 if number < FREE_ROUNDS else PART_STEP
        cut += step * (np.clip(foreseen + held * sides, -FARTHEST, FARTHEST) - cut)
        scores = np.sum((SPREADS[:, None] / sides) ** 2 * (held**2 / CLIP_SHARE - 1.0), axis=1)
        likely = spread_weights(scores) if weights is None else weights
        if float(np.max(likely * np.max(np.abs(middles - before), axis=1))) < CLOSE:
            break
    return _Weighed(middles=middles, covariances=covariances, apart=apart, scores=scores, weights=likely)


def _tangent(logs: Array, parts: Array) -> tuple[Array, float]:
    """Slope of the logarithm of a sum of parts in the logarithms of their factors, and its value."""
    made = parts * np.exp(logs)
    total = float(made.sum())
    return made / total, math.log(total)


def _told(prior: Prior, batches: Sequence[Seen], found: _Weighed, groups_count: int) -> Learned:
    """The result, widened where what was written and the batches lie apart, or the batches scatter too far."""
    weights = found.weights
    middles = np.asarray(weights @ found.middles, dtype=np.float64)
    beside = found.middles - middles
    covariances = found.covariances + beside[:, :, None] * beside[:, None, :]
    middle = int(np.searchsorted(np.cumsum(weights), 0.5))
    spread, apart = float(SPREADS[middle]), found.apart[middle]
    was, now = np.diag(prior.covariance), np.einsum("g,gkk->k", weights, found.covariances)
    against = np.where(was - now > 1e-9, (middles - prior.middles) / np.sqrt(np.maximum(was - now, 1e-12)), 0.0)
    beside_all = _left_behind(batches, middles, spread)
    wide = covariances * _scatter(apart) + beside_all**2
    # what all batches have in common against what was written is told by the contradiction, not by each of them
    beside_others = found.apart - np.median(found.apart, axis=1, keepdims=True) if beside_all else found.apart
    sides = np.sqrt(np.einsum("gkk->gk", wide))
    reach = np.array([reach_ratio(deviations=column, weights=weights) for column in sides.T])
    names = [one.name for one in batches]
    return Learned(
        middles=tuple(map(float, np.exp(middles))), low=tuple(map(float, np.exp(middles - reach))),
        high=tuple(map(float, np.exp(middles + reach))), deviations=tuple(map(float, np.sqrt(weights @ sides**2))),
        covariances=wide, weights=weights, spread=spread,
        noise=math.sqrt(sum(one.noise**2 for one in batches) / max(1, len(batches))),
        worth_count=tuple(float(spread**2 / one) for one in was),
        odd=tuple(names[k] for k in odd_batches(apart=beside_others, weights=weights, groups_count=groups_count)),
        runs=tuple(
            (names[first], names[last])
            for first, last in runs_to_one_side(apart=beside_others, weights=weights, groups_count=groups_count)
        ),
        conflicts=contradictions(against=against, groups_count=groups_count) if batches else (),
        is_widened=beside_all != 0.0, shown_ratio=tuple(map(float, 1.0 - now / was)),
    )  # fmt: skip


def _scatter(apart: Array) -> float:
    """How many times the variance that they should have batches scatter with; 1 where chance explains it."""
    if not len(apart):
        return 1.0
    found = float(np.mean(np.minimum(apart**2, FAR**2)))
    return found if found > 1.0 + BEYOND_CHANCE * math.sqrt(2.0 / len(apart)) else 1.0


def _left_behind(batches: Sequence[Seen], middles: Array, spread: float) -> float:
    """How far batches agree to lie beside the estimate that what was written holds back; 0 where chance explains it.

    They are measured by their own scatter about their median: one that contradicts what was written is not wide itself.
    """
    if not batches:
        return 0.0
    beside = np.log([one.ratio for one in batches]) - [_tangent(middles, np.array(one.parts))[1] for one in batches]
    middle = float(np.median(beside))
    own = max(spread, NORMAL_MAD * float(np.median(np.abs(beside - middle))))
    return middle if abs(middle) > BEYOND_CHANCE * MEDIAN_ERROR * own / math.sqrt(len(batches)) else 0.0
