"""A machine's description of its programs: what it says, and what is refused with its place and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.cutter_table import read_cutter_table
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.toml_schema import schema
from proveout.quantities.errors import BadInput, Unreadable

SHOP = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"


def test_the_shipped_shop_describes_both_mills() -> None:
    shop = read_shop(SHOP)
    five, three = (next(m.program for m in shop.machines if m.id == name) for name in ("mill-5", "mill-3"))
    assert five is not None
    assert three is not None
    assert five.zero_after_turning == "carried by the control"
    assert (five.clamp_a, five.unclamp_c, five.a_sign) == ("M10", "M13", 1)
    assert three.closing[-1] == "M30"
    assert three.clamp_a == ""
    assert next(v for v in shop.vises if v.id == "vise-5").stands_mm == (300.1, -203.0, -242.4)


def test_the_other_way_of_counting_turns_the_sign() -> None:
    text = SHOP.read_text().replace('a_counts = "as the work turns"', 'a_counts = "the other way"')
    five = next(m.program for m in shop_from_text(text).machines if m.id == "mill-5")
    assert five is not None
    assert (five.a_sign, five.c_sign) == (-1, 1)


@pytest.mark.parametrize(
    ("find", "put", "says"),
    [
        ('a_counts = "as the work turns"\n', "", "must say how it counts them"),
        ('zero_after_turning = "carried by the control"\n', "", "must say how it counts them"),
        ('zero_after_turning = "carried by the control"', 'zero_after_turning = "somewhere"', "carried by the control"),
        ('clamp_a = "M10"\n', "", "opened is closed again"),
        ('clamp_c = "M12"', 'clamp_c = "clamp"', "no word of a program"),
        ("number_step = 10", "number_stp = 10", "number_step"),
        ('unclamp_c = "M13"', 'unclamp_c = "M13"\nending = "nc"', "write it as .nc"),
        (
            "number_step = 10\n\n[[machine]]", '[machine.program.own_words]\nM70 = "fine"\n\n[[machine]]',
            "Nobody knows this meaning",
        ),
        (
            "number_step = 10\n\n[[machine]]", '[machine.program.own_words]\nbeep = "harmless"\n\n[[machine]]',
            "no word of a program",
        ),
        ("stands_y_mm = -203.0\n", "", "2 of 3"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused(find: str, put: str, says: str) -> None:
    text = SHOP.read_text()
    assert find in text
    with pytest.raises(BadInput) as caught:
        shop_from_text(text.replace(find, put, 1), file="shop.toml")
    assert says in caught.value.message
    assert "shop.toml" in caught.value.message


def test_own_words_are_read() -> None:
    text = SHOP.read_text().replace(
        "number_step = 10\n\n[[machine]]",
        'number_step = 10\n[machine.program.own_words]\nG905 = "harmless"\n"G901" = "harmless"\n\n[[machine]]', 1,
    )  # fmt: skip
    five = next(m.program for m in shop_from_text(text).machines if m.id == "mill-5")
    assert five is not None
    assert five.own_words == {"G905": "harmless", "G901": "harmless"}


def test_the_schema_knows_the_description() -> None:
    machine = schema("shop")["properties"]["machine"]["items"]["properties"]
    program = machine["program"]["properties"]
    assert set(program) > {"powers_on", "opening", "closing", "before_change", "zero_after_turning", "own_words"}
    assert "harmless" in next(iter(program["own_words"]["patternProperties"].values()))["enum"]


TABLE = (
    "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,length_mm\n"
    "T3,end mill,8,3,20,30,\n1,ball,6,2,12,25,88.5\n"
)


def test_cutters_are_called_by_their_number() -> None:
    one, three = read_cutter_table(TABLE, file="c.csv")
    assert (one.number, one.cutter.kind, one.length_mm) == (1, "ball", 88.5)
    assert (three.number, three.cutter.diameter_mm, three.length_mm) == (3, 8.0, None)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("kind,diameter_mm\nball,6\n", "which number calls which"),
        (TABLE.replace("1,ball", "3,ball"), "Two rows have one number"),
        (TABLE.replace("1,ball", "x,ball"), "whole one from 1"),
        (TABLE.replace("88.5", "-4"), "from 0 to 1000 mm"),
        (TABLE.replace("88.5", "88.5,7"), "another number of fields"),
        (TABLE.split("\n", maxsplit=1)[0] + "\n", "no cutters"),
        (TABLE.replace("flutes,", "flutz,"), "flutes"),
    ],
)
def test_a_table_that_is_none_is_refused(text: str, says: str) -> None:
    with pytest.raises((BadInput, Unreadable)) as caught:
        read_cutter_table(text, file="c.csv")
    assert says in caught.value.message
