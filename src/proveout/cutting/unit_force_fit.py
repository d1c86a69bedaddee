"""The cutting pressure of a metal from what spindles really took, and how well the readings decide it."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import between
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
READINGS_LEAST = 5
CONFIDENCE_RATIO = 0.95
EXPONENT_SPREAD, EXPONENT_READINGS = 2.5, 6
"""The thickest chip in the thinnest, and how many readings, before the exponent is fitted as well."""
EXPONENT_ERROR_MOST = 0.1
EXPONENT_LEAST, EXPONENT_MOST = 0.05, 0.45
EXPONENT_ERROR = 0.05
"""How far an exponent that was not fitted may be off: makers' tables span as much for aluminium and mild steels."""
USED_MM = (0.01, 0.3)
"""Thicknesses of chip that the pressure is used for: an error of the exponent grows towards both."""


class UnitForceFit(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What readings say of k_c1.1, as if all power above idle reached the edge.

    exponent_error_ratio: half-width of m_c.   residuals: of each reading, natural logarithm of read in fitted.   half:
    half-width of the logarithm of k_c1.1.
    """

    low_mpa: float
    nominal_mpa: float
    high_mpa: float
    exponent_ratio: float
    exponent_error_ratio: float
    is_exponent_fitted: bool
    residuals: tuple[float, ...]
    half: float


def fit_unit_force(
    *, power_mw: Floats, removal_mm3_per_s: Floats, chip_mm: Floats, step_ratio: Floats, exponent_ratio: float
) -> UnitForceFit:
    """k_c1.1 with the interval in which the next reading lies, from power, metal removed and mean chip thickness.

    Formula:  ln(P / Q) = ln k_c1.1 - m_c ln h_m by least squares; half-width of ln k_c1.1 = t s sqrt(1 + 1/n) + mean of
              the readings' steps + error of m_c times the greatest |ln(h / h_0)|, h from 0.01 to 0.3 mm and h_0 the
              readings' geometric mean; s of n - 1 readings, or n - 2 where m_c is fitted as well
    Args:     power_mw: (n,) P, read above idle, > 0.   removal_mm3_per_s: (n,) Q, > 0.   chip_mm: (n,) h_m, > 0.
              step_ratio: (n,) the meter's step in shares of P, >= 0.   exponent_ratio: m_c where it is not fitted.
    Returns:  the fit; m_c is fitted where six readings or more have chips 2.5 times as thick as the thinnest, and they
              decide it within 0.1.
    Raises:   OutOfRange for fewer than five readings, arrays that differ in length, or an argument out of its bounds.
    Valid:    steady side cuts with square edges; readings with errors of their own, not one and the same.
    Source:   material_group_table p. 558 for the law, seen directly; probability_identities.   Departs: the interval of
              the next reading in place of the mean's, and errors of step and exponent added in full.
    Checked:  tests/laws/test_unit_force_fit.py
    """
    count = len(power_mw)
    if count < READINGS_LEAST or not count == len(removal_mm3_per_s) == len(chip_mm) == len(step_ratio):
        raise OutOfRange("A fit needs readings", value=str(count), limit=f"{READINGS_LEAST} or more, of each quantity")
    if min(power_mw.min(), removal_mm3_per_s.min(), chip_mm.min()) <= 0.0 or step_ratio.min() < 0.0:
        raise OutOfRange("A reading is out of range", value=f"{power_mw.min():g} mW", limit="above 0")
    between(low=0.0, high=0.5, exponent_ratio=exponent_ratio)
    y, x = np.log(power_mw / removal_mm3_per_s), np.log(chip_mm)
    exponent, error, is_fitted = exponent_ratio, EXPONENT_ERROR, False
    if count >= EXPONENT_READINGS and float(np.ptp(x)) >= math.log(EXPONENT_SPREAD):
        away = x - x.mean()
        slope = float(away @ y / (away @ away))
        left = y - y.mean() - slope * away
        reach = _student(count - 2) * math.sqrt(float(left @ left) / (count - 2) / float(away @ away))
        if reach <= EXPONENT_ERROR_MOST and EXPONENT_LEAST <= -slope <= EXPONENT_MOST:
            exponent, error, is_fitted = -slope, reach, True
    logs = y + exponent * x
    middle = float(logs.mean())
    residuals = logs - middle
    spare = count - 2 if is_fitted else count - 1
    scatter = math.sqrt(float(residuals @ residuals) / spare)
    lever = max(abs(math.log(h) - float(x.mean())) for h in USED_MM)
    half = _student(spare) * scatter * math.sqrt(1.0 + 1.0 / count) + float(step_ratio.mean()) + error * lever
    return UnitForceFit(
        low_mpa=math.exp(middle - half), nominal_mpa=math.exp(middle), high_mpa=math.exp(middle + half),
        exponent_ratio=exponent, exponent_error_ratio=error, is_exponent_fitted=is_fitted,
        residuals=tuple(float(v) for v in residuals), half=half,
    )  # fmt: skip


def _student(spare: int) -> float:
    """Two-sided quantile of Student's distribution."""
    from scipy.special import stdtrit

    return float(stdtrit(spare, 0.5 + CONFIDENCE_RATIO / 2.0))
