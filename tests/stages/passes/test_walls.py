"""What wall passes take out of the believed work."""

from __future__ import annotations

from typing import Any

import numpy as np

from proveout.stages.passes.areas import swath_of
from proveout.stages.passes.view import OVERLAP_MM
from proveout.stages.passes.walls import Gone

LINE = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 20.0]])


def swath(radius_mm: float = 5.0) -> Any:
    return swath_of([LINE], radius_mm)


def test_only_what_stands_below_a_higher_loop_is_left_to_take() -> None:
    gone = Gone()
    assert gone.above(swath(), 10.0) is None
    # worked: the loop at 10 has cleared this very swath above 10, and one 0.01 wider but for what NEAR_MM forgives
    assert gone.above(swath(), 8.0) == 10.0 + OVERLAP_MM
    assert gone.above(swath(5.01), 8.0) == 10.0 + OVERLAP_MM
    assert gone.above(swath(5.2), 6.0) is None
    # the loops of one height do not vouch for each other
    assert gone.above(swath(), 6.0) == 8.0 + OVERLAP_MM
