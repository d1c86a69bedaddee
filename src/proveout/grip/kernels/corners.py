"""The grip's bound at every corner of the boxes in which force and place of each move lie."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

SLIDE, LIFT, SLIP, TIP, SWING, TURN, GAPE, BEARING = range(8)
LOWEST, MOST = -9.99, 999.0


@njit(cache=True, nogil=True)
def corner_margins(
    force: np.ndarray, place: np.ndarray, couple: np.ndarray, axis: np.ndarray, patch: np.ndarray, gap: float,
    friction: float, preload_low: float, preload_high: float, strength: float, margins: np.ndarray,
    reserve: np.ndarray, pressure: np.ndarray, wrench: np.ndarray,
) -> None:  # fmt: skip
    """Fill in the worst of all corners, move by move.

    force: (k, v, 3) corners of the body that holds it.   place: (k, 2, 3) both ends, from the middle between the
    patches.   couple: (k,) about the axis, either way.   axis: (3,).   patch: (k, 6) least half length and half height,
    what M_x and M_z take of the pressure at an edge (E), and what M_y adds along and up (D_x, D_z).   margins: (k, 8).
    reserve: (k,).   pressure: (k,) at the weakest corner.   wrench: (k, 2, 6) F and M of the corner with the least
    reserve, and of that with the greatest pressure.
    """
    for row in range(force.shape[0]):
        half_length, half_height = patch[row, 0], patch[row, 1]
        area = 4.0 * half_length * half_height
        radius = math.hypot(half_length, half_height)
        margins[row, :] = 1.0
        reserve[row], pressure[row] = np.inf, 0.0
        places = 16 if couple[row] > 0.0 else 8
        for corner in range(places * force.shape[1]):
            f_x, f_y, f_z = (
                force[row, corner // places, 0],
                force[row, corner // places, 1],
                force[row, corner // places, 2],
            )
            at = corner % places
            x, y, z = place[row, at & 1, 0], place[row, at >> 1 & 1, 1], place[row, at >> 2 & 1, 2]
            own = couple[row] if at < 8 else -couple[row]
            m_x = y * f_z - z * f_y + own * axis[0]
            m_y = z * f_x - x * f_z + own * axis[1]
            m_z = x * f_y - y * f_x + own * axis[2]
            across, tip, swing, turn = abs(f_y), abs(m_x), abs(m_y), abs(m_z)
            along = abs(f_x) + 2.0 * turn / gap + patch[row, 4] * swing
            up = abs(f_z) + 2.0 * tip / gap + patch[row, 5] * swing
            edge = tip * patch[row, 2] + turn * patch[row, 3]
            shear = math.hypot(along, up)
            pressed = preload_low - across
            grasp = friction * (2.0 * pressed - edge)
            rub = friction * pressed * gap
            pushed = (preload_high + across + 0.5 * edge) / area
            _least(margins, row, SLIDE, along, grasp)
            _least(margins, row, LIFT, up, grasp)
            _least(margins, row, SLIP, shear, grasp)
            _least(margins, row, TIP, tip, rub)
            _least(margins, row, SWING, swing, 2.0 * friction * pressed * radius / 3.0)
            _least(margins, row, TURN, turn, rub)
            _least(margins, row, GAPE, edge, 2.0 * pressed)
            _least(margins, row, BEARING, pushed, strength)
            if pushed > pressure[row]:
                pressure[row] = pushed
                _keep(wrench[row, 1], f_x, f_y, f_z, m_x, m_y, m_z)
            spent = shear + friction * (2.0 * across + edge)
            own_reserve = 2.0 * friction * preload_low / spent if spent > 0.0 else MOST
            if own_reserve < reserve[row]:
                reserve[row] = own_reserve
                _keep(wrench[row, 0], f_x, f_y, f_z, m_x, m_y, m_z)
        reserve[row] = min(MOST, reserve[row])


@njit(cache=True, nogil=True)
def _least(margins: np.ndarray, row: int, mode: int, demand: float, capacity: float) -> None:
    own = (capacity - demand) / capacity if capacity > 0.0 else LOWEST
    margins[row, mode] = min(margins[row, mode], max(LOWEST, own))


@njit(cache=True, nogil=True)
def _keep(wrench: np.ndarray, f_x: float, f_y: float, f_z: float, m_x: float, m_y: float, m_z: float) -> None:
    wrench[0], wrench[1], wrench[2] = f_x, f_y, f_z
    wrench[3], wrench[4], wrench[5] = m_x, m_y, m_z
