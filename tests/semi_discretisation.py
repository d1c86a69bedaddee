"""Whether a milling cut grows waves, by a semi-discretisation: an answer that shares nothing with the lobes.

The cut is divided into short steps; in each the cutting stiffness is its mean there, and what the tooth before left is
taken as the mean of two stored steps. The largest multiplier over one tooth period tells: above 1 the waves grow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg import expm


@dataclass(frozen=True)
class Spring:
    """One mass on a spring along one direction."""

    natural_hz: float
    damping: float
    stiffness_n_per_mm: float

    def response(self, hz: np.ndarray) -> np.ndarray:
        """mm/N."""
        r = hz / self.natural_hz
        return 1.0 / (self.stiffness_n_per_mm * (1.0 - r**2 + 2j * self.damping * r))


def growth(
    *, x: Spring, y: Spring, depth_mm: float, rpm: float, teeth: int, start_rad: float, exit_rad: float,
    tangential_mpa: float, radial_ratio: float, steps: int = 60,
) -> float:  # fmt: skip
    """Largest multiplier over one tooth period, feed along x; x from the feed, angles clockwise from y."""
    period = 60.0 / (rpm * teeth)
    dt = period / steps
    omega = 2.0 * math.pi * rpm / 60.0
    inner = (np.arange(steps)[:, None] + (np.arange(20) + 0.5)[None, :] / 20.0) * dt
    force = np.zeros((steps, 2, 2))
    for tooth in range(teeth):
        p = np.mod(omega * inner + 2.0 * math.pi * tooth / teeth, 2.0 * math.pi)
        is_cutting = ((p >= start_rad) & (p <= exit_rad)).astype(float)
        s, c = np.sin(p), np.cos(p)
        # chip h = dx sin + dy cos; tangential force turns (-cos, sin), radial (-sin, -cos) of the push on the cutter
        for row, along in enumerate((-c - radial_ratio * s, s - radial_ratio * c)):
            force[:, row, 0] += (is_cutting * along * s).mean(axis=1)
            force[:, row, 1] += (is_cutting * along * c).mean(axis=1)
    force *= tangential_mpa * depth_mm  # N/mm
    stiff = np.array([x.stiffness_n_per_mm, y.stiffness_n_per_mm])
    natural = 2.0 * math.pi * np.array([x.natural_hz, y.natural_hz])
    per_mass = natural**2 / stiff  # 1/mass, in mm, s and N
    damping = 2.0 * natural * np.array([x.damping, y.damping])
    size = 4 + 2 * steps
    whole = np.eye(size)
    for k in range(steps):
        cut = per_mass[:, None] * force[k]
        a = np.zeros((4, 4))
        a[:2, 2:] = np.eye(2)
        a[2:, :2] = cut - np.diag(natural**2)
        a[2:, 2:] = -np.diag(damping)
        late = np.zeros((4, 2))
        late[2:] = -cut
        grow = expm(np.block([[a, late], [np.zeros((2, 6))]]) * dt)
        # rows: now (4), then the places one, two ... steps ago
        before = 0.5 * (whole[size - 2 :] + whole[size - 4 : size - 2])
        now = grow[:4, :4] @ whole[:4] + grow[:4, 4:] @ before
        whole = np.vstack([now, whole[:2], whole[4 : size - 2]])
    return float(np.abs(np.linalg.eigvals(whole)).max())
