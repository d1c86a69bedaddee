"""L. Kops, D. T. Vo, CIRP Annals 39/1 (1990), abstract: an end mill bends like a bar of 0.80 D. Seen directly.

The factor is printed; worked: 7.243 / 0.8^4 = 7.243 * 2.4414 = 17.684 micrometres.
"""

from __future__ import annotations

from collections.abc import Callable

from proveout.cutting.deflection import FLUTED_DIAMETER_RATIO, tool_deflection_mm


def test_fluted_end_mill(agrees: Callable[..., None]) -> None:
    found = tool_deflection_mm(
        force_n=100.0,
        stick_out_mm=40.0,
        diameter_mm=10.0,
        elasticity_mpa=600e3,
        diameter_ratio=FLUTED_DIAMETER_RATIO,
    )
    agrees(found * 1000.0, "17.684")
