"""How far batches lie apart from one to the next: learned from them with all else, never taken as known.

A shop's own spread is no number that anybody writes down. It is kept as a row of spreads, each with its weight: flat
near nothing and with a long tail beyond, before any batch was run, so that few batches move it wherever they point.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from proveout.learning.prior import REACH
from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]
SPREAD = 0.08
"""From batch to batch, of the logarithm: before any was run it lies as likely above as below (our own)."""
LEAST_SPREAD, MOST_SPREAD = 0.005, 1.0
"""Of the logarithm: none are more alike, and none lie farther apart that a factor could be learned from (our own)."""
SPREADS: Array = np.exp(np.linspace(math.log(LEAST_SPREAD), math.log(MOST_SPREAD), 60))
"""The row: each a tenth above the one before."""
INSIDE_END = 0.9
"""Share below the high end of eight cases of ten."""
HALVINGS = 50


def spread_weights(scores: Array) -> Array:
    """How likely each of SPREADS is.

    Formula:  w = s / (1 + (s / a)^2) exp(integral of u over ln s), a = 0.08; the sum of all w is 1
    Args:     scores: u, slope of the logarithm of what the batches say of s in ln s, one for each of SPREADS.
    Returns:  weights, one for each.
    Raises:   OutOfRange when there are not as many.
    Valid:    weights whose bulk lies within SPREADS; a step of them is a tenth, and the spread of w in ln s above a
              twentieth, hence up to some 200 batches.
    Source:   half_cauchy_spread, a half-t law of one degree of freedom for the spread of few groups, seen directly.
              Departs: a is our own; the integral is a sum of trapezoids.
    Checked:  tests/published/test_learning.py
    """
    if scores.shape != SPREADS.shape:
        raise OutOfRange("Every spread has its slope", value=str(scores.shape), limit=str(SPREADS.shape))
    logs = np.log(SPREADS)
    told = np.concatenate(([0.0], np.cumsum(0.5 * (scores[1:] + scores[:-1]) * np.diff(logs))))
    before = logs - np.log1p((SPREADS / SPREAD) ** 2)
    found = np.exp(told + before - float(np.max(told + before)))
    return np.asarray(found / found.sum(), dtype=np.float64)


def reach_ratio(*, deviations: Array, weights: Array) -> float:
    """How far to either side of its middle a number lies in eight cases of ten, where its deviation is not known.

    Formula:  sum w_k Phi(x / d_k) = 0.9, solved for x; 1.2816 d where all d are one
    Args:     deviations: d, >= 0, at least one above 0.   weights: w, as many, >= 0, of sum 1.
    Returns:  x, in the unit of d, here the logarithm of a ratio; above 0.
    Raises:   OutOfRange where no deviation is above 0.
    Valid:    a mixture of normal laws about one middle.
    Source:   own-algorithm, our own derivation: the quantile of a mixture.   Departs: nothing.
    Checked:  tests/laws/test_learning_laws.py
    """
    most = float(np.max(deviations))
    if most <= 0.0:
        raise OutOfRange("A number that is known exactly has no interval", value=str(most))
    if float(np.min(deviations)) == most:
        return REACH * most
    kept = np.maximum(deviations, 1e-12 * most)
    low, high = 0.0, 2.0 * REACH * most
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if float(weights @ ndtr(middle / kept)) < INSIDE_END:
            low = middle
        else:
            high = middle
    return high
