"""A part of the home that questions are asked about: its STEP file, the job file for answers, its holes and faces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from proveout.intake.job_file import job_from_step, read_job, step_of_job
from proveout.intake.order_file import jobs_of_order, read_order
from proveout.jobs.design import read_part
from proveout.jobs.home import OF_ORDER, Entry, Home
from proveout.jobs.results import distinct_name, folder_name
from proveout.jobs.store import Store, default_folder
from proveout.jobs.whole_files import digest_of_file
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.solid import Drawing, ReadSolid, Solid
from proveout.model.work import Survey
from proveout.sheets.asked_faces import asked_svg
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews, numbered_svg


@dataclass(frozen=True)
class AskedPart:
    """A part and where answers about it go.   job_path: of the home's own file, also where none is there yet.

    planned_job: the job file that the plan was made from; None without a plan or of a bare solid.
    """

    entry: str
    step: Path
    job_path: Path
    plan: Plan | None = None
    planned_job: Path | None = None

    @property
    def has_job(self) -> bool:
        """False of a bare solid, whose job file is drafted with the first answer."""
        return self.job_path.is_file()

    @property
    def is_changed(self) -> bool:
        """Whether the job file no longer says what the plan was made from."""
        if self.plan is None:
            return False
        old = self.planned_job.read_bytes() if self.planned_job is not None else b""
        return (self.job_path.read_bytes() if self.has_job else b"") != old


@dataclass(frozen=True)
class Design:
    """The part read and surveyed, its numbers those of the job file."""

    read: ReadSolid
    survey: Survey


def part_of_plan(home: Home, address: str) -> AskedPart:
    """The part of a plan.

    Raises:   BadInput when there is no such plan, or the files it was made from are gone.
    """
    place = home.place(address)
    entry = home.entry(place.entry)
    _, _, sub = address.partition(OF_ORDER)
    found = _files(entry)
    job_path, step = found[_folders(found).index(sub)] if sub and sub in _folders(found) else found[0]
    return AskedPart(
        entry=entry.name, step=step, job_path=home.own(job_path), plan=place.plan, planned_job=place.job_file
    )  # fmt: skip


def parts_of_entry(home: Home, name: str) -> tuple[AskedPart, ...]:
    """The parts of an entry, whether or not they are planned: one, or those of an order.

    Raises:   BadInput when there is no such entry, or a file of it is broken or missing.
    """
    entry = home.entry(name)
    return tuple(AskedPart(entry=entry.name, step=step, job_path=home.own(job)) for job, step in _files(entry))


def _files(entry: Entry) -> list[tuple[Path, Path]]:
    """Job file and STEP file of each part."""
    if entry.kind == "solid":
        return [(entry.path.with_suffix(".toml"), entry.path)]
    jobs = jobs_of_order(entry.path, read_order(entry.path)) if entry.kind == "order" else (entry.path,)
    return [(job, step_of_job(job, read_job(job))) for job in jobs]


def _folders(found: Sequence[tuple[Path, Path]]) -> list[str]:
    """Folder of each part in the result of its order, as the planner names it."""
    used: set[str] = set()
    return [distinct_name(folder_name(read_job(job).part.number), used) for job, _ in found if job.is_file()]


def design_of(part: AskedPart) -> Design:
    """The part read and surveyed, from the store where that was done before."""
    from proveout.stages import survey

    store, run = Store(default_folder()), Run()
    job = job_of(part)
    digest = digest_of_file(part.step)
    read = read_part(part.step, digest=digest, solid_name=job.part.solid, store=store, run=run)
    surveyed = store.get("survey", survey.decide, solid=read.solid, run=run).value
    tied = survey.retied(job=job, solid=read.solid, survey=surveyed)
    return Design(read=read, survey=survey.numbered_as(surveyed, tied.job.balloons))


def job_of(part: AskedPart) -> Job:
    """What is written about the part now."""
    return read_job(part.job_path) if part.has_job else job_from_step(part.step.name)


def faces_picture(design: Design, numbers: Sequence[int]) -> str:
    """The part as SVG with the holes and faces of these balloons hatched; without any, every number of it."""
    solid, survey = design.read.solid, design.survey
    balloons = [(hole.balloon, hole.id) for hole in survey.holes]
    balloons += [(note.balloon, note.face_id) for note in survey.faces]
    wanted = sorted({number for number, _ in balloons} & set(numbers))
    return Store(default_folder()).get(
        "asked faces", _picture, digest=solid.digest, balloons=balloons, numbers=wanted, run=_Held(solid, survey)
    )


class _Held:
    """Solid and survey ride along outside the key: the digest and the balloons stand for them."""

    def __init__(self, solid: Solid, survey: Survey) -> None:
        self.solid, self.survey = solid, survey


def _picture(*, digest: str, balloons: list[tuple[int, str]], numbers: list[int], run: _Held) -> str:  # noqa: ARG001 - parts of the key
    drawings = Store(default_folder()).get("numbered views", _drawn, digest=digest, run=run)
    if not numbers:
        return numbered_svg(run.solid, run.survey, drawings=drawings)
    return asked_svg(PartViews(run.solid, drawings), run.survey, numbers=numbers)


def _drawn(*, digest: str, run: _Held) -> tuple[Drawing, ...]:  # noqa: ARG001 - part of the key
    from proveout.intake.step import drawings

    return drawings(run.solid, [(view.view_direction, view.up) for view in NUMBERED_VIEWS])
