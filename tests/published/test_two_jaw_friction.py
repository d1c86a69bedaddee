"""Two faces rub. Worked: 2.5 * 1613 / (2 * 0.2) = 10 081 N. One face alone would give twice that."""

from __future__ import annotations

from collections.abc import Callable

from proveout.grip.clamp_force import clamp_force_for_slide_n


def test_clamp_force_for_a_pure_slide(agrees: Callable[..., None]) -> None:
    agrees(clamp_force_for_slide_n(force_along_n=1613.0, friction_ratio=0.2, safety_ratio=2.5), "10081")
