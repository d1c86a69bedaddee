"""Multipliers of the classic tool in a slot, as Y. Ding et al., Int. J. Mach. Tools Manuf. 50 (2010), are remembered.

Printed, from memory: two teeth, 600 and 200 N/mm2, 922 Hz, damping 0.011, 0.03993 kg, one direction, 5000 rpm: 0.8192,
1.0726, 1.2197, 1.4040 at 0.2, 0.5, 0.7, 1.0 mm.

Judged by polynomials over one tooth period (tests/slot_waves.py), which has no step, and by a semi-discretisation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from semi_discretisation import Spring, growth
from slot_waves import DAMPING, KN, KT, MASS_T, NATURAL_HZ, TEETH, multiplier

from proveout.cutting.stability import limit_depths_mm, lobe_depth_mm
from proveout.quantities.units import rad_per_s_from_rpm

RPM = 5000.0
PRINTED = {0.2: 0.8192, 0.5: 1.0726, 0.7: 1.2197, 1.0: 1.4040}


def stepped(depth_mm: float, steps: int) -> float:
    """The same by the semi-discretisation; a spring a million times as stiff stands for no spring along y."""
    stiffness = MASS_T * (2.0 * math.pi * NATURAL_HZ) ** 2
    return growth(
        x=Spring(NATURAL_HZ, DAMPING, stiffness), y=Spring(NATURAL_HZ, DAMPING, 1e6 * stiffness), depth_mm=depth_mm,
        rpm=RPM, teeth=TEETH, start_rad=0.0, exit_rad=math.pi, tangential_mpa=KT, radial_ratio=KN / KT, steps=steps,
    )  # fmt: skip


@pytest.mark.parametrize("depth_mm", PRINTED)
def test_the_multipliers_are_those_printed(depth_mm: float) -> None:
    """Within half a percent. 48 points and 64 give the same eight digits, 0.8197, 1.0740, 1.2216, 1.4065: the
    printed figures, 0.1 to 0.2 % lower, were taken at some finite step."""
    assert multiplier(depth_mm, rpm=RPM) == pytest.approx(PRINTED[depth_mm], rel=0.005)
    assert multiplier(depth_mm, rpm=RPM) == pytest.approx(multiplier(depth_mm, rpm=RPM, count=64), rel=1e-8)


def test_the_semi_discretisation_comes_to_the_same_as_its_steps_are_halved() -> None:
    """Its error falls to a quarter with half the step, and what that leads to is the multiplier."""
    coarse, fine = (multiplier(0.5, rpm=RPM) - stepped(0.5, steps) for steps in (60, 120))
    assert coarse / fine == pytest.approx(4.0, rel=0.05)
    assert fine - coarse / 4.0 == pytest.approx(0.0, abs=3e-4)


def test_the_lobes_call_stable_what_dies_out_and_chatter_what_grows() -> None:
    """At 5000 rpm the lobe lies between the printed depths whose waves die out and grow: above 0.2, below 0.5 mm.

    The lobe says 0.370 mm; the waves themselves begin to grow at 0.409 mm: it lies on the careful side by a tenth.
    """
    hz = np.arange(700.0, 1500.0, 0.05)
    wn, w = 2.0 * math.pi * NATURAL_HZ, 2.0 * math.pi * hz
    response = 1.0 / (MASS_T * (wn**2 - w**2 + 2j * DAMPING * wn * w))
    depths, phases = limit_depths_mm(
        frequencies_hz=hz, response_x_mm_per_n=response, response_y_mm_per_n=np.zeros_like(response), teeth_count=TEETH,
        tangential_mpa=KT, radial_ratio=KN / KT, start_rad=0.0, exit_rad=math.pi,
    )  # fmt: skip
    limit = lobe_depth_mm(
        spindle_rad_per_s=rad_per_s_from_rpm(RPM), frequencies_hz=hz, depths_mm=depths, phases_rad=phases,
        teeth_count=TEETH,
    )  # fmt: skip
    for depth, printed in PRINTED.items():
        assert (depth < limit) == (printed < 1.0) == (multiplier(depth, rpm=RPM) < 1.0)
    assert limit == pytest.approx(0.370, abs=0.001)
    assert multiplier(limit, rpm=RPM) < 1.0
    assert multiplier(0.408, rpm=RPM) < 1.0 < multiplier(0.410, rpm=RPM)
