"""An order as one page that needs nothing else: ready or not, late or not, hours against weeks, ways out, its parts."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from proveout.model.order import OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.purchase import OrderBuying
from proveout.model.sawing import OrderSawing
from proveout.model.shop import Shop
from proveout.sheets import html_parts as h
from proveout.sheets.calendar_picture import calendar_svg
from proveout.sheets.cautions import BANNER
from proveout.sheets.ink import Ink
from proveout.sheets.names import capital, sentence
from proveout.sheets.order_printing import NOBODY, OrderPrinting
from proveout.sheets.order_words import SEVERAL, ready_words, verdict_words
from proveout.sheets.sawing_html import sawing_html
from proveout.sheets.schedule_html import dates_table, rhythm_table, steps_table

BESIDE = ("papers.pdf", "purchases.csv", "lists.xlsx", "saw.csv")
WAY_OUT = "Way out: "  # begins the notes that repeat a way out


def order_html(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, name: str = "",
    fits: tuple[Proof, ...] = (), sawing: OrderSawing | None = None, buying: OrderBuying | None = None,
    money: OrderMoney | None = None,
) -> str:  # fmt: skip
    """The page as text. parts: each plan with the folder of its pages, one at least.   name: of the order."""
    order = OrderPrinting(
        parts=parts, load=load, shop=shop, marked=False, fits=fits, sawing=sawing, buying=buying, money=money
    )  # fmt: skip
    return html_of_order(order, name)


def marked_order(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, fits: tuple[Proof, ...] = (),
    sawing: OrderSawing | None = None, buying: OrderBuying | None = None, money: OrderMoney | None = None,
) -> tuple[str, Ink]:  # fmt: skip
    """The page with everything printed marked, and its ink: for tests."""
    order = OrderPrinting(
        parts=parts, load=load, shop=shop, marked=True, fits=fits, sawing=sawing, buying=buying, money=money
    )
    return html_of_order(order, ""), order.ink


def order_body(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, fits: tuple[Proof, ...] = (),
    sawing: OrderSawing | None = None, sawing_proofs: tuple[Proof, ...] = (), buying: OrderBuying | None = None,
    money: OrderMoney | None = None, is_marked: bool = False, is_inch: bool = False,
) -> tuple[str, Ink]:  # fmt: skip
    """The same between a page's head and foot, with its ink.

    Args:     parts: each plan with the address of its own page.   is_inch: lengths in inches, for a page of the desk.
    """
    order = OrderPrinting(
        parts=parts, load=load, shop=shop, marked=is_marked, fits=fits, sawing=sawing, sawing_proofs=sawing_proofs,
        buying=buying, money=money, is_inch=is_inch,
    )  # fmt: skip
    numbers = [order.ink.words("order", "plans", i, "part", "number") for i in range(len(parts))]
    links = "".join(
        h.tag("li", h.text("a", number, href=href)) for number, (_, href) in zip(numbers, parts, strict=True)
    )  # fmt: skip
    inner = "".join(
        f'<section id="{id}" aria-labelledby="h-{id}">{h.text("h2", words, id=f"h-{id}")}{made}</section>'
        for id, words, made in _sections(order, _parts(order) + h.tag("ul", links, class_="links"), is_folded=True)
        if made
    )
    return _verdict(order) + inner, order.ink


def html_of_order(order: OrderPrinting, name: str) -> str:
    """The page, every number in it printed by the order's ink."""
    title = f"Order {name}".strip()
    links = h.part_links(
        [(order.ink.words("order", "plans", i, "part", "number"), folder) for i, folder in enumerate(order.folders)]
    )
    if order.content.buying is not None:
        beside = ", ".join(h.text("a", name, href=name) for name in BESIDE)
        links += h.tag("p", f"Beside this page, for the whole order: {beside}.")
    sections = _sections(order, _parts(order) + links)
    return h.page(title=title, heading=title, opening=_verdict(order), sections=sections, foot=BANNER)


def _sections(order: OrderPrinting, parts: str, *, is_folded: bool = False) -> list[tuple[str, str, str]]:
    """Id, title and ready HTML of each section.   parts: those of the first.   is_folded: long tables are."""

    def long(summary: str, table: str) -> str:
        return f"<details><summary>{summary}</summary>{table}</details>" if is_folded and table else table

    saw_proofs = _saw_proofs(order)
    if all(proof.verdict == "holds" for proof in order.content.sawing_proofs):
        saw_proofs = long("Proofs of sawing together, all of which hold", saw_proofs)
    return [
        ("parts", "The parts", parts),
        ("ways", "Ways out", _ways(order)),
        ("buying", "What to buy", _purchases(order)),
        ("saw", "Sawn together", sawing_html(order.content.sawing, order.ink, order.shop) + saw_proofs),
        ("dates", "Each part against its date", dates_table(order)),
        ("schedule", "The work, lot by lot", _calendar(order) + long("Every lot as a table", steps_table(order))),
        ("rhythm", "The rhythm of a day", long("One day, hand by hand", rhythm_table(order))),
        ("hours", "Hours against weeks", _hours(order)),
        ("fits", "Fits once coated", _fits(order)),
        ("notes", "How it was reckoned", _notes(order)),
    ]


