"""The mask and rack map: every plug, masked face and rack point is drawn, and what shows nowhere told."""

from __future__ import annotations

import re

import fixture_plan
import msgspec
import numpy as np
import pytest
from overlaps import beyond_edge, is_coloured, overlapping
from pypdfium2 import PdfDocument
from shapes import box, drilled, solid_of

from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.shop import Shop
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.sheets.coat_map import RACK_MM, CoatMap, CoatMarks, coat_map, coat_marks
from proveout.sheets.few_views import MOST_VIEWS, few_views
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews
from proveout.sheets.pages_finisher import MAP_TITLE, finisher_pages
from proveout.sheets.papers import papers_document
from proveout.sheets.typesetting import typeset
from proveout.sheets.visible import hatch_lines, look
from proveout.sheets.writer import Writer
from proveout.solids.drawing import hidden_line_drawing
from proveout.stages import survey as surveying

DISC = re.compile(r'<path d="[^"]+" fill="#000"')
HAND = re.compile(r'<path d="[^"]+" fill="#fff" stroke="#000" stroke-width="0.4"/>')


def views_of(solid: Solid) -> PartViews:
    made = [hidden_line_drawing(solid.brep, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS]
    return PartViews(solid=solid, drawings=tuple(made))


@pytest.fixture(scope="module")
def part() -> tuple[PartViews, Survey]:
    """A block of 40 x 30 x 20 with two blind holes from above, one of them counterbored, and one from below."""
    shape = drilled(box(40, 30, 20), at=(10, 15, 20), along=(0, 0, -1), dia=8.0, deep=10.0)
    shape = drilled(shape, at=(28, 15, 20), along=(0, 0, -1), dia=10.0, deep=4.0)
    shape = drilled(shape, at=(28, 15, 16), along=(0, 0, -1), dia=5.0, deep=8.0)
    shape = drilled(shape, at=(20, 8, 0), along=(0, 0, 1), dia=4.0, deep=8.0)
    solid = solid_of(shape)
    return views_of(solid), surveying.decide(solid=solid, run=Run()).value


def plane(solid: Solid, normal: tuple[float, float, float]) -> str:
    """The largest flat face that looks that way."""
    own = [f for f in solid.faces if f.surface.kind == "plane" and np.allclose(f.normal, normal)]
    return max(own, key=lambda face: face.area_mm2).id


def coated(survey: Survey, *bare: str) -> tuple[str, ...]:
    return tuple(note.face_id for note in survey.faces if note.face_id not in bare)


def mapped(part: tuple[PartViews, Survey], marks: CoatMarks, *bare: str) -> CoatMap:
    views, survey = part
    return coat_map(marks, survey=survey, coated_faces=coated(survey, *bare), views=views)


def numbers(svg: str) -> list[str]:
    return re.findall(r'class="balloon".*?\n<text[^>]*class="rim">(\w+)</text>', svg)


def marks_of(
    part: tuple[PartViews, Survey], *bare: str, may: tuple[str, ...] = (), off: tuple[str, ...] = ()
) -> CoatMarks:
    survey = part[1]
    return coat_marks(survey=survey, coated_faces=coated(survey, *bare), rack_may=may, rack_not=off)


def test_a_hole_without_any_coat_is_plugged_and_one_with_some_masked_by_hand(part: tuple[PartViews, Survey]) -> None:
    _, survey = part
    plain = next(h for h in survey.holes if h.diameter_mm == pytest.approx(8.0))
    stepped = next(h for h in survey.holes if len(h.steps) > 1)
    narrow = min(stepped.steps, key=lambda s: s.diameter_mm)
    bare = (*survey.faces_within(plain), *narrow.face_ids)
    marks = marks_of(part, *bare)
    assert [h.id for h in marks.plugs] == [plain.id]
    assert [h.id for h in marks.by_hand] == [stepped.id]
    assert marks.masked == frozenset()  # shoulders and bottoms of holes are no faces to mask by themselves
    drawn = mapped(part, marks, *bare)
    assert drawn.missing == ()
    assert sorted(numbers(drawn.svg)) == sorted([str(plain.balloon), str(stepped.balloon)])
    assert len(DISC.findall(drawn.svg)) == 2  # the plug, and the mark in the line above the views
    assert len(HAND.findall(drawn.svg)) == 1


def test_plugs_on_two_sides_and_a_rack_point_are_all_shown_with_their_numbers(part: tuple[PartViews, Survey]) -> None:
    views, survey = part
    bare = tuple(face for hole in survey.holes for face in survey.faces_within(hole))
    side, top = plane(views.solid, (1.0, 0.0, 0.0)), plane(views.solid, (0.0, 0.0, 1.0))
    drawn = mapped(part, marks_of(part, *bare, may=(side,), off=(top,)), *bare)
    balloons = {note.face_id: note.balloon for note in survey.faces}
    assert drawn.missing == ()
    assert sorted(numbers(drawn.svg)) == sorted([*(str(h.balloon) for h in survey.holes), str(balloons[side])])
    assert drawn.svg.count('class="rack"') == 2  # with the one in the line above the views
    assert "from below" in drawn.svg
    assert "plug</text>" in drawn.svg
    assert "rack may not touch</text>" in drawn.svg
    assert "mask, no coat here" not in drawn.svg


def test_a_rack_point_lies_well_within_its_face(part: tuple[PartViews, Survey]) -> None:
    views = part[0]
    side = plane(views.solid, (1.0, 0.0, 0.0))
    drawn = mapped(part, marks_of(part, may=(side,)))
    at = re.findall(rf'class="rack" cx="([\d.]+)" cy="([\d.]+)" r="{RACK_MM}"', drawn.svg)[-1]
    outline = np.array([[float(v) for v in pair.split()] for pair in re.findall(r"[ML]([-\d.]+ [-\d.]+)", drawn.svg)])
    assert np.all(np.array([float(v) for v in at]) > outline.min(axis=0))
    assert np.all(np.array([float(v) for v in at]) < outline.max(axis=0))


def test_a_masked_face_is_cross_hatched_and_a_face_that_shows_is_hatched_one_way(
    part: tuple[PartViews, Survey],
) -> None:
    views, survey = part
    side = plane(views.solid, (1.0, 0.0, 0.0))
    cross, single = (
        mapped(part, marks_of(part, side), side), mapped(part, marks_of(part, off=(side,)))
    )  # fmt: skip
    thick, thin = 'stroke-width="0.28"', 'stroke-width="0.16"'
    assert cross.svg.count(thick) == 2  # the face, and the mark in the line above the views
    assert thin not in cross.svg
    assert single.svg.count(thin) == 2
    assert thick not in single.svg
    assert numbers(cross.svg) == [str(next(n.balloon for n in survey.faces if n.face_id == side))]
    assert numbers(single.svg) == []


def test_hatching_keeps_to_what_shows_of_its_face(part: tuple[PartViews, Survey]) -> None:
    views = part[0]
    top = plane(views.solid, (0.0, 0.0, 1.0))
    face = next(face for face in views.solid.faces if face.id == top)
    above = NUMBERED_VIEWS[0]
    sight = look(views.solid, view_direction=above.view_direction, up=above.up)
    lines = hatch_lines(sight, face.index, step_mm=1.0, slope=1)
    middles = np.array([line.mean(axis=0) for line in lines])
    assert len(lines) > 20
    for centre, radius in (((10.0, 15.0), 4.0), ((28.0, 15.0), 5.0)):
        ends = np.vstack([*lines, middles])
        assert np.min(np.linalg.norm(ends - np.array(centre), axis=1)) > radius - 0.15


def test_what_shows_nowhere_is_named(part: tuple[PartViews, Survey]) -> None:
    lost = CoatMarks(plugs=(), by_hand=(), masked=frozenset(), rack_may=("gone",), rack_not=())
    assert mapped(part, lost).missing == ("gone",)


def test_views_are_as_few_as_show_everything() -> None:
    assert few_views([{"a": 1.0}, {"a": 1.0, "b": 1.0}, {"b": 9.0}]) == [1]
    assert few_views([{"a": 1.0}, {"b": 1.0}, {"a": 2.0}]) == [1, 2]
    assert few_views([{}, {}]) == [0]
    assert few_views([{"a": 0.3, "b": 0.2, "c": 0.1}, {"c": 0.1, "b": 0.2, "a": 0.3}]) == [0]
    assert len(few_views([{str(k): 1.0} for k in range(9)])) == MOST_VIEWS


@pytest.fixture
def writer(plan: Plan, shop: Shop, part: tuple[PartViews, Survey]) -> Writer:
    """The example plan with the block of this file in the place of its part."""
    views, survey = part
    bare = {face for hole in survey.holes for face in survey.faces_within(hole)}
    kept = tuple(sorted(note.face_id for note in survey.faces if note.face_id not in bare))
    finishing = msgspec.structs.replace(plan.finishing, coated_faces=kept, windows=())
    side, top = plane(views.solid, (1.0, 0.0, 0.0)), plane(views.solid, (0.0, 0.0, 1.0))
    coat, other = plan.finish_orders
    coat = msgspec.structs.replace(coat, rack_may=(side,), rack_not=(top,), show=(top,), readings=())
    orders = (coat, msgspec.structs.replace(other, show=(top,)))
    changed = msgspec.structs.replace(plan, survey=survey, finishing=finishing, finish_orders=orders)
    return Writer(plan=changed, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT, views=views)


def test_a_coat_has_its_map_behind_the_order_and_marking_has_none(writer: Writer) -> None:
    titles = [page["title"] for page in finisher_pages(writer)]
    assert titles == [
        "Order to a finisher - black hard coat", f"{MAP_TITLE} - black hard coat", "Order to a finisher - laser marking"
    ]  # fmt: skip
    assert "drawn on the next page" in str(finisher_pages(writer)[0])


def test_where_nothing_is_drawn_the_order_says_so(plan: Plan, shop: Shop) -> None:
    bare = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT)
    first, *rest = finisher_pages(bare)
    assert all(MAP_TITLE not in page["title"] for page in rest)
    assert "could be drawn" in str(first)


def test_where_nobody_said_what_shows_the_map_says_ask(writer: Writer) -> None:
    coat, other = writer.plan.finish_orders
    asked = msgspec.structs.replace(
        writer.plan, finish_orders=(msgspec.structs.replace(coat, rack_may=(), rack_not=(), show=()), other)
    )  # fmt: skip
    pages = finisher_pages(
        Writer(plan=asked, shop=writer.shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT, views=writer.views)
    )
    assert "Ask before racking" in str(pages[1]["blocks"])
    assert 'class="rack"' not in pages[1]["blocks"][0]["pictures"][0]["svg"]


def test_the_map_is_one_page_black_and_white_and_no_words_lie_over_each_other(writer: Writer) -> None:
    document = papers_document(writer)
    document["pages"] = [page for page in document["pages"] if page["title"].startswith(MAP_TITLE)]
    made = PdfDocument(typeset(document))
    assert len(made) == 1
    assert overlapping(made[0]) == []
    assert beyond_edge(made[0]) == []
    assert not is_coloured(made[0])
