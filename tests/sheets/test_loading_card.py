"""The loading card: RIGHT and WRONG as the operator sees them, on one page, with what tells them."""

from __future__ import annotations

import io

import msgspec
import numpy as np
import pytest
from fixture_plan import FINGERPRINT

from proveout.model.loading import Loading, Look, Pose, Touch, WrongLoad
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.table_load import Laid, Place, TableLoad
from proveout.sheets.loading_html import loading_html
from proveout.sheets.loading_picture import drawn_looks
from proveout.sheets.pages_loading import (
    behind_words,
    loading_page,
    other_rows,
    touch_rows,
    tried_words,
    verdict_words,
)
from proveout.sheets.papers import papers_document
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer
from proveout.stages.loading.naming import turn_words

TURNED = ((-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))


def wrong(what: str, way: str, seen_mm: float, caught_by: str, *, is_mirrored: bool = False) -> WrongLoad:
    return WrongLoad(
        what=what, part="", way=way, pose=Pose(turn=TURNED, shift_mm=(90.0, -22.0, 0.0), gap_mm=22.0),
        is_mirrored=is_mirrored, wrong_mm=1.0, off_mm=0.4, seen_mm=seen_mm, place="at the left end",
        caught_by=caught_by,  # type: ignore[arg-type]
        look_mm=(10.0, -10.0, 18.0),
    )  # fmt: skip


def loading(clamping_id: str, caught_by: str = "touch") -> Loading:
    loads = [wrong("the work", "turned end for end", 1.0, caught_by)]
    loads += [wrong("the raw blank", f"turned {k}° to the left", 20.0 + k, "touch") for k in range(1, 12)]
    loads.append(wrong("a left-hand piece", "the right way round", 1.0, "none", is_mirrored=True))
    looks = tuple(Look(loads=(k,), title=f"{x.what}, {x.way}", words="look there") for k, x in enumerate(loads))
    touch = Touch(
        from_mm=(20.0, -9.0, 15.5), direction=(-1.0, 0.0, 0.0), expect_low_mm=12.25, expect_high_mm=12.25, is_air=False,
        alarm_mm=0.09, catches_count=12, least_mm=0.2,
    )  # fmt: skip
    return Loading(
        clamping_id=clamping_id, seats_count=14, wrong=tuple(loads), looks=looks, touches=(touch,), harmless=(),
        refused=(), decided_by="nothing" if caught_by == "none" else "the probe",
        remedy="cut a notch" if caught_by == "none" else "",
    )  # fmt: skip


