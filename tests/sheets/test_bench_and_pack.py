"""Bench card, edge map, kit sheet, labels and the pages filled in later."""

from __future__ import annotations

import json
import re
from typing import Any

import build123d as bd
import msgspec
import pytest
from shapes import box, solid_of

from proveout.model.bench import BenchPlan, EdgeRun
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.solid import Drawing, Solid
from proveout.sheets.edge_map import edge_map_svg
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews
from proveout.sheets.pages_bench import bench_page
from proveout.sheets.pages_pack import UNSEEN, labels_page, lot_text, pack_page, square_code_svg
from proveout.sheets.pages_records import close_page, receiving_page, trail_page
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.writer import Writer
from proveout.solids.drawing import hidden_line_drawing


def views_of(solid: Solid) -> PartViews:
    made: list[Drawing] = [
        hidden_line_drawing(solid.brep, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS
    ]
    return PartViews(solid=solid, drawings=tuple(made))


def run_of(letter: str, manner: Any, solid: Solid, wanted: Any) -> EdgeRun:
    ids = tuple(edge.id for edge in solid.edges if wanted(edge))
    return EdgeRun(
        letter=letter, manner=manner, edge_ids=ids, face_ids=(), hole_ids=(), length_mm=1.0, clamping=1
    )  # fmt: skip


def test_top_and_bottom_edges_need_two_views_and_each_letter_stands_once() -> None:
    solid = solid_of(box(40, 30, 20))
    top = run_of("A", "hand", solid, lambda e: all(p[2] > 19.9 for p in e.points_mm))
    bottom = run_of("B", "machine", solid, lambda e: all(p[2] < 0.1 for p in e.points_mm))
    svg, height, missing = edge_map_svg(BenchPlan(edges=(top, bottom)), views_of(solid))
    assert missing == ()
    assert height > 20.0
    assert len(re.findall(r">A</text>", svg)) == 2  # with its rim
    assert len(re.findall(r">B</text>", svg)) == 2
    assert 'stroke-width="0.95"' in svg
    assert 'stroke-dasharray="2.0 1.1"' in svg


def test_an_edge_seen_only_through_a_hole_is_shown_from_its_own_side() -> None:
    body = bd.Solid.make_box(40, 30, 20) - bd.Solid.make_cylinder(8, 40, bd.Plane((20, 15, -5)))
    solid = solid_of(body.wrapped)
    upper = run_of("A", "hand", solid, lambda e: e.kind == "circle" and e.centre_mm[2] > 19.9)
    lower = run_of("B", "hand", solid, lambda e: e.kind == "circle" and e.centre_mm[2] < 0.1)
    assert len(upper.edge_ids) == len(lower.edge_ids) == 1
    svg, _, missing = edge_map_svg(BenchPlan(edges=(upper, lower)), views_of(solid))
    assert missing == ()
    assert "above" in svg
    assert "below" in svg


def test_what_shows_nowhere_is_named() -> None:
    solid = solid_of(box(40, 30, 20))
    lost = EdgeRun(
        letter="A", manner="hand", edge_ids=("gone",), face_ids=(), hole_ids=(), length_mm=1.0, clamping=0
    )  # fmt: skip
    assert edge_map_svg(BenchPlan(edges=(lost,)), views_of(solid))[2] == ("A",)


def words(page: Any) -> str:
    return json.dumps(page, ensure_ascii=False)


def test_the_bench_card_tells_hand_from_machine_and_keeps_off_show_faces(marked: Writer) -> None:
    text = words(bench_page(marked))
    rows = next(block for block in bench_page(marked)["blocks"] if block["kind"] == "table")["rows"]
    assert [row[-1] == {"box": True} for row in rows] == [True, True, False]
    assert "the customer sees" in text
    assert "BEFORE blast" in text or not any(line.text == "blast" for line in marked.plan.time.lines)


def test_the_kit_sheet_says_which_item_must_be_counted(marked: Writer) -> None:
    rows = next(block for block in pack_page(marked)["blocks"] if block["kind"] == "table")["rows"]
    told = [row[4]["text"] if isinstance(row[4], dict) else row[4] for row in rows]
    assert told[1] == UNSEEN
    assert told[2].startswith("not shown")
    assert "14.0" in words(pack_page(marked))


def test_the_square_code_reads_part_revision_and_plan(marked: Writer) -> None:
    assert lot_text(marked).split(";")[:2] == [marked.plan.part.number, marked.plan.part.revision]
    assert " " not in lot_text(marked)
    one, other = square_code_svg("EX-102;A;1"), square_code_svg("EX-102;A;2")
    assert one.startswith("<svg")
    assert one != other
    assert labels_page(marked)["blocks"][0]["rows"] == 5


def test_the_receiving_check_shows_finished_limits_and_says_so(marked: Writer) -> None:
    page = receiving_page(marked)
    assert page is not None
    text = words(page)
    assert "AFTER coat" in text
    window = marked.plan.finishing.windows[0]
    assert f"{window.finished_low_mm:.3f}" in text
    assert f"{window.before_low_mm:.3f}" not in text or window.before_low_mm == window.finished_low_mm


def test_the_receiving_check_names_what_tells_a_size_once_it_is_coated(plan: Plan, shop: Shop) -> None:
    window = plan.finishing.windows[0]
    size = msgspec.structs.replace(
        plan.inspection[0], balloon=window.balloon, text=window.text, mark=window.mark, gauge="oversize pair",
        after_gauge="standard pair",
    )  # fmt: skip
    leg = msgspec.structs.replace(
        plan.inspection[0], balloon=88, mark="88", text="2 x 45°", of="chamfer", after_gauge=""
    )
    changed = msgspec.structs.replace(plan, inspection=(size, leg))
    text = words(receiving_page(Writer(plan=changed, shop=shop, drawings={}, fingerprint="0", marked=False)))
    assert "standard pair" in text
    assert "oversize pair" not in text
    assert "2 x 45°, leg of the chamfer" in text
    assert "none in the shop fits: ask" in text


@pytest.mark.parametrize("made", [trail_page, close_page])
def test_pages_filled_in_later_have_room_to_write(marked: Writer, made: Any) -> None:
    assert words(made(marked)).count('"box": true') > 8


def test_the_close_out_asks_what_outside_work_came_to_and_nothing_else(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    bar, mill, *rest = plan.cost.lines
    lines = (
        msgspec.structs.replace(bar, text="outside: laser marking"),
        msgspec.structs.replace(mill, text="outsides milled by hand"), *rest,
    )  # fmt: skip
    sent = msgspec.structs.replace(plan, cost=msgspec.structs.replace(plan.cost, lines=lines))
    text = words(close_page(Writer(plan=sent, shop=shop, drawings=drawings, fingerprint="0", marked=False)))
    assert "outside: laser marking" in text
    assert "outsides milled" not in text


def test_the_receiving_check_says_what_thickness_was_ordered(marked: Writer) -> None:
    page = receiving_page(marked)
    assert page is not None
    order = next(one for one in marked.plan.finish_orders if one.thickness_mm is not None)
    assert order.thickness_mm is not None
    (heading,) = (one for one in page["blocks"] if one["kind"] == "heading" and one["text"].startswith("Thickness"))
    assert f"{order.thickness_mm.low:.3f}" in heading["more"]
    assert f"{order.thickness_mm.high:.3f}" in heading["more"]
