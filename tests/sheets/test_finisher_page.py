"""The orders to finishers: one page each, all that finishers ask for, and what nobody has said told first."""

from __future__ import annotations

import json
import re

import fixture_plan
import msgspec
import pytest
from fixture_finish import notes
from fixture_names import FACES
from test_addresses import check_lines, left_over, pdf_text

from proveout.model.plan import Plan
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Finisher, Shop
from proveout.sheets.blocks import BOX
from proveout.sheets.notes_words import notes_blocks
from proveout.sheets.pages_finisher import finisher_pages, order_page
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.pages_front import route_page
from proveout.sheets.pages_pack import pack_page
from proveout.sheets.pages_records import receiving_page
from proveout.sheets.papers import papers_document
from proveout.sheets.plan_html import _sizes
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

AWAY = ScheduledStep(
    id="EX-102 at laser 2", kind="away", parts=("EX-102",), what="laser marking", station="laser", lot=0,
    pieces_count=155, begin_s=0.0, end_s=1.0, setup_s=0.0, people_ratio=0.0, day="2026-04-21", end_day="2026-04-24",
    into_shift="0:00",
)  # fmt: skip
LASER = Finisher(
    id="laser", process="laser marking", lot_minimum=1.0, price_each=1.0, freight=0.0, days_low=2, days_high=3,
    pickup_weekdays=(1, 4),
)  # fmt: skip


@pytest.fixture(scope="module")
def texts(plan: Plan, shop: Shop) -> list[str]:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    document = papers_document(writer)
    document["pages"] = [page for page in document["pages"] if page["sheet"] == "Order to a finisher"]
    return [re.sub(r"\s+", " ", text.replace("\u202f", " ")) for text in pdf_text(typeset(document))]


def test_each_order_is_one_page(texts: list[str]) -> None:
    assert len(texts) == 2
    assert "Order to a finisher - black hard coat" in texts[0]
    assert "Order to a finisher - laser marking" in texts[1]


@pytest.mark.parametrize(
    "words",
    [
        "EX-102", "revision B", "6061-T6", "155", "0.040 to 0.060 mm", "0.018 to 0.033 mm", "90 cm²",
        "all pieces planned 140 dm²",
        "blasted with beads", "EX-101", "6 to 8; the whole order is wanted 2026-04-20", "laser marking",
        "M6 6H, blind: plug",
        "blind, 12.0 mm deep", "may hold by", "may not touch", "faces that show", "22 ±0.05", "21.860", "21.950",
        "exact count in the boxes", "trial piece", "whom to ring",
    ],
)  # fmt: skip
def test_a_coat_is_ordered_in_the_words_that_finishers_ask_for(texts: list[str], words: str) -> None:
    assert words in texts[0]


@pytest.mark.parametrize("words", ["EX-102 B", "in the middle", "2.5 mm", "mark, word for word"])
def test_a_marking_is_ordered_with_its_words_face_place_and_height(texts: list[str], words: str) -> None:
    assert words in texts[1]
    assert "Marking" not in texts[0]


def test_what_was_marked_is_looked_at_when_it_is_back_and_before_it_is_boxed(plan: Plan, shop: Shop) -> None:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    face = writer.names.faces(plan.finish_orders[1].markings[0].face_ids)
    for page in (receiving_page(writer), pack_page(writer)):
        assert f"Marked EX-102 B on {face}, in the middle, 2.5\u202fmm high" in json.dumps(page, ensure_ascii=False)


def test_an_order_refers_to_a_map_only_where_one_follows(plan: Plan, shop: Shop) -> None:
    many = msgspec.structs.replace(plan.finish_orders[1], show=FACES)
    writer = Writer(
        plan=msgspec.structs.replace(plan, finish_orders=(many,)), shop=shop, drawings={},
        fingerprint=fixture_plan.FINGERPRINT,
    )  # fmt: skip
    text = json.dumps(finisher_pages(writer), ensure_ascii=False)
    assert "see the map" not in text
    assert writer.names.faces(FACES).lower() in text.lower()


def test_the_days_that_were_scheduled_stand_on_order_and_route_card(plan: Plan, shop: Shop) -> None:
    """Planned days, told as such, in place of the day on which the whole order is wanted; and only where there are."""
    named = msgspec.structs.replace(
        plan, cost=msgspec.structs.replace(
            plan.cost, lines=(msgspec.structs.replace(plan.cost.lines[0], text="outside: laser marking"),)
        ),
    )  # fmt: skip
    own = (LASER,) if all(f.id != "laser" for f in shop.finishers) else ()
    there = msgspec.structs.replace(shop, finishers=(*shop.finishers, *own))
    for steps in ((AWAY,), ()):
        writer = Writer(
            plan=named, shop=there, drawings={}, fingerprint=fixture_plan.FINGERPRINT, schedule=steps
        )  # fmt: skip
        card = json.dumps(route_page(writer), ensure_ascii=False)
        order = json.dumps(order_page(writer, 1), ensure_ascii=False)
        for text in (card, order):
            assert ("sent on 2026-04-21, due back 2026-04-24" in text) == bool(steps)
        assert ("as planned" in order) == bool(steps)
        assert ("no day said yet" in order) != bool(steps)


