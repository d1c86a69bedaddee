"""The worst corner of every move: compiled against plain numpy that tries all corners at once."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from holding_cases import GripCase, grip_case
from numpy.typing import NDArray

from proveout.grip.margins import MODES, WORST_MARGIN
from proveout.grip.move_margins import _terms

Floats = NDArray[np.float64]


def plain(case: GripCase) -> tuple[Floats, Floats, Floats]:
    """Margins (k, 8), reserves (k,), pressures (k,), each the worst of 128 corners, written down once more."""
    loads, patches, gap = case.loads, case.patches, case.gap_mm
    preload, friction = case.preload_n, case.friction_ratio.low
    a, b, t_x, t_z, w_x, w_z = _terms(patches, jaw_gap_mm=gap, stiffness_ratio=0.2).T
    margins, reserves, pressures = [], [], []
    for ends in itertools.product((0, 1), repeat=7):
        force = np.where(ends[:3], loads.force_high_n, loads.force_low_n)
        at = np.where(ends[3:6], loads.at_high_mm, loads.at_low_mm)
        # the far end of the patch's middle
        x = np.where(ends[3], patches.along_mm[:, 0], patches.along_mm[:, 1])
        z = np.where(ends[5], patches.up_mm[:, 0], patches.up_mm[:, 1])
        lever = at - np.column_stack([x, np.full(len(at), -gap / 2.0), z])
        moment = np.cross(lever, force) + (2 * ends[6] - 1) * loads.couple_n_mm[:, None] * loads.axis
        f, m = np.abs(force).T, np.abs(moment).T
        d_x, d_z = f[0] + 2.0 * m[2] / gap + w_x * m[1], f[2] + 2.0 * m[0] / gap + w_z * m[1]
        e, n = m[0] * t_x + m[2] * t_z, preload.low - f[1]
        pressure = (preload.high + f[1] + e / 2.0) / (4.0 * a * b)
        pairs = [
            (d_x, friction * (2.0 * n - e)), (d_z, friction * (2.0 * n - e)),
            (np.hypot(d_x, d_z), friction * (2.0 * n - e)), (m[0], friction * n * gap),
            (m[1], 2.0 * friction * n * np.hypot(a, b) / 3.0), (m[2], friction * n * gap), (e, 2.0 * n),
            (pressure, np.full(len(n), 1e9)),
        ]  # fmt: skip
        margins.append(np.column_stack([
            np.where(c > 0.0, np.maximum(WORST_MARGIN, (c - d) / np.where(c > 0.0, c, 1.0)), WORST_MARGIN)
            for d, c in pairs
        ]))  # fmt: skip
        pressures.append(pressure)
        reserves.append(2.0 * friction * preload.low / (np.hypot(d_x, d_z) + friction * (2.0 * f[1] + e)))
    return np.min(margins, axis=0), np.min(reserves, axis=0), np.max(pressures, axis=0)


@pytest.mark.parametrize("seed", range(12))
def test_compiled_and_plain_agree(seed: int) -> None:
    case = grip_case(np.random.default_rng(seed), moves=25, near=seed % 2 == 0)
    found = case.margins()
    margins, reserves, pressures = plain(case)
    assert found.margins.shape == (25, len(MODES))
    np.testing.assert_allclose(found.margins, margins, atol=1e-9)
    np.testing.assert_allclose(found.reserve_ratio, np.minimum(999.0, reserves), rtol=1e-9)
    np.testing.assert_allclose(found.pressure_mpa, pressures, rtol=1e-9)


def test_the_corner_that_is_told_is_the_one_that_decides() -> None:
    case = grip_case(np.random.default_rng(77), moves=60, near=True)
    found = case.margins()
    _, _, t_x, t_z, w_x, w_z = _terms(case.patches, jaw_gap_mm=case.gap_mm, stiffness_ratio=0.2).T
    f, m = np.abs(found.wrench[:, 0, :3]).T, np.abs(found.wrench[:, 0, 3:]).T
    d_x, d_z = f[0] + 2.0 * m[2] / case.gap_mm + w_x * m[1], f[2] + 2.0 * m[0] / case.gap_mm + w_z * m[1]
    friction, preload = case.friction_ratio.low, case.preload_n.low
    spent = np.hypot(d_x, d_z) + friction * (2.0 * f[1] + m[0] * t_x + m[2] * t_z)
    np.testing.assert_allclose(2.0 * friction * preload / spent, found.reserve_ratio, rtol=1e-9)