@pytest.fixture
def writer(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> Writer:
    cards = tuple(loading(c.id, "none" if c.number == 2 else "touch") for c in plan.clampings)
    return Writer(
        plan=msgspec.structs.replace(plan, loading=cards), shop=shop, drawings=drawings, fingerprint=FINGERPRINT
    )


def test_each_operation_has_a_card_of_one_page(writer: Writer) -> None:
    import pypdf

    pages = pypdf.PdfReader(io.BytesIO(typeset(papers_document(writer)))).pages
    texts = [page.extract_text() for page in pages]
    cards = [text for text in texts if "Loading card - Op" in text.replace("\n", " ")]
    assert len(cards) == len(writer.plan.clampings)
    for text in cards:
        assert "RIGHT" in text
        assert "WRONG A" in text
        assert "A dashed ring is where to look." in " ".join(text.split())
        assert "clamp torque" in text


def test_a_plan_that_says_nothing_of_loading_has_no_card(plan: Plan, shop: Shop) -> None:
    bare = Writer(plan=plan, shop=shop, drawings={}, fingerprint=FINGERPRINT)
    assert loading_page(bare, 0, torque="60 N m") is None
    assert loading_html(bare, 0) == ""


def test_a_touch_says_where_from_which_way_and_what_it_reads(writer: Writer) -> None:
    assert touch_rows(writer, 0) == [["X 20.0  Y −9.0  Z 15.5", "to the left", "X 12.25", "± 0.09"]]


def test_what_escapes_stands_on_the_card(writer: Writer) -> None:
    words = str(loading_page(writer, 1, torque="60 N m"))
    assert "NOT PROVED" in words
    assert "Cut a notch" in words
    assert "keep them away" in str(loading_page(writer, 0, torque="60 N m"))


def test_the_owners_mark_stands_on_the_card(writer: Writer) -> None:
    own = msgspec.structs.replace(writer.plan.loading[0], decided_by="the mark", mark="pen stroke, at the stop")
    marked = Writer(
        plan=msgspec.structs.replace(writer.plan, loading=(own, *writer.plan.loading[1:])), shop=writer.shop,
        drawings={}, fingerprint=FINGERPRINT,
    )  # fmt: skip
    words = verdict_words(marked, 0)
    assert words.startswith("MARK: Pen stroke, at the stop")
    assert "No mark in its place: do not clamp." in words
    assert "Touch as below as well." in words
    assert "keep them away" in words


def test_the_page_shows_the_wrong_loads_too(writer: Writer) -> None:
    page = loading_html(writer, 0)
    assert page.count("<figure>") == 6
    row = '<td>turned 6° to the left</td><td>there</td><td class="n">5</td>'
    assert f'<th scope="row">the raw blank</th>{row}' in page


@pytest.mark.parametrize(
    ("what", "part"), [("the work that has been through here", ""), ("a finished piece of", "EX-9")]
)
def test_what_the_plan_cannot_draw_is_told_in_words(plan: Plan, shop: Shop, what: str, part: str) -> None:
    """The hardest of all to see, and yet no picture of another shape stands for it."""
    one = msgspec.structs.replace(wrong(what, "back up", 0.5, "touch"), part=part)
    first = loading(plan.clampings[0].id)
    looks = (
        Look(loads=(len(first.wrong),), title=f"{what} {part}".strip() + ", back up", words="feel there"),
        *first.looks,
    )
    more = msgspec.structs.replace(first, wrong=(*first.wrong, one), looks=looks)
    assert drawn_looks(more) == list(range(1, 7))
    writer = Writer(
        plan=msgspec.structs.replace(plan, loading=(more,)), shop=shop, drawings={}, fingerprint=FINGERPRINT
    )
    assert [f"{what} {part}".strip(), "back up", "feel there", "-"] in other_rows(writer, 0)[0]


def test_a_card_says_how_the_work_is_turned_from_the_operation_before(writer: Writer) -> None:
    first, second = (str(loading_page(writer, k, torque="60 N m")) for k in (0, 1))
    assert "From as it lay" not in first
    assert "From as it lay in Op 1: upside down" in second


@pytest.mark.parametrize("sides_count", [1, 2])
def test_a_card_of_a_place_behind_the_middle_jaw_says_so(
    plan: Plan, shop: Shop, sides_count: int
) -> None:  # fmt: skip
    first = plan.clampings[0]
    laid = tuple(
        Laid(
            clamping_id=first.id, work_offset=f"G5{4 + side}",
            place=Place(
                machine_id=first.machine_id, vise_id=first.vise_id, number=side + 1, vise_number=1,
                is_turned=side == 1,
            ),
        )
        for side in range(sides_count)
    )  # fmt: skip
    load = TableLoad(
        machine_id=first.machine_id, clamping_ids=(first.id,), pieces_count=1,
        laid=laid, steps=(), clear_mm=None, fillings=(),
    )  # fmt: skip
    writer = Writer(
        plan=msgspec.structs.replace(plan, table_loads=(load,)), shop=shop, drawings={}, fingerprint=FINGERPRINT
    )
    assert len(behind_words(writer, 0)) == sides_count - 1


@pytest.mark.parametrize(
    ("turn", "words"),
    [
        ([[1, 0, 0], [0, 1, 0], [0, 0, 1]], "the right way round"),
        ([[-1, 0, 0], [0, -1, 0], [0, 0, 1]], "turned end for end"),
        ([[0, -1, 0], [1, 0, 0], [0, 0, 1]], "turned 90° to the left"),
        ([[1, 0, 0], [0, -1, 0], [0, 0, -1]], "upside down, its right end still at the right"),
        ([[-1, 0, 0], [0, 1, 0], [0, 0, -1]], "upside down, its right end now at the left"),
        ([[1, 0, 0], [0, 0, -1], [0, 1, 0]], "back up, its top to you"),
        ([[0, 0, 1], [0, 1, 0], [-1, 0, 0]], "left end up, its top to the right"),
    ],
)
def test_a_turn_in_words(turn: list[list[float]], words: str) -> None:
    assert turn_words(np.array(turn, dtype=np.float64)) == words


@pytest.mark.parametrize(
    ("is_of_order", "tried", "untried", "said"),
    [
        (False, (), (), "Pieces of other parts were not looked at: keep them away from here."),
        (True, (), (), "The order has no other part."),
        (True, ("EX-8", "EX-9"), (), "Looked at too: blanks, half-made and finished pieces of EX-8, EX-9."),
        (True, ("EX-8",), ("EX-9",), "NOT looked at: half-made pieces of EX-9. Keep them away from here."),
    ],
)
def test_a_card_says_whose_pieces_were_looked_at(
    writer: Writer, *, is_of_order: bool, tried: tuple[str, ...], untried: tuple[str, ...], said: str
) -> None:
    first = msgspec.structs.replace(writer.plan.loading[0], others_tried=tried, others_untried=untried)
    own = Writer(
        plan=msgspec.structs.replace(writer.plan, is_of_order=is_of_order, loading=(first, *writer.plan.loading[1:])),
        shop=writer.shop, drawings={}, fingerprint=FINGERPRINT,
    )  # fmt: skip
    assert said in tried_words(own, 0)
    assert said in str(loading_page(own, 0, torque="60 N m"))
    assert said in loading_html(own, 0)


def test_of_many_kinds_of_piece_the_easiest_to_see_are_counted_and_what_nothing_tells_is_named(
    plan: Plan, shop: Shop
) -> None:
    """Twelve parts of an order lie about; nothing tells the last one, though it looks most different."""
    loads = [
        msgspec.structs.replace(
            wrong("a finished piece of", "back up", 10.0 + k, "none" if k == 11 else "look"), part=f"EX-{k}"
        )
        for k in range(12)
    ]  # fmt: skip
    looks = tuple(Look(loads=(k,), title=f"{x.what} {x.part}", words="look there") for k, x in enumerate(loads))
    own = msgspec.structs.replace(loading(plan.clampings[0].id), wrong=tuple(loads), looks=looks)
    writer = Writer(plan=msgspec.structs.replace(plan, loading=(own,)), shop=shop, drawings={}, fingerprint=FINGERPRINT)
    rows, left_count = other_rows(writer, 0)
    assert [row[0] for row in rows] == [f"a finished piece of EX-{k}" for k in (0, 1, 2, 3, 4, 11)]
    assert left_count == 6
    assert "6 more kinds of piece are easier to see." in str(loading_page(writer, 0, torque="60 N m"))
