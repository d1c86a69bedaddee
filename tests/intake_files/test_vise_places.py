"""Vises of a shop file: how many, which jaw is fixed, where each stands; and the pins that fill them."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.job_file import job_from_text
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import check_words
from proveout.intake.toml_schema import schema
from proveout.model.table_load import places_of
from proveout.quantities.errors import BadInput

SHOP = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"
FURTHER = "further = [{ stands_x_mm = 430.0, stands_y_mm = -180.2, stands_z_mm = -360.0 }]    # the right one\n"
JOB = '[part]\nnumber = "P"\nstep = "p.step"\n[order]\nquantity = 5\n[pins]\n'


def test_the_shipped_shop_says_where_both_of_its_vises_stand() -> None:
    shop = read_shop(SHOP)
    three = next(m for m in shop.machines if m.id == "mill-3")
    assert [p.stands_mm for p in places_of(three, shop.vises)] == [(250.0, -180.0, -360.0), (430.0, -180.2, -360.0)]
    assert three.setup_of_more_s == 900.0
    five = next(m for m in shop.machines if m.id == "mill-5")
    assert five.setup_of_more_s == five.setup_s


def test_inches_are_read_too() -> None:
    inches = FURTHER.replace("stands_x_mm = 430.0", "stands_x_in = 10.0")
    vise = next(v for v in shop_from_text(SHOP.read_text().replace(FURTHER, inches)).vises if v.id == "vise-3")
    assert vise.more_stand_mm[0][0] == pytest.approx(254.0)


def test_a_fixed_jaw_in_the_middle_is_read_and_said() -> None:
    text = SHOP.read_text().replace(FURTHER, 'fixed_jaw = "in the middle"\nmiddle_jaw_mm = 30\ncount = 1\n')
    shop = shop_from_text(text)
    vise = next(v for v in shop.vises if v.id == "vise-3")
    assert (vise.has_middle_jaw, vise.middle_jaw_mm, vise.kind_count) == (True, 30.0, 1)
    said = "\n".join(check_words(shop))
    assert "its fixed jaw in the middle, 30 mm thick, holds a piece on each side with the whole force" in said
    assert "stands at machine 250 -180 -360" in said


def test_a_shop_says_that_idle_vises_are_taken_off() -> None:
    text = SHOP.read_text()
    assert not any(m.idle_vises_off for m in shop_from_text(text).machines)
    assert "idle ones" not in "\n".join(check_words(shop_from_text(text)))
    shop = shop_from_text(text.replace('id = "mill-3"\n', 'id = "mill-3"\nidle_vises_off = true\n', 1))
    assert next(m for m in shop.machines if m.id == "mill-3").idle_vises_off
    assert "2 vises of which idle ones are taken off the table" in "\n".join(check_words(shop))


@pytest.mark.parametrize(
    ("old", "put", "says"),
    [
        ('id = "mill-5"\n', 'id = "mill-5"\nidle_vises_off = true\n', "ever stands idle"),
        ('id = "mill-3"\n', 'id = "mill-3"\nidle_vises_off = "sometimes"\n', "wrong kind of value"),
    ],
)
def test_idle_vises_off_is_refused_where_it_says_nothing(old: str, put: str, says: str) -> None:
    text = SHOP.read_text()
    assert old in text
    with pytest.raises(BadInput) as caught:
        shop_from_text(text.replace(old, put, 1))
    assert says in caught.value.message
    assert "idle_vises_off" in caught.value.message


@pytest.mark.parametrize(
    ("put", "says"),
    [
        (FURTHER.replace(" stands_y_mm = -180.2,", ""), "stands_y"),
        (FURTHER.replace("}]", "}, { stands_x_mm = 1, stands_y_mm = 1, stands_z_mm = 1 }]"), "3 places"),
        (f"count = 1\n{FURTHER}", "More places are written"),
        ("middle_jaw_mm = 30\n", "has a middle jaw"),
        (FURTHER.replace("stands_x_mm", "stand_x_mm"), "stands_x_mm"),
        ('fixed_jaw = "in front"\n', "in the middle"),
    ],
)
def test_what_is_wrong_with_places_is_refused(put: str, says: str) -> None:
    text = SHOP.read_text()
    assert FURTHER in text
    with pytest.raises(BadInput) as caught:
        shop_from_text(text.replace(FURTHER, put), file="shop.toml")
    assert says in caught.value.message
    assert "shop.toml" in caught.value.message


def test_further_places_need_the_first_and_one_machine() -> None:
    text = SHOP.read_text()
    first = "\n".join(line for line in text.splitlines() if "-180.0" in line or "250.0" in line or "-360.0" in line)
    for line in first.splitlines():
        if "further" not in line:
            text = text.replace(f"{line}\n", "")
    with pytest.raises(BadInput, match="the first has none"):
        shop_from_text(text)
    with pytest.raises(BadInput, match="those of one machine"):
        shop_from_text(SHOP.read_text().replace('machines = ["mill-3"]', 'machines = ["mill-3", "mill-5"]'))


def test_work_offsets_are_those_of_the_control() -> None:
    text = SHOP.read_text()
    three = next(m for m in shop_from_text(text).machines if m.id == "mill-3")
    assert three.program is not None
    assert three.program.work_offsets[:2] == ("G54", "G55")
    at = text.rindex("number_step = 10")
    few = f'{text[:at]}work_offsets = ["G54", "G56"]\n{text[at:]}'
    three = next(m for m in shop_from_text(few).machines if m.id == "mill-3")
    assert three.program is not None
    assert three.program.work_offsets == ("G54", "G56")
    with pytest.raises(BadInput, match="no work offset"):
        shop_from_text(few.replace('"G56"', '"G64"'))


def test_the_schema_has_the_places() -> None:
    vise = schema("shop")["properties"]["vise"]["items"]["properties"]
    assert len(vise["further"]["items"]["allOf"]) == 3
    assert vise["fixed_jaw"]["enum"] == ["behind", "in the middle"]


def test_pins_of_cycles_are_read() -> None:
    job = job_from_text(f"{JOB}pieces_a_cycle = 2\nside_by_side = false\n")
    assert [(p.quantity, p.value) for p in job.pins] == [("pieces_a_cycle", "2"), ("side_by_side", "false")]
    assert job_from_text(JOB).pins == ()
    with pytest.raises(BadInput):
        job_from_text(f"{JOB}pieces_a_cycle = 0\n")
