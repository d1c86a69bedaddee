"""The design before any decision: what the STEP file writes and what the job writes, on the solid as it lies now."""

from __future__ import annotations

from pathlib import Path

import pytest
from drawn_part import HOLE_TEXT, LENGTH_TEXT, write_drawn
from moved import reread

from proveout.intake.job_file import NO_SIZE_TYPED, SIZES_IN_FILE, job_from_step, read_job
from proveout.intake.starting_shop import starting_shop
from proveout.intake.toml_edit import set_value
from proveout.jobs.design import Design, design_of
from proveout.jobs.drafting import new_job
from proveout.jobs.pmi_words import counted_words, unused_lines
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.job import Job
from proveout.model.run import Run


def design(step: Path, job: Job) -> Design:
    request = Request(step=step, job=job, shop=starting_shop(), start="", inputs={"step": "0"})
    return design_of(request, store=Store(None), run=Run())


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("design") / "plate.step"
    write_drawn(path)
    return path


@pytest.fixture(scope="module")
def drafted(drawn: Path) -> tuple[Path, list[str]]:
    lines = new_job(drawn, out=None, solid_name="")
    return drawn.with_suffix(".toml"), lines


def test_a_bare_file_brings_its_own_sizes(drawn: Path) -> None:
    found = design(drawn, job_from_step("plate.step"))
    assert [size.text for size in found.request.job.sizes] == [HOLE_TEXT, LENGTH_TEXT]
    assert {size.origin for size in found.request.job.sizes} == {"step-file"}
    assert SIZES_IN_FILE in found.request.job.assumed
    assert NO_SIZE_TYPED not in found.request.job.assumed
    assert [proof.id for proof in found.proofs if proof.id.startswith("inspection:file:")] == [
        "inspection:file:40 at 2, 5", "inspection:file:position Ø0.3 to A at 1"
    ]  # fmt: skip


def test_the_first_words_count_what_is_found_used_and_not_used(drawn: Path) -> None:
    notes = design(drawn, job_from_step("plate.step")).notes
    assert counted_words(notes) == (
        "3 sizes, 1 geometric tolerance and 1 datum in the STEP file; 2 sizes used as if typed in the job; 2 not "
        "judged by this plan: measure as drawn"
    )
    (line,) = unused_lines(notes)
    assert line.startswith("40 at 2 and 5: the file gives it no limits")


def test_a_draft_types_the_sizes_in_and_reads_back_as_the_same(drawn: Path, drafted: tuple[Path, list[str]]) -> None:
    path, lines = drafted
    assert any(line.startswith("3 sizes, 1 geometric tolerance and 1 datum") for line in lines)
    found = design(drawn, read_job(path))
    assert [note.status for note in found.notes if note.kind == "size"] == ["same", "same", "not used"]
    assert {size.origin for size in found.request.job.sizes} == {"job-file"}
    assert found.warnings == ()
    length = next(size for size in found.request.job.sizes if size.text == LENGTH_TEXT)
    assert len(length.face_ids) == 2


def test_what_was_typed_in_the_draft_goes_before_the_file(
    drawn: Path, drafted: tuple[Path, list[str]], tmp_path: Path
) -> None:
    text = set_value(drafted[0].read_text("utf-8"), ("sizes", "1"), "8 H8")
    (tmp_path / "plate.toml").write_text(text, "utf-8")
    found = design(drawn, read_job(tmp_path / "plate.toml"))
    assert "8 H8" in [size.text for size in found.request.job.sizes]
    assert HOLE_TEXT not in [size.text for size in found.request.job.sizes]
    (proof,) = (proof for proof in found.proofs if proof.verdict == "fails")
    assert "8 H8" in proof.remedy


def test_a_solid_exported_anew_and_turned_keeps_its_numbers(
    drawn: Path, drafted: tuple[Path, list[str]], tmp_path: Path
) -> None:
    reread(drawn, tmp_path / "moved.step")
    found = design(tmp_path / "moved.step", read_job(drafted[0]))
    assert "turned 37.300°" in found.warnings[0]
    (hole,) = found.survey.holes
    assert hole.balloon == 1
    assert {balloon.id for balloon in found.request.job.balloons} == {
        hole.id, *(note.face_id for note in found.survey.faces if not note.hole_id)
    }  # fmt: skip
