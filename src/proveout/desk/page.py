"""What every page shares: the home it shows, templates, and the answer as HTML."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse

from proveout.jobs.home import Home, Place
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.store import Store, default_folder

TEMPLATES = Path(__file__).parent / "templates"


class Desk:
    """What the pages of one server share."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self.drawer = Drawer(Store(default_folder()))
        self.templates = jinja2.Environment(
            loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, undefined=jinja2.StrictUndefined,
            trim_blocks=True, lstrip_blocks=True,
        )  # fmt: skip


def desk_of(request: Request) -> Desk:
    """The desk that a request is for."""
    desk: Desk = request.app.state.desk
    return desk


def page(request: Request, template: str, *, title: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """A page from its template.   shown: names for the template; `place` gives the part's own list of pages."""
    place: Place | None = shown.pop("place", None)
    text = desk_of(request).templates.get_template(template).render(
        title=title, place=place, path=request.url.path, **shown
    )  # fmt: skip
    return HTMLResponse(text, status_code=status)
