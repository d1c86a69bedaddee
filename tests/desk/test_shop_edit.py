"""The shop file as forms: nothing is lost, nothing else is touched, and what the reader refuses is not written."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec
import pytest

from proveout.intake.drafts import draft_shop
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.jobs.owner_file import ChangedMeanwhile, show
from proveout.jobs.shop_edit import SECTIONS, TITLES, Item, item_form, kinds, remove_item, save_item
from proveout.jobs.shop_words import shop_words, unknown_of
from proveout.quantities.errors import BadInput

EXAMPLE = (Path(__file__).parents[2] / "examples" / "shop.toml").read_text(encoding="utf-8")
KEPT = ("FM50", "EM16", "EM12", "25x25", "30x25", "100x35")
"""Rows of the crib and of the rack that most of these tests do with: reading takes half the time."""
SHORT = "".join(
    line for line in EXAMPLE.splitlines(keepends=True)
    if not (found := re.match(r' +\{ id = "([^"]*)"', line)) or found[1] in KEPT
)  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "shop.toml"
    found.write_text(SHORT, encoding="utf-8")
    return found


def sent(item: Item) -> dict[str, str]:
    """What a browser sends of a form that nobody touched."""
    found = {
        f"{field.name}.{part}" if part else field.name: text.replace("\n", "\r\n")
        for field in item.fields
        for part, text in field.typed.items()
    }
    return found if item.own_words is None else {**found, "own_words": item.own_words.replace("\n", "\r\n")}


def saved(path: Path, kind: str, place: int | None, given: Mapping[str, str], like: int | None = None) -> Item | None:
    shown = show(path)
    item = item_form(shown.text, file=path.name, kind=kind, place=place, like=like)
    return save_item(shown, item, {**sent(item), **given}, shown_digest=shown.digest)


def changed(path: Path, before: str = SHORT) -> list[str]:
    lines = difflib.unified_diff(before.splitlines(), path.read_text(encoding="utf-8").splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]


def test_every_item_of_the_example_is_a_form_that_saves_as_it_is(path: Path) -> None:
    path.write_text(EXAMPLE, encoding="utf-8")
    found = kinds(EXAMPLE, file="shop.toml")
    assert [kind.kind for kind in found] == list(TITLES)
    count = 0
    for kind in found:
        for place in range(len(kind.rows)) if kind.is_list else (None,):
            assert saved(path, kind.kind, place, {}) is None, (kind.kind, place)
            count += 1
    assert count > 90
    assert path.read_text(encoding="utf-8") == EXAMPLE


def test_every_key_of_the_shop_file_has_a_field() -> None:
    """Of the schema's own words none is left out, whatever section is added to it."""
    shown: set[tuple[str, str]] = set()
    for kind in kinds(EXAMPLE, file="s"):
        item = item_form(EXAMPLE, file="s", kind=kind.kind, place=0 if kind.rows else None)
        for field in item.fields:
            section = ".".join(step for step in field.table if isinstance(step, str))
            shown |= {(section, key) for key in field.word.keys}
    wanted = {(section.name, key) for section in SECTIONS for word in section.words for key in word.keys}
    assert sorted(wanted - shown) == []
    assert [kind.kind for kind in kinds(EXAMPLE, file="s")] == list(TITLES)  # a new kind deserves a title of its own


@pytest.mark.parametrize(
    ("kind", "given", "attribute"),
    [
        ("vise", {"id": "vise-9"}, "vises"), ("jaws", {"id": "other"}, "jaws"),
        ("crib.cutter", {"id": "FM50b"}, "cutters"), ("rack.bar", {"id": "25x25b"}, "bars"),
        ("finisher", {"id": "other"}, "finishers"), ("gauge", {"id": "caliper-2"}, "gauges"),
        ("remnant", {"id": "R-9"}, "remnants"), ("supply", {"what": "M8 stud"}, "supplies"),
    ],
)  # fmt: skip
def test_a_copy_says_what_its_model_says(path: Path, kind: str, given: dict[str, str], attribute: str) -> None:
    """Every key that stands in the first of a kind is written again from its field and means the same."""
    before = read_shop(path)
    assert saved(path, kind, None, given, like=0) is None
    after = read_shop(path)
    *old, new = getattr(after, attribute)
    assert tuple(old) == getattr(before, attribute)
    key = next(iter(given))
    renamed = {key: given[key]}
    if kind == "crib.cutter":
        renamed["name"] = old[0].name
    assert new == msgspec.structs.replace(old[0], **renamed)
    assert all(line.startswith("+") for line in changed(path))


def test_a_new_machine_comes_with_its_vises_and_goes_with_them(path: Path) -> None:
    before = read_shop(path)
    refused = saved(path, "machine", None, {"id": "mill-6"}, like=0)
    assert refused is not None
    assert refused.fault is not None
    assert "has no vise" in refused.fault.message
    assert saved(path, "machine", None, {"id": "mill-6", "with_vise": "vise-5"}, like=0) is None
    after = read_shop(path)
    assert after.machines[-1] == msgspec.structs.replace(before.machines[0], id="mill-6")
    assert after.vises[0].machines == ("mill-5", "mill-6")
    shown = show(path)
    remove_item(shown, kind="machine", place=2, shown_digest=shown.digest)
    assert read_shop(path) == before
    shown = show(path)
    remove_item(shown, kind="machine", place=1, shown_digest=shown.digest)
    assert [vise.id for vise in read_shop(path).vises] == ["vise-5"]


