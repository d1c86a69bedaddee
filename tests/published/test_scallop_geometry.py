"""Ridge of a round cutter, h = R - sqrt(R^2 - s^2 / 4): formula as quoted, values worked.

R 5, s 1: 5 - sqrt 24.75; R 3, s 0.3: 3 - sqrt 8.9775; R 6.35, s 0.5: 6.35 - sqrt 40.26.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.scallop import scallop_height_mm


@pytest.mark.parametrize(
    ("radius", "step", "worked"), [("5", "1", "0.025063"), ("3", "0.3", "0.0037523"), ("6.35", "0.5", "0.0049232")]
)
def test_scallop_height(agrees: Callable[..., None], radius: str, step: str, worked: str) -> None:
    agrees(scallop_height_mm(radius_mm=float(radius), step_over_mm=float(step)), worked)
