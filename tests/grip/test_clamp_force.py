"""The force by a chart: its points, straight between them, and nothing beyond."""

from __future__ import annotations

import pytest

from proveout.grip.clamp_force import clamp_force_from_chart_n
from proveout.quantities.errors import OutOfRange

TORQUES, FORCES = (30e3, 60e3, 90e3), (8e3, 16e3, 20e3)


@pytest.mark.parametrize(("torque", "force"), [(30e3, 8e3), (45e3, 12e3), (60e3, 16e3), (75e3, 18e3), (90e3, 20e3)])
def test_between_two_points_it_runs_straight(torque: float, force: float) -> None:
    found = clamp_force_from_chart_n(torque_n_mm=torque, chart_torques_n_mm=TORQUES, chart_forces_n=FORCES)
    assert found == pytest.approx(force)


@pytest.mark.parametrize(
    ("torque", "torques", "forces"),
    [(29e3, TORQUES, FORCES), (91e3, TORQUES, FORCES), (60e3, TORQUES, FORCES[:2]), (60e3, TORQUES[::-1], FORCES),
     (60e3, TORQUES, (-1.0, 16e3, 20e3)), (30e3, TORQUES[:1], FORCES[:1])],
)  # fmt: skip
def test_beyond_the_chart_nothing_is_told(torque: float, torques: tuple[float, ...], forces: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRange):
        clamp_force_from_chart_n(torque_n_mm=torque, chart_torques_n_mm=torques, chart_forces_n=forces)
