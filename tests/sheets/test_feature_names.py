"""Papers name a face by what it is part of, so that a machinist finds it without the list of numbers."""

from __future__ import annotations

import fixture_plan as fixture
import msgspec
from fixture_names import FLANK, SINK_A, SLOT_A, TAPPED, TOP
from test_addresses import check_lines, left_over, page_text, pdf_text

from proveout.model.concerns import Concern
from proveout.model.features import Feature
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.sheets.papers import papers_document
from proveout.sheets.plan_html import html_of
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer


def feature(name: str, *face_ids: str, kind: str = "slot", within: str = "") -> Feature:
    return Feature(
        id=name, kind=kind, form="closed", face_ids=face_ids, sizes_mm={}, place_mm=(0.0, 0.0, 0.0),  # type: ignore[arg-type] - a kind as text
        opens=(0.0, 0.0, 1.0), name=name, within=within,
    )  # fmt: skip


FEATURES = (
    feature("slot 11 wide, 18.4 long, open to +z", SINK_A),
    feature("slot 6.6 wide, 14 long, through 11.5, along z", SLOT_A),
    feature("inside fillet R3.3", SLOT_A, kind="fillet", within="slot"),
    feature("hole Ø5, 12 deep, from −y", TAPPED, kind="hole"),
    feature("thread M6 6H in hole Ø5, 12 deep, from −y", TAPPED, kind="thread", within="hole"),
    feature("flank at 20°, 17.86 × 90", FLANK, kind="flank"),
)


def named(plan: Plan) -> Plan:
    return msgspec.structs.replace(plan, survey=msgspec.structs.replace(plan.survey, features=FEATURES))


CONCERN = Concern(
    id="corner: slot 6.6 wide", kind="corner", subject="slot 6.6 wide", face_ids=(SLOT_A, SINK_A), found=1.25,
    limit=2.5, sense="at least", unit="mm", text="Corners of slot 6.6 wide: 18 deep, the widest cutter is Ø2.5.",
    change="make the corners R2.75 or larger", source="workshop-practice", is_practice=True, seconds=90.0,
)  # fmt: skip


def told(plan: Plan, shop: Shop, *, marked: bool = False) -> Writer:
    plan = msgspec.structs.replace(named(plan), concerns=(CONCERN, msgspec.structs.replace(CONCERN, limit=None)))
    return Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT, marked=marked)


def test_a_face_is_told_with_what_it_is_part_of(plan: Plan, shop: Shop) -> None:
    writer = told(plan, shop)
    assert writer.part_of((SLOT_A,)) == "slot 6.6 wide", "and not the round in its corner"
    assert writer.part_of((TAPPED,)) == "thread M6 6H in hole Ø5", "and not its hole"
    assert writer.part_of((SINK_A, SLOT_A)) == "slot 11 wide and slot 6.6 wide"
    assert writer.part_of((SINK_A, TOP)) == "", "the top is part of nothing"
    assert writer.part_of(("hole -y",)) == ""


def test_a_pass_is_told_by_the_feature_that_it_cuts(plan: Plan, shop: Shop) -> None:
    writer, bare = told(plan, shop), Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    found = {i: writer.feature(i) for i in range(len(plan.passes))}
    for i, one in enumerate(plan.passes):
        if set(one.face_ids) == {FLANK}:
            assert found[i] == f"flank at 20°: {bare.feature(i)}"
        elif TOP in one.face_ids or not one.face_ids:
            assert found[i] == bare.feature(i)
    assert any(text.startswith("flank at 20°: face") for text in found.values())


def test_concerns_are_told_with_number_limit_minutes_faces_and_change(plan: Plan, shop: Shop) -> None:
    numbers = {note.face_id: note.balloon for note in plan.survey.faces}
    text, more = told(plan, shop).concern(0)
    assert text == CONCERN.text
    assert "Found 1.25\u202fmm, wanted at least 2.50\u202fmm (common practice, no source)." in more
    assert "Minutes it costs: at most 1:30 min." in more
    assert "What would help: make the corners R2.75 or larger." in more
    assert f"Faces {numbers[SLOT_A]} and {numbers[SINK_A]}." in more
    assert "no limit can be told" in told(plan, shop).concern(1)[1]
    page = html_of(told(plan, shop), None)
    assert page.count("Concerns for the designer") == 2, "the heading and the link to it"
    assert CONCERN.text in page
    papers = "\n".join(pdf_text(typeset(papers_document(told(plan, shop)))))
    assert "Concerns for the designer" in papers


def test_every_number_of_names_and_concerns_stands_at_an_address(plan: Plan, shop: Shop, target: Target) -> None:
    for printed in ("papers", "page"):
        writer = told(plan, shop, marked=True)
        text = page_text(html_of(writer, target)) if printed == "page" else (
            "\n".join(pdf_text(typeset(papers_document(writer))))
        )  # fmt: skip
        assert left_over(text) == []
        check_lines(writer, writer.plan, shop)
