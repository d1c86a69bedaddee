"""Drafts ask little and mark what they assume; edits change one value and leave the owner's comments alone."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from small_design import small_part

from proveout.intake.drafts import SHOP_QUESTIONS, draft_job, draft_shop
from proveout.intake.job_file import job_from_text
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import check_words
from proveout.intake.starting_shop import starting_shop_text
from proveout.intake.toml_edit import set_value
from proveout.intake.toml_schema import schema
from proveout.quantities.errors import BadInput

EXAMPLES = Path(__file__).parents[2] / "examples"
SHOP_TEXT = (EXAMPLES / "shop.toml").read_text(encoding="utf-8")


def comments(text: str) -> list[str]:
    return re.findall(r'(?m)^(?:[^"#\n]|"[^"\n]*")*(#.*)$', text)


# --- edits


def test_an_edit_changes_one_value_and_keeps_every_comment() -> None:
    text = set_value(SHOP_TEXT, "saw.kerf_mm", 2.2)
    text = set_value(text, ("machine", "mill-3", "vises"), 3)
    text = set_value(text, ("crib", "cutter", "EM12", "stick_out_mm"), 41)
    text = set_value(text, ("rack", "bar", 0, "width_mm"), 26)
    differing = [(old, new) for old, new in zip(SHOP_TEXT.splitlines(), text.splitlines(), strict=True) if old != new]
    assert [new.split("#")[0].strip()[:40] for _, new in differing] == [
        "vises = 3",
        '{ id = "EM12", kind = "end mill", diamet',
        '{ id = "25x25", width_mm = 26, height_mm',
        "kerf_mm = 2.2",
    ]
    assert comments(text) == comments(SHOP_TEXT)
    assert len(comments(text)) == 42
    shop = shop_from_text(text)
    assert shop.saw.kerf_mm == 2.2
    assert shop.machines[1].vises_count == 3
    assert next(one for one in shop.cutters if one.id == "EM12").stick_out_mm == 41.0


def test_an_edit_adds_a_key_that_was_missing() -> None:
    text = set_value(SHOP_TEXT, ("people", "shift_h"), 7.5, comment="since spring")
    assert "shift_h = 7.5  # since spring\n" in text
    job = set_value((EXAMPLES / "jaw.toml").read_text(encoding="utf-8"), ("sizes", "7"), "H8")
    assert job_from_text(job).sizes[1].text == "H8"


def test_an_edit_that_changes_nothing_gives_the_same_bytes() -> None:
    assert set_value(SHOP_TEXT, "saw.kerf_mm", 1.8) == SHOP_TEXT


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("saw.blade.kerf_mm", 2.0, r"no such place in the file; where: saw\.blade"),
        (("crib", "cutter", "EM99", "price"), 2.0, r"no such place in the file; where: crib\.cutter\.EM99"),
        ("saw", 2.0, r"names a section, not a key; where: saw"),
        ("saw.kerf_mm", object(), r"cannot be written in TOML; where: saw\.kerf_mm"),
    ],
)
def test_an_edit_that_cannot_be_is_refused(path: Any, value: Any, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        set_value(SHOP_TEXT, path, value)


# --- shop draft


def test_ten_questions_make_a_shop_and_every_default_is_marked() -> None:
    assert len(SHOP_QUESTIONS) == 10
    text = draft_shop({})
    shop = shop_from_text(text, file="shop.toml")
    for line in text.splitlines():
        if re.match(r"^(    \{|[a-z_]+ = )", line) and not line.endswith("= ["):
            assert "# assumed" in line, line
    marked = [words for words in shop.assumed if "marked as assumed" in words]
    assert any("[saw] marked as assumed: bundle_width_mm" in words for words in marked)
    assert any("EM12" in words for words in marked)
    assert shop.vises[0].preload_n is None
    assert any(words.startswith("Unknown: the preload") for words in check_words(shop))
    assert [words for words in check_words(shop) if words in marked] == marked
    assert any(re.search(r"\[rack\] marked as assumed: .* and \d+ more\.$", words) for words in marked)


def test_answers_stand_unmarked_in_the_draft() -> None:
    answers = {
        "name": 'Lamps "and" more', "units": "inch", "currency": "USD", "machine": "3+2", "travels": "24 16  18",
        "speed": "12000", "rate": "85.5", "preload": "15-20", "bars": "4x1.5, 2x2", "people": "3",
    }  # fmt: skip
    text = draft_shop(answers, (EXAMPLES / "cutters.csv").read_text(encoding="utf-8"))
    shop = shop_from_text(text)
    assert (shop.name, shop.units, shop.currency, shop.people_count) == ('Lamps "and" more', "inch", "USD", 3)
    (mill,) = shop.machines
    assert mill.kind == "3+2"
    assert mill.travel_mm == pytest.approx((609.6, 406.4, 457.2))
    assert mill.rate_per_h == 85.5
    assert mill.rotary is not None
    assert mill.rotary.pivot_in_machine_mm is None
    (vise,) = shop.vises
    assert vise.preload_n is not None
    assert (vise.preload_n.low, vise.preload_n.high, vise.preload_n.strength) == (15e3, 20e3, "owner's guess")
    assert not vise.preload_n.is_backed  # nobody has said where it comes from, and the draft says so above it
    at = text.splitlines().index(next(line for line in text.splitlines() if line.startswith("preload_kn = ")))
    assert 'add source = "..."' in text.splitlines()[at - 1]
    known = shop_from_text(text.replace("high = 20, strength", 'high = 20, source = "load cell", strength'))
    assert known.vises[0].preload_n is not None
    assert known.vises[0].preload_n.is_backed
    assert [bar.id for bar in shop.bars] == ["4x1.5in", "2x2in"]
    assert shop.bars[0].width_mm == 101.6
    cutters = read_shop(EXAMPLES / "shop.toml").cutters
    assert [(one.id, one.stick_out_mm) for one in shop.cutters] == [(one.id, one.stick_out_mm) for one in cutters]
    unmarked = [line for line in text.splitlines() if "# assumed" not in line]
    for start in (
        "name = ",
        "units = ",
        "currency = ",
        "kind = ",
        "travel_x_in = 24",
        "speed_max_rpm = 12000",
        "count = 3",
    ):
        assert any(line.startswith(start) for line in unmarked), start


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"colour": "red"}, r"no such question; where: new shop; found: colour"),
        ({"units": "feet"}, r'not one of the choices; where: question units; found: "feet"; limit: mm or inch'),
        (
            {"travels": "500 x 400"},
            r'cannot be read; where: question travels; found: "500 x 400"; limit: three numbers',
        ),
        ({"speed": "fast"}, r'cannot be read; where: question speed; found: "fast"'),
        ({"preload": "20-15"}, r'cannot be read; where: question preload; found: "20-15"'),
        ({"preload": "15 kN"}, r'found: "15 kN"; limit: one number or lowest-highest such as 15-20'),
        ({"bars": "50"}, r'cannot be read; where: question bars; found: "50"'),
        ({"bars": "50x20,"}, r'found: ""; limit: width x height such as 100x40'),
        ({"rate": "90,50"}, r'found: "90,50"; limit: a number such as 90, with a point and no commas'),
        ({"speed": "12"}, r"speed_max_rpm is outside its plausible range; where: new shop: machine"),
    ],
)
def test_an_answer_that_makes_no_sense_is_refused(answers: dict[str, str], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        draft_shop(answers)


# --- job draft


def test_the_job_draft_lists_holes_and_faces_and_reads_back() -> None:
    read, survey = small_part()
    text = draft_job(read, survey, step='odd "name".step', number="EX-1")
    assert '1 = ""  # hole, blind, flat bottom: Ø20 from 0 to 16 deep; opens to +z at (0, 0, 18)\n' in text
    assert '2 = ""  # flat face looking to +z, 120 mm², middle at (10, 5, 18)\n' in text
    assert "# Asked of you: Is it in mm?\n" in text
    job = job_from_text(text, file="job.toml")
    assert job.part.step == 'odd "name".step'
    assert [(one.number, one.id) for one in job.balloons] == [(1, survey.holes[0].id), (2, "plane +z 18.000 #bbbbbb")]
    assert job.sizes == ()
    assert "job.toml: [order] marked as assumed: quantity." in job.assumed


def test_the_owner_types_only_the_size() -> None:
    read, survey = small_part()
    text = draft_job(read, survey, step="a.step", number="EX-1", quantity=40)
    job = job_from_text(text.replace('1 = ""', '1 = "H8"'))
    assert job.sizes[0].text == "H8"
    assert job.sizes[0].face_ids == ()  # a hole is looked up by its number; only a face is named
    on_face = job_from_text(text.replace('2 = ""', '2 = "18 ±0.1"'))
    assert on_face.sizes[0].face_ids == ("plane +z 18.000 #bbbbbb",)
    assert job.order.quantity == 40
    assert job_from_text(set_value(text, ("sizes", "1"), "H8")) == job


# --- schemas


def _is_kind(value: object, kind: Any, name: str) -> bool:
    return isinstance(value, kind) and (name == "boolean" or not isinstance(value, bool))


def fits(value: Any, rule: dict[str, Any], place: str) -> list[str]:
    """What of `value` the schema refuses, for the few words of JSON schema that ours use."""
    if "anyOf" in rule:
        return min((fits(value, one, place) for one in rule["anyOf"]), key=len)
    if "enum" in rule:
        return [] if value in rule["enum"] else [f"{place}: {value!r}"]
    kinds = {"object": dict, "array": list, "string": str, "boolean": bool, "integer": int, "number": (int, float)}
    if rule.get("type") == "string" and hasattr(value, "isoformat"):
        value = str(value)
    if not _is_kind(value, kinds[rule["type"]], rule["type"]):
        return [f"{place}: not {rule['type']}"]
    wrong: list[str] = []
    if rule["type"] in ("number", "integer"):
        if not rule.get("minimum", value) <= value <= rule.get("maximum", value):
            wrong.append(f"{place}: {value} out of range")
    elif rule["type"] == "string":
        if "pattern" in rule and not re.search(rule["pattern"], value):
            wrong.append(f"{place}: {value!r} does not match")
    elif rule["type"] == "array":
        for number, one in enumerate(value):
            wrong += fits(one, rule["items"], f"{place}[{number}]")
    elif rule["type"] == "object":
        wrong += [f"{place}: lacks {key}" for key in rule.get("required", []) if key not in value]
        for group in rule.get("allOf", []):
            if not any(one["required"][0] in value for one in group["anyOf"]):
                wrong.append(f"{place}: lacks one of {group}")
        for key, one in value.items():
            inner = rule["properties"].get(key) if "properties" in rule else None
            if inner is None:
                inner = next((r for p, r in rule.get("patternProperties", {}).items() if re.search(p, key)), None)
            wrong += fits(one, inner, f"{place}.{key}") if inner else [f"{place}: {key} is not known"]
    return wrong


@pytest.mark.parametrize(
    ("noun", "name"),
    [("shop", "shop"), ("job", "jaw"), ("job", "body"), ("job", "knob"), ("order", "order")],
)
def test_the_schema_accepts_the_examples(noun: Any, name: str) -> None:
    value = tomllib.loads((EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"))
    assert fits(value, schema(noun), noun) == []


def test_the_schema_accepts_the_starting_shop_and_the_drafts() -> None:
    read, survey = small_part()
    assert fits(tomllib.loads(starting_shop_text()), schema("shop"), "shop") == []
    assert fits(tomllib.loads(draft_shop({"units": "inch", "bars": "4x2"})), schema("shop"), "shop") == []
    assert fits(tomllib.loads(draft_job(read, survey, step="a.step", number="1")), schema("job"), "job") == []


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ("travel_x_mm = 600", "travel_x_mm = 0.6", "shop.machine[0].travel_x_mm: 0.6 out of range"),
        ("travel_x_mm = 600", "travel = 600", "shop.machine[0]: lacks one of"),
        ("kerf_mm = 1.8", "kerf_mm = 1.8\nblade = 3", "shop.saw: blade is not known"),
        ("pockets = 30\n", "", "shop.machine[0]: lacks pockets"),
        ('kind = "toothed"', 'kind = "toothy"', "shop.jaws[0].kind: 'toothy'"),
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(old: str, new: str, wrong: str) -> None:
    broken = SHOP_TEXT.replace(old, new, 1)
    with pytest.raises(BadInput):
        shop_from_text(broken)
    assert fits(tomllib.loads(broken), schema("shop"), "shop")[0].startswith(wrong)
