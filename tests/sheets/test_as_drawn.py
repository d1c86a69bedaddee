"""The inspection sheet lists what the STEP file writes and the plan does not judge, each with room for readings."""

from __future__ import annotations

import json

import msgspec
from fixture_drawn import NOTES
from fixture_names import SLOT_A, SLOT_B

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.as_drawn import COATED, ELSEWHERE, HEADING, as_drawn
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.pages_records import receiving_page
from proveout.sheets.writer import Writer


def page(plan: Plan, shop: Shop, *, is_back: bool = False) -> str:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3")
    return json.dumps(receiving_page(writer) if is_back else inspection_page(writer), ensure_ascii=False)


def bare_of(plan: Plan) -> Plan:
    """The same part without a coat."""
    return msgspec.structs.replace(plan, finishing=msgspec.structs.replace(plan.finishing, coated_area_mm2=0.0))


def test_what_the_plan_does_not_judge_is_listed_with_its_faces_and_datums(plan: Plan, shop: Shop) -> None:
    text = page(bare_of(msgspec.structs.replace(plan, pmi=NOTES)), shop)
    assert HEADING in text
    for words in ("Position Ø0.375 to A", "Flatness 0.045", "62.25° ±0.75°", "Datum A"):
        assert words in text
    assert "18.5 ±0.15" not in text  # used: it has its own line


def test_a_plan_without_them_has_no_such_heading(plan: Plan, shop: Shop) -> None:
    text = page(msgspec.structs.replace(plan, pmi=()), shop)
    assert HEADING not in text
    assert COATED not in text


def test_of_a_coated_part_it_stands_on_the_receiving_check_and_not_at_the_machine(plan: Plan, shop: Shop) -> None:
    """Whoever gauges at the machine must not meet a size of the finished part that looks like one to machine to."""
    drawn = msgspec.structs.replace(plan, pmi=NOTES)
    before, back = page(drawn, shop), page(drawn, shop, is_back=True)
    assert ELSEWHERE in before
    for words in ("Position Ø0.375 to A", "Flatness 0.045", "62.25° ±0.75°"):
        assert words not in before
        assert words in back
    assert COATED in back


def test_each_has_a_box_for_the_first_and_the_last_piece(plan: Plan, shop: Shop) -> None:
    writer = Writer(
        plan=msgspec.structs.replace(plan, pmi=NOTES), shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3"
    )
    assert json.dumps(as_drawn(writer)[1]).count('"box"') == 2 * 3


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
