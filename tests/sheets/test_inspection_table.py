"""The inspection as a table and a workbook: the same bytes, limits to machine to, and no reading of a coated size."""

from __future__ import annotations

import csv
import io
import re
import zipfile

import fixture_plan as fixture
import msgspec
from test_floor_pages import sheet_of

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.inspection_table import HEAD, inspection_csv, inspection_xlsx


def parts_of(book: bytes) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name).decode("utf-8") for name in archive.namelist()}


def test_the_table_has_a_row_for_each_size_and_the_coated_limits_last(plan: Plan) -> None:
    rows = list(csv.reader(io.StringIO(inspection_csv(plan))))
    assert tuple(rows[0]) == HEAD
    assert len(rows) == 1 + len(plan.inspection)
    assert rows[0][-3:] == ["after_coat_low_mm", "after_coat_high_mm", "after_coat_gauge"]
    line = dict(zip(rows[0], rows[2], strict=True))
    assert (line["balloon"], line["machine_to_low_mm"], line["accept_low_mm"]) == ("3", "21.86", "21.87")
    assert (line["sample_count"], line["accept_count"], line["told_bad_pass_ratio"]) == ("32", "2", "0.786768")
    assert dict(zip(rows[0], rows[1], strict=True))["accept_low_mm"] == ""


def test_words_that_a_spreadsheet_would_reckon_stay_words(plan: Plan) -> None:
    odd = msgspec.structs.replace(plan.inspection[0], text="=1+1", gauge="@gauge")
    (row,) = list(csv.reader(io.StringIO(inspection_csv(msgspec.structs.replace(plan, inspection=(odd,))))))[1:]
    assert (row[1], row[9]) == ("'=1+1", "'@gauge")
    book = parts_of(inspection_xlsx(msgspec.structs.replace(plan, inspection=(odd,))))
    assert "<f>" not in book["xl/worksheets/sheet1.xml"] + book["xl/worksheets/sheet2.xml"].split("<conditionalF")[0]


def test_the_workbook_is_the_same_bytes_and_carries_no_clock(plan: Plan) -> None:
    one, other = inspection_xlsx(plan), inspection_xlsx(plan)
    assert one == other
    with zipfile.ZipFile(io.BytesIO(one)) as archive:
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert set(re.findall(r"\d{4}-\d\d-\d\dT[\d:]+Z", parts_of(one)["docProps/core.xml"])) == {"2000-01-01T00:00:00Z"}


def test_readings_have_a_row_for_each_piece_that_is_due_and_call_what_is_not_accepted(plan: Plan) -> None:
    book = parts_of(inspection_xlsx(plan))
    sheet, words = book["xl/worksheets/sheet2.xml"], book["xl/sharedStrings.xml"]
    assert "BEFORE THE COAT" in words
    assert "after coat" not in words.replace("after_coat", "")
    # size 7 and the thread are gauged on every piece: 155 rows below the eight of the head
    assert sheet.count("<row ") == 8 + 155
    conditions = re.findall(r"<formula>([^<]+)</formula>", sheet)
    assert conditions == [
        "AND(ISNUMBER(C9),C9&lt;21.870000-0.0000001)", "AND(ISNUMBER(C9),C9&gt;22.030000+0.0000001)",
    ]  # fmt: skip


def test_the_sheet_says_when_to_stop_when_to_correct_and_what_a_sample_lets_pass(plan: Plan, shop: Shop) -> None:
    text = sheet_of(plan, shop, "Inspection sheet")
    assert "STOP, tell the owner" in text
    assert "and not yet STOP: correct the offset towards 21.950" in text
    assert "draw 32 at random from the whole lot: at most 2 may lie beyond the STOP readings" in text
    assert "still passes up to 79 times in 100" in text
    assert "A sample lets lots with bad pieces pass." in text
    assert "piece 63" in text
    bare = msgspec.structs.replace(
        plan, inspection=tuple(msgspec.structs.replace(i, sample=None, sample_words="") for i in plan.inspection)
    )
    assert "A sample lets lots" not in sheet_of(bare, shop, "Inspection sheet")
    assert fixture.FINGERPRINT[:4] in text


def test_ends_that_nobody_knows_are_words_in_table_and_workbook(plan: Plan) -> None:
    odd = msgspec.structs.replace(plan.inspection[0], is_decided=False, before_low_mm=7.77701, before_high_mm=7.88801)
    unsaid = msgspec.structs.replace(plan, inspection=(odd,))
    rows = list(csv.reader(io.StringIO(inspection_csv(unsaid))))
    assert rows[1][3:5] == ["not known: ask the finisher"] * 2
    assert "7.777" not in inspection_csv(unsaid)
    assert not any("7.777" in part for part in parts_of(inspection_xlsx(unsaid)).values())
