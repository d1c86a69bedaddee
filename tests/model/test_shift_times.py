"""Times after a shift begins are no times of the clock: they are written with their plus, and in one place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from proveout.model.schedule import after_shift_begins

BESIDE = re.compile(r"\+\{+\s*(ink\.words\([^)]*)?[a-z_.]*into_shift|\+\{ink\.words\(\*at, '(begins|ends)'\)")


def test_a_time_after_the_shift_begins_has_its_plus() -> None:
    assert after_shift_begins("2:05") == "+2:05"
    assert after_shift_begins("2:05", day="2027-03-01") == "2027-03-01 +2:05"
    assert after_shift_begins("‹2:05›", day="‹2027-03-01›") == "‹2027-03-01› +‹2:05›"


@pytest.mark.parametrize("text", ["+{{ one.into_shift }}", "f\"+{ink.words(*at, 'into_shift')}\"", "+{m.into_shift}"])
def test_the_look_for_other_places_sees_them(text: str) -> None:
    assert BESIDE.search(text)


def test_nobody_else_puts_one_together(root: Path) -> None:
    own = root / "src" / "proveout"
    texts = {one: one.read_text(encoding="utf-8") for one in own.rglob("*") if one.suffix in (".py", ".html", ".js")}
    assert len(texts) > 300
    found = [str(one.relative_to(own)) for one, text in texts.items() if BESIDE.search(text)]
    assert found == ["model/schedule.py"]
