"""Thrust, torque and power of a twist drill by a handbook's factors: a second method, to set beside the maker's."""

from __future__ import annotations

from typing import Literal, NamedTuple

from proveout.quantities.bounds import between, zero_or_more
from proveout.quantities.measures import MW_PER_HP, N_PER_LBF
from proveout.quantities.units import MM_PER_INCH, RAD_PER_S_PER_RPM

# what the rows of the tables that were seen span; outside we refuse
LEAST_MM, MOST_MM = 6.35, 25.4
FEED_LEAST_MM, FEED_MOST_MM = 0.1, 0.508
FEED_POWER, THRUST_POWER, TORQUE_POWER = 0.8, 0.8, 1.8
TURN_RPM_IN_LB_PER_HP = 63025.0
Point = Literal["standard", "split"]


class _Chisel(NamedTuple):
    torque: float
    thrust: float
    push: float


# A, B and J: of a chisel edge of 0.18 and of 0.03 of the diameter
_CHISELS: dict[str, _Chisel] = {"standard": _Chisel(1.085, 1.355, 0.030), "split": _Chisel(1.000, 1.100, 0.001)}


def handbook_drill_thrust_n(
    *, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, wear_factor_ratio: float,
    point: Point = "standard",
) -> float:  # fmt: skip
    """Force along the axis of a twist drill by a handbook's factors.

    Formula:  T[lb] = 2 K_d F_f F_T B W + K_d d^2 J W, F_f = f^0.8, F_T = d^0.8, d and f in inches
    Args:     material_ratio: K_d, 1000..100000 (24 000 for steel of 200 HB, 7000 for aluminium alloys: from memory).
              diameter_mm: d, 6.35..25.4.   feed_per_turn_mm: f, 0.1..0.508.   wear_factor_ratio: W, 1..3; 1.30 of a
              drill in use.   point: standard, a chisel edge of 0.18 d, or split, of 0.03 d: B 1.355 and J 0.030, or
              1.100 and 0.001.
    Returns:  N, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the rows of its tables that were seen; a point in solid metal; plans use the drill maker's formula, which
              asks for more in aluminium.
    Source:   drilling_handbook p. 1152, seen directly.   Departs: the tables of F_f and F_T as powers, which give
              every row seen to its last place.
    Checked:  tests/published/test_drilling_handbook.py
    """
    chisel = _chisel(material_ratio, diameter_mm, feed_per_turn_mm, wear_factor_ratio, point)
    wide, feed = diameter_mm / MM_PER_INCH, feed_per_turn_mm / MM_PER_INCH
    lips = 2.0 * material_ratio * feed**FEED_POWER * wide**THRUST_POWER * chisel.thrust
    return (lips + material_ratio * wide**2 * chisel.push) * wear_factor_ratio * N_PER_LBF


def handbook_drill_torque_n_mm(
    *, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, wear_factor_ratio: float,
    point: Point = "standard",
) -> float:  # fmt: skip
    """Torque of a twist drill by a handbook's factors.

    Formula:  M[lb in] = K_d F_f F_M A W, F_f = f^0.8, F_M = d^1.8, d and f in inches
    Args:     material_ratio: K_d, 1000..100000 (24 000 for steel of 200 HB, 7000 for aluminium alloys: from memory).
              diameter_mm: d, 6.35..25.4.   feed_per_turn_mm: f, 0.1..0.508.   wear_factor_ratio: W, 1..3; 1.30 of a
              drill in use.   point: standard, a chisel edge of 0.18 d, or split, of 0.03 d: A 1.085 or 1.000.
    Returns:  N mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as handbook_drill_thrust_n; packed chips multiply it.
    Source:   drilling_handbook p. 1152, seen directly.   Departs: as handbook_drill_thrust_n, and N mm.
    Checked:  tests/published/test_drilling_handbook.py
    """
    return _torque_in_lb(
        material_ratio, diameter_mm, feed_per_turn_mm, wear_factor_ratio, point
    ) * (N_PER_LBF * MM_PER_INCH)  # fmt: skip


def handbook_drill_power_mw(
    *, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, wear_factor_ratio: float,
    spindle_rad_per_s: float, efficiency_ratio: float, point: Point = "standard",
) -> float:  # fmt: skip
    """Power of a twist drill by a handbook's factors; at the drill when the efficiency is 1, at the motor otherwise.

    Formula:  P[hp] = M N / 63 025 / E, M as handbook_drill_torque, N in revolutions a minute
    Args:     material_ratio: K_d, 1000..100000.   diameter_mm: d, 6.35..25.4.   feed_per_turn_mm: f, 0.1..0.508.
              wear_factor_ratio: W, 1..3.   spindle_rad_per_s: N, >= 0.   efficiency_ratio: E, 0.1..1.   point: standard
              or split.
    Returns:  mW, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as handbook_drill_torque_n_mm.
    Source:   drilling_handbook p. 1153, seen directly.   Departs: mW and rad/s.
    Checked:  tests/published/test_drilling_handbook.py
    """
    zero_or_more(spindle_rad_per_s=spindle_rad_per_s)
    between(low=0.1, high=1.0, efficiency_ratio=efficiency_ratio)
    torque = _torque_in_lb(material_ratio, diameter_mm, feed_per_turn_mm, wear_factor_ratio, point)
    at_drill = torque * (spindle_rad_per_s / RAD_PER_S_PER_RPM) / TURN_RPM_IN_LB_PER_HP * MW_PER_HP
    return at_drill / efficiency_ratio


def _torque_in_lb(
    material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, wear_factor_ratio: float, point: Point
) -> float:
    chisel = _chisel(material_ratio, diameter_mm, feed_per_turn_mm, wear_factor_ratio, point)
    wide, feed = diameter_mm / MM_PER_INCH, feed_per_turn_mm / MM_PER_INCH
    return material_ratio * feed**FEED_POWER * wide**TORQUE_POWER * chisel.torque * wear_factor_ratio


def _chisel(
    material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, wear_factor_ratio: float, point: Point
) -> _Chisel:
    between(low=1000.0, high=100_000.0, material_ratio=material_ratio)
    between(low=LEAST_MM, high=MOST_MM, diameter_mm=diameter_mm)
    between(low=FEED_LEAST_MM, high=FEED_MOST_MM, feed_per_turn_mm=feed_per_turn_mm)
    between(low=1.0, high=3.0, wear_factor_ratio=wear_factor_ratio)
    return _CHISELS[point]
