"""The floor: a station is chosen once a tablet, and shows what waits there."""

from __future__ import annotations

from urllib.parse import quote, unquote

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from proveout.desk.floor_people import at_tablet
from proveout.desk.page import STATIC, desk_of, page
from proveout.jobs.floor_stations import (
    FloorStation,
    Waiting,
    as_at_machine,
    open_batches,
    station_of,
    stations_of,
    steps_at,
    waiting_at,
)
from proveout.jobs.scanned import scanned
from proveout.model.batch import Batch

router = APIRouter()
STATION = "proveout-station"
SEE_OTHER = 303
YEAR_S = 366 * 24 * 3600


@router.get("/floor-kept.js", response_class=FileResponse)
def kept_pages() -> FileResponse:
    """The script that keeps pages of the floor on a tablet; from here it may look after all of them."""
    return FileResponse(STATIC / "floor_kept.js", media_type="text/javascript")


@router.get("/floor")
def choose(request: Request) -> HTMLResponse:
    """The stations, to choose the one at which this tablet stands."""
    desk = desk_of(request)
    stations = stations_of(desk.home.shop(), desk.records)
    kept = unquote(request.cookies.get(STATION, ""))
    batches = open_batches(desk.records)
    counts = {one.id: len(waiting_at(one, batches)) for one in stations}
    return page(
        request, "floor.html", title="Floor", stations=stations, kept=kept, counts=counts, person=at_tablet(request)
    )  # fmt: skip


@router.get("/floor/{station}")
def at_station(request: Request, station: str, said: str = "") -> HTMLResponse:
    """What waits at a station, first what is wanted first; this tablet stands there from now on."""
    desk = desk_of(request)
    found = station_of(station, desk.home.shop(), desk.records)
    rows = as_at_machine(desk.home, desk.records, waiting_at(found, open_batches(desk.records)))
    answer = page(
        request, "floor_station.html", title=found.name, station=found, rows=rows, said=said[:400],
        person=at_tablet(request), address=step_address,
    )  # fmt: skip
    answer.set_cookie(STATION, quote(found.id), max_age=YEAR_S, path="/", samesite="strict", httponly=True)
    return answer


@router.get("/floor/{station}/scan")
def scan(request: Request, station: str, code: str = "") -> Response:
    """To the batch whose card was scanned, or back with what is wrong with it."""
    desk = desk_of(request)
    here = station_of(station, desk.home.shop(), desk.records)
    told = scanned(code, open_batches(desk.records))
    if told.said:
        return _back(here, told.said)
    steps = [one for batch in told.batches for one in steps_at(batch, here)]
    if len(steps) == 1:
        return RedirectResponse(step_address(here, steps[0]), SEE_OTHER)
    names = ", ".join(one.batch for one in told.batches)
    if not steps:
        return _back(here, f"Batch {names} has nothing to do here now. {where_words(told.batches[0])}")
    return _back(
        here, f"More than one is meant: {', '.join(f'{one.batch.batch} {one.step.id}' for one in steps)}. Tap it."
    )


def step_address(station: FloorStation, one: Waiting) -> str:
    """The page of one step of a batch at its station."""
    return f"/floor/{quote(station.id, safe='')}/{quote(one.step.id, safe='')}/{quote(one.batch.batch)}"


def where_words(batch: Batch) -> str:
    """Where the pieces of a batch are."""
    waits = [
        f"{one.waiting_count + one.away_count} at {one.station}"
        for one in batch.steps
        if one.waiting_count or one.away_count
    ]
    return f"Its pieces: {', '.join(waits)}." if waits else ""


def _back(station: FloorStation, said: str) -> RedirectResponse:
    return RedirectResponse(f"/floor/{quote(station.id, safe='')}?said={quote(said)}", SEE_OTHER)
