"""What a person at the machine, the bench, the saw or the finisher reads: units, limits of a reading, where to look."""

from __future__ import annotations

import csv
import io
import json
import math
import zipfile
from typing import Any

import msgspec
import pytest
from fixture_plan import FINGERPRINT
from shapes import box, solid_of
from test_calendar import planned
from test_loading_card import loading

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.dates_ics import order_dates
from proveout.sheets.inspection_table import inspection_csv, inspection_xlsx
from proveout.sheets.numbered import PartViews
from proveout.sheets.pages_bench import bench_page
from proveout.sheets.pages_finisher import order_page
from proveout.sheets.pages_floor import AS_MACHINED, inspection_page, prove_out_page
from proveout.sheets.pages_loading import loading_page
from proveout.sheets.pages_records import close_page
from proveout.sheets.pages_setup import caution_lines
from proveout.sheets.writer import Writer


def writer_of(plan: Plan, shop: Shop, **more: Any) -> Writer:
    return Writer(plan=plan, shop=shop, drawings={}, fingerprint=FINGERPRINT, **more)


def words(page: Any) -> str:
    return json.dumps(page, ensure_ascii=False)


def test_the_touches_stand_before_the_wrong_loads_and_stay_on_the_card(plan: Plan, shop: Shop) -> None:
    """A card too full for a page once lost its last touch to the next one; what is left over now is no touch."""
    cards = tuple(loading(clamping.id) for clamping in plan.clampings)
    page = loading_page(writer_of(msgspec.structs.replace(plan, loading=cards), shop), 0, torque="60 N m")
    assert page is not None
    kinds = [block["kind"] for block in page["blocks"]]
    cut = kinds.index("may-break")
    assert kinds.index("table") < kinds.index("pictures") < cut
    assert kinds[cut + 1 :] == ["heading", "table"]
    assert "ball starts at" not in words(page["blocks"][cut + 1 :])
    assert "keep them away" in words(page["blocks"][:cut])
    heads = words(page["blocks"][kinds.index("table")])
    assert "ball starts at, mm" in heads
    assert "alarm, mm" in heads
    for row in (block for block in page["blocks"] if block["kind"] == "pictures"):
        assert len(row["small"]) == len(row["pictures"])
        assert row["small"] != row["pictures"]


def test_a_reading_limit_drawn_in_by_the_gauge_stands_with_the_limits_to_machine_to(plan: Plan, shop: Shop) -> None:
    def reads(told: Plan) -> list[str]:
        page = inspection_page(writer_of(told, shop))
        return [row["reads"] for row in next(b for b in page["blocks"] if b["kind"] == "limits")["rows"]]

    found = reads(plan)
    place = next(i for i, line in enumerate(plan.inspection) if line.accept_low_mm == 21.87)
    assert found[place] == "the gauge may read 21.870 – 22.030"
    assert all(not text for i, text in enumerate(found) if plan.inspection[i].accept_low_mm is None)
    line = plan.inspection[place]
    for same in (
        msgspec.structs.replace(line, accept_low_mm=line.before_low_mm, accept_high_mm=line.before_high_mm),
        msgspec.structs.replace(line, is_decided=False),
    ):
        lines = tuple(same if i == place else one for i, one in enumerate(plan.inspection))
        assert reads(msgspec.structs.replace(plan, inspection=lines))[place] == ""


@pytest.mark.parametrize(("high", "said"), [(99.0, "1.20 to 99 or more times"), (3.5, "1.20 to 3.50 times")])
def test_a_grip_reckoned_no_further_is_said_to_be_so_or_more(plan: Plan, shop: Shop, high: float, said: str) -> None:
    place = writer_of(plan, shop).grip_proof(plan.clampings[0].id)
    assert place is not None
    proof = msgspec.structs.replace(plan.proofs[place], found_low=1.2, found_high=high, limit=1.0, verdict="holds")
    proofs = tuple(proof if i == place else one for i, one in enumerate(plan.proofs))
    assert said in caution_lines(writer_of(msgspec.structs.replace(plan, proofs=proofs), shop), 0)[0]


