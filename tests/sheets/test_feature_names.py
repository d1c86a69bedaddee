"""Papers name a face by what it is part of, so that a machinist finds it without the list of numbers."""

from __future__ import annotations

import fixture_plan as fixture
import msgspec
from fixture_names import FLANK, SINK_A, SLOT_A, TAPPED, TOP

from proveout.model.features import Feature
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.names import Names
from proveout.sheets.writer import Writer


def feature(name: str, *face_ids: str, kind: str = "slot", within: str = "") -> Feature:
    return Feature(
        id=name, kind=kind, form="closed", face_ids=face_ids, sizes_mm={}, place_mm=(0.0, 0.0, 0.0),  # type: ignore[arg-type]
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


def test_a_face_is_told_with_what_it_is_part_of(plan: Plan, shop: Shop) -> None:
    names = Names(plan=named(plan), shop=shop)
    number = {note.face_id: note.balloon for note in plan.survey.faces}
    assert names.told(SLOT_A) == f"face {number[SLOT_A]} of slot 6.6 wide"
    assert names.told(TAPPED).endswith(" of thread M6 6H in hole Ø5")
    assert names.told(TOP) == f"face {number[TOP]}"
    assert names.labels((SINK_A, SLOT_A)) == ["slot 11 wide", "slot 6.6 wide"]
    assert names.labels((SINK_A, TOP)) == []


def test_a_pass_is_told_by_the_feature_that_it_cuts(plan: Plan, shop: Shop) -> None:
    writer = Writer(plan=named(plan), shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    bare = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    told = {i: writer.feature(i) for i in range(len(plan.passes))}
    for i, one in enumerate(plan.passes):
        if set(one.face_ids) == {FLANK}:
            assert told[i] == f"flank at 20°: {bare.feature(i)}"
        elif TOP in one.face_ids or not one.face_ids:
            assert told[i] == bare.feature(i)
    assert any(text.startswith("flank at 20°: face") for text in told.values())
