"""Typed readings: what a table says, and one line that says what is wrong with it; the words of [inspection]."""

from __future__ import annotations

import re

import pytest
from flows.small import SHOP

from proveout.intake.inspection_words import inspection_sentence
from proveout.intake.job_file import job_from_text
from proveout.intake.readings_csv import read_readings
from proveout.intake.shop_file import shop_from_text
from proveout.model.inspection import InspectionWish
from proveout.quantities.errors import BadInput, Unreadable

SHOP_TEXT = SHOP.read_text(encoding="utf-8")
JOB = '[part]\nnumber = "1"\nstep = "a.step"\n[order]\nquantity = 5\n'


def table(text: str, *needed: str, also: tuple[str, ...] = ("group", "minutes")) -> object:
    return read_readings(text, file="r.csv", needed=needed, also=also)


def test_readings_are_taken_in_their_order_with_their_groups() -> None:
    found = read_readings(
        "Reading, Group ,minutes\n20.01,a,1\n\n20.02,a,2.5\n 20.03 ,b,4\n", file="r.csv", needed=(),
        also=("group", "minutes"),
    )  # fmt: skip
    assert found.readings == (20.01, 20.02, 20.03)
    assert found.words["group"] == ("a", "a", "b")
    assert found.numbers["minutes"] == (1.0, 2.5, 4.0)


@pytest.mark.parametrize(
    "text",
    [
        "20.01\n20.02\n", "reading\n20.01\n20.02\n", "reading;group\n20,01;1\n20,02;1\n",
        "\ufeffreading\r\n20.01\r\n20.02",
        "20,01\n20,02\n", "reading\tgroup\n20.01\t1\n20.02\t1\n",
    ],
)  # fmt: skip
def test_points_commas_semicolons_tabs_and_a_bare_column_will_do(text: str) -> None:
    try:
        found = read_readings(text, file="r.csv", needed=(), also=("group",))
    except BadInput:
        # two fields parted by a comma cannot be told from a decimal comma: that is said, never guessed
        assert text.startswith("20,01")
        return
    assert found.readings == (20.01, 20.02)


@pytest.mark.parametrize(
    ("text", "needed", "says"),
    [
        ("", (), "This table is empty"),
        ("reading\n", (), "has no readings"),
        ("reading,group\n20.01\n", (), "row 2; found: 1 fields; limit: 2 fields"),
        ("reading\n20,01\n20,02\n", (), "write 20,013 as 20.013"),
        ("reading\n20.01 mm\n", (), 'A reading is no number; where: r.csv: row 2 column reading; found: "20.01 mm"'),
        ("reading\nnan\n", (), "A reading is no number"),
        ("reading\n1e999\n", (), "A reading is no number"),
        ("reading,group\n20.01,\n", (), "A group is missing; where: r.csv: row 2 column group"),
        ("reding\n20.01\n", (), "did you mean reading?"),
        ("reading,reading\n1,2\n", (), "A column stands twice"),
        ("reading\n20.01\n", ("part",), "The column part is missing"),
        ("20.01,3\n20.02,3\n", (), "The first line names no columns"),
        ('reading\n"20.01\n', (), "no CSV table"),
    ],
)
def test_one_line_says_what_is_wrong(text: str, needed: tuple[str, ...], says: str) -> None:
    with pytest.raises((BadInput, Unreadable), match=re.escape(says)):
        table(text, *needed)


def test_a_shop_and_a_job_say_how_lots_are_sampled() -> None:
    words = '\n[inspection]\nplan = "no bad piece"\nbad_share_percent = 4\nconfidence_percent = 90\n'
    assert shop_from_text(SHOP_TEXT).inspection == InspectionWish()
    shop = shop_from_text(SHOP_TEXT + words + "guard_share_percent = 0\n")
    assert shop.inspection == InspectionWish(plan="no bad piece", bad_ratio=0.04, confidence_ratio=0.9, guard_ratio=0.0)
    job = job_from_text(JOB + '\n[inspection]\nplan = "quality limit"\naql_percent = 0.65\nlevel = "I"\n')
    assert job.inspection == InspectionWish(plan="quality limit", aql_percent=0.65, level="I")
    said = inspection_sentence(shop.inspection)
    assert "drawn in by 0 % of the gauge's uncertainty" in said
    assert "4 % bad pieces are caught 90 times in 100" in said
    assert "such plans let bad pieces pass" in inspection_sentence(job.inspection)


def test_a_cutters_wear_is_read_in_either_system() -> None:
    """Worked: 1.2 um a minute are 0.0012 / 60 mm a second; a thousandth of an inch a minute 0.0254 / 60."""
    line = "life_min = 300, "
    assert line in SHOP_TEXT
    for text, rate in (("wear_um_per_min = 1.2, ", 0.0012 / 60.0), ("wear_thou_per_min = 1, ", 0.0254 / 60.0)):
        shop = shop_from_text(SHOP_TEXT.replace(line, line + text, 1))
        rates = [c.wear_mm_per_s.high for c in shop.cutters if c.wear_mm_per_s is not None]
        assert rates
        assert rates[0] == pytest.approx(rate)
