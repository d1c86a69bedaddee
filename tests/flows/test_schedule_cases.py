"""Values drawn for the cases of a schedule."""

from __future__ import annotations

import msgspec
import pytest

from proveout.model.fact import exact_fact
from proveout.stages.schedule.cases import drawn_at


def test_drawn_values_have_the_spread_of_the_price() -> None:
    """worked: ends 0 and 4, peak 1: of a triangle a quarter lies below 1, half below 4 - sqrt 6; else half below 2."""
    fact = msgspec.structs.replace(exact_fact(0.0, "s", "x", "measured here"), nominal=1.0, high=4.0)
    assert [drawn_at(share)(fact) for share in (0.0, 0.25, 0.5, 1.0)] == pytest.approx([0.0, 1.0, 4 - 6**0.5, 4.0])
    assert drawn_at(0.5)(msgspec.structs.replace(fact, strength="assumed")) == pytest.approx(2.0)
