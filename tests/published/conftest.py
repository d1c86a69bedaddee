"""How a printed value is compared: within half of its last printed place."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest


def half_place(text: str) -> float:
    """Half of the last place of a printed number: '2127.3' gives 0.05, '22.6e3' gives 50."""
    exponent = Decimal(text).as_tuple().exponent
    assert isinstance(exponent, int)
    return 0.5 * 10.0**exponent


@pytest.fixture
def agrees() -> Callable[..., None]:
    """Assert that a value rounds to the printed text; `more` widens the gap by what inputs were rounded by."""

    def check(found: float, printed: str, *, more: float = 0.0) -> None:
        gap = half_place(printed) * (1.0 + 1e-9) + more
        assert abs(found - float(printed)) <= gap, f"found {found!r}, printed {printed}, allowed gap {gap:.3g}"

    return check
