"""Ways out that save money say so in words, not by a negative more."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from proveout.stages.schedule.ways_out import more_words


def test_what_a_way_out_saves_is_less_and_what_it_adds_is_more() -> None:
    shop: Any = SimpleNamespace(currency="EUR")
    assert more_words(-128.4, shop) == "128 EUR less"
    assert more_words(74.0, shop) == "74 EUR more"
