"""Lubero, printed calculation page for taps: M = k_c p^2 d / 8000, k_c 800 for long-chipping aluminium. Seen directly.

Worked: 800 * 1 * 6 / 8000 = 0.600 N m.
"""

from __future__ import annotations

from collections.abc import Callable

from proveout.cutting.tapping import tap_torque_by_pitch_n_mm


def test_m6_in_long_chipping_aluminium(agrees: Callable[..., None]) -> None:
    agrees(tap_torque_by_pitch_n_mm(specific_force_mpa=800.0, pitch_mm=1.0, major_mm=6.0) / 1000.0, "0.600")