def test_mouths_of_one_hole_go_by_their_diameter(plan: Plan, shop: Shop) -> None:
    """worked: two mouths of Ø6 run 12 pi = 37.70 mm together; an edge half as long again is no circle of that hole."""
    (hole,) = plan.survey.holes
    step = hole.steps[0]
    run = msgspec.structs.replace(
        plan.bench.edges[0], hole_ids=(hole.id,), length_mm=2.0 * math.pi * step.diameter_mm, runs_count=2
    )
    odd = msgspec.structs.replace(run, length_mm=1.5 * run.length_mm)
    bench = msgspec.structs.replace(plan.bench, edges=(run, odd))
    page = bench_page(writer_of(msgspec.structs.replace(plan, bench=bench), shop))
    rows = next(block for block in page["blocks"] if block["kind"] == "table")["rows"]
    assert rows[0][2] == f"Mouths of hole {hole.balloon}, Ø{step.diameter_mm:.1f}"
    assert rows[1][2] == f"Mouths of hole {hole.balloon}"


def test_a_finisher_is_told_what_on_the_map_is_meant_not_numbers_that_it_lacks(plan: Plan, shop: Shop) -> None:
    views = PartViews(solid=solid_of(box(10, 10, 10)), drawings=())
    drawn, bare = words(order_page(writer_of(plan, shop, views=views), 0)), words(order_page(writer_of(plan, shop), 0))
    for mark in ("ringed", "hatched"):
        assert f"What is {mark} on the drawing: face" in drawn
        assert f"What is {mark}" not in bare
    assert "by the numbers on the drawing" not in drawn


def test_the_first_piece_is_gauged_before_its_coat_and_the_sheet_says_so(plan: Plan, shop: Shop) -> None:
    assert AS_MACHINED in words(prove_out_page(writer_of(plan, shop)))
    finishing = msgspec.structs.replace(plan.finishing, coated_area_mm2=0.0)
    assert AS_MACHINED not in words(prove_out_page(writer_of(msgspec.structs.replace(plan, finishing=finishing), shop)))


def test_the_offsets_at_the_end_of_the_run_have_room_for_every_operation(plan: Plan, shop: Shop) -> None:
    blocks = close_page(writer_of(plan, shop))["blocks"]
    place = next(i for i, block in enumerate(blocks) if block.get("text") == "Offsets at the end of the run")
    assert len(blocks[place + 1]["rows"]) == len(plan.clampings)


def test_a_calendar_names_machines_as_the_floor_does_and_what_is_not_ready(shop: Shop) -> None:
    named = msgspec.structs.replace(shop, machines=(msgspec.structs.replace(shop.machines[0], id="mill3", name="big"),))
    text = order_dates(planned(), name="spring", shop=named, unready=("EX-1", "EX-3")).decode().replace("\r\n ", "")
    assert "EX-1 at big" in text
    assert "mill3" not in text
    assert "EX-1 and EX-3 NOT READY: do not cut" in text
    assert "NOT READY" not in order_dates(planned(), name="spring").decode()


def test_the_inspection_table_names_cutters_as_the_floor_does_and_the_plan_it_is_of(plan: Plan, shop: Shop) -> None:
    cutter = shop.cutters[0]
    line = msgspec.structs.replace(plan.inspection[0], how_often=f"the first after {cutter.id} is changed")
    told = msgspec.structs.replace(plan, inspection=(line,))
    (row,) = csv.DictReader(io.StringIO(inspection_csv(told, shop)))
    assert row["how_often"] == f"the first after {cutter.name} is changed"
    with zipfile.ZipFile(io.BytesIO(inspection_xlsx(told, shop, mark=FINGERPRINT))) as archive:
        strings = archive.read("xl/sharedStrings.xml").decode("utf-8")
    assert f"the first after {cutter.name} is changed" in strings
    assert f"plan {FINGERPRINT[:4]}" in strings
