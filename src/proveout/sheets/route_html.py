"""The route of a part on its page: every station with its picture, minutes, money and weakest proof."""

from __future__ import annotations

from html import escape
from urllib.parse import quote

from proveout.sheets import html_parts as h
from proveout.sheets.ink import NOT_SHOWN
from proveout.sheets.names import capital
from proveout.sheets.route_picture import route_svgs
from proveout.sheets.stations import Route, Station, route_of
from proveout.sheets.verdict_html import verdict_html
from proveout.sheets.writer import Writer

TITLES = {
    "buying": "Bar", "saw": "Saw", "bench": "Bench", "inspection": "Inspection", "packing": "Box"
}  # fmt: skip
WHO = {
    "buying": "bought", "saw": "the saw", "bench": "by hand", "inspection": "gauges", "packing": "kit and box"
}  # fmt: skip
LENGTHS = "All lengths on this page are in mm"
LENGTHS_IN_INCHES = (
    "Lengths are in inches, limits rounded inwards. Papers and programs are in millimetres; sizes and names stand as "
    "they were typed."
)
ONE_SCALE = "All pictures are to one scale. Jaws that are longer than a picture run out of it."
NOT_HELD = (
    "No way of holding this part was found: between saw and bench nothing is planned. The proofs say which face or "
    "which clamping stands against it."
)


def with_route(writer: Writer) -> Route:
    """The stations of the writer's plan, to be printed from under the root "route"."""
    found = writer.ink.roots.get("route")
    if not isinstance(found, Route):
        found = route_of(writer.plan)
        writer.ink.roots["route"] = found
    return found


def station_title(writer: Writer, station: Station) -> str:
    """What a station is called: its operation, its process, or the place."""
    if station.kind == "clamping":
        return writer.op(station.place)
    if station.kind == "finisher":
        return capital(writer.ink.words("plan", "finish_orders", station.place, "process"))
    return TITLES[station.kind]


def station_who(writer: Writer, station: Station) -> str:
    """Who or what does the work there."""
    if station.kind == "clamping":
        return writer.shop_name("machines", writer.plan.clampings[station.place].machine_id)
    if station.kind == "finisher":
        return f"outside: {writer.ink.words('plan', 'finish_orders', station.place, 'finisher_id')}"
    return WHO[station.kind]


def minutes_html(writer: Writer, place: int) -> list[tuple[str, str]]:
    """Minutes and money of a station, as labels with their values; "not shown" where the metal is not known."""
    station, ink = with_route(writer).stations[place], writer.ink
    at = ("route", "stations", place)
    if writer.plan.metal_unknown:
        return [("a piece", NOT_SHOWN)]
    items = []
    if station.piece_s is not None:
        items.append(("a piece", f"{ink.span(*at, 'piece_s', unit='min:s')} min"))
    if station.batch_s is not None:
        items.append(("once a batch", f"{ink.span(*at, 'batch_s', unit='min:s')} min"))
    if station.kind == "finisher":
        days = [
            ink.number("plan", "finish_orders", station.place, f"days_{end}", digits=0) for end in ("low", "high")
        ]  # fmt: skip
        items.append(("working days away", days[0] if days[0] == days[1] else " to ".join(days)))
    if station.each is not None:
        items.append(("money a piece", writer.money_span(*at, "each")))
    return items


def head_html(writer: Writer) -> str:
    """The verdict, and what whoever opens the part wants to know first."""
    plan, ink = writer.plan, writer.ink
    number = ink.number("plan", "part", "quantity", digits=0)
    price = NOT_SHOWN if plan.metal_unknown else writer.money_span("plan", "cost", "each")
    items = [
        ("revision", ink.words("plan", "part", "revision") or "none written"),
        ("ordered", number),
        ("wanted", ink.words("plan", "due") if plan.due else "no day said"),
        ("price of one piece, all worst ends together", price),
    ]
    band = plan.cost.band
    if band is not None and not plan.metal_unknown:
        at = ("plan", "cost", "band", "each")
        ends = [ink.number(*at, end, digits=2) for end in ("p10", "p90")]
        items.append(("in eight draws of ten", f"{' to '.join(ends)}\u202f{plan.cost.currency}"))
    notes = ""
    if plan.metal_unknown:
        notes += h.text("p", f"Times and money are not shown: {plan.metal_unknown}.")
    return verdict_html(writer) + h.keys(items) + notes + lengths_html(writer)


