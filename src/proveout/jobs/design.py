"""The finished solid with what is written about it: numbered as the job has it, with the STEP file's own sizes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from proveout.intake.job_file import NO_SIZE_TYPED, SIZES_IN_FILE
from proveout.intake.step import read_solid
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.pmi import PmiNote
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.solid import ReadSolid
from proveout.model.work import Survey

READING_LIMIT_S = 120.0


@dataclass(frozen=True)
class Design:
    """One part before any decision.

    request: as given, its job with the sizes that the STEP file writes.   survey: with the numbers and threads of that
    job.   notes: what became of each thing that the STEP file writes.   warnings: how the numbers of the job were tied
    to a solid that lies otherwise.   proofs: of reading and of those notes.
    """

    request: Request
    read: ReadSolid
    survey: Survey
    notes: tuple[PmiNote, ...]
    warnings: tuple[str, ...]
    proofs: tuple[Proof, ...]


def design_of(request: Request, *, store: Store, run: Run) -> Design:
    """The part of a request, read and surveyed."""
    from proveout.stages import survey
    from proveout.stages.finishing.from_file import sizes_of_file
    from proveout.stages.inspection.as_drawn import as_drawn_proofs

    job = request.job
    read = read_part(
        request.step, digest=request.inputs.get("step", ""), solid_name=job.part.solid, store=store, run=run
    )
    surveyed: Decision[Survey] = store.get("survey", survey.decide, solid=read.solid, run=run)
    tied = survey.retied(job=job, solid=read.solid, survey=surveyed.value)
    job = tied.job
    numbered = survey.numbered_as(surveyed.value, job.balloons)
    taken = sizes_of_file(pmi=read.pmi, job=job, solid=read.solid, survey=numbered)
    if any(note.status == "used" for note in taken.notes):
        assumed = tuple(SIZES_IN_FILE if line == NO_SIZE_TYPED else line for line in taken.job.assumed)
        taken = msgspec.structs.replace(taken, job=msgspec.structs.replace(taken.job, assumed=assumed))
    return Design(
        request=replace(request, job=taken.job), read=read, survey=survey.with_threads(numbered, taken.job.sizes),
        notes=taken.notes, warnings=tied.said, proofs=(*surveyed.proofs, *as_drawn_proofs(taken.notes)),
    )  # fmt: skip


def read_part(
    step: Path, *, digest: str, solid_name: str, store: Store, run: Run, named: str | None = None
) -> ReadSolid:  # fmt: skip
    """One solid of a STEP file; digest: of the file, which stands for its content.

    named: the name that it was planned under, where the file is a copy of another name.
    """
    return store.get(
        "intake", _read, path_digest=digest, solid_name=solid_name, path=named or step.name, run=_Held(step, run)
    )


class _Held:
    """The path and the run ride along outside the key: the digest of the file stands for its content."""

    def __init__(self, path: Path, run: Run) -> None:
        self.path, self.run = path, run


def _read(*, path_digest: str, solid_name: str, path: str, run: _Held) -> ReadSolid:  # noqa: ARG001 - parts of the key
    return read_solid(run.path, solid_name=solid_name, time_limit_s=run.run.left_s(READING_LIMIT_S))
