"""What lies in the rack and who sells what, as a shop file writes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.shop_file import shop_from_text
from proveout.model.stock import Remnant, Supply
from proveout.quantities.errors import BadInput

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"


def shop_with(more: str, *, saw: str = "") -> str:
    text = EXAMPLE.read_text("utf-8")
    begin, end = text.index("# What lies in the rack already."), text.index("[[finisher]]")
    return text[:begin] + saw + more + text[end:]


REMNANT = """
[[remnant]]
id = "R-1"
bar = "100x35"
length_in = 10
heat = "4471"
"""
SUPPLY = """
[[supply]]
what = "plug"
supplier = "Caps"
pack = 100
pack_price = 9.0
days_low = 2
days_high = 4
"""


def test_remnants_and_supplies_are_read_in_the_units_inside() -> None:
    """worked: 10 in are 254 mm."""
    shop = shop_from_text(shop_with(REMNANT + SUPPLY), folder=EXAMPLE.parent)
    assert shop.remnants == (Remnant(id="R-1", bar_id="100x35", length_mm=254.0, heat="4471"),)
    assert shop.supplies == (
        Supply(what="plug", supplier="Caps", pack_count=100, pack_price=9.0, days_low=2, days_high=4),
    )
    assert (shop.saw.lift_limit_kg, shop.saw.remnant_least_mm) == (20.0, 300.0)
    assert shop_from_text(shop_with(""), folder=EXAMPLE.parent).remnants == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (REMNANT.replace("100x35", "9x9"), "bar that the shop does not have"),
        (REMNANT + REMNANT, "R-1"),
        (SUPPLY + SUPPLY, "plug"),
        (SUPPLY.replace("days_high = 4", "days_high = 1"), "both ends"),
        (SUPPLY.replace("days_low = 2\n", ""), "both ends"),
        (SUPPLY.replace("pack = 100\n", ""), "needs its count"),
    ],
)
def test_what_contradicts_itself_is_refused_with_its_place(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        shop_from_text(shop_with(text), folder=EXAMPLE.parent)
