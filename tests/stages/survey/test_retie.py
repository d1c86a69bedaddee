"""Numbers of a job find their faces again on a solid that was moved, turned or exported in inches, or say so."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
import re
import sys
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from moved import reread, turned
from shapes import box, drilled, solid_of

from proveout.intake.drafts import draft_job
from proveout.intake.job_file import job_from_text
from proveout.intake.toml_edit import set_value
from proveout.model.job import Job
from proveout.model.marking import Marking
from proveout.model.run import Run
from proveout.model.solid import ReadSolid, Solid
from proveout.model.work import Survey
from proveout.quantities.errors import BadInput
from proveout.stages import survey
from proveout.stages.survey.retie import retied

UP = (0.0, 0.0, 1.0)


def surveyed(solid: Solid) -> Survey:
    return survey.decide(solid=solid, run=Run()).value


def drafted(solid: Solid, sizes: dict[int, str] | None = None, more: str = "") -> Job:
    """The job that new-job writes for a solid, with sizes typed at some numbers."""
    read = ReadSolid(solid=solid, other_solids=(), warnings=(), unit_is_doubtful=False)
    text = draft_job(read, surveyed(solid), step="part.step", number="T-1", quantity=10)
    for number, size in (sizes or {}).items():
        text = set_value(text, ("sizes", str(number)), size)
    return job_from_text(more + text)


def plate(*, third_x: float = 30.0) -> Any:
    """A 60 x 40 x 10 plate with three holes of different diameters, one blind: no turn or mirror lays it on itself."""
    shape = box(60.0, 40.0, 10.0)
    for x, y, dia in ((50.0, 12.0, 8.0), (third_x, 30.0, 10.0)):
        shape = drilled(shape, at=(x, y, -1.0), along=UP, dia=dia, deep=12.0)
    return drilled(shape, at=(10.0, 10.0, 11.0), along=(0.0, 0.0, -1.0), dia=6.0, deep=7.0)


def twins() -> Any:
    """A plate that a half turn lays on itself, with two equal holes."""
    shape = box(60.0, 40.0, 10.0)
    for x, y in ((15.0, 10.0), (45.0, 30.0)):
        shape = drilled(shape, at=(x, y, -1.0), along=UP, dia=8.0, deep=12.0)
    return shape


def transformed(shape: Any, *, degrees: float = 0.0, shift: tuple[float, float, float] = (0.0, 0.0, 0.0),
                mirror: bool = False, scale: float = 1.0) -> Any:  # fmt: skip
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec

    motion = gp_Trsf()
    if degrees:
        motion.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), math.radians(degrees))
    if mirror:
        motion.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)))
    if scale != 1.0:
        motion.SetScale(gp_Pnt(0, 0, 0), scale)
    move = gp_Trsf()
    move.SetTranslation(gp_Vec(*shift))
    return BRepBuilderAPI_Transform(shape, move.Multiplied(motion), True).Shape()  # noqa: FBT003


def hole_at(solid: Solid, job: Job, number: int) -> np.ndarray:
    """Middle of the mouth of the hole that a number is tied to."""
    name = next(balloon.id for balloon in job.balloons if balloon.number == number)
    return np.array(next(hole.entry_mm for hole in surveyed(solid).holes if hole.id == name))


@pytest.fixture(scope="module")
def solid() -> Solid:
    return solid_of(plate())


@pytest.fixture(scope="module")
def job(solid: Solid) -> Job:
    by_diameter = {hole.diameter_mm: hole.balloon for hole in surveyed(solid).holes}
    return drafted(solid, {by_diameter[10.0]: "10 H8"})


def test_on_the_drafted_solid_nothing_changes(solid: Solid, job: Job) -> None:
    found = retied(job=job, solid=solid, survey=surveyed(solid))
    assert found.job is job
    assert found.said == ()


@pytest.mark.parametrize(
    ("degrees", "shift"), [(0.0, (3.0, -4.5, 100.0)), (90.0, (0.0, 0.0, 0.0)), (33.3, (1.0, 2.0, 3.0))]
)
def test_every_number_keeps_its_face_when_the_solid_is_moved_or_turned(
    solid: Solid, job: Job, degrees: float, shift: tuple[float, float, float]
) -> None:
    new = solid_of(transformed(plate(), degrees=degrees, shift=shift))
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert len(found.said) == 1
    assert "all faces being the same" in found.said[0]
    angle = math.radians(degrees)
    turn = np.array([[math.cos(angle), -math.sin(angle), 0.0], [math.sin(angle), math.cos(angle), 0.0], [0, 0, 1]])
    for before, after in zip(job.balloons, found.job.balloons, strict=True):
        assert before.number == after.number
        if before.id.startswith("hole"):
            place = turn @ hole_at(solid, job, before.number) + shift
            assert hole_at(new, found.job, before.number)[:2] == pytest.approx(place[:2], abs=1e-3)
        else:
            place = turn @ np.array(solid.face(before.id).centroid_mm) + shift
            assert new.face(after.id).centroid_mm == pytest.approx(tuple(place), abs=1e-3)


def test_a_mirrored_part_is_another_part(job: Job) -> None:
    new = solid_of(transformed(plate(), mirror=True))
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert found.job is job
    assert "mirror image" in found.said[0]


def test_a_hole_cut_in_halves_by_another_export_is_the_same_hole(solid: Solid, job: Job) -> None:
    """One system writes a whole cylinder, another two halves."""
    from OCP.ShapeUpgrade import ShapeUpgrade_ShapeDivideAngle

    divided = ShapeUpgrade_ShapeDivideAngle(math.pi, transformed(plate(), degrees=90.0))
    divided.Perform()
    new = solid_of(divided.Result())
    assert len(new.faces) > len(solid.faces)
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert "all faces being the same" in found.said[0]
    known = {hole.id for hole in surveyed(new).holes} | {face.id for face in new.faces}
    lost = [balloon.number for balloon in found.job.balloons if balloon.id not in known]
    assert lost == []


def test_another_part_is_not_taken_for_this_one(solid: Solid, job: Job) -> None:
    """It shares three of ten faces: a side and two holes, of which one has a size."""
    shape = box(60.0, 55.0, 10.0)
    for x, y, dia in ((50.0, 12.0, 8.0), (30.0, 30.0, 10.0)):
        shape = drilled(shape, at=(x, y, -1.0), along=UP, dia=dia, deep=12.0)
    new = solid_of(shape)
    bare = drafted(solid)
    found = retied(job=bare, solid=new, survey=surveyed(new))
    assert found.job is bare
    assert "neither moved nor turned" in found.said[0]
    with pytest.raises(BadInput, match="neither moved nor turned"):
        retied(job=job, solid=new, survey=surveyed(new))


def lopsided(*, is_turned: bool) -> Any:
    """The twins with a third, blind hole off the middle; a half turn about the middle lays the twins on each other."""
    x, y = (10.0, 30.0) if not is_turned else (50.0, 10.0)
    return drilled(twins(), at=(x, y, 11.0), along=(0.0, 0.0, -1.0), dia=6.0, deep=7.0)


def test_numbers_whose_names_are_all_there_are_tied_anew_where_the_rest_has_turned() -> None:
    """The owner kept the numbers of the two equal holes alone: turned half round each has the other's name."""
    old, new = solid_of(lopsided(is_turned=False)), solid_of(lopsided(is_turned=True))
    twin = [hole for hole in surveyed(old).holes if hole.diameter_mm == 8.0]
    whole = drafted(old, {twin[0].balloon: "8 H8"})
    kept = tuple(balloon for balloon in whole.balloons if balloon.id in {hole.id for hole in twin})
    job = msgspec.structs.replace(whole, balloons=kept)
    assert {hole.id for hole in twin} <= {hole.id for hole in surveyed(new).holes}
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert "turned 180" in found.said[0]
    assert hole_at(new, found.job, twin[0].balloon)[:2] == pytest.approx(
        (60.0 - twin[0].entry_mm[0], 40.0 - twin[0].entry_mm[1]), abs=1e-3
    )


