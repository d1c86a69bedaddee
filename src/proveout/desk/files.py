"""The files of a result, to open or to save: only those inside its folder, and harmless whatever is in them."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse

from proveout.desk.page import desk_of
from proveout.desk.signed_in import need
from proveout.jobs.result_files import file_in, is_for_the_floor

router = APIRouter()
FENCE = "frame-ancestors 'self'; form-action 'none'; base-uri 'none'"
PAGE_POLICY = (
    "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
    f"img-src data:; {FENCE}"
)
"""A result's own page brings its script and style inside. It runs apart from the desk: no origin, nothing loaded."""
PICTURE_POLICY = f"sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; {FENCE}"
PAPER_POLICY = (
    f"default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; plugin-types application/pdf; {FENCE}"
)
TEXT, BYTES = "text/plain; charset=utf-8", "application/octet-stream"
SHOWN = {
    ".pdf": ("application/pdf", PAPER_POLICY),
    ".html": ("text/html; charset=utf-8", PAGE_POLICY),
    ".svg": ("image/svg+xml", PICTURE_POLICY),
    **dict.fromkeys((".csv", ".json", ".nc", ".toml", ".txt"), (TEXT, PICTURE_POLICY)),
}
"""Content type and policy of what a browser shows by itself; everything else is saved."""
SAVED = {
    ".ics": "text/calendar; charset=utf-8",
    ".step": "model/step",
    ".stp": "model/step",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@router.get("/parts/{address}/files/{name:path}")
def of_part(request: Request, address: str, name: str) -> FileResponse:
    """A file of a part's result; of a packet those that show no money to everybody."""
    if not is_for_the_floor(name):
        need(request, "money", what="This file shows money, or what money is reckoned from")
    return _answer(desk_of(request).home.place(address).folder, name)


@router.get("/orders/{entry}/files/{name:path}")
def of_order(request: Request, entry: str, name: str) -> FileResponse:
    """A file of an order's result, those of its parts included."""
    return _answer(desk_of(request).home.entry(entry).result, name)


def is_shown(name: str) -> bool:
    """Whether a browser shows a file of that name by itself."""
    return Path(name).suffix.lower() in SHOWN


def _answer(folder: Path, name: str) -> FileResponse:
    path = file_in(folder, name)
    ending = path.suffix.lower()
    if ending in SHOWN:
        kind, policy = SHOWN[ending]
        # a page that is fenced in may not also ask to stand apart from its opener: browsers refuse both together
        headers = {"content-security-policy": policy, "cross-origin-opener-policy": "unsafe-none"}
        return FileResponse(path, media_type=kind, headers=headers)
    return FileResponse(path, media_type=SAVED.get(ending, BYTES), filename=path.name)
