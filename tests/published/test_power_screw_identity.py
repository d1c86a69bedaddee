"""Work of a screw. Worked: 2 pi * 0.30 * 60 N m / 5 mm = 22.6 kN."""

from __future__ import annotations

from collections.abc import Callable

from proveout.grip.clamp_force import clamp_force_from_torque_n


def test_vise_screw(agrees: Callable[..., None]) -> None:
    agrees(clamp_force_from_torque_n(torque_n_mm=60e3, lead_mm=5.0, efficiency_ratio=0.30) / 1000.0, "22.6")
