"""Sizes that the STEP file writes: used where they can be measured, never in the stead of what somebody typed."""

from __future__ import annotations

import msgspec
import pytest
from shapes import box, cut_box, drilled, solid_of

from proveout.model.job import Job, Order, PartText, Size
from proveout.model.pmi import DrawnDatum, DrawnSize, DrawnTolerance, Pmi, PmiNote
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.stages import survey as survey_stage
from proveout.stages.finishing.decide import decide
from proveout.stages.finishing.from_file import sizes_of_file


def job_of(*sizes: Size, masked: tuple[int, ...] = ()) -> Job:
    return Job(
        part=PartText(number="EX-1", name="example", revision="A", step="x.step"), order=Order(quantity=10), coat=None,
        sizes=sizes, masked_balloons=masked, show_faces=(), general_tolerance="m", edge_break_mm=0.8,
        other_finishers=(),
    )  # fmt: skip


@pytest.fixture(scope="module")
def part() -> tuple[Solid, Survey]:
    """A 40 x 30 x 10 block with two holes of 8, and a step 4 deep along its side y = 30."""
    shape = drilled(box(40.0, 30.0, 10.0), at=(10.0, 10.0, -1.0), along=(0.0, 0.0, 1.0), dia=8.0, deep=12.0)
    shape = drilled(shape, at=(30.0, 10.0, -1.0), along=(0.0, 0.0, 1.0), dia=8.0, deep=12.0)
    solid = solid_of(cut_box(shape, (-1.0, 24.0, 6.0), (41.0, 31.0, 11.0)))
    return solid, survey_stage.decide(solid=solid, run=Run()).value


def walls(part: tuple[Solid, Survey]) -> list[str]:
    return [face.id for face in part[0].faces if face.surface.kind == "cylinder"]


def plane(part: tuple[Solid, Survey], axis: int, at: float) -> str:
    return next(f.id for f in part[0].faces if f.surface.kind == "plane" and abs(f.normal[axis]) > 0.99
                and abs(f.centroid_mm[axis] - at) < 1e-6)  # fmt: skip


def taken(part: tuple[Solid, Survey], *sizes: DrawnSize, job: Job | None = None, **more: object):  # noqa: ANN201
    pmi = Pmi(sizes=sizes, **more)  # type: ignore[arg-type]
    return sizes_of_file(pmi=pmi, job=job or job_of(), solid=part[0], survey=part[1])


def hole_size(ids: list[str], text: str = "8 ±0.1", low: float = 7.9, high: float = 8.1) -> DrawnSize:
    return DrawnSize(kind="diameter", text=text, nominal_mm=8.0, low_mm=low, high_mm=high, face_ids=tuple(ids))


def only(notes: tuple[PmiNote, ...]) -> PmiNote:
    (note,) = notes
    return note


def test_one_size_of_two_holes_becomes_a_size_of_each(part: tuple[Solid, Survey]) -> None:
    found = taken(part, hole_size(walls(part)))
    assert [(size.balloon, size.text, size.origin) for size in found.job.sizes] == [
        (1, "8 ±0.1", "step-file"), (2, "8 ±0.1", "step-file")
    ]  # fmt: skip
    note = only(found.notes)
    assert (note.status, note.text, note.balloons) == ("used", "Ø8 ±0.1", (1, 2))
    windows = decide(solid=part[0], survey=part[1], job=found.job).value.finishing.windows
    assert [(w.finished_low_mm, w.finished_high_mm) for w in windows] == [(7.9, 8.1)] * 2


def test_where_the_limits_come_from_is_told(part: tuple[Solid, Survey]) -> None:
    found = taken(part, hole_size(walls(part)[:1]))
    proofs = decide(solid=part[0], survey=part[1], job=found.job).proofs
    sources = {p.basis.inputs["finished low"].source for p in proofs if "finished low" in p.basis.inputs}
    assert sources == {"step-file"}


def test_what_is_typed_goes_before_what_the_file_writes_and_the_two_are_named(part: tuple[Solid, Survey]) -> None:
    found = taken(part, hole_size(walls(part)[:1]), job=job_of(Size(balloon=1, text="H8"), Size(balloon=2, text="H8")))
    assert [size.text for size in found.job.sizes] == ["H8", "H8"]
    note = only(found.notes)
    assert note.status == "overridden"
    assert "the job writes H8 at" in note.why


def test_the_same_limits_typed_otherwise_are_no_conflict(part: tuple[Solid, Survey]) -> None:
    balloon = next(n.balloon for n in part[1].faces if n.face_id == walls(part)[0])
    found = taken(part, hole_size(walls(part)[:1]), job=job_of(Size(balloon=balloon, text="8 +0.10/-0.10")))
    assert only(found.notes).status == "same"
    assert len(found.job.sizes) == 1


