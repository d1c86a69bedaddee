"""Workbooks that a strict reader opens without a word: rules of the standard, checked on the package's own parts."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

import msgspec
import pytest
from ooxml_rules import broken_rules

from proveout.model.plan import Plan
from proveout.sheets.inspection_table import inspection_xlsx
from proveout.sheets.lists import lists_xlsx

BOOKS = (inspection_xlsx, lists_xlsx)


@pytest.mark.parametrize("made", BOOKS)
def test_a_workbook_breaks_no_rule_of_its_standard(made: Callable[[Plan], bytes], plan: Plan) -> None:
    assert broken_rules(made(plan)) == []


@pytest.mark.parametrize("made", BOOKS)
def test_nor_does_one_of_a_plan_without_sizes_or_with_odd_names(made: Callable[[Plan], bytes], plan: Plan) -> None:
    empty = msgspec.structs.replace(plan, inspection=(), purchases=())
    odd = msgspec.structs.replace(plan, part=msgspec.structs.replace(plan.part, number="<&\"'>=1", name="é\u202f½\x07"))
    for one in (empty, odd):
        assert broken_rules(made(one)) == []


@pytest.mark.parametrize(
    ("part", "old", "new", "says"),
    [
        ("xl/worksheets/sheet1.xml", '<dimension ref="A1:', '<dimension ref="B1:', "the dimension is"),
        ("xl/worksheets/sheet1.xml", '<c r="A1"', '<c r="ZZ1"', "stands out of order"),
        ("xl/worksheets/sheet1.xml", ' t="s"', "", "counts of shared strings"),
        ("xl/worksheets/sheet1.xml", ' s="1"', ' s="99"', "has no style 99"),
        ("xl/sharedStrings.xml", 'uniqueCount="', 'uniqueCount="1', "counts of shared strings"),
        ("xl/styles.xml", 'numFmt numFmtId="164"', 'numFmt numFmtId="300"', "number format 164 is none"),
        ("xl/worksheets/sheet2.xml", "AND(", "#REF!(", "formula #REF!"),
        ("xl/worksheets/sheet2.xml", 'dxfId="0"', 'dxfId="7"', "no format 7"),
        ("xl/_rels/workbook.xml.rels", "worksheets/sheet2.xml", "worksheets/sheet9.xml", "leads to"),
        ("[Content_Types].xml", "/xl/styles.xml", "/xl/style.xml", "xl/style.xml does not exist"),
    ],
)  # fmt: skip
def test_a_rule_that_is_broken_is_named(plan: Plan, part: str, old: str, new: str, says: str) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(inspection_xlsx(plan))) as whole, zipfile.ZipFile(out, "w") as broken:
        for name in whole.namelist():
            text = whole.read(name).decode("utf-8")
            assert name != part or old in text
            broken.writestr(name, text.replace(old, new, 1) if name == part else text)
    assert any(says in fault for fault in broken_rules(out.getvalue()))
