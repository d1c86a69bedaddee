"""What the STEP file writes and the plan does not judge is not shown; where the job differs that is told."""

from __future__ import annotations

from proveout.model.pmi import PmiNote
from proveout.stages.inspection.as_drawn import as_drawn_proofs

POSITION = PmiNote(
    kind="tolerance", text="position Ø0.3 to A", status="not used", why="measure as drawn", balloons=(1, 2)
)
USED = PmiNote(kind="size", text="Ø8 ±0.1", status="used", balloons=(1,))
TYPED = PmiNote(
    kind="size", text="Ø8 ±0.1", status="overridden", why="the job writes H8 at 1, which goes before it", balloons=(1,)
)


def test_a_tolerance_is_not_shown_and_says_what_to_measure() -> None:
    (proof,) = as_drawn_proofs((USED, POSITION))
    assert proof.verdict == "not shown"
    assert not proof.blocks_release
    assert proof.decides.startswith("measure as drawn: position Ø0.3 to A at 1, 2")


def test_a_conflict_of_job_and_file_fails_and_names_both() -> None:
    (proof,) = as_drawn_proofs((TYPED,))
    assert proof.verdict == "fails"
    assert "H8" in proof.remedy
    assert "Ø8 ±0.1" in proof.claim


def test_ids_of_equal_tolerances_differ() -> None:
    proofs = as_drawn_proofs((POSITION, POSITION))
    assert len({proof.id for proof in proofs}) == 2
