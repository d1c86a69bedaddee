"""The fit of the cutting pressure on invented readings: it finds what was put in, and never says more than it knows."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from proveout.cutting.unit_force_fit import USED_MM, UnitForceFit, fit_unit_force
from proveout.quantities.errors import OutOfRange

TRUE, EXPONENT = 700.0, 0.25


def fitted(
    *, chips: Any, scatter: float = 0.0, seed: int = 1, step: float = 0.0, given: float = EXPONENT,
    true: float = EXPONENT,
) -> UnitForceFit:  # fmt: skip
    chips = np.asarray(chips)
    removal = np.linspace(300.0, 1500.0, len(chips))
    noise = np.exp(scatter * np.random.default_rng(seed).standard_normal(len(chips)))
    return fit_unit_force(
        power_mw=TRUE * chips**-true * removal * noise, removal_mm3_per_s=removal, chip_mm=chips,
        step_ratio=np.full(len(chips), step), exponent_ratio=given,
    )  # fmt: skip


SAME = np.full(6, 0.04)
WIDE = np.geomspace(0.02, 0.08, 8)


def test_readings_without_error_give_back_the_pressure() -> None:
    """Worked: only the exponent is unknown, by 0.05. Of 0.01 and 0.3 mm the second lies farther from 0.04 mm:
    ln(0.3 / 0.04) = 2.0149, times 0.05 is 0.1007.
    """
    found = fitted(chips=SAME)
    assert found.nominal_mpa == pytest.approx(TRUE)
    assert not found.is_exponent_fitted
    assert found.half == pytest.approx(0.05 * math.log(0.3 / 0.04))
    assert (found.low_mpa, found.high_mpa) == pytest.approx((TRUE * math.exp(-found.half), TRUE * math.exp(found.half)))


def test_the_scatter_is_that_of_the_next_reading_by_hand() -> None:
    """Worked: logarithms 0.1 up and down, six of them: s = 0.1 sqrt(6/5), t of 5 is 2.5706, times sqrt(7/6)."""
    chips, removal = SAME, np.full(6, 1000.0)
    power = TRUE * chips**-EXPONENT * removal * np.exp(np.array([0.1, -0.1] * 3))
    found = fit_unit_force(
        power_mw=power, removal_mm3_per_s=removal, chip_mm=chips, step_ratio=np.full(6, 0.02), exponent_ratio=EXPONENT
    )
    by_hand = 2.5706 * 0.1 * math.sqrt(6.0 / 5.0) * math.sqrt(7.0 / 6.0) + 0.02 + 0.05 * math.log(0.3 / 0.04)
    assert found.half == pytest.approx(by_hand, rel=1e-4)
    assert found.residuals == pytest.approx((0.1, -0.1) * 3)


def test_the_exponent_is_fitted_only_where_chips_differ_and_decide_it() -> None:
    assert fitted(chips=WIDE, given=0.2, true=0.3).exponent_ratio == pytest.approx(0.3)
    assert fitted(chips=np.geomspace(0.02, 0.048, 8), given=0.2, true=0.3).exponent_ratio == 0.2
    assert fitted(chips=np.geomspace(0.02, 0.08, 5), given=0.2, true=0.3).exponent_ratio == 0.2
    assert fitted(chips=WIDE, scatter=0.3, given=0.2, true=0.3).exponent_ratio == 0.2
    assert fitted(chips=WIDE, given=0.2, true=0.48).exponent_ratio == 0.2


@pytest.mark.parametrize("chips", [SAME, WIDE], ids=["one feed", "many feeds"])
def test_the_true_pressure_lies_within_nearly_always(chips: Any) -> None:
    """At every thickness that it is used for, of 300 draws with a scatter of 8 percent."""
    missed = 0
    for seed in range(300):
        found = fitted(chips=chips, scatter=0.08, seed=seed)
        for h in USED_MM:
            true = TRUE * h**-EXPONENT
            ends = [end * h**-found.exponent_ratio for end in (found.low_mpa, found.high_mpa)]
            missed += not ends[0] <= true <= ends[1]
    assert missed <= 15


def test_more_scatter_and_coarser_meters_only_widen() -> None:
    assert fitted(chips=SAME, scatter=0.1).half > fitted(chips=SAME, scatter=0.05).half > fitted(chips=SAME).half
    assert fitted(chips=SAME, step=0.1).half == pytest.approx(fitted(chips=SAME).half + 0.1)


def test_too_few_or_impossible_readings_are_refused() -> None:
    with pytest.raises(OutOfRange, match="needs readings"):
        fitted(chips=SAME[:4])
    with pytest.raises(OutOfRange, match="out of range"):
        fit_unit_force(
            power_mw=np.zeros(5), removal_mm3_per_s=np.ones(5), chip_mm=np.ones(5), step_ratio=np.zeros(5),
            exponent_ratio=0.25,
        )  # fmt: skip
