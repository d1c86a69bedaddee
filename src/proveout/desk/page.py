"""What every page shares: the home it shows, templates, and the answer as HTML."""

from __future__ import annotations

import contextlib
import threading
from pathlib import Path
from typing import Any

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse

from proveout.jobs.checks import Checks
from proveout.jobs.glances import Glances
from proveout.jobs.home import Home, Place
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.records import records_of_home
from proveout.jobs.shelf import Shelf
from proveout.jobs.store import Store, default_folder
from proveout.jobs.taking_in import clear_half_made
from proveout.jobs.tasks import Tasks, tasks_folder
from proveout.jobs.try_runs import TryRuns
from proveout.quantities.errors import ProveoutError
from proveout.records.records import Records

TEMPLATES = Path(__file__).parent / "templates"
STATIC = Path(__file__).parent / "static"


class Desk:
    """What the pages of one server share."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self.tasks = Tasks(tasks_folder(home.plans))
        self.shelf = Shelf(home)
        self.glances = Glances(home.plans)
        self.drawer = Drawer(Store(default_folder()))
        self.templates = jinja2.Environment(
            loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, undefined=jinja2.StrictUndefined,
            trim_blocks=True, lstrip_blocks=True,
        )  # fmt: skip
        self.checks = Checks()
        self.tries = TryRuns(home)
        self._records: Records | None = None
        self._opening = threading.Lock()

    @property
    def records(self) -> Records:
        """The shop's events: one for all pages of this server, opened when a page first asks.

        Raises:   BadInput, NotKept when they cannot be opened.
        """
        with self._opening:
            if self._records is None:
                self._records = Records(records_of_home(self.home), asks_for_plans=True)
            return self._records

    def close(self) -> None:
        """Let go of the records."""
        with self._opening:
            if self._records is not None:
                self._records.close()
                self._records = None

    def warm(self) -> None:
        """Read the shelf once, so that its page need not."""
        clear_half_made(self.home)
        with contextlib.suppress(OSError, ProveoutError):
            self.shelf.lines()


def desk_of(request: Request) -> Desk:
    """The desk that a request is for."""
    desk: Desk = request.app.state.desk
    return desk


def page(request: Request, template: str, *, title: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """A page from its template.   shown: names for the template; `place` gives the part's own list of pages."""
    place: Place | None = shown.pop("place", None)
    text = desk_of(request).templates.get_template(template).render(
        title=title, place=place, path=request.url.path, has_door=hasattr(request.app.state, "door"), **shown
    )  # fmt: skip
    return HTMLResponse(text, status_code=status)
