"""One station of a part opened: the work as it lies full width, what to set, its proofs, and what lost by how much."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from proveout.sheets import html_parts as h
from proveout.sheets.blank_html import bars_html, lost_bars_html
from proveout.sheets.blocks import Block
from proveout.sheets.blocks_html import blocks_html
from proveout.sheets.cautions import OF_STATION, cutting_cautions
from proveout.sheets.loading_html import wrong_html
from proveout.sheets.pages_bench import bench_page
from proveout.sheets.pages_buy import buy_page
from proveout.sheets.pages_finisher import NEXT_PAGE, map_page, order_page
from proveout.sheets.pages_floor import inspection_page
from proveout.sheets.pages_loading import behind_words, from_before_words, loading_pictures, loading_place
from proveout.sheets.pages_pack import pack_page
from proveout.sheets.pages_saw import saw_page
from proveout.sheets.pages_setup import setup_page
from proveout.sheets.passes_html import passes_html
from proveout.sheets.places_html import load_html, options_html
from proveout.sheets.proofs_html import BARS, proof_list
from proveout.sheets.route_html import minutes_html, proof_address, station_who, with_route
from proveout.sheets.route_picture import picture_words, station_svg
from proveout.sheets.stations import Station
from proveout.sheets.svg import end_svg, picture_svg
from proveout.sheets.ways_html import ways_html
from proveout.sheets.writer import Writer

WIDE_MM, TALL_MM = 240.0, 132.0  # of the work as it lies
END_MM = (150.0, 100.0)
RIGHT_MM = (180.0, 100.0)
WEAK_COUNT = 6  # proofs that hold and are shown before the others are folded away
ABOVE = "drawn above"
TAKEN = "Nothing else was named: one way alone leads through this station."
PAGES: dict[str, Callable[[Writer], dict[str, Any] | None]] = {
    "buying": buy_page, "saw": saw_page, "bench": bench_page, "inspection": inspection_page, "packing": pack_page,
}  # fmt: skip

Section = tuple[str, str, str]
"""Id, title and ready HTML."""


def station_html(writer: Writer, place: int, *, base: str) -> str:
    """The sections of a station, each headed.   place: in the route.   base: address of the part's pages."""
    station = with_route(writer).stations[place]
    facts = [("who", station_who(writer, station)), *minutes_html(writer, place)]
    sections = _of_clamping(writer, station) if station.kind == "clamping" else _of_other(writer, station)
    sections.insert(-1, ("care", "Take care", _care(writer, station)))
    sections.insert(-1, ("proofs", "Proofs of this station, weakest first", _proofs(writer, station, base)))
    return h.keys(facts) + "".join(
        f'<section id="{id}" aria-labelledby="h-{id}">{h.text("h2", title, id=f"h-{id}")}{inner}</section>'
        for id, title, inner in sections
        if inner
    )


def _care(writer: Writer, station: Station) -> str:
    """What can hurt somebody there; beside a clamping also what its setup sheet does not repeat."""
    lines = OF_STATION.get(station.kind, ())
    if station.kind == "clamping":
        lines = cutting_cautions(shop=writer.shop, clampings=(writer.plan.clampings[station.place],))
    return h.points(list(lines)) if lines else ""


def _of_clamping(writer: Writer, station: Station) -> list[Section]:
    index = station.place
    operator, end = writer.pictures(index)
    wide = picture_svg(operator, width_mm=WIDE_MM, height_mm=TALL_MM, ids=f"lies{index}")
    across = end_svg(end, ink=writer.ink, index=index, width_mm=END_MM[0], height_mm=END_MM[1], ids=f"end{index}")
    lies = _figure(wide, operator.caption, "wide") + _figure(across, end.caption, "")
    blocks: list[Block] = setup_page(writer, index)["blocks"]
    cut = next(i for i, block in enumerate(blocks) if block["kind"] == "may-break")
    keys = [{**blocks[0], "pictures": []}]
    passes = blocks_html(blocks[cut + 1 :]) + passes_html(writer, index)
    load = writer.plan.load_of(station.id)
    table = "" if load is None else load_html(writer, load)
    lost = ways_html(writer) + options_html(writer)
    return [
        ("lies", "The work as it lies", lies),
        ("set", "What to set", blocks_html([*keys, *blocks[1:cut]])),
        ("passes", "Passes, and what binds them", passes),
        ("loading", "Loading, RIGHT and WRONG", _loading(writer, index)),
        ("places", "What lies beside it on the table", table),
        ("lost", "What lost, and by how much", lost or h.text("p", TAKEN)),
    ]


