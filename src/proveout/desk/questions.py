"""What the STEP file cannot tell: questions in order of what they would change, with fields for the job file."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from proveout.desk.lengths import reads_inches
from proveout.desk.page import STATIC, desk_of, page
from proveout.desk.typed_form import DIGEST, TypedForm
from proveout.desk.waiting import now_of, waiting
from proveout.jobs.answering import JobForm, Line, answer, job_form, numbers_of, read_back, shown_job
from proveout.jobs.asked_part import (
    AskedPart,
    Design,
    PartRead,
    begin_reading,
    design_of,
    faces_picture,
    job_of,
    part_of_plan,
    part_read,
    parts_of_entry,
)
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.home import Place
from proveout.jobs.owner_file import ChangedMeanwhile, put_back
from proveout.jobs.questions import ask_before_plan
from proveout.jobs.typed_group import Group
from proveout.jobs.typed_value import Field
from proveout.jobs.whole_files import digest_of_file
from proveout.model.plan import Question
from proveout.quantities.errors import BadInput

router = APIRouter()
SEE_OTHER, BAD, BUSY = 303, 400, 503
WAIT_S = 1.0
NOT_KEPT = {"cache-control": "no-store"}
WRITTEN = "written"
AGAIN = "read-again"
LINES_MOST = 24  # of one question; the rest stands in the table below
SHOP_OF = {"places": "/shop#vise", "grip": "/shop#jaws"}
FIELDS_OF = {"quantity": ("order/quantity",), "alloy": ("part/alloy",), "coat": ("all/coated",)}
OF_THE_PART = ("unit", "unreached")


@dataclass(frozen=True)
class Asked:
    """A question with the fields that answer it.   numbers: of the holes and faces that it is about.

    link: where else it is answered, "" where here.
    """

    question: Question
    numbers: tuple[int, ...]
    fields: tuple[Field, ...]
    group: Group | None
    lines: tuple[Line, ...]
    link: str


@router.get("/parts/{address}/questions")
def of_plan(request: Request, address: str) -> HTMLResponse:
    """Questions of a planned part."""
    home = desk_of(request).home
    return _page(request, part_of_plan(home, address), base=f"/parts/{address}/questions", place=home.place(address))


@router.post("/parts/{address}/questions")
def answer_plan(request: Request, address: str, typed: TypedForm) -> Response:
    """Answers to them."""
    home = desk_of(request).home
    base = f"/parts/{address}/questions"
    return _answered(request, part_of_plan(home, address), typed, base=base, place=home.place(address))


@router.post("/parts/{address}/questions/undo")
def undo_plan(request: Request, address: str, typed: TypedForm) -> Response:
    """The job file's text before the last change made here."""
    return _undone(part_of_plan(desk_of(request).home, address), typed, back=f"/parts/{address}/questions")


@router.get("/parts/{address}/questions/faces.svg")
def faces_of_plan(request: Request, address: str, numbers: str = "") -> Response:
    """The part with some of its holes and faces hatched."""
    part = part_of_plan(desk_of(request).home, address)
    return _faces(request, part, numbers, base=f"/parts/{address}/questions")


@router.get("/entries/{name}/questions")
def of_entry(request: Request, name: str, item: int = 0) -> HTMLResponse:
    """Questions before there is a plan; of an order one part at a time.   item: from 1, 0 where there is one."""
    parts = parts_of_entry(desk_of(request).home, name)
    if item == 0 and len(parts) > 1:
        named = [(number, job_of(part).part) for number, part in enumerate(parts, start=1)]
        return page(request, "questions_of_order.html", title=f"Questions - {name}", name=name, parts=named)
    return _page(request, _of(parts, item), base=f"/entries/{name}/questions", item=item)


@router.post("/entries/{name}/questions")
def answer_entry(request: Request, name: str, typed: TypedForm, item: int = 0) -> Response:
    """Answers before there is a plan."""
    part = _of(parts_of_entry(desk_of(request).home, name), item)
    return _answered(request, part, typed, base=f"/entries/{name}/questions", item=item)


@router.post("/entries/{name}/questions/undo")
def undo_entry(request: Request, name: str, typed: TypedForm, item: int = 0) -> Response:
    """The job file's text before the last change made here."""
    part = _of(parts_of_entry(desk_of(request).home, name), item)
    return _undone(part, typed, back=f"/entries/{name}/questions{_query(item)}")


@router.get("/entries/{name}/questions/faces.svg")
def faces_of_entry(request: Request, name: str, item: int = 0, numbers: str = "") -> Response:
    """The part with some of its holes and faces hatched."""
    part = _of(parts_of_entry(desk_of(request).home, name), item)
    return _faces(request, part, numbers, base=f"/entries/{name}/questions", item=item)


def _of(parts: Sequence[AskedPart], item: int) -> AskedPart:
    if not 0 <= item <= len(parts) or (item == 0 and len(parts) > 1):
        raise BadInput("There is no such part in this order", value=str(item), limit=f"1 to {len(parts)}")
    return parts[max(item - 1, 0)]


def _query(item: int) -> str:
    return f"?item={item}" if item else ""


