"""The papers of a part to look at and print, its programs and moves against the plan, and all files of its result."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.files import is_shown
from proveout.desk.page import desk_of, page
from proveout.desk.signed_in import may
from proveout.jobs.check_told import grouped
from proveout.jobs.result_files import (
    FLOOR_PAPERS,
    PAPERS,
    file_in,
    files_of,
    is_for_the_floor,
    moves_kept,
    programs_of,
)
from proveout.jobs.writing import PAPER_MARK
from proveout.quantities.errors import BadInput
from proveout.sheets.names import digest_words
from proveout.sheets.paper_pages import Paper, papers_in

router = APIRouter()


@router.get("/parts/{address}/papers")
def papers(request: Request, address: str) -> HTMLResponse:
    """Papers, programs and files."""
    place = desk_of(request).home.place(address)
    folder, plan = place.folder, place.plan
    sees_all = may(request, "money")
    sheets = PAPERS if sees_all else FLOOR_PAPERS
    shown = [one for one in files_of(folder) if sees_all or is_for_the_floor(one.name)]
    number = {clamping.id: clamping.number for clamping in plan.clampings}
    programs = [
        (one, " and ".join(f"Op {number[id]}" for id in one.clamping_ids if id in number), grouped(one.planned),
         grouped(one.found))
        for one in programs_of(folder, plan)
    ]  # fmt: skip
    files = [
        (kind, [(one, is_shown(one.name), _size(one.bytes_count)) for one in those])
        for kind, those in groupby(shown, key=lambda one: one.kind)
    ]
    return page(
        request, "papers.html", title=f"Papers - {plan.part.number}", place=place, sheets=sheets,
        papers=_papers(folder, sheets), files=files, programs=programs, moves=moves_kept(folder, plan),
        fingerprint=digest_words(place.fingerprint[:PAPER_MARK]), base=f"/parts/{address}",
    )  # fmt: skip


def _papers(folder: Path, name: str) -> tuple[Paper, ...] | None:
    """The papers with their pages, empty where the file has no list of them; None where there is no file."""
    try:
        return papers_in(file_in(folder, name).read_bytes())
    except (BadInput, OSError):
        return None


def _size(bytes_count: int) -> str:
    return f"{bytes_count} B" if bytes_count < 1000 else f"{bytes_count / 1000:.0f} kB"
