"""Which end mills fit a corner, where a mesh says the same corner a little otherwise from export to export."""

from __future__ import annotations

import msgspec
import pytest

from proveout.intake.starting_shop import starting_shop
from proveout.stages.cutters.mills import able
from proveout.stages.cutters.needs import Need

MILLS = sorted((c for c in starting_shop().cutters if c.kind == "end mill"), key=lambda c: (-c.diameter_mm, c.id))


def need(corner_mm: float) -> Need:
    return Need(
        face_id="w", facet=None, seen="wall", corner_mm=corner_mm, gap_mm=None, depth_mm=5.0, tall_mm=5.0  # type: ignore[arg-type] - unread
    )  # fmt: skip


@pytest.mark.parametrize("noise_mm", [-3e-6, 0.0, 3e-6])
def test_a_corner_of_5_takes_an_8_mm_cutter_whatever_its_mesh_says(noise_mm: float) -> None:
    """Worked: 0.8 x 5 is 4, the cutter's radius; and 5 is that of Ø10, which just enters where nothing less reaches."""
    found, _ = able(need(5.0 + noise_mm), MILLS)
    assert max(c.diameter_mm for c in found) == pytest.approx(8.0)
    long = [msgspec.structs.replace(c, stick_out_mm=1.0) if c.diameter_mm < 9.9 else c for c in MILLS]
    assert max(c.diameter_mm for c in able(need(5.0 + noise_mm), long)[0]) == pytest.approx(10.0)


def test_a_corner_that_is_smaller_takes_less() -> None:
    found, _ = able(need(4.99), MILLS)
    assert max(c.diameter_mm for c in found) < 8.0