def test_a_number_keeps_its_unit_and_its_digits(path: Path) -> None:
    assert saved(path, "machine", 0, {"travel_x_mm": "20.50", "travel_x_mm.key": "travel_x_in"}) is None
    assert changed(path) == ["-travel_x_mm = 600", "+travel_x_in = 20.50"]
    assert read_shop(path).machines[0].travel_mm[0] == pytest.approx(520.7)
    item = item_form(path.read_text(encoding="utf-8"), file="s", kind="machine", place=0)
    field = next(field for field in item.fields if field.word.stem == "travel_x")
    assert (field.key, field.typed) == ("travel_x_in", {"": "20.50", "key": "travel_x_in"})


def test_a_fact_changes_in_its_parts(path: Path) -> None:
    assert saved(path, "vise", 0, {"preload_kn.low": "14.5"}) is None
    (_, new) = changed(path)
    assert new.startswith('+preload_kn = { low = 14.5, nominal = 17.5, high = 20, source = "load cell between')
    only = {f"preload_kn.{part}": "" for part in ("low", "high", "source", "strength")}
    assert saved(path, "vise", 0, only) is None
    assert "+preload_kn = 17.5" in changed(path)
    assert saved(path, "vise", 0, {**only, "preload_kn.nominal": ""}) is None
    by_chart = read_shop(path).vises[0].preload_n
    assert by_chart is not None
    assert (by_chart.is_backed, "torque chart" in by_chart.source) == (False, True)
    assert any("preload of vise-5" in line for line in unknown_of(read_shop(path), kind="vise", place=0))


def test_a_table_whose_fields_are_emptied_goes(path: Path) -> None:
    probe = [name for name in sent(item_form(SHORT, file="s", kind="machine", place=1)) if name.startswith("probe/")]
    given = {name: "" for name in probe if not name.endswith(".key")}
    assert saved(path, "machine", 1, given) is None
    assert read_shop(path).machines[1].probe is None
    assert saved(path, "machine", 1, {"probe/error_mm.nominal": "0.01", "probe/ball_mm": "4",
                                      "probe/stylus_mm": "40", "probe/body_mm": "25"}) is None  # fmt: skip
    probe_of = read_shop(path).machines[1].probe
    assert probe_of is not None
    assert probe_of.ball_mm == 4.0


def test_words_of_a_control_are_lines(path: Path) -> None:
    assert saved(path, "machine", 0, {"own_words": "M88 = harmless\r\n M89=harmless"}) is None
    style = read_shop(path).machines[0].program
    assert style is not None
    assert style.own_words == {"M88": "harmless", "M89": "harmless"}
    assert saved(path, "machine", 0, {"own_words": "M88 = harmless"}) is None
    refused = saved(path, "machine", 0, {"own_words": 'M88"] = x\n[y = z'})
    assert refused is not None
    assert refused.own_words == 'M88"] = x\n[y = z'
    assert read_shop(path).machines[0].program == msgspec.structs.replace(style, own_words={"M88": "harmless"})


def test_rows_inside_a_vise_are_added_and_taken_out(path: Path) -> None:
    assert saved(path, "vise", 1, {f"further/0/stands_{axis}_mm": "" for axis in "xyz"}) is None
    assert read_shop(path).vises[1].more_stand_mm == ()
    assert saved(path, "vise", 1, {f"further/0/stands_{axis}_mm": "1" for axis in "xyz"}) is None
    assert read_shop(path).vises[1].more_stand_mm == ((1.0, 1.0, 1.0),)


@pytest.mark.parametrize(
    ("kind", "place", "given", "named", "words"),
    [
        ("machine", 0, {"travel_x_mm": "1,000"}, "travel_x_mm", "wrong kind of value"),
        ("machine", 0, {"travel_x_mm": "20"}, "travel_x_mm", "outside its plausible range"),
        ("machine", 0, {"travel_x_mm": "20\nkind = 3"}, "travel_x_mm", "wrong kind of value"),
        ("machine", 0, {"head/length_mm": ""}, "head/diameter_mm", "needs all of"),
        ("machine", 0, {"kind": "3-axis"}, "kind", "has a section"),
        ("crib.cutter", 1, {"flutes": "2.5"}, "flutes", "wrong kind"),
        ("crib.cutter", 1, {"stick_out_mm": ""}, "stick_out_mm", "is missing"),
        ("gauge", None, {"id": "g", "kind": "caliper", "low_mm": "0"}, "high_mm", "is missing"),
        ("finisher", 0, {"pickup": "Thursday"}, "pickup", "no such weekday"),
        ("finisher", 0, {"plug_price.strength": "sure"}, "plug_price", "strength that is not known"),
        ("people", None, {"count": "0"}, "count", "outside its plausible range"),
        ("shop", None, {"units": "feet"}, "units", "does not know this word"),
        ("vise", 0, {"id": "vise-3"}, "id", "same id"),
    ],
)  # fmt: skip
def test_what_the_reader_refuses_is_not_written(
    path: Path, kind: str, place: int | None, given: dict[str, str], named: str, words: str
) -> None:
    refused = saved(path, kind, place, given)
    assert refused is not None
    assert refused.fault is not None
    assert words in refused.fault.message
    assert [field.name for field in refused.fields if field.fault] == [named]
    assert path.read_text(encoding="utf-8") == SHORT
    assert sorted(one.name for one in path.parent.iterdir()) == ["shop.toml"]
    name, typed = next(iter(given.items()))
    field = next(one for one in refused.fields if name.startswith(one.name))
    assert typed in field.typed.values()