def test_a_hole_that_was_moved_is_the_only_one_lost(solid: Solid, job: Job) -> None:
    new = solid_of(transformed(plate(third_x=33.0), degrees=90.0))
    found = retied(job=job, solid=new, survey=surveyed(new))
    number = next(hole.balloon for hole in surveyed(solid).holes if hole.diameter_mm == 10.0)
    assert found.said[1:] == (f"Number {number} stands for nothing on this solid: its hole is gone.",)
    known = {hole.id for hole in surveyed(new).holes} | {face.id for face in new.faces}
    assert [balloon.number for balloon in found.job.balloons if balloon.id not in known] == [number]


def test_the_same_where_the_solid_lies_as_before(job: Job) -> None:
    new = solid_of(plate(third_x=33.0))
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert "lies where it lay" in found.said[0]
    assert len(found.said) == 2


def test_a_symmetric_part_is_refused_where_it_matters_which_face_is_which() -> None:
    old = solid_of(twins())
    number = surveyed(old).holes[0].balloon
    new = solid_of(transformed(twins(), degrees=90.0))
    with pytest.raises(BadInput, match="alike in several ways"):
        retied(job=drafted(old, {number: "8 H8"}), solid=new, survey=surveyed(new))


def test_a_symmetric_part_is_tied_where_both_ways_mean_the_same() -> None:
    old = solid_of(twins())
    sizes = {hole.balloon: "8 H8" for hole in surveyed(old).holes}
    new = solid_of(transformed(twins(), degrees=90.0))
    found = retied(job=drafted(old, sizes), solid=new, survey=surveyed(new))
    assert {b.id for b in found.job.balloons} >= {hole.id for hole in surveyed(new).holes}


