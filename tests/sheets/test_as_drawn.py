"""The inspection sheet lists what the STEP file writes and the plan does not judge, each with room for readings."""

from __future__ import annotations

import json
from typing import Any

import msgspec
from fixture_drawn import NOTES
from fixture_names import SLOT_A, SLOT_B

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.as_drawn import COATED, HEADING, as_drawn
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.writer import Writer


def page(plan: Plan, shop: Shop) -> str:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3")
    return json.dumps(inspection_page(writer), ensure_ascii=False)


def test_what_the_plan_does_not_judge_is_listed_with_its_faces_and_datums(plan: Plan, shop: Shop) -> None:
    text = page(msgspec.structs.replace(plan, pmi=NOTES), shop)
    assert COATED in text
    for words in ("Position Ø0.375 to A", "Flatness 0.045", "62.25° ±0.75°", "Datum A"):
        assert words in text
    assert "18.5 ±0.15" not in text  # used: it has its own line


def test_a_plan_without_them_has_no_such_heading(plan: Plan, shop: Shop) -> None:
    text = page(msgspec.structs.replace(plan, pmi=()), shop)
    assert HEADING not in text
    assert COATED not in text


def drawn_table(plan: Plan, shop: Shop) -> dict[str, Any]:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3")
    blocks = inspection_page(writer)["blocks"]
    at = next(i for i, block in enumerate(blocks) if block.get("text") in (HEADING, COATED))
    return {"heading": blocks[at]["text"], "table": json.dumps(blocks[at + 1])}


def test_sizes_of_the_finished_part_have_no_boxes_at_the_machine_where_it_is_coated(plan: Plan, shop: Shop) -> None:
    drawn = msgspec.structs.replace(plan, pmi=NOTES)
    coated = drawn_table(drawn, shop)
    assert "after the coat - do not gauge here" in coated["heading"]
    assert '"box"' not in coated["table"]
    bare = drawn_table(
        msgspec.structs.replace(drawn, finishing=msgspec.structs.replace(plan.finishing, coated_area_mm2=0.0)), shop
    )
    assert bare["heading"] == HEADING
    assert bare["table"].count('"box"') == 2 * 3


def test_a_size_used_on_some_of_its_faces_is_listed_for_the_others(plan: Plan, shop: Shop) -> None:
    used = next(note for note in NOTES if note.status == "used")
    both = msgspec.structs.replace(used, face_ids=(SLOT_A, SLOT_B), lost_ids=(SLOT_B,), why="its faces measure 7 mm")
    writer = Writer(
        plan=msgspec.structs.replace(plan, pmi=(both,)), shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3"
    )
    text = json.dumps(as_drawn(writer), ensure_ascii=False)
    assert "18.5 ±0.15" in text
    names = Writer(plan=plan, shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3").names
    assert names.faces((SLOT_B,)).lower() in text.lower()
    assert names.faces((SLOT_A, SLOT_B)).lower() not in text.lower()
