"""What is written beside the sizes, on the inspection sheet: a chamfer with its leg before and after the coat."""

from __future__ import annotations

import json

import fixture_plan as fixture
import msgspec
import pytest

from proveout.model.plan import NOT_KNOWN, Plan, SizeNote
from proveout.model.shop import Shop
from proveout.sheets.notes_words import notes_blocks
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
