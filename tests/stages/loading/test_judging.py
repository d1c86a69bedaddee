"""How wrongly a body is cut: metal that is missing or too much, where the clamping cuts and where it does not."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.removal.apart import without
from proveout.removal.fields import Fields
from proveout.stages.loading.judging import _apart_mm

LOW, HIGH = np.zeros(3), np.array([40.0, 20.0, 20.0])


def slab(x_low: float, x_high: float) -> Fields:
    """What lies between two heights along x of a box of 40 x 20 x 20."""
    found = Fields.from_box(low_mm=LOW, high_mm=HIGH, pitch_mm=0.5)
    low, high = LOW.copy(), HIGH.copy()
    for k in range(3):
        if k == 0:
            found.spans[k][:, 0] = (x_low, x_high)
            continue
        u, v = (k + 1) % 3, (k + 2) % 3
        first_u, step_u, first_v, step_v = found.grid_mm(k)
        i, j = np.divmod(np.arange(found.counts[k].size), found.rays_uv(k)[1])
        shift_u, shift_v = found.ray_shifts_mm(k)
        place = first_u + step_u * i + shift_u[j] if u == 0 else first_v + step_v * j + shift_v[i]
        found.counts[k][(place < x_low) | (place > x_high)] = 0
        found.spans[k][:, 0] = (low[k], high[k])
        assert 0 in (u, v)
    return found


def whole() -> Fields:
    return Fields.from_box(low_mm=LOW, high_mm=HIGH, pitch_mm=0.5)


def test_missing_metal_is_wrong_where_this_clamping_does_not_cut() -> None:
    """5 mm are missing at the right end (worked)."""
    assert _apart_mm(slab(0.0, 35.0), slab(0.0, 30.0), whole(), 0.1)[0] == pytest.approx(5.0)


def test_missing_metal_is_harmless_where_this_clamping_cuts_it_away_anyway() -> None:
    kept = without(whole(), slab(30.0, 40.0))
    assert _apart_mm(slab(0.0, 35.0), slab(0.0, 30.0), kept, 0.1)[0] == 0.0


def test_more_metal_than_reckoned_is_wrong_even_where_it_is_cut_away() -> None:
    """The cutter would meet 5 mm that nobody reckoned with (worked)."""
    kept = without(whole(), slab(30.0, 40.0))
    assert _apart_mm(slab(0.0, 30.0), slab(0.0, 35.0), kept, 0.1)[0] == pytest.approx(5.0)
