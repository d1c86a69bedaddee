"""A part's route, and each of its stations opened."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse

from proveout.desk.page import desk_of, page
from proveout.desk.plan_writer import drawable, drawing_note, ready, writer_of
from proveout.jobs.plan_drawings import Need
from proveout.quantities.errors import BadInput
from proveout.sheets.route_html import head_html, route_html, station_title, with_route
from proveout.sheets.station_html import station_html

router = APIRouter()
OF_KIND: dict[str, tuple[Need, ...]] = {
    "clamping": ("lying", "wrong"), "bench": ("lying", "sides"), "finisher": ("lying", "sides"),
}  # fmt: skip


@router.get("/parts/{address}")
def route(request: Request, address: str, wait: str = "") -> HTMLResponse:
    """The metal on its way from bar to boxed part, with the verdict above it."""
    place = desk_of(request).home.place(address)
    writer, drawn = writer_of(request, place, "lying", is_waiting=bool(wait))
    part = place.plan.part
    return page(
        request, "route.html", title=part.title, place=place, head=ready(head_html(writer)),
        route=ready(route_html(writer, base=f"/parts/{address}")), note=drawing_note(drawn), drawn=drawn,
        needs="lying",
    )  # fmt: skip


@router.get("/parts/{address}/stations/{id}")
def station(request: Request, address: str, id: str, wait: str = "") -> HTMLResponse:
    """One station laid out like a setup sheet."""
    place = desk_of(request).home.place(address)
    bare, _ = writer_of(request, place)
    at = with_route(bare).place_of(id)
    if at is None:
        known = ", ".join(one.id for one in with_route(bare).stations)
        raise BadInput("The part has no such station", where=address, value=id, limit=known)
    needs = OF_KIND.get(with_route(bare).stations[at].kind, ("lying",))
    writer, drawn = writer_of(request, place, *needs, is_waiting=bool(wait))
    stations = with_route(writer).stations
    base = f"/parts/{address}"
    ways = [(stations[i], station_title(writer, stations[i])) for i in (at - 1, at + 1) if 0 <= i < len(stations)]
    title = station_title(writer, stations[at])
    return page(
        request, "station.html", title=f"{title} - {place.plan.part.number}", heading=title, place=place, base=base,
        inner=ready(station_html(writer, at, base=base)), note=drawing_note(drawn), drawn=drawn,
        needs=",".join(needs), ways=ways, ready=place.plan.ready,
    )  # fmt: skip


@router.get("/parts/{address}/drawn")
def drawn(request: Request, address: str, needs: str = "lying") -> JSONResponse:
    """Whether the drawings that a page waits for are there."""
    place = desk_of(request).home.place(address)
    known: tuple[Need, ...] = ("lying", "wrong", "sides")
    wanted: tuple[Need, ...] = tuple(need for need in known if need in needs.split(","))
    found = desk_of(request).drawer.drawn(drawable(place), wanted)
    return JSONResponse({"is_coming": found.is_coming})
