"""All proofs of a part, weakest first, and each by itself."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.desk.plan_writer import ready, writer_of
from proveout.jobs.figures import source_titles
from proveout.model.proof import Proof
from proveout.quantities.errors import BadInput
from proveout.sheets.cautions import cutting_cautions, proof_cautions
from proveout.sheets.proofs_html import BARS, proof_html, proof_list
from proveout.sheets.rounds_html import rounds_html
from proveout.sheets.route_html import lengths_html, proof_address, station_title, with_route

router = APIRouter()
WHOLE = "whole"  # proofs of no one station
VERDICTS = ("fails", "not shown", "holds")


@router.get("/parts/{address}/proofs")
def proofs(request: Request, address: str, station: str = "", verdict: str = "") -> HTMLResponse:
    """The list, or what a station and a verdict leave of it."""
    place = desk_of(request).home.place(address)
    writer, _ = writer_of(request, place)
    route = with_route(writer)
    at = route.place_of(station)
    if station and station != WHOLE and at is None:
        raise BadInput("The part has no such station", where=address, value=station, do="choose one of the list")
    if verdict and verdict not in VERDICTS:
        raise BadInput("There is no such verdict", value=verdict, limit=", ".join(VERDICTS), where=address)
    if not station:
        places = [index for index, _ in writer.weakest()]
    else:
        places = list(route.proofs if at is None else route.stations[at].proofs)
    shown = [index for index in places if not verdict or place.plan.proofs[index].verdict == verdict]
    base = f"/parts/{address}"
    groups = [
        (title, ready(proof_list(writer, own, href=lambda id: proof_address(base, id))))
        for title, own in _groups([(i, place.plan.proofs[i]) for i in shown])
        if own
    ]
    names = [(one.id, station_title(writer, one)) for one in route.stations]
    return page(
        request, "proofs.html", title=f"Proofs - {place.plan.part.number}", place=place, base=base, groups=groups,
        cautions=cutting_cautions(shop=place.shop, clampings=place.plan.clampings), how=BARS,
        lengths=ready(lengths_html(writer)), stations=[*names, (WHOLE, "the whole part")], verdicts=VERDICTS,
        station=station, verdict=verdict, tightened="" if station or verdict else ready(rounds_html(writer)),
    )  # fmt: skip


def _groups(shown: list[tuple[int, Proof]]) -> list[tuple[str, list[int]]]:
    """What stops release, what is open beside it, and what holds; each keeps its order."""
    groups: dict[str, list[int]] = {
        "Must be settled first": [], "Open, but release does not wait for it": [], "Holds": [],
    }  # fmt: skip
    must, beside, holds = groups.values()
    for index, proof in shown:
        (holds if proof.verdict == "holds" else must if proof.blocks_release else beside).append(index)
    return list(groups.items())


@router.get("/parts/{address}/proofs/{id:path}")
def proof(request: Request, address: str, id: str) -> HTMLResponse:
    """One proof, so that a reader can redo it by hand."""
    place = desk_of(request).home.place(address)
    found = next((i for i, one in enumerate(place.plan.proofs) if one.id == id), None)
    if found is None:
        raise BadInput("The plan has no such proof", where=address, value=id, do="look for it in the list of proofs")
    writer, _ = writer_of(request, place)
    heading = writer.title("plan", "proofs", found, "claim")
    stations = [(one.id, station_title(writer, one)) for one in with_route(writer).stations if found in one.proofs]
    return page(
        request, "proof.html", title=f"{heading} - {place.plan.part.number}", heading=heading, place=place,
        cautions=proof_cautions(
            stage=place.plan.proofs[found].stage, shop=place.shop, clampings=place.plan.clampings
        ), base=f"/parts/{address}", stations=stations,
        inner=ready(lengths_html(writer) + proof_html(writer, found, titles=source_titles())),
    )  # fmt: skip
