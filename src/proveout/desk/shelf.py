"""The shelf: designs and orders with their state."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page

router = APIRouter()


@router.get("/")
def shelf(request: Request) -> HTMLResponse:
    """All designs and orders of the home folder."""
    home = desk_of(request).home
    entries = home.entries()
    places = {address: home.place(address) for entry in entries for address in entry.parts}
    return page(request, "shelf.html", title="Shelf", entries=entries, places=places, home=home)
