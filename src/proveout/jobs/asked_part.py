"""A part of the home that questions are asked about: its STEP file, the job file for answers, its holes and faces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.intake.job_file import job_from_step, read_job, step_of_job
from proveout.intake.order_file import jobs_of_order, read_order
from proveout.jobs.background_task import BackgroundTask, errand_id
from proveout.jobs.design import read_part
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.home import OF_ORDER, Entry, Home
from proveout.jobs.results import distinct_name, folder_name
from proveout.jobs.store import Store, default_folder
from proveout.jobs.tasks import Tasks
from proveout.jobs.whole_files import digest_of_file
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.solid import Drawing, ReadSolid
from proveout.model.work import Survey
from proveout.quantities.errors import BadInput
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
    """The part read and surveyed, its numbers those of the job file.   drawings: of its views, empty until drawn."""

    read: ReadSolid
    survey: Survey
    drawings: tuple[Drawing, ...] = ()


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


class Reading(msgspec.Struct, frozen=True, kw_only=True, tag="reading"):
    """A solid to be read for questions about it. digest: of the file.   solid_name: "" for the largest of it."""

    step: str
    digest: str
    solid_name: str


class PartRead(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a solid before anything is said of it. drawings: of its numbered views, empty until drawn."""

    read: ReadSolid
    survey: Survey
    drawings: tuple[Drawing, ...] = ()


def begin_reading(tasks: Tasks, part: AskedPart, *, page: str) -> BackgroundTask:
    """Begin to read the solid of a part, unless that is done or under way.   page: that waits for it.

    Raises:   BadInput when the file is gone, or too many are under way.
    """
    if not part.step.is_file():
        raise BadInput("The STEP file is not there", where=part.step.name, do="put it back beside its job file")
    asked = Reading(step=str(part.step), digest=digest_of_file(part.step), solid_name=job_of(part).part.solid)
    id = errand_id("reading", asked.digest, asked.solid_name)
    return tasks.ask_errand(
        "reading", told_bytes(asked), id=id, subject=f"reading of {part.step.name}",
        title=f"Read {part.step.name} for its questions", page=page, is_looked_at=True,
    )  # fmt: skip


def part_read(tasks: Tasks, task: BackgroundTask) -> PartRead | None:
    """What was read so far; None where nothing was yet."""
    found = tasks.found(task.id)
    return None if found is None else read_bytes(found, PartRead)


def read_for_questions(asked: Reading, *, store: Store, run: Run) -> Iterator[PartRead]:
    """The solid read and surveyed, and then once more with its drawings."""
    from proveout.intake.step import drawings
    from proveout.stages import survey

    run.check("reading", asked.step.rpartition("/")[2])
    read = read_part(Path(asked.step), digest=asked.digest, solid_name=asked.solid_name, store=store, run=run)
    run.check("survey")
    known = PartRead(read=read, survey=store.get("survey", survey.decide, solid=read.solid, run=run).value)
    yield known
    run.check("drawing")
    views = [(view.view_direction, view.up) for view in NUMBERED_VIEWS]
    yield msgspec.structs.replace(known, drawings=drawings(read.solid, views))


def design_of(part: AskedPart, known: PartRead) -> Design:
    """The part with the numbers that its job file has by now."""
    from proveout.stages import survey

    tied = survey.retied(job=job_of(part), solid=known.read.solid, survey=known.survey)
    return Design(
        read=known.read, survey=survey.numbered_as(known.survey, tied.job.balloons), drawings=known.drawings
    )  # fmt: skip


def job_of(part: AskedPart) -> Job:
    """What is written about the part now."""
    return read_job(part.job_path) if part.has_job else job_from_step(part.step.name)


def faces_picture(design: Design, numbers: Sequence[int]) -> str:
    """The part as SVG with the holes and faces of these balloons hatched; without any, every number of it.

    Raises:   BadInput before the part is drawn.
    """
    if not design.drawings:
        raise BadInput("The part is not drawn yet", do="look again in a moment")
    survey = design.survey
    balloons = [(hole.balloon, hole.id) for hole in survey.holes]
    balloons += [(note.balloon, note.face_id) for note in survey.faces]
    wanted = sorted({number for number, _ in balloons} & set(numbers))
    return Store(default_folder()).get(
        "asked faces", _picture, digest=design.read.solid.digest, balloons=balloons, numbers=wanted, run=design
    )


def _picture(*, digest: str, balloons: list[tuple[int, str]], numbers: list[int], run: Design) -> str:  # noqa: ARG001 - parts of the key, which stand for the design
    solid = run.read.solid
    if not numbers:
        return numbered_svg(solid, run.survey, drawings=run.drawings)
    return asked_svg(PartViews(solid, run.drawings), run.survey, numbers=numbers)
