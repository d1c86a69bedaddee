"""Whether a page tells lengths in mm or in inches: as the shop reads them, until a browser is told otherwise.

Forms, measuring and all pages of a plan ask here; those of the floor stay in mm, as papers and programs are.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from proveout.desk.door import own_address
from proveout.jobs.home import Home
from proveout.quantities.errors import BadInput

router = APIRouter()
SEE_OTHER = 303
YEAR_S = 365 * 24 * 3600
COOKIE = "proveout-lengths"
CHOICES = ("mm", "in")


@router.post("/lengths")
def choose(
    lengths: Annotated[str, Form()] = "", next: Annotated[str, Form()] = "/",  # noqa: A002 - its name in the form
) -> Response:  # fmt: skip
    """Keep what this browser reads, and go back to the page."""
    if lengths not in CHOICES:
        raise BadInput("There is no such unit of length", value=lengths, limit=" or ".join(CHOICES), do="choose one")
    answer = RedirectResponse(own_address(next), SEE_OTHER)
    answer.set_cookie(COOKIE, lengths, max_age=YEAR_S, path="/", httponly=True, samesite="strict")
    return answer


def reads_inches(request: Request) -> bool:
    """What this browser was told, else what the shop reads."""
    kept = request.cookies.get(COOKIE, "")
    if kept in CHOICES:
        return kept == "in"
    home: Home = request.app.state.desk.home
    return home.is_inch
