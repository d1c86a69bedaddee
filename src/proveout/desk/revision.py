"""A new revision of the solid against the plan: what of it names faces that are not as they were."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.jobs.home import Home, Place
from proveout.jobs.plain_names import said_name
from proveout.jobs.plan_path import STEP_ENDINGS
from proveout.jobs.revising import revise
from proveout.jobs.taking_in import copy_step
from proveout.model.run import Run
from proveout.quantities.errors import BadInput
from proveout.sheets.revision_words import RevisionWords

router = APIRouter()
BAD = 400
READING_LIMIT_S = 180.0


@router.get("/parts/{address}/revision")
def ask(request: Request, address: str) -> HTMLResponse:
    """Which solid is the new revision."""
    return _page(request, desk_of(request).home.place(address))


@router.post("/parts/{address}/revision")
def hold_against(
    request: Request, address: str, chosen: Annotated[str, Form()] = "",
    given: Annotated[UploadFile | None, File()] = None,
) -> HTMLResponse:  # fmt: skip
    """Read the solid and tell what it touches; nothing of the owner's is changed and nothing is kept."""
    home = desk_of(request).home
    place = home.place(address)
    try:
        with tempfile.TemporaryDirectory() as folder:
            path, name = _solid(home, chosen, given, Path(folder))
            found = revise(place, path, name=name, run=Run(time_limit_s=READING_LIMIT_S))
    except BadInput as fault:
        return _page(request, place, fault=fault, chosen=chosen)
    words = RevisionWords(plan=place.plan, shop=place.shop)
    return _page(
        request, place, chosen=chosen, found=found, name=name, faces=[words.face(one) for one in found.solid.faces],
        passes=[words.name(one.id) for one in found.passes], jaws=[words.jaws(one) for one in found.jaws],
        sizes=[words.size(one) for one in found.sizes], gauges=[words.gauge(one) for one in found.gauges],
        shown=[words.name(id) for id in found.shown], turned_deg=f"{math.degrees(found.solid.turned_rad):.3f}",
        moved_mm=words.length(found.solid.moved_mm),
    )  # fmt: skip


def _solid(home: Home, chosen: str, given: UploadFile | None, folder: Path) -> tuple[Path, str]:
    """The file that was given, else the one of the home that was chosen; and its name."""
    if given is not None and given.filename:
        if not given.filename.lower().endswith(STEP_ENDINGS):
            raise BadInput(
                "This is no STEP file by its name", where=said_name(given.filename), limit=", ".join(STEP_ENDINGS),
                do="choose the STEP file of the new revision",
            )  # fmt: skip
        path = folder / f"new{Path(given.filename).suffix.lower()}"
        copy_step(given.file, path, where=said_name(given.filename))
        return path, path.name
    known = {place.relative_to(home.root).as_posix(): place for place in _steps(home)}
    if chosen not in known:
        raise BadInput("No solid was chosen", where="revision", value=chosen, do="give a STEP file, or choose one")
    return known[chosen], known[chosen].name


def _steps(home: Home) -> list[Path]:
    """STEP files of the home, in order of path."""
    return sorted(
        path for path in home.root.rglob("*")
        if path.suffix.lower() in STEP_ENDINGS and path.is_file() and path.resolve().is_relative_to(home.root)
        and not any(part.startswith(".") for part in path.relative_to(home.root).parts)
    )  # fmt: skip


def _page(
    request: Request, place: Place, *, fault: BadInput | None = None, chosen: str = "", **shown: object
) -> HTMLResponse:  # fmt: skip
    home = desk_of(request).home
    steps = [path.relative_to(home.root).as_posix() for path in _steps(home)]
    told: dict[str, object] = {"found": None, **shown}
    return page(
        request, "revision.html", title="New revision", place=place, fault=fault, chosen=chosen, steps=steps,
        status=BAD if fault is not None else 200, **told,
    )  # fmt: skip
