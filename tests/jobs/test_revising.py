"""What of a plan names the faces that a new solid has otherwise: passes, jaws, limits, gauges, show faces."""

from __future__ import annotations

import msgspec
from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]
from shapes import box, solid_of

from proveout.jobs.revising import revision_of
from proveout.model.plan import Plan
from proveout.model.revision import FaceChange, Revision, SolidChange
from proveout.sheets.revision_words import RevisionWords

PLAN: Plan = example_plan()
BLOCK = solid_of(box(90.0, 22.0, 18.0))


def touching(*face_ids: str) -> Revision:
    """The plan against a solid on which only these faces of the plan are otherwise."""
    faces = tuple(FaceChange(fate="outline", old_ids=(id,), new_ids=(id,)) for id in face_ids)
    return revision_of(PLAN, None, BLOCK, SolidChange(faces=faces, same_count=9))


def test_passes_that_make_a_touched_face_are_named_and_no_others() -> None:
    face = next(id for one in PLAN.passes for id in one.face_ids)
    named = {one.id for one in touching(face).passes}
    assert named >= {one.id for one in PLAN.passes if face in one.face_ids}
    holes = {h.id for h in PLAN.survey.holes if face in PLAN.survey.faces_within(h)}
    assert named == {
        one.id for one in PLAN.passes if face in one.face_ids or any(one.feature.startswith(h) for h in holes)
    }
    assert named < {one.id for one in PLAN.passes}


def test_a_pass_about_a_hole_is_named_by_a_face_of_the_hole() -> None:
    hole = PLAN.survey.holes[0]
    about = {one.id for one in PLAN.passes if one.feature.startswith(hole.id)}
    assert about
    faceless = tuple(msgspec.structs.replace(one, face_ids=()) for one in PLAN.passes)
    touched = hole.steps[0].face_ids[0]
    change = SolidChange(faces=(FaceChange(fate="gone", old_ids=(touched,), new_ids=()),), same_count=9)
    found = revision_of(msgspec.structs.replace(PLAN, passes=faceless), None, BLOCK, change)
    assert about == {one.id for one in found.passes}
    # a second hole whose id begins as the first one's: a pass about it is not about the first
    twin = msgspec.structs.replace(hole, id=f"{hole.id} (2)", steps=())
    survey = msgspec.structs.replace(PLAN.survey, holes=(*PLAN.survey.holes, twin))
    of_twin = msgspec.structs.replace(faceless[0], id="of the twin", feature=f"{twin.id} flat")
    both = msgspec.structs.replace(PLAN, passes=(*faceless, of_twin), survey=survey)
    assert about == {one.id for one in revision_of(both, None, BLOCK, change).passes}


def test_limits_and_their_gauges_go_with_the_face_that_the_size_is_on() -> None:
    window = PLAN.finishing.windows[0]
    found = touching(window.face_ids[0])
    assert window in found.sizes
    assert {(line.balloon, line.text) for line in found.gauges} == {
        (line.balloon, line.text)
        for line in PLAN.inspection
        if (line.balloon, line.text) in {(w.balloon, w.text) for w in found.sizes}
    }


def test_jaws_are_named_that_grip_a_touched_face() -> None:
    solid = BLOCK
    side = next(f.id for f in solid.faces if f.normal[0] > 0.9)
    gripped = msgspec.structs.replace(PLAN.clampings[-1], grip_faces=(side,))
    plan = msgspec.structs.replace(PLAN, clampings=(*PLAN.clampings[:-1], gripped), jaw_forms=())
    change = SolidChange(faces=(FaceChange(fate="moved", old_ids=(side,), new_ids=(side,), by_mm=1.0),), same_count=5)
    found = revision_of(plan, None, solid, change)
    assert [(one.clamping.id, one.face_ids, one.is_cut) for one in found.jaws] == [(gripped.id, (side,), False)]


def test_soft_jaws_cut_to_the_work_meet_whatever_reaches_below_their_tops() -> None:
    form = PLAN.jaw_forms[0]
    clamping = next(c for c in PLAN.clampings if c.id == form.clamping_id)
    low = msgspec.structs.replace(clamping, jaw_top_mm=1e4)
    high = msgspec.structs.replace(clamping, jaw_top_mm=-1e4)
    every = tuple(f.id for f in BLOCK.faces)
    change = SolidChange(faces=(FaceChange(fate="gone", old_ids=every, new_ids=()),), same_count=0)
    met = []
    for one in (low, high):
        plan = msgspec.structs.replace(PLAN, clampings=(one,))
        met.append([touch.face_ids for touch in revision_of(plan, None, BLOCK, change).jaws])
    assert met == [[every], []]


def test_the_same_shape_touches_nothing() -> None:
    found = touching()
    assert found.solid.is_same
    assert (found.passes, found.jaws, found.sizes, found.gauges) == ((), (), (), ())


def test_words_name_the_face_and_how_far_it_went() -> None:
    from fixture_shop import example_shop  # pyright: ignore[reportMissingImports]

    words = RevisionWords(plan=PLAN, shop=example_shop())
    note = PLAN.survey.faces[0]
    which, fate, much = words.face(FaceChange(fate="moved", old_ids=(note.face_id,), new_ids=("x",), by_mm=1.5))
    assert which.startswith(f"face {note.balloon}")
    assert (fate, much) == ("moved", "by 1.500 mm")
    inch = RevisionWords(plan=PLAN, shop=msgspec.structs.replace(example_shop(), units="inch"))
    assert inch.length(25.4) == "1.0000 inch"
    borders = FaceChange(fate="outline", old_ids=(note.face_id,), new_ids=("x",), old_mm2=645.16, new_mm2=1290.32)
    assert words.face(borders)[2] == "area 645.16 mm², now 1290.32 mm²"
    assert inch.face(borders)[2] == "area 1.0000 inch², now 2.0000 inch²"
    moved = FaceChange(fate="outline", old_ids=(note.face_id,), new_ids=("x",), old_mm2=645.16, new_mm2=645.16)
    assert words.face(moved)[2] == "area 645.16 mm² as before"