def test_a_length_knows_both_its_ends_where_a_typed_one_would_not(part: tuple[Solid, Survey]) -> None:
    bottom, ledge = plane(part, 2, 0.0), plane(part, 2, 6.0)
    size = DrawnSize(
        kind="length", text="6 ±0.2", nominal_mm=6.0, low_mm=5.8, high_mm=6.2, face_ids=(ledge,), other_ids=(bottom,)
    )
    found = taken(part, size)
    (own,) = found.job.sizes
    assert own.face_ids == (ledge, bottom)
    windows = decide(solid=part[0], survey=part[1], job=found.job).value.finishing.windows
    assert windows[0].kind == "length"
    balloon = next(n.balloon for n in part[1].faces if n.face_id == ledge)
    again = taken(part, size, job=job_of(Size(balloon=balloon, text="6 ±0.2", face_ids=(ledge,))))
    assert only(again.notes).status == "same"
    assert set(again.job.sizes[0].face_ids) == {ledge, bottom}


def test_a_step_between_faces_that_look_the_same_way_is_a_depth(part: tuple[Solid, Survey]) -> None:
    top, ledge = plane(part, 2, 10.0), plane(part, 2, 6.0)
    size = DrawnSize(
        kind="length", text="4 ±0.1", nominal_mm=4.0, low_mm=3.9, high_mm=4.1, face_ids=(top,), other_ids=(ledge,)
    )
    found = taken(part, size)
    (own,) = found.job.sizes
    assert (own.text, own.face_ids) == ("4 ±0.1 deep", (ledge,))
    (window,) = decide(solid=part[0], survey=part[1], job=found.job).value.finishing.windows
    assert (window.finished_low_mm, window.finished_high_mm) == (3.9, 4.1)
    assert window.face_ids == (top, ledge)
    typed = job_of(Size(balloon=own.balloon, text="4 ±0.1 deep", face_ids=(ledge,)))
    assert only(taken(part, size, job=typed).notes).status == "same"


def test_ends_that_do_not_lie_level_are_left_to_the_drawing(part: tuple[Solid, Survey]) -> None:
    ends = (plane(part, 2, 10.0), plane(part, 2, 6.0))
    size = DrawnSize(
        kind="length", text="10 ±0.1", nominal_mm=10.0, low_mm=9.9, high_mm=10.1, face_ids=ends,
        other_ids=(plane(part, 2, 0.0),),
    )  # fmt: skip
    found = taken(part, size)
    assert found.job.sizes == ()
    assert "do not lie level" in only(found.notes).why


@pytest.mark.parametrize(
    ("size", "why"),
    [
        (DrawnSize(kind="angle", text="60° ±0.5°"), "tied to edges or points"),
        (DrawnSize(kind="diameter", text="8", lack="the file gives it no limits that could be read"), "no limits"),
        (DrawnSize(kind="length", text="8 ±0.1", nominal_mm=8.0, low_mm=7.9, high_mm=8.1, edges_count=2), "edges"),
    ],
)
def test_what_cannot_be_judged_is_named_and_not_used(part: tuple[Solid, Survey], size: DrawnSize, why: str) -> None:
    found = taken(part, size)
    assert found.job.sizes == ()
    assert only(found.notes).status == "not used"
    assert why in only(found.notes).why


def test_of_fits_those_are_used_whose_limits_are_known(part: tuple[Solid, Survey]) -> None:
    known = DrawnSize(kind="diameter", text="8 H7", nominal_mm=8.0, face_ids=tuple(walls(part)[:1]))
    found = taken(part, known, msgspec.structs.replace(known, text="8 Y6", face_ids=tuple(walls(part)[1:])))
    assert [size.text for size in found.job.sizes] == ["8 H7"]
    assert [note.status for note in found.notes] == ["used", "not used"]
    assert "not in the table" in found.notes[1].why


def test_a_size_that_its_face_does_not_have_is_not_used(part: tuple[Solid, Survey]) -> None:
    size = msgspec.structs.replace(hole_size(walls(part)[:1]), nominal_mm=12.0, low_mm=11.9, high_mm=12.1)
    found = taken(part, size)
    assert found.job.sizes == ()
    assert "measure 8 mm" in only(found.notes).why


def test_a_masked_hole_keeps_its_mask(part: tuple[Solid, Survey]) -> None:
    found = taken(part, hole_size(walls(part)), job=job_of(masked=(1,)))
    assert [size.is_masked for size in found.job.sizes] == [True, False]


def test_tolerances_and_datums_are_told_and_never_used(part: tuple[Solid, Survey]) -> None:
    ids = tuple(walls(part))
    found = taken(
        part, tolerances=(DrawnTolerance(kind="position", text="position Ø0.3 to A", value_mm=0.3, face_ids=ids),),
        datums=(DrawnDatum(letter="A"),),
    )  # fmt: skip
    assert [(note.kind, note.status, note.balloons) for note in found.notes] == [
        ("tolerance", "not used", (1, 2)), ("datum", "not used", ())
    ]  # fmt: skip
    assert found.job.sizes == ()


