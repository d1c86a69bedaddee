"""What goes over from one operation to the next, on the page and on the floor; every number addressed."""

from __future__ import annotations

import re

import fixture_plan
import msgspec
from test_addresses import MARKED, check_lines, left_over, page_text, pdf_text

from proveout.model.fact import Fact
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.model.turned import Bow, ErrorLine, Facing, FacingStage, Meeting, Turned
from proveout.sheets.papers import papers_document
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.plan_html import html_of
from proveout.sheets.turned_html import turned_html
from proveout.sheets.turned_words import facing_words, first_piece_rows
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

OPS = fixture_plan.OPS


def mm(low: float, high: float) -> Fact:
    return Fact(low=low, nominal=low, high=high, unit="mm", source="shop-file: invented", strength="measured here")


def step(face: str, off: Fact | None, limit: float | None = 0.3) -> Meeting:
    return Meeting(
        kind="step", subject=face, text="", clamping_ids=(OPS[0], OPS[1]), face_ids=(face,), off_mm=off,
        limit_mm=limit, lines=(ErrorLine(text="seating in the vise", each_mm=mm(0.003, 0.015), count=2),),
    )  # fmt: skip


SIZE = Meeting(
    kind="size", subject=fixture_plan.FACES[0], text="18 along the part's z", clamping_ids=(OPS[0], OPS[1]),
    face_ids=fixture_plan.FACES[:2], off_mm=mm(0.008, 0.104), limit_mm=0.185, size_mm=17.951,
    lines=(ErrorLine(text="zero Z of operation 2", each_mm=mm(0.002, 0.011)),),
)  # fmt: skip
STAGES = (
    FacingStage(count=12, height_mm=18.25, depth_mm=0.353, above_jaws_mm=3.75, reserve_low=11.27, reserve_high=15.2),
    FacingStage(count=1, height_mm=17.95, depth_mm=0.304, above_jaws_mm=3.45, reserve_low=10.12, reserve_high=14.3),
)
TURNED = Turned(
    meetings=(step(fixture_plan.FACES[0], mm(0.02, 0.117)), step(fixture_plan.FACES[1], mm(0.02, 0.219)), SIZE),
    facings=(Facing(clamping_id=OPS[1], pass_id=f"{OPS[1]}/face", count=13, stages=STAGES),),
    bows=(Bow(clamping_id=OPS[1], length_mm=89.95, thickness_mm=17.95, bow_mm=mm(0.0, 0.034)),),
)


def told(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings], turned: Turned = TURNED, *, marked: bool = False
) -> Writer:
    planned = msgspec.structs.replace(plan, turned=turned)
    return Writer(
        plan=planned, shop=shop, drawings=drawings, fingerprint=fixture_plan.FINGERPRINT, marked=marked
    )  # fmt: skip


def test_every_number_stands_at_an_address(
    plan: Plan, shop: Shop, target: Target, drawings: dict[str, ClampingDrawings]
) -> None:
    writer = told(plan, shop, drawings, marked=True)
    text = page_text(html_of(writer, target))
    assert left_over(text) == []
    check_lines(writer, writer.plan, shop)
    papers = told(plan, shop, drawings, marked=True)
    paper = "\n".join(pdf_text(typeset(papers_document(papers))))
    assert left_over(paper) == []
    check_lines(papers, papers.plan, shop)
    assert {"‹0.219›", "‹17.951›", "‹0.104›"} <= set(MARKED.findall(paper))


def test_the_page_tells_steps_sizes_shares_stages_and_bow(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    html = turned_html(told(plan, shop, drawings))
    rows = [re.sub(r"<[^>]+>", "|", row) for row in html.split("</tr>")]
    assert any("17.951" in row and "0.104" in row and "0.185" in row for row in rows)
    # the shares of the larger step alone, with how often they count
    assert html.count("seating in the vise") == 1
    assert any("seating in the vise" in row and "0.003 to 0.015" in row and "||2|" in row for row in rows)
    assert any("|12|" in row and "0.35" in row and "18.25" in row and "3.75" in row and "11.3" in row for row in rows)
    assert "0.000 to 0.034" in html
    assert turned_html(told(plan, shop, drawings, Turned())) == ""


def test_piece_one_is_measured_where_least_room_is_left_and_what_nobody_knows_first(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    rows = first_piece_rows(told(plan, shop, drawings), 1, columns=5)
    assert [len(row) for row in rows] == [5, 5]
    assert ["at most 0.219" in str(rows[0]), "17.951 ±0.104" in str(rows[1])] == [True, True]
    assert first_piece_rows(told(plan, shop, drawings), 0, columns=5) == []
    # 0.117 of 0.12 leaves less room than 0.219 of 0.3; a step that nobody can reckon goes before both
    near = Turned(
        meetings=(step(fixture_plan.FACES[0], mm(0.02, 0.117), 0.12), step(fixture_plan.FACES[1], mm(0.02, 0.219)))
    )
    assert "at most 0.117" in str(first_piece_rows(told(plan, shop, drawings, near), 1, columns=5))
    lost = Turned(meetings=(*near.meetings, step(fixture_plan.FACES[2], None)))
    assert "not shown" in str(first_piece_rows(told(plan, shop, drawings, lost), 1, columns=5))


def test_the_setup_sheet_says_the_stages_of_facing(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    writer = told(plan, shop, drawings)
    assert facing_words(writer, 1) == ("Facing, mm: 12 x 0.35 down to Z 18.25, 0.30 down to Z 17.95, the last a skim.")
    assert facing_words(writer, 0) == ""


def test_walls_that_no_proof_shows_are_read_on_piece_one(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    """The first operation has no meeting to measure: its one row is the indicator on the walls, against the limit."""
    first = plan.clampings[0].id
    bend = msgspec.structs.replace(
        plan.proofs[0], id=f"holding:{first}:wall bent in", stage="holding", verdict="not shown", sense="at most",
        found_low=0.0, found_high=0.086, limit=0.075, unit="mm", decides="an indicator",
    )  # fmt: skip
    pull = msgspec.structs.replace(
        bend, id=f"holding:{first}:wall yields", found_high=361.0, limit=240.0, unit="MPa"
    )  # fmt: skip
    for proofs, expected in (
        ((bend, pull), "at most 0.075; 0.00 once open"), ((pull,), "0.00 once open"),
        ((msgspec.structs.replace(bend, found_low=None, found_high=None, limit=None),), "0.00 once open"),
        ((msgspec.structs.replace(bend, verdict="holds"),), ""),
    ):  # fmt: skip
        writer = told(msgspec.structs.replace(plan, proofs=(*plan.proofs, *proofs)), shop, drawings)
        rows = first_piece_rows(writer, 0, columns=5)
        assert [len(row) for row in rows] == ([5] if expected else [])
        assert not expected or expected in str(rows[0])