def test_what_nobody_has_said_stands_first(texts: list[str]) -> None:
    assert texts[0].index("Not said yet, to be written in before this goes out") < texts[0].index("asked for")
    assert "the day on which it is wanted" in texts[1]


def test_faces_go_by_their_numbers(plan: Plan, shop: Shop) -> None:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    finisher_pages(writer)
    assert set(plan.finish_orders[0].rack_may) <= writer.names.used


def test_a_plan_that_sends_nothing_out_has_no_such_page(plan: Plan, shop: Shop) -> None:
    kept = msgspec.structs.replace(plan, finish_orders=())
    writer = Writer(plan=kept, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    assert finisher_pages(writer) == []


def test_what_is_written_beside_sizes_stands_on_the_inspection_sheet(plan: Plan, shop: Shop) -> None:
    finishing = msgspec.structs.replace(plan.finishing, notes=notes())
    noted = msgspec.structs.replace(plan, finishing=finishing)
    writer = Writer(plan=noted, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT, marked=True)
    document = papers_document(writer)
    document["pages"] = [page for page in document["pages"] if page["sheet"] == "Inspection sheet"]
    text = "\n".join(pdf_text(typeset(document)))
    assert left_over(text) == []
    check_lines(writer, noted, shop)
    plain = re.sub(r"\s+", " ", text.replace("\u202f", " ").replace("‹", "").replace("›", ""))
    unknown = msgspec.structs.replace(notes()[0], before_low=None, before_high=None)
    bare = msgspec.structs.replace(noted, finishing=msgspec.structs.replace(finishing, notes=(unknown,)))
    told = str(notes_blocks(Writer(plan=bare, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)))
    assert "not known: ask the finisher" in told
    for words in ("R2 ±0.2", "1.782 mm to 2.167 mm", "19.50° to 20.50°", "every piece", "at most 1.60 µm", "edge -0.3"):
        assert words in plain, words


def test_boxes_stand_straight_behind_what_is_machined_to_and_finished_limits_small_and_last(
    plan: Plan, shop: Shop
) -> None:
    noted = msgspec.structs.replace(plan, finishing=msgspec.structs.replace(plan.finishing, notes=notes()))
    writer = Writer(plan=noted, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    _, table = notes_blocks(writer)
    titles = table["head"]
    assert titles == [
        "written", "what", "machine to", "first piece", "last piece", "after the coat - do not gauge here"
    ]  # fmt: skip
    row = table["rows"][0]
    assert "1.782" in row[2]
    assert row[3] == row[4] == BOX
    assert "1.800" in row[5]["text"]
    assert row[5]["small"]


def test_the_gauges_of_a_coated_thread_stand_where_it_is_measured(plan: Plan, shop: Shop) -> None:
    (window,) = plan.finishing.windows
    gauged = msgspec.structs.replace(window, gauges="before the coat: GO plug of pitch diameter 5.482 mm")
    finishing = msgspec.structs.replace(plan.finishing, windows=(gauged,))
    line = msgspec.structs.replace(plan.inspection[0], balloon=window.balloon, text=window.text, gauge="")
    noted = msgspec.structs.replace(plan, finishing=finishing, inspection=(line,))
    writer = Writer(plan=noted, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    rows = next(block["rows"] for block in inspection_page(writer)["blocks"] if block["kind"] == "limits")
    assert "fits; before the coat: GO plug of pitch diameter 5.482 mm" in rows[0]["gauge"]


def test_no_paper_prints_ends_that_nobody_knows(plan: Plan, shop: Shop) -> None:
    """Neither the big box of the inspection sheet nor the finisher's readings nor the page of the plan."""
    line = msgspec.structs.replace(plan.inspection[0], is_decided=False)
    (window,) = plan.finishing.windows
    unsaid_window = msgspec.structs.replace(window, is_decided=False)
    (reading,) = plan.finish_orders[0].readings
    order = msgspec.structs.replace(
        plan.finish_orders[0], readings=(msgspec.structs.replace(reading, is_decided=False),)
    )  # fmt: skip
    unsaid = msgspec.structs.replace(
        plan, inspection=(line,), finish_orders=(order,),
        finishing=msgspec.structs.replace(plan.finishing, windows=(unsaid_window,)),
    )  # fmt: skip
    writer = Writer(plan=unsaid, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    (row,) = next(block["rows"] for block in inspection_page(writer)["blocks"] if block["kind"] == "limits")
    assert row["before"] == "not known: ask the finisher"
    (page,) = finisher_pages(writer)
    told = str(page)
    assert "not known: ask the finisher" in told
    assert "21.860" not in told
    sizes = _sizes(writer)
    assert sizes.count("not known: ask the finisher") == 2
    assert f"{window.before_low_mm:.3f} to" not in sizes
