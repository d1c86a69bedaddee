"""A machine's own minutes in the shop file: read, told in words, and refused where they cannot be."""

from __future__ import annotations

import pytest
from worked_home import SHOP_FILE

from proveout.intake.shop_file import shop_from_text
from proveout.intake.shop_sentences import understood
from proveout.quantities.errors import BadInput, OutOfRange

TEXT = SHOP_FILE.read_text(encoding="utf-8")
FACT = (
    '{ low = 1.1, nominal = 1.2, high = 1.3, source = "batches B-1 to B-9 of this shop", strength = "measured here" }'
)


def shop_text(lines: str) -> str:
    at = TEXT.index("[[vise]]")
    return f"{TEXT[:at]}[machine.minutes]\n{lines}\n\n{TEXT[at:]}"


def test_factors_are_read_and_said_in_words() -> None:
    shop = shop_from_text(shop_text(f"roughing = {FACT}\nholes = 0.9"))
    minutes = shop.machines[0].minutes
    assert minutes is not None
    assert minutes.roughing is not None
    assert (minutes.roughing.low, minutes.roughing.nominal, minutes.roughing.high) == (1.1, 1.2, 1.3)
    assert minutes.finishing is None
    said = " ".join(understood(shop))
    assert "takes times what is reckoned: roughing 1.2 (1.1 to 1.3), holes 0.9 (0.9 to 0.9)" in said


def test_without_the_section_nothing_is_said() -> None:
    shop = shop_from_text(TEXT)
    assert shop.machines[0].minutes is None
    assert "what is reckoned" not in " ".join(understood(shop))


@pytest.mark.parametrize("line", ["roughing = 9.0", "friction = 1.2", 'roughing = "much"'])
def test_what_cannot_be_is_refused(line: str) -> None:
    with pytest.raises((BadInput, OutOfRange)):
        shop_from_text(shop_text(line))