def _answered(
    request: Request, part: AskedPart, typed: TypedForm, *, base: str, place: Place | None = None, item: int = 0
) -> Response:
    task, known = _known(request, part, base=base, item=item)
    if known is None or not (part.has_job or known.drawings):  # a job file is drafted with its numbered drawing
        if typed.get(AGAIN) and not task.is_open:
            with contextlib.suppress(BadInput):  # too much is under way: the page says how it stands
                task = desk_of(request).tasks.again(task.id)
        kept = [(name, line) for name, text in typed.items() if name != AGAIN for line in text.split("\n")]
        return page(
            request, "answers_again.html", title="Not written yet", place=place, base=base, query=_query(item),
            step=part.step.name, typed=kept, task=task, status=BUSY,
        )  # fmt: skip
    design = design_of(part, known)
    shown = shown_job(part, design)
    form = job_form(shown, design, is_inch=reads_inches(request))
    before = digest_of_file(shown.path) if shown.path.is_file() else ""
    refused = answer(part, design, shown, form, typed, shown_digest=typed.get(DIGEST, ""))
    if refused is not None:
        return _page(request, part, base=base, place=place, item=item, form=refused)
    query = _query(item)
    if not shown.path.is_file() or digest_of_file(shown.path) == before:
        return RedirectResponse(f"{base}{query}", SEE_OTHER)  # what was sent says what is written already
    return RedirectResponse(f"{base}{query}{'&' if query else '?'}{WRITTEN}=yes", SEE_OTHER)


def _undone(part: AskedPart, typed: TypedForm, *, back: str) -> Response:
    put_back(part.job_path, shown_digest=typed.get(DIGEST, ""), check=lambda text: read_back(part, text))
    return RedirectResponse(back, SEE_OTHER)


def _faces(request: Request, part: AskedPart, numbers: str, *, base: str, item: int = 0) -> Response:
    _, known = _known(request, part, base=base, item=item)
    if known is None or not known.drawings:
        return FileResponse(STATIC / "being-drawn.svg", media_type="image/svg+xml", headers=NOT_KEPT)
    wanted = [int(one) for one in re.findall(r"\d{1,4}", numbers)]
    return Response(faces_picture(design_of(part, known), wanted), media_type="image/svg+xml")


def _known(
    request: Request, part: AskedPart, *, base: str, item: int
) -> tuple[BackgroundTask, PartRead | None]:  # fmt: skip
    """What has been read of the part by now; begun where nobody has read it yet."""
    tasks = desk_of(request).tasks
    task = begin_reading(tasks, part, page=f"{base}{_query(item)}")
    known = part_read(tasks, task)
    if known is None and task.is_open:
        task = tasks.wait(task.id, most_s=WAIT_S)
        known = part_read(tasks, task)
    return task, known


def _page(
    request: Request, part: AskedPart, *, base: str, place: Place | None = None, item: int = 0,
    form: JobForm | None = None,
) -> HTMLResponse:  # fmt: skip
    task, known = _known(request, part, base=base, item=item)
    if known is None:
        return _page_before(request, part, task, place=place)
    design = design_of(part, known)
    shown = shown_job(part, design)
    form = form or job_form(shown, design, is_inch=reads_inches(request))
    if part.plan is not None:
        questions = part.plan.questions
    else:
        job, read = job_of(part), design.read
        questions = ask_before_plan(job=job, read=read, survey=design.survey)
    asked = [_asked(question, form, design) for question in questions]
    taken = {line.number for one in asked for line in one.lines}
    used = {one.group.title for one in asked if one.group is not None}
    fields = {field.name for one in asked for field in one.fields}
    wrong = [f"size.{line.number}" for line in form.lines if line.fault]
    wrong += [field.name for group in form.groups for field in group.fields if field.fault]
    return page(
        request, "questions.html", title="Questions", place=place, part=part, shown=shown, asked=asked,
        groups=[group for group in form.groups if group.title not in used], fields_above=fields, lines=form.lines,
        taken=taken, fault=form.fault, at=f"at-{wrong[0]}" if wrong else "",
        stale=isinstance(form.fault, ChangedMeanwhile), base=base, query=_query(item),
        number=_number(part), task=task, is_drawn=bool(known.drawings),
        is_written=WRITTEN in request.query_params and form.fault is None, entry=part.entry,
        status=BAD if form.fault is not None else 200,
    )  # fmt: skip


def _page_before(
    request: Request, part: AskedPart, task: BackgroundTask, *, place: Place | None
) -> HTMLResponse:  # fmt: skip
    """What is known before the solid is read: the questions of the plan, and how far the reading is."""
    if not task.is_open:
        return waiting(request, task, place=place, back=f"/entries/{part.entry}")
    questions = part.plan.questions if part.plan is not None else ()
    return page(
        request, "questions_before.html", title="Questions", place=place, part=part, questions=questions, task=task,
        number=_number(part), **now_of(desk_of(request).tasks.heard(task.id)),
    )  # fmt: skip


def _number(part: AskedPart) -> str:
    return part.plan.part.number if part.plan is not None else part.step.stem


def _asked(question: Question, form: JobForm, design: Design) -> Asked:
    numbers = numbers_of(design, question.face_ids)
    is_of_lines = question.id == "threads"
    found = [line for number in numbers if is_of_lines and (line := form.line(number)) is not None]
    fields = tuple(form.field(name) for name in FIELDS_OF.get(question.id, ()))
    title = "The coat" if question.id == "coat" else "Run dry" if "tilts_dry_run" in question.text else ""
    is_of_job = question.id in (*OF_THE_PART, "sizes", "show faces") or question.id.startswith("marking ")
    is_here = bool(fields or title or is_of_lines) or is_of_job
    return Asked(
        question=question, numbers=numbers, fields=fields, group=form.group(title) if title else None,
        lines=tuple(found[:LINES_MOST]), link="" if is_here else SHOP_OF.get(question.id, "/shop"),
    )  # fmt: skip
