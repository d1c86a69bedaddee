"""What every page shares: the home it shows, templates, and the answer as HTML."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse

from proveout.desk.door import Inside
from proveout.desk.floor_door import FILE, FloorDoor
from proveout.desk.lengths import reads_inches
from proveout.jobs.errand_process import Standing
from proveout.jobs.floor_taps import Taps
from proveout.jobs.glances import Glances
from proveout.jobs.held import Held
from proveout.jobs.home import Home, Place
from proveout.jobs.people import People, people_path
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.records import records_of_home
from proveout.jobs.shelf import Shelf
from proveout.jobs.shop_day import shop_today
from proveout.jobs.store import Store, default_folder
from proveout.jobs.taking_in import FILE_MOST_MB, clear_half_made
from proveout.jobs.tasks import Tasks, tasks_folder
from proveout.quantities.errors import ProveoutError
from proveout.records.records import Records
from proveout.sheets.plan_in_inches import PlanInInches

TEMPLATES = Path(__file__).parent / "templates"
STATIC = Path(__file__).parent / "static"
INSIDE = "proveout.inside"
KEPT_MOST = 50


class Desk:
    """What the pages of one server share.

    kept: what keeping a try did, by part and try, for whoever presses twice; one at a time, by `keeping`.
    """

    def __init__(self, home: Home, *, today: Callable[[], date] = shop_today) -> None:
        self.home, self.today = home, today
        self.standing = Standing()
        self.tasks = Tasks(tasks_folder(home.plans), standing=self.standing)
        self.shelf = Shelf(home)
        self.glances = Glances(home.plans)
        self.drawer = Drawer(Store(default_folder()))
        self.templates = jinja2.Environment(
            loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, undefined=jinja2.StrictUndefined,
            trim_blocks=True, lstrip_blocks=True,
        )  # fmt: skip
        self.templates.globals["file_most_mb"] = FILE_MOST_MB
        self.people = People(people_path(home))
        self.floor_door = FloorDoor(self.people, self.people.path.with_name(FILE))
        self._records: Records | None = None
        self._taps: Taps | None = None
        self._opening = threading.Lock()
        self.keeping = threading.Lock()
        self.kept: Held[tuple[str, str], tuple[list[str], str]] = Held(most_count=KEPT_MOST)

    @property
    def records(self) -> Records:
        """The shop's events: one for all pages of this server, opened when a page first asks.

        Raises:   BadInput, NotKept when they cannot be opened.
        """
        with self._opening:
            if self._records is None:
                self._records = Records(records_of_home(self.home), asks_for_plans=True)
            return self._records

    @property
    def taps(self) -> Taps:
        """Takes what the floor posts: one for all stations.

        Raises:   BadInput, NotKept when the records cannot be opened.
        """
        records = self.records
        with self._opening:
            if self._taps is None:
                self._taps = Taps(self.home, records, today=self.today)
            return self._taps

    def close(self) -> None:
        """Let go of the records, and of the process that stands ready for errands."""
        self.standing.end()
        with self._opening:
            if self._records is not None:
                self._records.close()
                self._records = self._taps = None

    def warm(self) -> None:
        """Have errands stand ready, and read the shelf once, so that its page need not."""
        self.standing.start()
        clear_half_made(self.home)
        with contextlib.suppress(OSError, ProveoutError):
            self.shelf.lines()


def desk_of(request: Request) -> Desk:
    """The desk that a request is for."""
    desk: Desk = request.app.state.desk
    return desk


def inside_of(request: Request) -> Inside | None:
    """Who is signed in; None where nobody has to be."""
    return request.scope.get("state", {}).get(INSIDE)


def page(request: Request, template: str, *, title: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """A page from its template.   shown: names for the template; `place` gives the part's own list of pages.

    What is told of plans - the place's, or those of the places named `planned` - is in inches for who reads them.
    """
    place: Place | None = shown.pop("place", None)
    planned: tuple[Place, ...] = shown.pop("planned", () if place is None else (place,))
    is_inch, inside = reads_inches(request), inside_of(request)
    text = desk_of(request).templates.get_template(template).render(
        title=title, place=place, path=request.url.path, inside=inside, is_inch=is_inch,
        sees_money=inside is None or "money" in inside.may,
        asked_at=f"{request.url.path}?{request.url.query}".rstrip("?"), **shown,
    )  # fmt: skip
    return HTMLResponse(in_inches_of(planned).page(text) if is_inch and planned else text, status_code=status)


def in_inches_of(planned: Sequence[Place]) -> PlanInInches:
    """What turns pages and words of these plans into inches."""
    return PlanInInches([place.plan for place in planned], planned[0].shop)
