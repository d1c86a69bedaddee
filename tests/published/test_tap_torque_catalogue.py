"""Yamawa general catalogue 2021, p. 639: torque of cutting taps, k_c and K printed. Seen directly; values worked."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.tapping import tap_torque_by_pitch_n_mm, tap_torque_n_mm

ROWS = [
    # k_c, K, D, D_0, N m
    ("1300", "1.05", "6", "5.0", "0.525"),  # 0.57735 * 1300 * 1.05 * 1 * 16 / 24 000
    ("4000", "0.95", "8", "6.8", "2.843"),  # 0.57735 * 4000 * 0.95 * 1.44 * 21.6 / 24 000
]


@pytest.mark.parametrize(("pressure", "form", "major", "hole", "worked"), ROWS)
def test_tap_torque(agrees: Callable[..., None], pressure: str, form: str, major: str, hole: str, worked: str) -> None:
    found = tap_torque_n_mm(
        specific_force_mpa=float(pressure), form_ratio=float(form), major_mm=float(major), hole_mm=float(hole)
    )
    agrees(found / 1000.0, worked)


def test_two_makers_agree_on_m6_in_aluminium() -> None:
    first = tap_torque_n_mm(specific_force_mpa=1300.0, form_ratio=1.05, major_mm=6.0, hole_mm=5.0)
    second = tap_torque_by_pitch_n_mm(specific_force_mpa=800.0, pitch_mm=1.0, major_mm=6.0)
    assert first == pytest.approx(second, rel=0.15)
