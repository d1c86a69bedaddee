"""No line runs through a letter and nothing white covers one, looked for in finished pages."""

from __future__ import annotations

import re
from itertools import combinations
from types import SimpleNamespace
from typing import Any

import numpy as np
import pypdfium2
import pytest
from overlaps import boxes_of, overlapping
from struck import struck

from proveout.sheets import blocks as b
from proveout.sheets.pages_pack import LABELS
from proveout.sheets.papers import papers_document
from proveout.sheets.picture import Line, Picture
from proveout.sheets.svg import CLEAR_MM, SIDE_MM, Paper, _from_line_mm, bundle_svg, picture_svg
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

SQUARE = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 20.0], [0.0, 20.0]])


def pages(blocks: list[list[b.Block]]) -> pypdfium2.PdfDocument:
    made = [b.page(sheet="Test", title="Test", blocks=one, one_page=True) for one in blocks]
    document: dict[str, Any] = {
        "title": "Test", "part": "EX-1", "revision": "A", "shop": "Example", "fingerprint": "0", "start": "",
        "ready": True, "band": "", "pages": made,
    }  # fmt: skip
    return pypdfium2.PdfDocument(typeset(document))


def drawn(svg: str) -> b.Block:
    return b.pictures(b.picture(svg=svg, alt="test", width_mm=180.0, caption=""))


def lettered(*, line_y_mm: float, is_after: bool, ink: str = "#000") -> str:
    """A word whose letters end at 20 mm from the top, with a line across the paper before or after it."""
    paper = Paper(width_mm=180.0, height_mm=40.0)
    parts = [
        lambda: paper.words("jaw plate", 60.0, 20.0, strong=True),
        lambda: paper.strokes([np.array([[10.0, line_y_mm], [170.0, line_y_mm]])], width_mm=0.5, ink=ink),
    ]
    for draw in parts if is_after else reversed(parts):
        draw()
    return paper.text(alt="test", ids="x")


def test_a_line_drawn_over_a_word_is_found_and_one_that_the_word_covers_is_not() -> None:
    found = pages(
        [
            [drawn(lettered(line_y_mm=19.0, is_after=True))],
            [drawn(lettered(line_y_mm=19.0, is_after=False))],
            [drawn(lettered(line_y_mm=23.0, is_after=True))],
        ]
    )
    assert struck(found[0]) != []
    assert struck(found[1]) == []
    assert struck(found[2]) == []


def test_letters_that_something_white_covers_are_found() -> None:
    found = pages([[drawn(lettered(line_y_mm=19.0, is_after=True, ink="#fff"))]])
    assert struck(found[0]) != []


def test_a_page_is_left_as_it_was_found() -> None:
    page = pages([[drawn(lettered(line_y_mm=19.0, is_after=True))]])[0]
    assert struck(page) == struck(page) != []


@pytest.mark.parametrize(
    "axes",
    [
        (("X", 1.0, 0.0), ("Y", 0.0, 0.64), ("Z", 0.0, 0.77)),
        (("X", 1.0, 0.0), ("Y", 0.0, 1.0), ("Z", 0.0, 0.5)),
        (("X", -1.0, 0.0), ("Y", 0.0, -0.64), ("Z", 0.0, -0.77)),
        (("X", 0.9, 0.1), ("Y", 0.5, 0.06), ("Z", 0.2, 1.0)),
        (("X", 0.4, 0.0), ("Y", 0.7, 0.0), ("Z", 1.0, 0.0)),
        (("X", 1.0, 0.0), ("Y", 1.0, 0.0), ("Z", 0.0, 1.0)),
    ],
)
def test_names_of_axes_that_look_alike_are_struck_by_no_arrow(axes: tuple[tuple[str, float, float], ...]) -> None:
    picture = Picture(
        lines=(Line(style="blank", points_mm=SQUARE, is_closed=True),), labels=(), zero_mm=(20.0, 10.0), axes=axes,
        alt="test", caption="",
    )  # fmt: skip
    svg = picture_svg(picture, width_mm=180.0, height_mm=90.0, ids="x")
    assert svg.count("</text>") == 2 * 3
    shafts = re.findall(
        r'd="M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)" fill="none" stroke="#000" stroke-width="0.45"', svg
    )
    middles = [
        np.array([float(x), float(y) - 1.3])
        for x, y in re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)" text-anchor="middle" font-weight="bold">', svg)
    ]
    assert (len(shafts), len(middles)) == (3, 3)
    for middle in middles:
        for shaft in shafts:
            start, end = np.array(shaft, dtype=np.float64).reshape(2, 2)
            assert _from_line_mm(middle, start, end) > CLEAR_MM - 0.05
    assert min(float(np.hypot(*(a - b))) for a, b in combinations(middles, 2)) > SIDE_MM - 0.2
    page = pages([[drawn(svg)]])[0]
    assert struck(page) == []
    assert overlapping(page) == []


def a_size(pieces: int) -> dict[str, Any]:
    row = dict.fromkeys(("measured", "place", "why", "correct", "sample", "critical", "more"), "")
    return row | {
        "what": "MACHINE TO - before coat", "balloon": "4", "text": "18 js7, both jaws", "before": "17.955 - 17.970",
        "after": "after coat - do not gauge here", "finished": "17.991 to 18.009", "gauge": "micrometer",
        "often": "every 5th piece", "reaction": "Stop, say so.", "readings": [f"piece {n}" for n in range(pieces)],
    }  # fmt: skip


def test_the_closest_setting_leaves_what_hangs_below_a_line_of_words_whole() -> None:
    columns = [("gauge, jaw, pocket", "1fr", "l"), ("piece", "30", "c")]
    rows: list[list[b.Cell]] = [["spot, ream, tap, gauge by", b.BOX], ["any edge, jaw or plug (p, q)", "by"]]
    closest: list[b.Block] = [
        {"kind": "limits", "rows": [a_size(14) for _ in range(3)]},
        b.heading("By jaw, plug and gauge"),
        b.table(columns, rows * 6, tight=True),
        b.table(columns, rows * 6),
    ]
    document = pages([closest])
    for number in range(len(document)):
        assert struck(document[number]) == [], f"page {number + 1}"


@pytest.mark.parametrize(
    ("wide", "thick", "across", "layers"), [(101.6, 6.0, 2, 3), (101.6, 12.0, 1, 1), (20, 20, 3, 2)]
)
def test_no_bar_of_a_bundle_strikes_its_letter(wide: float, thick: float, across: int, layers: int) -> None:
    """Bars too flat for a letter carry it above and below the bundle."""
    sheet: Any = SimpleNamespace(across_count=across, layers_count=layers)
    pattern: Any = SimpleNamespace(bundle_count=across * layers)
    page = pages([[drawn(bundle_svg(bar_mm=(wide, thick), sheet=sheet, pattern=pattern, ids="x"))]])[0]
    assert struck(page) == []
    assert overlapping(page) == []
    letters = {box.text for box in boxes_of(page)}
    assert {"A", chr(ord("A") + across * layers - 1)} <= letters


def test_the_labels_keep_to_their_page_below_the_words_of_a_plan_that_is_not_ready(marked: Writer) -> None:
    document = papers_document(marked)
    document["pages"] = [page for page in document["pages"] if page["sheet"] == LABELS]
    assert not document["ready"]
    assert len(pypdfium2.PdfDocument(typeset(document))) == 1
