"""What a spindle keeps up at a speed, and the highest speed at which it carries a torque."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.model.measured import EFFICIENCY
from proveout.model.pace import OWN_SPEED, POWER, RATED, RATED_HOLDER, TOP_SPEED, TORQUE
from proveout.model.shop import Cutter, Machine

Floats = NDArray[np.float64]


def top_speed(cutter: Cutter, machine: Machine) -> tuple[float, str]:
    """The highest speed in rad/s that a machine may turn a cutter at, and which limit that is, in words.

    The cutter's own speed counts first where several are alike, then a rating, then the spindle.
    """
    tops = [(2.0 * cutter.cutting_speed_mm_per_s / cutter.diameter_mm, OWN_SPEED)]
    if cutter.speed_max_rad_per_s is not None:
        tops.append((cutter.speed_max_rad_per_s, RATED))
    if cutter.holder_speed_max_rad_per_s is not None:
        tops.append((cutter.holder_speed_max_rad_per_s, RATED_HOLDER))
    tops.append((machine.speed_max_rad_per_s, TOP_SPEED))
    return min(tops, key=lambda top: top[0])


def lasting_torque_n_mm(machine: Machine, speed_rad_per_s: float) -> float | None:
    """Torque that the spindle keeps up at a speed.

    Formula:  straight between the speeds that are written
    Args:     machine: its torque by speed.   speed_rad_per_s: n, > 0.
    Returns:  N mm, or None where nobody wrote one about that speed.
    Raises:   nothing.
    Valid:    as the shop file says it.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py, tests/stages/loads/test_loads.py
    """
    speeds = [speed for speed, _ in machine.torque_curve]
    if not speeds or not speeds[0] <= speed_rad_per_s <= speeds[-1]:
        return None
    return float(np.interp(speed_rad_per_s, speeds, [torque for _, torque in machine.torque_curve]))


def torques_at_edge_n_mm(machine: Machine, *, speeds_rad_per_s: Floats) -> Floats:
    """Torque at the edge that the spindle is sure to carry at each speed.

    Formula:  T = eta min(P / n, M(n))   (eta the least of the efficiency, P the power, M the torque that lasts at n,
              straight between the speeds that are written and none outside them)
    Args:     machine: its power, and its torque by speed where that is written.   speeds_rad_per_s: (k,) n, > 0.
    Returns:  N mm, (k,) >= 0.
    Raises:   nothing.
    Valid:    where nobody wrote a torque by speed only the power counts.
    Source:   milling_power_problem, seen directly, for P = M n.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py
    """
    most = machine.power_mw / speeds_rad_per_s
    if machine.torque_curve:
        at, torques = (np.array(column) for column in zip(*machine.torque_curve, strict=True))
        most = np.minimum(most, np.interp(speeds_rad_per_s, at, torques, left=0.0, right=0.0))
    return EFFICIENCY.low * most


def highest_speed_rad_per_s(
    machine: Machine, *, torque_n_mm: float, low_rad_per_s: float, high_rad_per_s: float
) -> tuple[float, str] | None:
    """The highest speed between two at which the spindle carries a torque at the edge; None where it never does.

    Formula:  the largest n at which T <= eta min(P / n, M(n)): P eta / T, or where T / eta meets the straight line
              between two speeds that are written
    Args:     machine: P and M.   torque_n_mm: T, >= 0.   low_rad_per_s, high_rad_per_s: ends of n, above 0.
    Returns:  rad/s, and power or torque in words where that is less than the high end, empty where it is not.
    Raises:   nothing.
    Valid:    as torques_at_edge_n_mm.
    Source:   milling_power_problem, seen directly, for P = M n.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py
    """
    asked, top, by = torque_n_mm / EFFICIENCY.low, high_rad_per_s, ""
    if asked * top > machine.power_mw:
        top, by = machine.power_mw / asked * (1.0 - 1e-12), POWER
    if machine.torque_curve:
        met = _meets(machine.torque_curve, asked, top)
        if met is None:
            return None
        if met < top:
            top, by = met, TORQUE
    return None if top < low_rad_per_s else (top, by)


def _meets(curve: tuple[tuple[float, float], ...], asked_n_mm: float, most: float) -> float | None:
    """The highest speed up to a most at which a curve of speed and torque is at least as high as asked."""
    for (low, first), (high, last) in zip(curve[-2::-1], curve[:0:-1], strict=True):
        end = min(high, most)
        if end < low:
            continue
        at_end = first + (last - first) * (end - low) / (high - low)
        if at_end >= asked_n_mm:
            return end
        if first >= asked_n_mm:
            met = low + (first - asked_n_mm) / (first - last) * (high - low)
            return min(end, met * (1.0 - 1e-12)) if met > low else low
    return None


def power_or_torque(machine: Machine, speed_rad_per_s: float) -> str:
    """Which of both holds a cut down at a speed, in words."""
    lasting = lasting_torque_n_mm(machine, speed_rad_per_s)
    by_power = machine.power_mw / max(speed_rad_per_s, math.ulp(1.0))
    return TORQUE if machine.torque_curve and (lasting or 0.0) < by_power else POWER