def _verdict(order: OrderPrinting) -> str:
    words = verdict_words(order)
    late = h.tag("p", f"{h.text('strong', words[0])} {escape(' '.join(words[1:]))}", class_="verdict")
    return late + h.tag("p", h.text("strong", ready_words(order)), class_="verdict")


def _parts(order: OrderPrinting) -> str:
    ink, rows = order.ink, []
    for i, plan in enumerate(order.content.plans):
        at = ("order", "plans", i)
        number, name = ink.words(*at, "part", "number"), ink.words(*at, "part", "name")
        open_count = ink.number("order", "open_counts", i, digits=0)
        rows.append(
            [
                f"{number} {name}".strip(),
                ink.number(*at, "part", "quantity", digits=0),
                "ready" if plan.ready else "not ready",
                open_count,
                ink.span(*at, "time", "piece_s", unit="min:s"),
                ink.number(*at, "bars", "bars_count", digits=0),
                ink.span(*at, "cost", "each", digits=2),
                ink.span(*at, "cost", "batch", digits=0),
            ]
        )
    money = order.shop.currency
    total = ""
    if order.content.money is not None:
        at = ("order", "money")
        ends = " to ".join(ink.number(*at, "cost", end, digits=0) for end in ("low", "high"))
        usual = ink.number(*at, "cost", "nominal", digits=0)
        bars = ""
        if order.content.money.bars_saved > 0.0:
            bars = f"; in that, bars sawn together take off {ink.number(*at, 'bars_saved', digits=2)}"
        total = h.text(
            "p",
            f"The whole order costs {usual} {money} as usual, {ends} from all best to all worst ends together{bars}.",
        )  # fmt: skip
        left = [ink.words(*at, "left_out", n) for n in range(len(order.content.money.left_out))]
        total += (
            h.text("p", f"Left out, as the shop's figures are not for their metal: {', '.join(left)}.") if left else ""
        )
    head = ["part", "pieces", "verdict", "proofs open", "min:s a piece", "bars", f"{money} a piece", f"{money} in all"]
    return total + h.table("What is asked for, and how it stands", head, rows, numeric={1, 3, 4, 5, 6, 7})


def _calendar(order: OrderPrinting) -> str:
    """The schedule as a picture, to be pushed sideways where it does not fit."""
    svg = calendar_svg(order, shift_h=order.shop.shift_h)
    if not svg:
        return ""
    caption = "Working days to scale, one row a station; dates where a lot begins."
    wide = h.tag("div", svg, class_="scroll drawn", tabindex="0", role="region", aria_label=caption)
    return f"<figure>{wide}{h.text('figcaption', caption)}</figure>"


def _purchases(order: OrderPrinting) -> str:
    """The purchase list of the whole order with its sums; a result of before there was one says so."""
    ink, buying = order.ink, order.content.buying
    if buying is None:
        return h.text("p", "This order was planned before it had a purchase list of its own: plan it again.")
    if not buying.lines:
        return h.text("p", "Nothing: all that the order needs is there.")
    rows = []
    for k, line in enumerate(buying.lines):
        one = order.bought(k)
        supplier = ink.words("order", "buying", "lines", k, "supplier") if line.supplier else NOBODY
        rows.append(
            [capital(one.what), one.count, one.packs, one.price, one.days, one.shares, supplier, sentence(one.why)]
        )
    at, money = ("order", "buying"), order.shop.currency
    sums = []
    for k, one in enumerate(buying.suppliers):
        here = (*at, "suppliers", k)
        days = "not known" if one.days_high is None else ink.number(*here, "days_high", digits=0)
        sums.append(
            [
                ink.words(*here, "supplier") if one.supplier else capital(NOBODY),
                ink.number(*here, "lines_count", digits=0),
                ink.number(*here, "price_total", digits=2),
                ink.number(*here, "unpriced_count", digits=0),
                days,
            ]
        )
    foot = [
        "In all", "", ink.number(*at, "price_total", digits=2), ink.number(*at, "unpriced_count", digits=0), ""
    ]  # fmt: skip
    head = ["what", "count", "packs", money, "working days", "for", "from", "why"]
    caption = (
        "Every thing once for the whole order, packs rounded up once, bars as sawn together. For: the parts, with what "
        "each asks for. What lies on the shelf is not known and not taken off: count before ordering"
    )
    by = ["supplier", "lines", money, "lines without a price", "all here after, working days"]
    return h.table(caption, head, rows, numeric={1, 2, 3, 4}) + h.table(
        "By supplier", by, sums, numeric={1, 2, 3, 4}, foot=foot
    )


