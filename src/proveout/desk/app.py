"""The desk as a web application: its pages over one home folder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from fastapi import Depends, FastAPI, Request
from fastapi.responses import HTMLResponse, Response
from fastapi.staticfiles import StaticFiles

from proveout import __version__
from proveout.desk import (
    batch_charts,
    batches,
    changes,
    charts,
    check,
    comparing,
    entries,
    files,
    floor,
    floor_events,
    floor_people,
    floor_step,
    lengths,
    lessons,
    moments,
    orders,
    papers,
    people,
    proofs,
    questions,
    replanning,
    revision,
    route,
    shelf,
    shop,
    sign_in,
    stock,
    trying,
    under_way,
    uploads,
)
from proveout.desk.described import Described
from proveout.desk.door import Door
from proveout.desk.guard import Guard
from proveout.desk.page import STATIC, Desk, page
from proveout.desk.released_only import released_only
from proveout.desk.signed_in import NotYours, SignedInOnly
from proveout.desk.size_limit import SizeLimit
from proveout.jobs.home import Home
from proveout.jobs.shop_day import shop_today
from proveout.jobs.taking_in import FULL
from proveout.quantities.errors import BadInput, Busy, ProveoutError, Unfinished

NOT_FOUND, FORBIDDEN, BAD, FAULT, BUSY = 404, 403, 400, 500, 503
ASK_AGAIN_S = 3
ROUTERS = (
    shelf.router,
    lengths.router,
    entries.router,
    under_way.router,
    uploads.router,
    route.router,
    proofs.router,
    charts.router,
    batch_charts.router,
    orders.router,
    replanning.router,
    shop.router,
    questions.router,
    moments.router,
    check.router,
    papers.router,
    files.router,
    trying.router,
    comparing.router,
    revision.router,
    floor_people.router,
    floor_events.router,
    floor.router,
    floor_step.router,
    lessons.router,
    batches.router,
    people.router,
    sign_in.router,
    changes.router,
    stock.router,
)
OWN_NAMES = ("127.0.0.1", "localhost", "[::1]")


def desk_app(
    home: Home, *, hosts: tuple[str, ...] = OWN_NAMES, door: Door | None = None, today: Callable[[], date] = shop_today
) -> FastAPI:  # fmt: skip
    """The application.   hosts: names under which it answers, without a port; any other is refused.

    door: who may enter; None for a desk that this machine alone can reach, which asks nobody while nobody has a
    password of their own.   today: the day of a request.
    """
    app = Described(
        title="Proveout desk", version=__version__, docs_url=None, redoc_url=None, openapi_url=None,
        dependencies=[Depends(released_only)],
    )  # fmt: skip
    app.state.desk = Desk(home, today=today)
    app.state.door = door or Door(None, app.state.desk.people, asks_always=False)
    app.add_middleware(SizeLimit)
    app.add_middleware(SignedInOnly, door=app.state.door)
    app.add_middleware(Guard, hosts=hosts)  # the last one added is asked first
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for router in ROUTERS:
        app.include_router(router)
    app.add_exception_handler(ProveoutError, _refused)
    app.add_exception_handler(Busy, _busy)
    app.add_exception_handler(OSError, _of_the_disk)
    app.add_exception_handler(NOT_FOUND, _not_found)
    return app


def _refused(request: Request, fault: Exception) -> Response:
    """One sentence for what was wrong: what, where, the value, the limit, what to do."""
    assert isinstance(fault, ProveoutError)
    status = FORBIDDEN if isinstance(fault, NotYours) else BAD if isinstance(fault, BadInput) else FAULT
    is_unchanged = not isinstance(fault, Unfinished)
    return page(
        request, "refused.html", title="That did not work", fault=fault, status=status, is_unchanged=is_unchanged
    )  # fmt: skip


def _busy(request: Request, fault: Exception) -> Response:
    """Too much is being worked out already: the same is answered soon."""
    answer = page(request, "refused.html", title="The desk is busy", fault=fault, status=BUSY, is_unchanged=True)
    answer.headers["retry-after"] = str(ASK_AGAIN_S)
    return answer


def _of_the_disk(request: Request, fault: Exception) -> Response:
    """A file that could not be written or was taken away meanwhile, and whose page has no words of its own for it."""
    assert isinstance(fault, OSError)
    where = Path(str(fault.filename)).name if fault.filename else request.url.path
    what = "The disk is full" if fault.errno in FULL else "A file could not be read or written"
    told = Unfinished(
        what, where=where, value=fault.strerror or str(fault),
        do="look at the disk's room and the folder's permissions",
    )  # fmt: skip
    is_unchanged = request.method == "GET"
    return page(
        request, "refused.html", title="That did not work", fault=told, status=FAULT, is_unchanged=is_unchanged
    )  # fmt: skip


def _not_found(request: Request, _fault: Exception) -> HTMLResponse:
    fault = BadInput("There is no such page", where=request.url.path, do="go back to the shelf")
    return page(request, "refused.html", title="No such page", fault=fault, status=NOT_FOUND, is_unchanged=True)
