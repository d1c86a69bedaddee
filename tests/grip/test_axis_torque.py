"""Torque about a rotary axis that a cut is sure to make: worked by hand, and never above what edges make."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from proveout.grip.axis_torque import edge_torques_n_mm, thrust_torques_n_mm
from proveout.model.sure_push import SureEdges, SureThrust
from proveout.quantities.errors import OutOfRange

X, Y, Z = np.eye(3)
DRILL = SureThrust(
    is_whole=np.array([True]), thrust_low_n=700.0, thrust_high_n=1000.0, torque_low_n_mm=2000.0,
    torque_high_n_mm=4000.0,
)  # fmt: skip


def drilled(low: Any, high: Any, *, about: Any = X, axis: Any = Z, sure: SureThrust = DRILL) -> float:
    boxes = {"arms_low_mm": np.array([low], dtype=float), "arms_high_mm": np.array([high], dtype=float)}
    return float(thrust_torques_n_mm(sure, rotary_axis=about, cutter_axis=axis, **boxes)[0])


def test_a_drill_beside_the_axis_worked_by_hand() -> None:
    """Worked. Down along z at y 120 to 160 from an axis along x: at least 700 N 120 mm; the couple is square to it."""
    assert drilled((-5, 120, 0), (5, 160, 30)) == pytest.approx(84e3)
    assert drilled((-5, -160, 0), (5, -120, 30)) == pytest.approx(84e3)
    # over the axis it may push through it
    assert drilled((-5, -10, 0), (5, 160, 30)) == 0.0
    # along the axis itself only the couple is left, at least 2 N m
    assert drilled((-5, -10, 0), (5, 160, 30), about=Z) == pytest.approx(2e3)


def test_thrust_and_couple_work_against_each_other_worked_by_hand() -> None:
    """Worked. n = (0, s, s), d = z, r = (x, 0, 0): F (-n) = -s F (0, 1, 1), M = x F_y - T s = -s (F x + T).

    At x = 100: s (700 100 + 2000) = 50 912. At x = -100 thrust and couple part: s (70 000 - 4000) = 46 669.
    """
    s = math.sqrt(0.5)
    axis = np.array([0.0, s, s])
    assert drilled((100, 0, 0), (100, 0, 0), about=Z, axis=axis) == pytest.approx(s * 72e3)
    assert drilled((-100, 0, 0), (-100, 0, 0), about=Z, axis=axis) == pytest.approx(s * 66e3)


def test_a_drill_that_is_not_in_solid_metal_is_sure_of_nothing() -> None:
    idle = SureThrust(
        is_whole=np.array([False]), thrust_low_n=700.0, thrust_high_n=1000.0, torque_low_n_mm=2000.0,
        torque_high_n_mm=4000.0,
    )  # fmt: skip
    assert drilled((0, 120, 0), (0, 160, 0), sure=idle) == 0.0


# Al 7050, as in the check of linear edge forces: N/mm2 and N/mm
K_T, E_T, K_R, E_R, K_A = 796.1, 27.7, 168.8, 30.8, 222.0
CHIPS = np.linspace(1e-6, 0.25, 4000)


def edges_of(
    section: float, *, deep: float = 2.0, turn: float = 0.2, way: Any = X, teeth: int = 4, radius: float = 10.0,
    radial: float = 1.0, axial: float = 1.0, spread: float = 0.0,
) -> SureEdges:  # fmt: skip
    """Linear edges; spread: of the tangential law to either side, and of the section."""
    most = K_T * CHIPS + teeth * E_T
    return SureEdges(
        section_low_mm2=np.array([section * (1.0 - spread)]), section_high_mm2=np.array([section * (1.0 + spread)]),
        deep_mm=np.array([deep]), turn_feed_mm=np.array([turn]), way=np.array([way], dtype=float), radius_mm=radius,
        axis_low_mm=np.zeros((1, 3)), axis_high_mm=np.zeros((1, 3)), chips_mm=CHIPS,
        tangential_low_n_per_mm=(1.0 - spread) * (K_T * CHIPS + E_T * teeth),
        tangential_high_n_per_mm=(1.0 + spread) * most, radial_high_n_per_mm=radial * (K_R * CHIPS + teeth * E_R),
        axial_high_n_per_mm=axial * K_A * CHIPS,
    )  # fmt: skip


def milled(sure: SureEdges, low: Any, high: Any, *, about: Any = Z, axis: Any = Z) -> float:
    boxes = {"arms_low_mm": np.array([low], dtype=float), "arms_high_mm": np.array([high], dtype=float)}
    return float(edge_torques_n_mm(sure, rotary_axis=about, cutter_axis=axis, **boxes)[0])


def test_a_slot_makes_the_torque_of_the_closed_form() -> None:
    """Worked. Four teeth, 2 mm deep, 0.05 a tooth, D 20: the mean force across the way is 150.15 N (F1 of the table).

    Round the cutter T = 2 mm 10 mm (4 x 796.1 0.05 2 + 4 x 27.7 pi) / (2 pi) = 3135 N mm. Along x, 300 mm ahead of an
    axis beside the spindle's, the force pushes to -y: both turn with the clock: 45 045 + 3135. 300 mm behind: less.
    """
    slot = edges_of(2.0 * 20.0, radial=0.0, axial=0.0)
    torque = 2.0 * 10.0 * (4 * K_T * 0.05 * 2.0 + 4 * E_T * math.pi) / (2.0 * math.pi)
    across = 4 * 2.0 * (K_T * 0.05 / 4.0 + E_T / math.pi)
    assert across == pytest.approx(150.15, rel=1e-3)
    for arm, whole in ((300.0, 300.0 * across + torque), (-300.0, 300.0 * across - torque)):
        found = milled(slot, (arm, 0, 0), (arm, 0, 0))
        assert 0.95 * whole <= found <= whole
    # a push off the wall of unknown size can take some of it away, never add
    assert milled(edges_of(40.0), (300, 0, 0), (300, 0, 0)) < milled(slot, (300, 0, 0), (300, 0, 0))


def mean_torque(
    sure: SureEdges, arm: Any, about: Any, axis: Any, standing: Any, *, share: float, radial: float, axial: float
) -> float:
    """By brute force: vectors of every angle of a turn, each with the metal that stands there."""
    steps = len(standing)
    t = -math.pi / 2.0 + (np.arange(steps) + 0.5) * math.pi / steps
    front = sure.way[0]
    e = np.outer(np.cos(t), front) + np.outer(np.sin(t), np.cross(axis, front))
    chip = sure.turn_feed_mm[0] * np.cos(t)[:, None]
    round_n = share * (K_T * chip + 4 * E_T)
    force = round_n * np.cross(-axis, e) + radial * (K_R * chip + 4 * E_R) * e + axial * K_A * chip * axis
    torque = np.cross(np.asarray(arm) + sure.radius_mm * e, force) @ about
    return float((standing * torque).sum()) * (math.pi / steps) / (2.0 * math.pi)


def test_no_metal_before_the_cutter_makes_less_than_what_is_called_sure() -> None:
    """Whatever side, width, height and laws within the ends; and the bound says something where the arm is long."""
    rng, said = np.random.default_rng(5), 0
    for draw in range(200):
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        # every second cutter stands beside its rotary axis: what its edges push along themselves is then out of it
        about = rng.normal(size=3) if draw % 2 else axis.copy()
        about /= np.linalg.norm(about)
        way = np.cross(axis, rng.normal(size=3))
        way /= np.linalg.norm(way)
        steps, deep = 720, 2.0
        first, last = (
            np.sort(rng.uniform(-math.pi / 2.0, math.pi / 2.0, 2)) if draw % 3 else (-math.pi / 2.0, math.pi / 2.0)
        )
        angles = -math.pi / 2.0 + (np.arange(steps) + 0.5) * math.pi / steps
        standing = np.where((angles >= first) & (angles <= last), rng.uniform(0.8, 1.0) * deep, 0.0)
        section = float((standing * 10.0 * np.cos(angles)).sum() * math.pi / steps)
        if section < 0.5:
            continue
        sure = edges_of(section, way=way, spread=0.1)
        arm = rng.uniform(-300.0, 300.0, 3)
        box = rng.uniform(0.0, 10.0, 3)
        found = milled(sure, arm - box, arm + box, about=about, axis=axis)
        made = mean_torque(
            sure, arm + box * rng.uniform(-1.0, 1.0, 3), about, axis, standing, share=rng.uniform(0.9, 1.1),
            radial=rng.uniform(0.0, 1.0), axial=rng.uniform(-1.0, 1.0),
        )  # fmt: skip
        assert abs(made) >= found
        said += found > 0.0
    assert said >= 40


def test_less_section_a_wider_box_and_wider_laws_never_make_more_sure() -> None:
    slot = milled(edges_of(40.0), (300, 0, 0), (300, 0, 0))
    assert slot > 0.0
    assert milled(edges_of(40.0, spread=0.1), (300, 0, 0), (300, 0, 0)) < slot
    assert milled(edges_of(30.0), (300, 0, 0), (300, 0, 0)) < slot
    assert milled(edges_of(40.0), (280, -20, 0), (320, 20, 0)) < slot
    assert milled(edges_of(0.0), (300, 0, 0), (300, 0, 0)) == 0.0


def test_boxes_that_fit_no_move_are_refused() -> None:
    with pytest.raises(OutOfRange, match="one box of places"):
        drilled((5, 0, 0), (-5, 0, 0))