def test_a_field_that_the_form_never_had_is_not_written(path: Path) -> None:
    strange = {
        "bogus": "1", "machine.0.travel_x_mm": "1", 'travel_x_mm"]\n[x': "1", "travel_x_mm.key": "speed_max_rpm",
        "rotary/../travel_y_mm": "1", "digest": "x", "../shop.toml": "y",
    }  # fmt: skip
    assert saved(path, "machine", 0, strange) is None
    assert path.read_text(encoding="utf-8") == SHORT


@pytest.mark.parametrize(("kind", "place"), [("nix", 0), ("machine", 9), ("machine", -1), ("machine.rotary", 0)])
def test_a_kind_or_place_that_is_none_is_refused(path: Path, kind: str, place: int) -> None:
    with pytest.raises(BadInput):
        saved(path, kind, place, {})
    with pytest.raises(BadInput):
        remove_item(show(path), kind=kind, place=place, shown_digest=show(path).digest)


def test_a_file_that_changed_meanwhile_is_not_written_and_says_what_it_holds_now(path: Path) -> None:
    shown = show(path)
    item = item_form(shown.text, file=path.name, kind="people", place=None)
    path.write_text(SHORT.replace("\ncount = 2", "\ncount = 4"), encoding="utf-8")
    now = show(path)
    refused = save_item(now, item_form(now.text, file="s", kind="people", place=None), {**sent(item), "count": "3"},
                        shown_digest=shown.digest)  # fmt: skip
    assert refused is not None
    assert isinstance(refused.fault, ChangedMeanwhile)
    count = next(field for field in refused.fields if field.name == "count")
    assert (count.typed[""], count.in_file) == ("3", "4")
    assert show(path).digest == now.digest


def test_taking_something_out_leaves_the_rest_and_what_is_needed_stays(path: Path) -> None:
    before = read_shop(path)
    shown = show(path)
    remove_item(shown, kind="gauge", place=len(before.gauges) - 1, shown_digest=shown.digest)
    assert read_shop(path) == msgspec.structs.replace(before, gauges=before.gauges[:-1])
    with pytest.raises(BadInput, match="machine"):
        remove_item(show(path), kind="vise", place=0, shown_digest=show(path).digest)
    with pytest.raises(ChangedMeanwhile):
        remove_item(show(path), kind="gauge", place=0, shown_digest=shown.digest)


def test_what_somebody_typed_or_called_true_is_no_longer_assumed(path: Path) -> None:
    path.write_text(draft_shop({}), encoding="utf-8")
    assert saved(path, "saw", None, {"kerf_mm": "2.2", "trim_mm.told": "yes"}) is None
    text = path.read_text(encoding="utf-8")
    assert re.search(r"(?m)^kerf_mm = 2\.2$", text)
    assert re.search(r"(?m)^trim_mm = 6$", text)
    assert re.search(r"(?m)^tail_mm = .*# assumed", text)
    assert saved(path, "crib.cutter", 2, {"price": "40"}) is None
    assert re.search(r'(?m)id = "EM12".*price = 40 \},  # assumed', path.read_text(encoding="utf-8"))
    assert saved(path, "crib.cutter", 2, {"row_told": "yes"}) is None
    assert re.search(r'(?m)id = "EM12".*price = 40 \},$', path.read_text(encoding="utf-8"))


def test_an_inch_shop_is_offered_inches_first() -> None:
    text = SHORT.replace('units = "mm"', 'units = "inch"')
    item = item_form(text, file="s", kind="vise", place=None)
    offered: dict[str, Any] = {field.word.stem: field.key for field in item.fields}
    assert (offered["opening_max"], offered["rating"]) == ("opening_max_in", "rating_kn")
    kept = item_form(text, file="s", kind="vise", place=0)
    assert next(field.key for field in kept.fields if field.word.stem == "opening_max") == "opening_max_mm"


def test_what_the_file_means_comes_in_three_parts() -> None:
    words = shop_words(shop_from_text(draft_shop({})))
    assert any("the machines" in line for line in words.understood)
    assert any("marked as assumed" in line for line in words.assumed)
    assert any(line.startswith("Unknown: the preload") for line in words.unknown)
