"""A strip pressed on its ends: the load at which it bows away, of one section or of sections that change along it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero
from proveout.quantities.errors import OutOfRange

RESERVE_ASKED = 2.0
"""Common practice, no source: of the load at which a strip bows away, as no blank is flat and no jaw is square."""
RESERVE_MOST = 99.0


def reserve_told(reserve: float) -> float:
    """A reserve as it is told: rounded against us; beyond some size its exact value says nothing."""
    return min(RESERVE_MOST, math.floor(reserve * 1e4) / 1e4)


def buckling_load_n(*, elastic_mpa: float, width_mm: float, thickness_mm: float, length_mm: float) -> float:
    """Load at which a flat strip pressed on its ends bows away.

    Formula:  P = pi^2 E I / L^2, I = w t^3 / 12, w and t so named that t is the smaller   (E elastic modulus, L length)
    Args:     elastic_mpa: E, > 0.   width_mm, thickness_mm: the two sides of the section, >= 0.   length_mm: L, > 0.
    Returns:  N, >= 0; 0 when a side is 0.
    Raises:   OutOfRange when length_mm is not above 0.
    Valid:    elastic, ends free to turn, pressed in the middle of the section; a stocky block yields before it bows.
    Source:   euler_column, derived here.   Departs: nothing.
    Checked:  tests/stages/holding/test_squeeze.py
    """
    above_zero(length_mm=length_mm)
    thin, wide = sorted((width_mm, thickness_mm))
    return math.pi**2 * elastic_mpa * wide * thin**3 / 12.0 / length_mm**2


def weakest_moments_mm4(thick_mm: NDArray[np.float64], *, pressed_count: int, cell_mm: float) -> NDArray[np.float64]:
    """Second moments of work between two jaws, at every place across it, of the weakest stretch that they press.

    Formula:  I = least sum of dx t^3 / 12 over the pieces of metal of a stretch, each bending for itself
    Args:     thick_mm: t (n, m, p), of p pieces above each other at n places along the jaws and m across.
              pressed_count: places along that the jaws press on, 1..n.   cell_mm: dx, > 0.
    Returns:  mm4, (m,) >= 0; no more than what the section as a whole has.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    of the whole length the weakest stretch is taken at every place across anew.
    Source:   euler_column, derived here.   Departs: nothing.
    Checked:  tests/laws/test_strip.py
    """
    above_zero(cell_mm=cell_mm)
    if thick_mm.ndim != 3 or not 1 <= pressed_count <= len(thick_mm):
        raise OutOfRange("A stretch is no longer than the work", where="pressed_count", value=f"{pressed_count}")
    summed = np.vstack([np.zeros((1, thick_mm.shape[1])), (thick_mm * thick_mm * thick_mm).sum(axis=2).cumsum(axis=0)])
    stretches = summed[pressed_count:] - summed[:-pressed_count]
    return np.asarray(stretches.min(axis=0).clip(min=0.0) * cell_mm / 12.0)


def varying_strip_load_n(*, elastic_mpa: float, second_moments_mm4: NDArray[np.float64], length_mm: float) -> float:
    """Load at which a straight strip of changing section, pressed on its ends, bows away.

    Formula:  smallest P with E I(y) w'' + P w = 0, w = 0 at both ends   (w bow, y along the strip of length L), as the
              least eigenvalue of central differences at the middles of n equal cells: for I alike everywhere
              4 n^2 sin^2(pi / (2 n)) / pi^2 of pi^2 E I / L^2, below it by less than 1 % from n = 10
    Args:     elastic_mpa: E, > 0.   second_moments_mm4: I at the middles of equal cells along the strip, >= 0, at least
              8 of them.   length_mm: L, > 0.
    Returns:  N, >= 0; 0 when any I is 0: a slot right across is a hinge.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    elastic, straight, pressed in the middle of each section, ends free to turn.
    Source:   euler_column, derived here.   Departs: nothing.
    Checked:  tests/laws/test_strip.py
    """
    moments = np.asarray(second_moments_mm4, dtype=np.float64)
    if moments.ndim != 1 or len(moments) < 8 or not np.isfinite(moments).all() or (moments < 0.0).any():
        raise OutOfRange("A strip needs at least 8 second moments, none negative", value=str(moments.shape))
    if not (elastic_mpa > 0.0 and length_mm > 0.0):
        raise OutOfRange("A strip needs a length and a modulus above 0", value=f"{length_mm} mm, {elastic_mpa} MPa")
    if (moments == 0.0).any():
        return 0.0
    count = len(moments)
    cell = length_mm / count
    # w at the middles of cells; the ends lie half a cell beyond the first and the last, where w is mirrored to -w
    stiff = 2.0 * np.eye(count) - np.eye(count, k=1) - np.eye(count, k=-1)
    stiff[0, 0] = stiff[-1, -1] = 3.0
    root = np.sqrt(elastic_mpa * moments)
    least = float(np.linalg.eigvalsh(root[:, None] * stiff * root[None, :])[0])
    return max(0.0, least / cell**2)