def test_a_marked_face_is_known_again_and_a_symmetric_part_is_refused(job: Job) -> None:
    """The finisher would put the words on the wrong side."""
    face = next(balloon for balloon in job.balloons if balloon.id.startswith("plane +x"))
    marked = msgspec.structs.replace(job, markings=(Marking(finisher="laser", text="A", face_ids=(face.id,)),))
    new = solid_of(transformed(plate(), degrees=90.0))
    found = retied(job=marked, solid=new, survey=surveyed(new)).job.markings[0].face_ids
    assert len(found) == 1
    assert found[0].startswith("plane +y")
    old, alike = solid_of(twins()), solid_of(transformed(twins(), degrees=90.0))
    blank = drafted(old)
    side = next(balloon.id for balloon in blank.balloons if balloon.id.startswith("plane +x"))
    only = msgspec.structs.replace(blank, markings=(Marking(finisher="laser", text="A", face_ids=(side,)),))
    with pytest.raises(BadInput, match="alike in several ways"):
        retied(job=only, solid=alike, survey=surveyed(alike))


def test_sides_of_the_solid_turn_with_it(job: Job) -> None:
    """A quarter turn about +z takes -y to +x."""
    new = solid_of(transformed(plate(), degrees=90.0))
    held = msgspec.structs.replace(job, as_bought=("-y", "-z"))
    found = retied(job=held, solid=new, survey=surveyed(new))
    assert found.job.as_bought == ("+x", "-z")


def test_sides_of_a_solid_turned_out_of_its_axes_are_refused(job: Job) -> None:
    new = solid_of(transformed(plate(), degrees=33.3))
    with pytest.raises(BadInput, match="turned out of its axes"):
        retied(job=msgspec.structs.replace(job, as_bought=("-y",)), solid=new, survey=surveyed(new))


def test_an_export_in_inches_is_the_same_part(solid: Solid, job: Job, tmp_path: Path) -> None:
    from proveout.solids.step import read_step, write_step

    path = tmp_path / "inch.step"
    write_step(transformed(plate(), scale=1.0 / 25.4, shift=(1.0, 0.0, 0.0)), path, name="plate")
    unit = re.compile(r"\(\s*LENGTH_UNIT\(\)\s*NAMED_UNIT\(\*\)\s*SI_UNIT\(\.MILLI\.,\.METRE\.\)\s*\)")
    inch = (
        "(CONVERSION_BASED_UNIT('INCH',#900001)LENGTH_UNIT()NAMED_UNIT(#900002));\n"
        "#900001=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#900003);\n"
        "#900002=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n"
        "#900003=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))"
    )
    path.write_text(unit.sub(inch, path.read_text("utf-8")), "utf-8")
    new = read_step(path).solid
    assert new.unit_declared == "inch"
    found = retied(job=job, solid=new, survey=surveyed(new))
    assert "moved 25.400 mm" in found.said[0]
    number = next(hole.balloon for hole in surveyed(solid).holes if hole.diameter_mm == 10.0)
    assert hole_at(new, found.job, number)[0] == pytest.approx(30.0 + 25.4, abs=1e-3)


@pytest.fixture(scope="module")
def demo(root: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    sys.path.insert(0, str(root / "examples" / "solids"))
    try:
        import make_all  # pyright: ignore[reportMissingImports]  # a program beside its parts, no package
    finally:
        sys.path.pop(0)
    return {path.stem: path for path in make_all.main(str(tmp_path_factory.mktemp("demo")))}


@pytest.mark.parametrize("name", ["EX-101", "EX-102", "EX-103"])
def test_the_demo_parts_are_known_again_turned_moved_and_with_their_faces_in_another_order(
    demo: dict[str, Path], tmp_path: Path, name: str
) -> None:
    from proveout.solids.step import read_step

    old, new = read_step(demo[name]).solid, reread(demo[name], tmp_path / "moved.step")
    found = retied(job=(job := drafted(old)), solid=new, survey=surveyed(new))
    assert "all faces being the same" in found.said[0]
    assert len(found.said) == 1
    for before, after in zip(job.balloons, found.job.balloons, strict=True):
        if not before.id.startswith("hole"):
            one, other = old.face(before.id), new.face(after.id)
            assert other.area_mm2 == pytest.approx(one.area_mm2, rel=1e-6)
            assert tuple(turned(one.centroid_mm)) == pytest.approx(other.centroid_mm, abs=1e-3)