def test_faces_on_which_a_used_size_is_not_used_are_named(part: tuple[Solid, Survey]) -> None:
    outside = plane(part, 2, 0.0)
    note = only(taken(part, hole_size([walls(part)[0], outside])).notes)
    assert note.status == "used"
    assert note.lost_ids == (outside,)
    assert only(taken(part, hole_size(walls(part))).notes).lost_ids == ()


def test_a_size_lost_everywhere_for_one_reason_is_not_used(part: tuple[Solid, Survey]) -> None:
    size = msgspec.structs.replace(hole_size(walls(part)), nominal_mm=12.0, low_mm=11.9, high_mm=12.1)
    assert only(taken(part, size).notes).status == "not used"


@pytest.mark.parametrize(("kind", "text", "words"), [
    ("radius", "3 ±0.2", "R3 ±0.2"), ("angle", "60", "60°"), ("angle", "60° ±0.5°", "60° ±0.5°"),
    ("other", "5", "5"),
])  # fmt: skip
def test_a_size_is_told_as_a_drawing_has_it(part: tuple[Solid, Survey], kind: str, text: str, words: str) -> None:
    assert only(taken(part, DrawnSize(kind=kind, text=text)).notes).text == words  # type: ignore[arg-type]


def wedge() -> tuple[Solid, Survey]:
    """A 40 x 30 x 20 block whose top edge at y = 0 is cut at 60 degrees, and one rounded by 3 mm along z."""
    import build123d as bd

    body = bd.Solid.make_box(40, 30, 20)
    edge = max(body.edges(), key=lambda e: (e.center().X + e.center().Y, -abs(e.center().Z - 10)))
    body = body.fillet(3.0, [edge])
    cut = bd.Solid.extrude(
        bd.Face(bd.Wire.make_polygon([(0, -1, 10), (0, -1, 31), (0, 11.12435565298214, 31)])), bd.Vector(40, 0, 0)
    )
    solid = solid_of((body - cut).wrapped)
    return solid, survey_stage.decide(solid=solid, run=Run()).value


def test_a_radius_and_an_angle_of_the_file_become_sizes() -> None:
    found_part = wedge()
    solid, _ = found_part
    round_id = next(f.id for f in solid.faces if f.surface.kind == "cylinder")
    slope = next(
        f for f in solid.faces if f.surface.kind == "plane" and abs(f.normal[1]) > 0.1 and abs(f.normal[2]) > 0.1
    )
    top = next(f for f in solid.faces if f.normal[2] > 0.99)
    turn = 60.0 if abs(abs(slope.normal[2]) - 0.5) < 1e-6 else 30.0
    angle = DrawnSize(kind="angle", text=f"{turn:g}° ±0.5°", face_ids=(slope.id,), other_ids=(top.id,))
    radius = DrawnSize(kind="radius", text="3 ±0.2", nominal_mm=3.0, low_mm=2.8, high_mm=3.2, face_ids=(round_id,))
    found = taken(found_part, angle, radius)
    assert [note.status for note in found.notes] == ["used", "used"]
    assert [size.text for size in found.job.sizes] == [f"{turn:g}° ±0.5°", "R3 ±0.2"]
    assert {size.origin for size in found.job.sizes} == {"step-file"}
    judged = decide(solid=solid, survey=found_part[1], job=found.job)
    ends = {n.kind: (n.low, n.high) for n in judged.value.finishing.notes}
    assert ends == {"angle": (turn - 0.5, turn + 0.5), "radius": (2.8, 3.2)}
    drawn = [p for p in judged.proofs if p.id.endswith("drawn-as-written")]
    assert [p.verdict for p in drawn] == ["holds", "holds"]
    assert {fact.source for p in drawn for fact in p.basis.inputs.values()} == {"step-file"}


@pytest.mark.parametrize(
    ("text", "nominal", "why"), [("4 ±0.2", 4.0, "measure 3 mm"), ("3 +0.2/-0.1", 3.0, "same both ways")]
)
def test_a_radius_that_the_faces_do_not_have_or_with_uneven_limits_is_told(text: str, nominal: float, why: str) -> None:
    found_part = wedge()
    round_id = next(f.id for f in found_part[0].faces if f.surface.kind == "cylinder")
    drawn = DrawnSize(kind="radius", text=text, nominal_mm=nominal, face_ids=(round_id,))
    found = taken(found_part, drawn)
    assert found.job.sizes == ()
    assert why in only(found.notes).why


@pytest.mark.parametrize(("typed", "status"), [("R3 ±0.2", "same"), ("R3 ±0.1", "overridden")])
def test_a_typed_radius_goes_before_the_files(typed: str, status: str) -> None:
    found_part = wedge()
    round_id = next(f.id for f in found_part[0].faces if f.surface.kind == "cylinder")
    number = next(n.balloon for n in found_part[1].faces if n.face_id == round_id)
    drawn = DrawnSize(kind="radius", text="3 ±0.2", nominal_mm=3.0, face_ids=(round_id,))
    found = taken(found_part, drawn, job=job_of(Size(balloon=number, text=typed)))
    assert [note.status for note in found.notes] == [status]
    assert [size.text for size in found.job.sizes] == [typed]
