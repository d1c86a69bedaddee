"""The verdict above a plan counts in whole sentences, also where it counts one."""

from __future__ import annotations

import re

import msgspec
from fixture_plan import example_plan  # pyright: ignore[reportMissingImports] - lies with the sheets
from fixture_shop import example_shop  # pyright: ignore[reportMissingImports] - lies with the sheets

from proveout.sheets.verdict_html import verdict_html
from proveout.sheets.writer import Writer


def test_one_proof_is_told_as_one() -> None:
    plan = example_plan()
    blocking = next(one for one in plan.proofs if one.verdict != "holds" and one.blocks_release)
    one = msgspec.structs.replace(plan, ready=False, proofs=(blocking,))
    text = re.sub(r"<[^>]+>", "", verdict_html(Writer(plan=one, shop=example_shop(), drawings={}, fingerprint="")))
    assert "1 does not yet." in text
    assert ("1 fails" if blocking.verdict == "fails" else "1 is not shown") in text
    assert "0 hold," in text
