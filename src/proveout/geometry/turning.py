"""How a work on a table with two rotary axes turns (ISO 841: A about X, C about the table's own Z)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray


def turn_of(*, a_rad: float, c_rad: float) -> NDArray[np.float64]:
    """(3, 3) Rx(A) Rz(C): takes directions of the work at A = C = 0 to where they then point in the machine.

    Both angles count as the work turns, by the right-hand rule about machine +X and +Z.
    """
    sin_a, cos_a, sin_c, cos_c = math.sin(a_rad), math.cos(a_rad), math.sin(c_rad), math.cos(c_rad)
    about_x = np.array([[1.0, 0.0, 0.0], [0.0, cos_a, -sin_a], [0.0, sin_a, cos_a]])
    about_z = np.array([[cos_c, -sin_c, 0.0], [sin_c, cos_c, 0.0], [0.0, 0.0, 1.0]])
    return about_x @ about_z
