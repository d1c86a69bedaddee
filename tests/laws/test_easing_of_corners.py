"""What is eased begins from the depth that the pass was laid with, and the passes agree with it on that depth."""

from __future__ import annotations

import pytest

from proveout.cutting import easing
from proveout.cutting.easing import tighten_cut
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.stages.passes import roughing

NAMES = {"pass_id": "p", "clamping_id": "c"}


def load() -> PassLoad:
    return PassLoad(
        **NAMES, is_tilted=False, tangential_n=300.0, plane_n=350.0, axial_n=100.0,
        torque_n_mm=900.0, power_mw=1e5, height_mm=20.0, along_mm=10.0, across_mm=10.0, radial_mm=1.0, axial_mm=7.5,
    )  # fmt: skip


@pytest.mark.parametrize(("kind", "usual"), [("rough", 0.5), ("rough corners", 1.5)])
def test_corners_are_eased_from_their_own_depth(kind: str, usual: float) -> None:
    # worked: a reserve of 0.8 takes four fifths of the depth there was
    step = tighten_cut(load(), 0.8, kind, "EM5", 5.0, Limits())
    assert step is not None
    assert (step.quantity, step.bound) == ("axial_ratio", pytest.approx(0.8 * usual))


def test_both_begin_from_the_same_depths() -> None:
    assert easing.AXIAL_DEFAULT == roughing.AXIAL_RATIO
    assert easing.CORNER_DEFAULT == roughing.CORNER_AXIAL_RATIO
