"""No words lie over each other on any page, and every page is black and white, looked for in the finished PDF."""

from __future__ import annotations

from typing import Any

import msgspec
import pypdfium2
import pytest
from overlaps import beyond_edge, boxes_of, is_coloured, overlapping
from shapes import box, drilled, solid_of
from struck import struck

from proveout.model.bench import BenchPlan, EdgeRun
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.sheets import blocks as b
from proveout.sheets.edge_map import edge_map_svg
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews, numbered_svgs
from proveout.sheets.pages_pack import labels_page
from proveout.sheets.pages_records import trail_page
from proveout.sheets.papers import papers_document
from proveout.sheets.svg import Paper
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer
from proveout.solids.drawing import hidden_line_drawing
from proveout.stages import survey


def pages(blocks: list[list[b.Block]]) -> pypdfium2.PdfDocument:
    made = [b.page(sheet="Test", title="Test", blocks=one) for one in blocks]
    document: dict[str, Any] = {
        "title": "Test", "part": "EX-1", "revision": "A", "shop": "Example", "fingerprint": "0", "start": "",
        "ready": True, "band": "", "pages": made,
    }  # fmt: skip
    return pypdfium2.PdfDocument(typeset(document))


def drawn(svg: str) -> b.Block:
    return b.pictures(b.picture(svg=svg, alt="test", width_mm=180.0, caption=""))


def lettered(apart_mm: float, ink: str = "#000") -> str:
    paper = Paper(width_mm=180.0, height_mm=40.0)
    paper.words("first", 60.0, 20.0)
    paper.words("second", 60.0 + apart_mm, 20.0)
    return paper.text(alt="test", ids="x").replace('fill="#000"', f'fill="{ink}"')


def test_words_over_each_other_are_found_and_words_beside_each_other_are_not() -> None:
    found = pages([[drawn(lettered(3.0))], [drawn(lettered(25.0))]])
    assert overlapping(found[0]) != []
    assert overlapping(found[1]) == []


def test_colour_and_words_beyond_the_edge_are_found() -> None:
    paper = Paper(width_mm=180.0, height_mm=40.0)
    paper.parts.append('<circle cx="20" cy="20" r="5" fill="#c00"/>')
    paper.words("far out", 199.0, 20.0)
    found = pages([[drawn(paper.text(alt="test", ids="x"))], [drawn(lettered(25.0))]])
    assert is_coloured(found[0])
    assert not is_coloured(found[1])
    assert beyond_edge(found[1]) == []


def test_nothing_overlaps_on_the_papers_and_all_is_black_and_white(marked: Writer) -> None:
    marked.ink.marked = False
    document = pypdfium2.PdfDocument(typeset(papers_document(marked)))
    assert len(document) > 15
    for number in range(len(document)):
        page = document[number]
        assert overlapping(page) == [], f"page {number + 1}"
        assert struck(page) == [], f"page {number + 1}"
        assert beyond_edge(page) == [], f"page {number + 1}"
        assert not is_coloured(page), f"page {number + 1}"


@pytest.fixture(scope="module")
def many_holes() -> Solid:
    """A plate with more holes than numbers stand around one view of it."""
    shape = box(120, 90, 6)
    for row in range(9):
        for column in range(10):
            shape = drilled(shape, at=(8 + 11.5 * column, 8 + 9 * row, 6), along=(0, 0, -1), dia=4.0, deep=3.0)
    return solid_of(shape)


@pytest.fixture(scope="module")
def plate(many_holes: Solid) -> list[str]:
    """Its numbered drawing."""
    solid = many_holes
    found = survey.decide(solid=solid, run=Run()).value
    drawings = [
        hidden_line_drawing(solid.brep, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS
    ]  # fmt: skip
    return numbered_svgs(
        solid, found, drawings=drawings, column_mm=90.0, row_mm=63.0, is_headed=False, height_mm=215.0
    )  # fmt: skip


def test_a_view_with_too_many_numbers_is_drawn_again_with_the_rest(plate: list[str]) -> None:
    assert sum(svg.count("from above (+z)</text>") for svg in plate) >= 2 * 2  # each with its rim
    assert sum(svg.count('class="balloon"') for svg in plate) == 90 + 6


def test_no_two_numbers_of_a_crowded_drawing_overlap(plate: list[str]) -> None:
    document = pages([[drawn(svg)] for svg in plate])
    assert len(document) == len(plate)
    for number in range(len(document)):
        assert overlapping(document[number]) == []


@pytest.mark.parametrize(
    "number", ["plate_without_antennas_242", "EX_-_Top_plate_without_antennas", "p" * 90, "EX-102 B with a long name"]
)
def test_a_long_part_number_stays_in_its_place(marked: Writer, number: str) -> None:
    """On labels it would else run over the code of the next one, on the trail over the revision beside it."""
    marked.ink.marked = False
    part = msgspec.structs.replace(marked.plan.part, number=number)
    plan = msgspec.structs.replace(marked.plan, part=part)
    writer = Writer(plan=plan, shop=marked.shop, drawings={}, fingerprint="0" * 16)
    document: dict[str, Any] = {
        "title": "Test", "part": "EX-1", "revision": "A", "shop": "Example", "fingerprint": "0", "start": "",
        "ready": True, "band": "", "pages": [labels_page(writer), trail_page(writer)],
    }  # fmt: skip
    found = pypdfium2.PdfDocument(typeset(document))
    assert len(found) == 2
    for page in found:
        assert overlapping(page) == []
        assert beyond_edge(page) == []
    middle = found[0].get_size()[0] / 2.0
    runs = [(one, one.text.replace("\u200b", "")) for one in boxes_of(found[0])]
    columns = [(one.left, one.right) for one, text in runs if len(text) > 3 and text in number]
    assert columns
    assert not [ends for ends in columns if ends[0] < middle < ends[1] + 4.0]


def test_a_view_with_too_many_letters_of_edges_is_drawn_again_with_the_rest(many_holes: Solid) -> None:
    rims = [edge for edge in many_holes.edges if edge.kind == "circle"]
    tops = [edge for edge in rims if edge.centre_mm[2] > 5.9]
    assert len(tops) == 90
    runs = tuple(
        EdgeRun(
            letter=f"{chr(65 + k // 26)}{chr(65 + k % 26)}",
            edge_ids=(edge.id,),
            length_mm=12.6,
            manner="hand",
            face_ids=(),
            hole_ids=(),
            clamping=1,
        )
        for k, edge in enumerate(tops)
    )
    views = PartViews(
        many_holes,
        tuple(hidden_line_drawing(many_holes.brep, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS),
    )
    svg, height, missing = edge_map_svg(BenchPlan(edges=runs), views)
    assert missing == ()
    assert svg.count("from above (+z)</text>") >= 2 * 2  # each with its rim
    (page,) = pages([[b.pictures(b.picture(svg=svg, alt="test", width_mm=180.0, caption=""))]])
    assert height < 250.0
    assert overlapping(page) == []