def _fits(order: OrderPrinting) -> str:
    """Each fit with its clearance at the worst corners of both coats."""
    ink, rows = order.ink, []
    for i, fit in enumerate(order.content.fits):
        at = ("order", "fits", i)
        found = "not shown"
        if fit.found_low is not None and fit.found_high is not None:
            found = " to ".join(
                ink.number(*at, f"found_{end}", unit="mm", digits=3, as_is=True, bare=True) for end in ("low", "high")
            )
        more = "" if fit.verdict == "holds" else "decides" if fit.decides else "remedy"
        rows.append(
            [
                sentence(ink.words(*at, "claim")),
                found,
                f"{fit.sense} {ink.number(*at, 'limit', unit='mm', digits=3, as_is=True, bare=True)}",
                fit.verdict,
                ink.words(*at, more) if more else "",
            ]
        )
    if not rows:
        return ""
    caption = "Clearance in mm at the worst corners of both parts and both coats"
    return h.table(caption, ["fit", "found", "wanted", "verdict", "what would decide or help"], rows, numeric=set())


def _saw_proofs(order: OrderPrinting) -> str:
    """What is proved of sawing the lots together, weakest first."""
    ink, rows = order.ink, []
    for i, proof in enumerate(order.content.sawing_proofs):
        at = ("order", "sawing_proofs", i)
        more = "" if proof.verdict == "holds" else "decides" if proof.decides else "remedy"
        waits = "release waits for it" if proof.blocks_release else "release does not wait"
        helps = sentence(ink.words(*at, more)) if more and getattr(proof, more) else "-"
        rows.append([sentence(ink.words(*at, "claim")), ink.words(*at, "subject"), proof.verdict, waits, helps])
    head = ["what is claimed", "of", "verdict", "release", "what would decide or help"]
    return h.table("Proofs of sawing together, weakest first", head, rows, numeric=set()) if rows else ""


def _hours(order: OrderPrinting) -> str:
    ink, rows = order.ink, []
    for i, station in enumerate(order.load.stations):
        at = ("order", "load", "stations", i)
        there = "-" if station.there_h is None else ink.number(*at, "there_h", digits=0, as_is=True)
        ends = [ink.words(*at, f"end_{end}") for end in ("low", "high")] if station.end_low else []
        rows.append(
            [
                capital(order.words(*at, "station")),
                order.ends(*at, "asked_h"),
                ink.number(*at, "there_h_per_week", digits=0, as_is=True),
                there,
                order.ends(*at, "days_needed"),
                order.ends(*at, "outside_days"),
                " to ".join(ends) or "-",
                "-" if station.late_days is None else order.late_ends(*at, "late_days"),
            ]
        )
    head = ["where", "h asked", "h a week", "h there", "days", "outside", "done", "past"]
    caption = (
        "Sums of hours alone, nobody waiting for anybody, from the best to the worst ends. There: hours by the "
        "date. Past: working days past the date, below nought is early."
    )
    if len(order.load.dues) >= SEVERAL:
        caption += " Both against the date that is worst there, past with what is wanted by then."
    return h.table(caption, head, rows, numeric={1, 2, 3, 4, 5, 6, 7})


def _ways(order: OrderPrinting) -> str:
    ink, rows = order.ink, []
    for i, way in enumerate(order.load.ways_out):
        at = ("order", "load", "ways_out", i)
        rows.append(
            [
                sentence(order.words(*at, "text")),
                "-" if way.hours is None else ink.number(*at, "hours", digits=0, as_is=True),
                "-" if way.price is None else ink.number(*at, "price", digits=0, as_is=True),
                way.verdict,
            ]
        )
    if not rows:
        return ""
    head = ["what would help", "hours", order.shop.currency, "by itself"]
    return h.table("Each by itself, at nominal values", head, rows, numeric={1, 2})


def _notes(order: OrderPrinting) -> str:
    lines = [
        sentence(order.words("order", "load", "notes", i))
        for i, note in enumerate(order.load.notes)
        if not note.startswith(WAY_OUT)
    ]
    return h.points(lines) if lines else ""
