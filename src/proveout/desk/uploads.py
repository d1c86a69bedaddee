"""Files from outside: designs onto the shelf, a job file for a solid that has none, a table of cutters."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Annotated, BinaryIO, NamedTuple, cast

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException

from proveout.desk.entries import shown_entry
from proveout.desk.page import Desk, desk_of, page
from proveout.desk.signed_in import need
from proveout.jobs.plain_names import said_name
from proveout.jobs.taking_in import not_written, take_cutters, take_design, take_job
from proveout.quantities.errors import BadInput, ProveoutError

router = APIRouter()
SEE_OTHER, BAD = 303, 400
FILES_MOST, FIELDS_MOST = 100, 20
CUTTERS = ".csv"


class Outcome(NamedTuple):
    """What became of one file. address: where it lies now, empty when it was refused."""

    said: str
    address: str
    note: str
    fault: ProveoutError | None = None


async def sent(request: Request) -> AsyncIterator[FormData]:
    """The form, its files spooled to the disk of temporary files as they come in; they are gone when it is answered.

    Raises:   BadInput for a form that is none, or when that disk is full.
    """
    try:
        form = await request.form(max_files=FILES_MOST, max_fields=FIELDS_MOST)
    except OSError as fault:
        raise not_written(fault, where="the folder for temporary files") from fault
    except HTTPException as fault:
        raise BadInput(
            "What was sent cannot be taken apart", value=str(fault.detail), limit=f"{FILES_MOST} files at once",
            do="give fewer files at a time",
        ) from fault  # fmt: skip
    try:
        yield form
    finally:
        await form.close()


@router.post("/designs")
def take_in(request: Request, form: Annotated[FormData, Depends(sent)]) -> Response:
    """Take designs in; one that is refused keeps none of the others out."""
    desk = desk_of(request)
    files = [one for one in form.getlist("files") if isinstance(one, UploadFile) and one.filename]
    if not files:
        raise BadInput("No file was given", where="designs", do="choose a STEP file")
    if any((one.filename or "").lower().endswith(CUTTERS) for one in files):
        need(request, "shop", what="A table of cutters becomes a shop file")
    outcomes = [_taken(desk, one.filename or "", cast("BinaryIO", one.file)) for one in files]
    refused = [one for one in outcomes if one.fault is not None]
    if not refused and not any(one.note for one in outcomes):
        return RedirectResponse(outcomes[0].address if len(outcomes) == 1 else "/", SEE_OTHER)
    return page(
        request, "taken_in.html", title="Taken in" if not refused else "Not everything was taken in",
        status=BAD if refused else 200, outcomes=outcomes, home=desk.home,
    )  # fmt: skip


@router.post("/entries/{name}/job")
def take_job_file(request: Request, name: str, form: Annotated[FormData, Depends(sent)]) -> Response:
    """Take a job file in for a solid that has none."""
    entry = desk_of(request).home.entry(name)
    given = form.get("job")
    if not isinstance(given, UploadFile) or not given.filename:
        fault = BadInput("No file was given", where="job file", do="choose a job file (.toml)")
        return shown_entry(request, entry, fault=fault)
    try:
        take_job(entry, given.filename, cast("BinaryIO", given.file))
    except BadInput as fault:
        return shown_entry(request, entry, fault=fault)
    return RedirectResponse(f"/entries/{name}", SEE_OTHER)


def _taken(desk: Desk, given: str, content: BinaryIO) -> Outcome:
    said = said_name(given)
    try:
        if given.lower().endswith(CUTTERS):
            take_cutters(desk.home, given, content)
            return Outcome(said, "/shop", "A shop file was drafted around it; what it assumes is marked in it.")
        if given.lower().endswith(".toml"):
            raise BadInput(
                "A job file belongs to its design", where=said,
                do="take the STEP file in first, and give the job file on its page",
            )  # fmt: skip
        taken = take_design(desk.home, given, content)
    except ProveoutError as fault:
        return Outcome(said, "", "", fault)
    desk.glances.want(desk.shelf.digest(taken.step), taken.step, number=taken.said)
    return Outcome(said, f"/entries/{taken.name}", "")
