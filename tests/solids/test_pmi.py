"""Sizes, tolerances and datums that a STEP file writes come with the faces that they are written on."""

from __future__ import annotations

from pathlib import Path

import pytest
from drawn_part import HOLE_TEXT, LENGTH_TEXT, plate, write_drawn

from proveout.model.pmi import Pmi
from proveout.model.solid import ReadSolid
from proveout.solids import pmi_text
from proveout.solids.pmi import NO_LIMITS, SIGN_LOST
from proveout.solids.step import read_step, write_step


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("drawn") / "plate.step"
    write_drawn(path)
    return path


@pytest.fixture(scope="module")
def read(drawn: Path) -> ReadSolid:
    return read_step(drawn)


@pytest.fixture(scope="module")
def pmi(read: ReadSolid) -> Pmi:
    assert read.pmi is not None
    return read.pmi


def test_a_diameter_is_tied_to_the_wall_of_its_hole(read: ReadSolid, pmi: Pmi) -> None:
    (size,) = (one for one in pmi.sizes if one.kind == "diameter")
    assert size.text == HOLE_TEXT
    assert (size.low_mm, size.high_mm) == pytest.approx((7.9, 8.05), abs=1e-9)
    walls = [face.id for face in read.solid.faces if face.surface.kind == "cylinder"]
    assert list(size.face_ids) == walls


def test_a_length_is_tied_to_both_its_ends(read: ReadSolid, pmi: Pmi) -> None:
    size = next(one for one in pmi.sizes if one.text == LENGTH_TEXT)
    ends = [read.solid.face(ids[0]).normal for ids in (size.face_ids, size.other_ids)]
    assert sorted(end[2] for end in ends) == pytest.approx([-1.0, 1.0])
    assert (size.low_mm, size.high_mm) == pytest.approx((9.8, 10.2), abs=1e-9)


def test_a_size_without_limits_says_so_and_offers_none(pmi: Pmi) -> None:
    """Taken as it stands it would get the general tolerance, which nobody wrote."""
    size = next(one for one in pmi.sizes if one.text.startswith("40"))
    assert size.lack == NO_LIMITS
    assert size.low_mm is size.high_mm is size.nominal_mm is None


def test_a_tolerance_names_value_zone_and_datum(pmi: Pmi) -> None:
    (one,) = pmi.tolerances
    assert one.text == "position Ø0.3 to A"
    assert one.datums == ("A",)
    assert one.face_ids == next(size.face_ids for size in pmi.sizes if size.kind == "diameter")
    (datum,) = pmi.datums
    assert datum.letter == "A"
    assert datum.face_ids[0].startswith("plane -z")


@pytest.mark.parametrize("hole_mm", [(0.05, 0.1), (-0.1, -0.05)])
def test_deviations_on_one_side_are_not_taken_for_two(tmp_path: Path, hole_mm: tuple[float, float]) -> None:
    """+0.1/+0.05 would come out of the kernel as +0.1/-0.05."""
    path = tmp_path / "sided.step"
    write_drawn(path, hole_mm=hole_mm)
    found = read_step(path).pmi
    assert found is not None
    (size,) = (one for one in found.sizes if one.kind == "diameter")
    assert size.lack == SIGN_LOST
    assert size.low_mm is None
    assert next(one for one in found.sizes if one.text == LENGTH_TEXT).lack == ""


def test_what_the_file_holds_beyond_what_was_read_is_told(drawn: Path, tmp_path: Path) -> None:
    """A tolerance whose kind the kernel does not know is lost in reading: the owner is sent to the drawing."""
    more = "#99001=STRAIGHTNESS_TOLERANCE('','',$,$);\n#99002=DIMENSIONAL_SIZE($,'diameter');\nENDSEC;"
    before, end = drawn.read_text("utf-8").rsplit("ENDSEC;", 1)
    path = tmp_path / "more.step"
    path.write_text(before + more + end, "utf-8")
    read = read_step(path)
    assert read.pmi is not None
    assert (read.pmi.lost_sizes_count, read.pmi.lost_tolerances_count) == (1, 1)
    assert any("1 more sizes and 1 more geometric tolerances" in warning for warning in read.warnings)


def test_a_file_that_writes_nothing_has_nothing(tmp_path: Path) -> None:
    path = tmp_path / "bare.step"
    write_step(plate(), path, name="bare")
    assert read_step(path).pmi is None


def test_a_fit_is_tied_to_its_hole_by_the_text(tmp_path: Path) -> None:
    path = tmp_path / "fit.step"
    write_drawn(path, hole_mm="H7")
    found = read_step(path).pmi
    assert found is not None
    (size,) = (one for one in found.sizes if one.kind == "diameter")
    assert (size.text, size.nominal_mm, size.lack) == ("8 H7", 8.0, "")
    assert found.fits == ()


def test_a_fit_that_stands_on_nothing_is_told() -> None:
    one = "LIMITS_AND_FITS('H','hole','7','')"
    text = f"#1={one};\n#2=LIMITS_AND_FITS('G6','hole','','');#3 = {one.replace('(', ' ( ')};"
    assert [fit.text for fit in pmi_text.fits(text)] == ["H7", "G6", "H7"]
    assert {fit.places for fit in pmi_text.fits(text)} == {frozenset[int]()}
    assert "type them yourself" in Pmi(fits=("G6",)).warnings()[0]
