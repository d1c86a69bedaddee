"""What is written beside the sizes, on the inspection sheet: a chamfer with its leg before and after the coat."""

from __future__ import annotations

import json

import fixture_plan as fixture
import msgspec
import pytest

from proveout.model.plan import NOT_KNOWN, NoteGauge, Plan, SizeNote
from proveout.model.shop import Shop
from proveout.sheets.notes_words import notes_blocks
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.pages_records import receiving_page
from proveout.sheets.writer import Writer


@pytest.mark.parametrize(("before", "told"), [((1.789, 2.181), "1.789"), ((None, None), NOT_KNOWN)])
def test_a_chamfer_stands_with_its_leg(
    before: tuple[float | None, float | None], told: str, plan: Plan, shop: Shop
) -> None:
    note = SizeNote(
        balloon=9, mark="9", text="2 x 45°", kind="chamfer", unit="mm", low=1.8, high=2.2, before_low=before[0],
        before_high=before[1], is_critical=False,
    )  # fmt: skip
    changed = msgspec.structs.replace(plan, finishing=msgspec.structs.replace(plan.finishing, notes=(note,)))
    writer = Writer(plan=changed, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    text = json.dumps(notes_blocks(writer), ensure_ascii=False)
    for words in ("9: 2 x 45°", "leg of a chamfer", "1.800", "2.200", told):
        assert words in text


@pytest.mark.parametrize(("gauge", "told"), [("tester", "by: tester"), ("", "nothing in the shop tells it: ask")])
def test_a_texture_stands_with_what_tells_it(gauge: str, told: str, plan: Plan, shop: Shop) -> None:
    note = SizeNote(
        balloon=2, mark="2", text="Ra 1.6", kind="texture", unit="µm", low=None, high=1.6, before_low=None,
        before_high=None, is_critical=False,
    )  # fmt: skip
    changed = msgspec.structs.replace(
        plan, finishing=msgspec.structs.replace(plan.finishing, notes=(note,)),
        note_gauges=(NoteGauge(mark="2", gauge=gauge),),
    )  # fmt: skip
    writer = Writer(plan=changed, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    text = json.dumps(notes_blocks(writer), ensure_ascii=False)
    assert f"surface texture, {told}" in text
    back = receiving_page(writer)
    assert back is not None
    blocks = [one for one in back["blocks"] if one["kind"] == "table" and "AFTER coat, mm" in json.dumps(one)]
    (row,) = [row for row in blocks[0]["rows"] if "Ra 1.6, surface texture" in json.dumps(row)]
    assert "at most 1.60" in json.dumps(row, ensure_ascii=False)
    numbers = [json.dumps(row[0]) for row in blocks[0]["rows"]]
    assert numbers == sorted(numbers)


def test_a_radius_with_a_line_of_its_own_stands_there_alone(plan: Plan, shop: Shop) -> None:
    note = SizeNote(
        balloon=9, mark="9", text="R4 ±0.2", kind="radius", unit="mm", low=3.8, high=4.2, before_low=3.8,
        before_high=4.2, is_critical=False,
    )  # fmt: skip
    line = msgspec.structs.replace(plan.inspection[0], balloon=9, mark="9", text="R4 ±0.2", of="radius")
    changed = msgspec.structs.replace(
        plan, finishing=msgspec.structs.replace(plan.finishing, notes=(note,)), inspection=(*plan.inspection, line)
    )  # fmt: skip
    writer = Writer(plan=changed, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    assert notes_blocks(writer) == []
    page = json.dumps(inspection_page(writer), ensure_ascii=False)
    assert page.count("R4 ±0.2") == 1
    assert '"measured": "radius"' in page


def test_the_sheet_says_what_to_get_where_no_gauge_fits(plan: Plan, shop: Shop) -> None:
    line = msgspec.structs.replace(plan.inspection[0], gauge="", wanted="get a plug of at most ±0.01 mm")
    for one, told in ((line, "none in the shop fits: get a plug"), (msgspec.structs.replace(line, wanted=""), ": ask")):
        writer = Writer(
            plan=msgspec.structs.replace(plan, inspection=(one,)), shop=shop, drawings={},
            fingerprint=fixture.FINGERPRINT,
        )  # fmt: skip
        assert told in json.dumps(inspection_page(writer), ensure_ascii=False)
