"""ISCAR turning catalogue 2017, user guide, p. 558: k_c1.1 and m_c by material group (ISO 513, VDI 3323).

Seen directly.
The constants are printed there; the values below are worked from them: k_c = k_c1.1 h^(-m_c).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.specific_force import specific_force_mpa

# group and its printed constants; chip thickness; worked value
ROWS = [
    ("N22", "800", "0.25", "0.02", "2127.3", "worked: 800 * 0.02^-0.25 = 800 * 2.65915"),
    ("N22", "800", "0.25", "0.05", "1691.8", "worked: 800 * 2.11474"),
    ("N22", "800", "0.25", "0.10", "1422.6", "worked: 800 * 1.77828"),
    ("N22", "800", "0.25", "0.20", "1196.3", "worked: 800 * 1.49535"),
    ("N22", "800", "0.25", "0.30", "1081.0", "worked: 800 * 1.35120"),
    ("N22", "800", "0.25", "1.0", "800.0", "printed: by definition of k_c1.1"),
    ("P2", "1500", "0.22", "0.1", "2489.4", "worked: 1500 * 1.65959"),
    ("P2", "1500", "0.22", "0.2", "2137.3", "worked: 1500 * 1.42485"),
    ("P2", "1500", "0.22", "0.3", "1954.9", "worked: 1500 * 1.30327"),
]


@pytest.mark.parametrize(("group", "unit_force", "exponent", "thickness", "printed", "kind"), ROWS)
def test_specific_force_follows_the_printed_constants(
    agrees: Callable[..., None],
    group: str,
    unit_force: str,
    exponent: str,
    thickness: str,
    printed: str,
    kind: str,
) -> None:
    assert group
    assert kind
    found = specific_force_mpa(
        unit_force_mpa=float(unit_force), exponent_ratio=float(exponent), chip_thickness_mm=float(thickness)
    )
    agrees(found, printed)
