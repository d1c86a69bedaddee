"""Whether the waves of a slot with two teeth grow, along one direction: an answer without steps.

Derived here: the chip is (x(t) - x(t - T)) sin p for a tooth at p, its force along x is K_t cos p + K_n sin p times
depth and chip; so m x'' + c x' + k x = -b h(t) (x(t) - x(t - T)), h the sum over the teeth in the cut. In a slot with
two teeth one and only one is in it and h is smooth over the tooth period T, so that polynomials through Chebyshev's
points of one period solve it to as many digits as wanted.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
TEETH = 2
KT, KN = 600.0, 200.0  # MPa
NATURAL_HZ, DAMPING, MASS_T = 922.0, 0.011, 0.03993e-3


def chebyshev(count: int) -> tuple[Floats, Floats]:
    """Points from -1 to 1, and the matrix that gives a polynomial's slopes there from its values there."""
    points = -np.cos(np.pi * np.arange(count + 1) / count)
    weights = np.ones(count + 1)
    weights[[0, -1]] = 2.0
    weights *= (-1.0) ** np.arange(count + 1)
    apart = points[:, None] - points[None, :] + np.eye(count + 1)
    slopes = np.outer(weights, 1.0 / weights) / apart
    return points, slopes - np.diag(slopes.sum(axis=1))


def multiplier(depth_mm: float, *, rpm: float, is_mean: bool = False, count: int = 48) -> float:
    """Largest ratio of the classic tool's waves of one tooth period to those of the one before.

    is_mean: with the mean of h over the period, as the zero-order solution takes it.
    """
    period = 60.0 / (rpm * TEETH)
    points, slopes = chebyshev(count)
    p = math.pi * 0.5 * (points + 1.0)  # the one tooth in the cut goes from 0 to pi in one period
    h = np.sin(p) * (KT * np.cos(p) + KN * np.sin(p))
    push = depth_mm * (np.full(len(p), 0.5 * KN) if is_mean else h) / MASS_T  # sin p cos p has no mean, sin^2 p a half
    wn, size = 2.0 * math.pi * NATURAL_HZ, count + 1
    one, none = np.eye(size), np.zeros((size, size))
    rate = slopes * 2.0 / period
    now = np.block([[rate, -one], [np.diag(wn**2 + push), rate + 2.0 * DAMPING * wn * one]])
    before = np.block([[none, none], [np.diag(push), none]])
    for first, last in ((0, size - 1), (size, 2 * size - 1)):  # place and speed go on where the period before ended
        now[first], before[first] = 0.0, 0.0
        now[first, first] = before[first, last] = 1.0
    return float(np.abs(np.linalg.eigvals(np.linalg.solve(now, before))).max())
