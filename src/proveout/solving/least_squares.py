"""Least squares: numbers with which a model comes closest to measurements, and how well these decide each of them."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]
STEP = 1.0e-4


class LeastSquares(msgspec.Struct, frozen=True, kw_only=True):
    """Values found, the standard deviation of each, and the residuals there.

    deviations are those of residuals of unit size, made larger where the residuals are larger than that; infinite
    where no measurement moves with the value.
    """

    values: tuple[float, ...]
    deviations: tuple[float, ...]
    residuals: tuple[float, ...]


def least_squares(
    residuals: Callable[[Array], Array], *, start: Array, low: Array, high: Array
) -> LeastSquares:  # fmt: skip
    """Values between low and high with the least sum of squared residuals, from a start.

    residuals: (m,) in units of their own standard deviation, of values (n,), m >= n.  Derivatives by steps of 1e-4.
    The same input gives the same answer; it may be a local one.
    """
    from scipy.optimize import least_squares as solve

    count = len(residuals(start))
    if count < len(start):
        raise OutOfRange(
            "There are fewer measurements than numbers to find", value=str(count), limit=f"{len(start)} or more"
        )
    span = {"bounds": (low, high), "diff_step": STEP, "x_scale": 1.0, "jac": "3-point", "xtol": 1e-8, "ftol": 1e-6}
    found = solve(residuals, np.clip(start, low, high), method="trf", max_nfev=200, **span)
    spare = max(count - len(start), 1)
    scale = max(1.0, float(found.fun @ found.fun) / spare)
    sizes, turned = np.linalg.eigh(found.jac.T @ found.jac)
    # a direction that no residual moves with is left open: its variance is as large as it can be
    variance = np.where(sizes > 1e-9 * max(float(sizes[-1]), 1e-300), scale / np.maximum(sizes, 1e-300), np.inf)
    with np.errstate(invalid="ignore"):
        parts = np.where(turned**2 > 1e-12, turned**2 * variance, 0.0)
    return LeastSquares(
        values=tuple(float(v) for v in found.x),
        deviations=tuple(float(v) for v in np.sqrt(parts.sum(axis=1))),
        residuals=tuple(float(v) for v in found.fun),
    )