def _loading(writer: Writer, index: int) -> str:
    """RIGHT as large as it goes, how it is turned to come there, then every WRONG that the jaws take."""
    place = loading_place(writer, index)
    if place is None:
        return h.text("p", "What may be loaded wrongly was not looked for: hold every piece against the picture above.")
    right, _ = loading_pictures(writer, index, place)
    svg = picture_svg(right, width_mm=RIGHT_MM[0], height_mm=RIGHT_MM[1], ids=f"right{index}")
    said = [] if index == 0 else [from_before_words(writer, index)]
    said += behind_words(writer, index)
    words = "".join(h.text("p", line) for line in said)
    return _figure(svg, "RIGHT: so, and no other way. A dashed ring is where to look.", "") + words + wrong_html(
        writer, index
    )  # fmt: skip


def _of_other(writer: Writer, station: Station) -> list[Section]:
    """Stations beside the clampings: the picture, the words of their paper, and for bars those that lost."""
    lies = _figure(_picture(writer, station), picture_words(writer, station), "wide")
    lost = ""
    if station.kind == "saw":
        lies = bars_html(writer) + lies
    if station.kind in ("saw", "buying"):
        lost = lost_bars_html(writer) or h.text("p", TAKEN)
    blocks = _paper(writer, station)
    title = "What to do" if station.kind != "buying" else "What to buy"
    none = h.text("p", "Nothing is needed beside what is there.") if station.kind == "buying" else ""
    return [
        ("lies", "The work as it lies", lies),
        ("set", title, blocks_html(blocks, without=("labels",)) or none),
        ("lost", "What lost, and by how much", lost),
    ]


def _paper(writer: Writer, station: Station) -> list[Block]:
    if station.kind == "finisher":
        order = writer.plan.finish_orders[station.place]
        drawn = order.thickness_mm is not None and writer.views is not None
        behind = map_page(writer, station.place)["blocks"][:1] if drawn else []
        paper = order_page(writer, station.place)["blocks"]
        return [*behind, *({**one, "more": ABOVE} if one.get("more") == NEXT_PAGE else one for one in paper)]
    page = PAGES[station.kind](writer)
    return [] if page is None else page["blocks"]


def _picture(writer: Writer, station: Station) -> str:
    return station_svg(writer, station, width_mm=WIDE_MM, height_mm=TALL_MM, ids="lies")


def _proofs(writer: Writer, station: Station, base: str) -> str:
    """All of its proofs: open ones and the weakest that hold at once, the others folded away."""

    def href(id: str) -> str:
        return proof_address(base, id)

    if not station.proofs:
        return h.text("p", "No proof is of this station alone.")
    held = [place for place in station.proofs if writer.plan.proofs[place].verdict == "holds"]
    folded = held[WEAK_COUNT:]
    shown = [place for place in station.proofs if place not in folded]
    inner = h.text("p", BARS) + proof_list(writer, shown, href=href)
    if folded:
        rows = proof_list(writer, folded, href=href)
        inner += f'<details class="held"><summary>Show the others, which hold with more room</summary>{rows}</details>'
    return inner


def _figure(svg: str, caption: str, kind: str) -> str:
    return h.tag("figure", svg + h.text("figcaption", caption), **({"class_": kind} if kind else {}))
