"""The inspection sheet lists what the STEP file writes and the plan does not judge, each with room for readings."""

from __future__ import annotations

import json

import msgspec
from fixture_drawn import NOTES

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.as_drawn import HEADING
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.writer import Writer


def page(plan: Plan, shop: Shop) -> str:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="5f0c2a9be41d77c3")
    return json.dumps(inspection_page(writer), ensure_ascii=False)


def test_what_the_plan_does_not_judge_is_listed_with_its_faces_and_datums(plan: Plan, shop: Shop) -> None:
    text = page(msgspec.structs.replace(plan, pmi=NOTES), shop)
    assert HEADING in text
    for words in ("Position Ø0.375 to A", "Flatness 0.045", "62.25° ±0.75°", "Datum A"):
        assert words in text
    assert "18.5 ±0.15" not in text  # used: it has its own line


def test_a_plan_without_them_has_no_such_heading(plan: Plan, shop: Shop) -> None:
    assert HEADING not in page(msgspec.structs.replace(plan, pmi=()), shop)