def lengths_html(writer: Writer) -> str:
    """What a page says of its lengths to people who read inches; empty for others."""
    if writer.ink.is_inch:
        return h.text("p", LENGTHS_IN_INCHES, class_="soft")
    if writer.shop.units != "inch":
        return ""
    inch = writer.ink.number("derived", "mm_per_inch", unit="mm", digits=1)
    return h.text("p", f"{LENGTHS}, not in inches: one inch is {inch}.")


def route_html(writer: Writer, *, base: str) -> str:
    """The route, from bar to box.   base: address of the part's pages."""
    route = with_route(writer)
    pictures = route_svgs(writer, route)
    items = "".join(_station(writer, place, pictures[one.id], base) for place, one in enumerate(route.stations))
    held = "" if writer.plan.clampings else h.text("p", NOT_HELD, class_="framed")
    return (
        f'{held}<ol class="route" role="list">{items}</ol>'
        f"{h.text('p', ONE_SCALE, class_='soft')}"
        f"{_rest(writer, route, base)}"
    )


def _station(writer: Writer, place: int, svg: str, base: str) -> str:
    station = with_route(writer).stations[place]
    title, href = station_title(writer, station), f"{base}/stations/{quote(station.id, safe='')}"
    facts = "".join(f"<div>{h.text('dt', a)}{h.text('dd', b)}</div>" for a, b in minutes_html(writer, place))
    return (
        f'<li class="{station.kind}"><figure class="metal">{svg}</figure>'
        f'<div class="told"><h3><a href="{href}">{escape(title)}</a></h3>'
        f"{h.text('p', station_who(writer, station), class_='who')}<dl>{facts}</dl>{_weakest(writer, station, base)}"
        f"</div></li>"
    )


def _weakest(writer: Writer, station: Station, base: str) -> str:
    """The weakest proof of a station on its limit line."""
    if not station.proofs:
        return h.text("p", "No proof is of this station alone.", class_="weakest soft")
    index = station.proofs[0]
    proof = writer.plan.proofs[index]
    word = proof.verdict if proof.verdict == "holds" else f"<b>{proof.verdict}</b>"
    release = "" if proof.verdict == "holds" or not proof.blocks_release else " (release waits for it)"
    claim = h.text("a", writer.title("plan", "proofs", index, "claim"), href=proof_address(base, proof.id))
    return (
        f'<div class="weakest {proof.verdict.replace(" ", "-")}">{h.proof_bar(proof, writer.mark(proof))}'
        f"<p>Weakest: {word}{release}. {claim}</p></div>"
    )


def proof_address(base: str, id: str) -> str:
    """The page of one proof."""
    return f"{base}/proofs/{quote(id, safe='')}"


def _rest(writer: Writer, route: Route, base: str) -> str:
    """Money and proofs that are of no one station."""
    told = []
    if route.rest is not None and not writer.plan.metal_unknown:
        money = writer.money_span("route", "rest")
        told.append(
            f"{money} a piece, for cutters, programming, proving out, jaws, scrap and the like, "
            "less what chips bring. With the stations it makes the price of a piece."
        )
    inner = "".join(h.text("p", line) for line in told)
    if route.proofs:
        href = f"{base}/proofs?station=whole"
        inner += h.tag("p", h.text("a", "Proofs of the whole part", href=href))
    return h.tag("section", h.text("h3", "Of no one station") + inner) if inner else ""
