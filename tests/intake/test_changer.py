"""What a shop file says stands in a changer: cutters of the shop, each once, no more than there are places."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.shop_file import shop_from_text
from proveout.quantities.errors import BadInput

SMALL = Path(__file__).resolve().parent.parent / "flows" / "small_shop.toml"


def with_changer(line: str) -> str:
    text = SMALL.read_text("utf-8")
    assert text.count("pockets = 20\n") == 1
    return text.replace("pockets = 20\n", f"pockets = 20\n{line}\n")


def test_cutters_keep_the_places_that_are_written() -> None:
    ids = [cutter.id for cutter in shop_from_text(SMALL.read_text("utf-8")).cutters]
    shop = shop_from_text(with_changer(f'changer = ["{ids[1]}", "", "{ids[0]}"]'))
    assert shop.machines[0].changer == (ids[1], "", ids[0])
    assert shop_from_text(SMALL.read_text("utf-8")).machines[0].changer == ()


@pytest.mark.parametrize(
    ("ids", "words"),
    [
        (["no-such"], "No cutter of the shop"),
        (["first", "", "first"], "twice"),
        ([""] * 21, "pockets = 20"),
    ],
)
def test_a_changer_that_cannot_be_is_refused(ids: list[str], words: str) -> None:
    first = shop_from_text(SMALL.read_text("utf-8")).cutters[0].id
    written = ", ".join(f'"{id.replace("first", first)}"' for id in ids)
    with pytest.raises(BadInput, match=words) as refused:
        shop_from_text(with_changer(f"changer = [{written}]"))
    assert "changer" in refused.value.message
