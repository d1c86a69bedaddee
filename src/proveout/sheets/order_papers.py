"""The papers of an order as one PDF: what it comes to, what to buy, how it is sawn, who does what when, one day."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from proveout.model.order import OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.purchase import OrderBuying
from proveout.model.sawing import OrderSawing
from proveout.model.schedule import after_shift_begins
from proveout.model.shop import Shop
from proveout.sheets import blocks as b
from proveout.sheets.calendar_picture import calendar_svg
from proveout.sheets.cautions import BANNER, HEAVY, SAWING
from proveout.sheets.ink import Ink
from proveout.sheets.names import capital, digest_words, sentence
from proveout.sheets.order_printing import NOBODY, OrderPrinting
from proveout.sheets.order_words import ready_words, verdict_words
from proveout.sheets.pages_buy import NOT_THERE
from proveout.sheets.pages_saw import MEASURE_TICK, PAINT_TICK, SAW_TICKS, STOP_TICK
from proveout.sheets.schedule_html import AT
from proveout.sheets.typesetting import typeset

PICTURE_MM = 180.0  # between the margins of the page
DONE = {"saw": "saw", "bench": "gauge, break edges", "blast": "blast", "kit": "kit and pack", "away": "away"}


def order_pdf(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, name: str, fingerprint: str,
    fits: tuple[Proof, ...], sawing: OrderSawing, sawing_proofs: tuple[Proof, ...], buying: OrderBuying,
    money: OrderMoney | None, is_ready: bool,
) -> bytes:  # fmt: skip
    """The papers as PDF bytes, the same for the same order.

    Args:     parts: each plan with its folder, one at least.   name: of the order.   fingerprint: digest of order.json,
              printed on every page.   is_ready: as order.json says.
    """
    order = OrderPrinting(
        parts=parts, load=load, shop=shop, marked=False, fits=fits, sawing=sawing, sawing_proofs=sawing_proofs,
        buying=buying, money=money,
    )  # fmt: skip
    return typeset(order_document(order, name=name, fingerprint=fingerprint, is_ready=is_ready))


def marked_papers(order: OrderPrinting, *, name: str, fingerprint: str) -> tuple[bytes, Ink]:
    """The same with everything printed marked, and its ink: for tests.   order: one that marks."""
    return typeset(order_document(order, name=name, fingerprint=fingerprint, is_ready=False)), order.ink


def order_document(order: OrderPrinting, *, name: str, fingerprint: str, is_ready: bool) -> dict[str, Any]:
    """All pages as plain data, every number in them printed by the order's ink."""
    title = f"Order {name}".strip()
    pages = [front_page(order, title), bought_page(order), sawn_page(order), work_page(order), day_page(order)]
    unready = order.ink.number("order", "unready_count", digits=0)
    band = f"NOT READY - do not cut the parts that are not ready: {unready}."
    if not order.content.unready_count:
        band = "NOT READY - see what is open of fits and sawing."
    return {
        "title": f"Papers of the {title[:1].lower()}{title[1:]}",
        "part": title,
        "revision": "",
        "source": "Order",
        "shop": order.shop.name,
        "fingerprint": digest_words(fingerprint),
        "start": f"from {order.ink.words('order', 'load', 'start')}" if order.load.start else "",
        "ready": is_ready,
        "band": band,
        "pages": [page for page in pages if page is not None],
    }


def front_page(order: OrderPrinting, title: str) -> dict[str, Any]:
    """In time or not, ready or not, what it costs, its parts, and what would help."""
    ink, load = order.ink, order.load
    words = verdict_words(order)
    keys = []
    if order.content.money is not None:
        at = ("order", "money")
        ends = " to ".join(ink.number(*at, "cost", end, digits=0) for end in ("low", "high"))
        keys += [
            (f"usual cost in all, {order.shop.currency}", ink.number(*at, "cost", "nominal", digits=0)),
            ("all best to all worst ends", ends),
        ]
    if order.content.buying is not None:
        at = ("order", "buying")
        keys.append((f"to be bought, {order.shop.currency}", ink.number(*at, "price_total", digits=2)))
    if load.schedule is not None:
        at = (*AT, "promise")
        keys += [
            ("scheduled to be done", ink.words(*AT, "done")),
            ("day to promise: four of five", ink.words(*at, "most_day")),
        ]  # fmt: skip
        if load.schedule.promise.on_time_ratio is not None:
            keys.append(("chance to be in time", ink.number(*at, "on_time_ratio", unit="%", digits=0)))
    blocks: list[b.Block] = [
        b.para(words[0], strong=True), b.para(" ".join(words[1:])),
        *([] if order.content.unready_count else [b.para(ready_words(order), strong=True)]),  # else the band says it
        b.keys(keys, across=3, size=15),
    ]  # fmt: skip
    if order.content.buying is not None and order.content.buying.unpriced_count:
        count = ink.number("order", "buying", "unpriced_count", digits=0)
        blocks.append(b.para(f"In the sum to be bought lines without a known price are left out: {count}."))
    if order.content.money is not None:
        for n in range(len(order.content.money.left_out)):
            part = ink.words("order", "money", "left_out", n)
            blocks.append(b.para(f"{part} is left out of the cost: the shop's figures are not for its metal."))
    blocks += [b.heading("The parts"), _parts_table(order)]
    if any(fit.verdict != "holds" for fit in order.content.fits):
        blocks.append(b.framed("Whether the parts go together once coated is not shown for every fit: see order.html."))
    if load.ways_out:
        blocks += [b.heading("What would help, each by itself"), _ways_table(order)]
    blocks.append(b.para(BANNER))
    return b.page(sheet="Order", title=title, blocks=blocks)


def _parts_table(order: OrderPrinting) -> b.Block:
    ink, rows = order.ink, []
    for i, plan in enumerate(order.content.plans):
        at = ("order", "plans", i)
        rows.append(
            [
                b.strong(f"{ink.words(*at, 'part', 'number')} {ink.words(*at, 'part', 'name')}".strip()),
                ink.number(*at, "part", "quantity", digits=0),
                "ready" if plan.ready else f"not ready, open: {ink.number('order', 'open_counts', i, digits=0)}",
                ink.span(*at, "time", "piece_s", unit="min:s"),
                ink.span(*at, "cost", "each", digits=2),
                ink.span(*at, "cost", "batch", digits=0),
            ]
        )
    money = order.shop.currency
    columns = [
        ("part", "1fr", "l"), ("pieces", "14", "r"), ("verdict", "28", "l"), ("min:s a piece", "29", "r"),
        (f"{money} a piece", "29", "r"), (f"{money} in all", "28", "r"),
    ]  # fmt: skip
    return b.table(columns, rows, tight=True)


def _ways_table(order: OrderPrinting) -> b.Block:
    ink, rows = order.ink, []
    for i, way in enumerate(order.load.ways_out):
        at = ("order", "load", "ways_out", i)
        rows.append(
            [
                b.small(sentence(order.words(*at, "text"))),
                "-" if way.hours is None else ink.number(*at, "hours", digits=0, as_is=True),
                "-" if way.price is None else ink.number(*at, "price", digits=0, as_is=True),
                way.verdict,
            ]
        )
    columns = [
        ("what", "1fr", "l"), ("hours", "14", "r"), (f"{order.shop.currency} more", "22", "r"), ("enough?", "24", "l"),
    ]  # fmt: skip
    return b.table(columns, rows, tight=True)


def bought_page(order: OrderPrinting) -> dict[str, Any] | None:
    """What is bought for all parts, by supplier with sums; None where nothing is."""
    ink, buying = order.ink, order.content.buying
    if buying is None or not buying.lines:
        return None
    money = order.shop.currency
    blocks: list[b.Block] = [
        b.para(f"Every thing once for the whole order: packs rounded up once, bars as sawn together. {NOT_THERE}")
    ]
    for n, (supplier, some) in enumerate(
        groupby(range(len(buying.lines)), key=lambda k: buying.lines[k].supplier)
    ):  # fmt: skip
        at, one = ("order", "buying", "suppliers", n), buying.suppliers[n]
        named = ink.words(*at, "supplier") if supplier else NOBODY
        total = f"{ink.number(*at, 'price_total', digits=2)} {money}"
        more = order.unpriced(one.unpriced_count, *at, "unpriced_count")
        rows = [_bought_row(order, k) for k in some]
        columns = [
            ("what", "38", "l"), ("count", "25", "r"), ("packs", "18", "r"), (money, "17", "r"),
            ("working days", "21", "r"), ("for, and why", "1fr", "l"), ("ordered", "14", "c"),
        ]  # fmt: skip
        blocks += [b.heading(capital(named), more=f"{total}{more}"), b.table(columns, rows, tight=True)]
    at = ("order", "buying")
    total = f"{ink.number(*at, 'price_total', digits=2)} {money}"
    blocks += [
        b.para(f"In all {total}{order.unpriced(buying.unpriced_count, *at, 'unpriced_count')}.", strong=True),
        b.keys([], across=3, boxes=("ordered by", "date", "all here, heat no. of bars")),
    ]
    return b.page(sheet="Purchase list", title="Purchase list of the order", blocks=blocks)


def _bought_row(order: OrderPrinting, index: int) -> list[b.Cell]:
    one = order.bought(index)
    line = order.content.buying.lines[index] if order.content.buying is not None else None
    what = one.what
    if line is not None and line.kind == "cutter" and what != line.what:
        id = order.ink.words("order", "buying", "lines", index, "what")
        what = f"{what} ({id})"
    return [
        b.strong(what), one.count, one.packs, one.price, one.days,
        b.small(one.why if line is not None and line.names_its_parts else f"{one.shares}: {one.why}"), b.BOX,
    ]  # fmt: skip


def sawn_page(order: OrderPrinting) -> dict[str, Any] | None:
    """How the parts are sawn together, section by section; None where nothing is sawn."""
    ink, sawing = order.ink, order.content.sawing
    if sawing is None or not sawing.sections:
        return None
    blocks: list[b.Block] = [
        b.para(
            "Saw the order from this page; the parts' own saw tickets tell of each by itself, and show the bundles."
        ),
        b.keys(
            [
                (words, ink.number("shop", "saw", field, unit="mm", digits=digits))
                for words, field, digits in (
                    ("trim each bar", "trim_mm", 1),
                    ("kerf", "kerf_mm", 1),
                    ("least tail held", "tail_mm", 0),
                )
            ],
            across=3,
        ),
    ]
    plus = ink.number("shop", "saw", "length_tolerance_mm", digits=2)
    for i, section in enumerate(sawing.sections):
        at = ("order", "sawing", "sections", i)
        new = ink.number(*at, "bars_count", digits=0)
        bars = f"{new} new bar{'' if section.bars_count == 1 else 's'}"
        lots: list[list[b.Cell]] = [
            [
                b.strong(ink.words(*at, "lots", n, "part")),
                b.big(f"{ink.number(*at, 'lots', n, 'cut_length_mm', digits=2)} ± {plus}"),
                b.big(ink.number(*at, "lots", n, "pieces_count", digits=0)),
                ink.number(*at, "lots", n, "spare_count", digits=0),
                ink.words(*at, "lots", n, "alloy"),
                b.BOX,
            ]
            for n in range(len(section.lots))
        ]
        rows = [_bundle_row(order, (*at, "rows", k), section.rows[k]) for k in range(len(section.rows))]
        blocks += [
            b.heading(ink.words(*at, "bar_id"), more=bars),
            b.table(
                [
                    ("part", "1fr", "l"), ("cut length, mm", "44", "r"), ("blanks", "20", "r"),
                    ("spares among them", "34", "r"), ("alloy", "24", "l"), ("counted", "20", "c"),
                ],
                lots, tight=True,
            ),
            b.table(
                [
                    ("bundles", "16", "r"), ("bars in one", "14", "r"), ("bar, mm", "15", "r"),
                    ("a bar weighs", "26", "r"),
                    ("each bar gives", "1fr", "l"), ("left of each", "34", "r"), ("heat no.", "22", "c"),
                    ("sawn", "14", "c"),
                ],
                rows, tight=True,
            ),
        ]  # fmt: skip
    blocks += [
        {
            "kind": "may-break",
            "title": "Saw ticket of the order, what to heed",
            "note": "What to heed, and the signature, stand on the next page.",
        },
        b.heading("Before and while sawing"),
        b.ticks([*SAW_TICKS, f"{MEASURE_TICK}: the limit stands on the part's own saw ticket", STOP_TICK, PAINT_TICK]),
        b.para(SAWING),
        b.para(HEAVY),
        b.keys([], across=3, boxes=("blade changed?", "first / last length", "signed")),
    ]
    return b.page(sheet="Saw ticket", title="Saw ticket of the order", blocks=blocks, one_page=True)


def _bundle_row(order: OrderPrinting, at: tuple[str | int, ...], row: Any) -> list[b.Cell]:
    ink = order.ink
    gives = ", ".join(
        f"{ink.number(*at, 'pieces', n, 1, digits=0)} of {ink.number(*at, 'pieces', n, 0, digits=2, unit='mm')}"
        for n in range(len(row.pieces))
    )
    if row.is_last_in_doubt:
        gives += ", the last only if the saw cuts none long"
    if row.tag:
        gives = f"remnant {ink.words(*at, 'tag')}, heat {ink.words(*at, 'heat')}: {gives}"
    left = ink.number(*at, "remnant_mm", digits=0, unit="mm")
    weighs = ink.number(*at, "bar_mass_kg", digits=1, unit="kg")
    return [
        b.big(ink.number(*at, "times", digits=0)), b.big(ink.number(*at, "bundle_count", digits=0)),
        ink.number(*at, "bar_length_mm", digits=0),
        b.strong(f"{weighs}: two") if row.needs_two else weighs, gives, f"{left}, to the rack" if row.is_kept else left,
        b.BOX, b.BOX,
    ]  # fmt: skip


def work_page(order: OrderPrinting) -> dict[str, Any] | None:
    """The work lot by lot with its days; None without a schedule."""
    schedule, ink = order.load.schedule, order.ink
    if schedule is None or not schedule.steps:
        return None
    svg = calendar_svg(order, shift_h=order.shop.shift_h, width_mm=PICTURE_MM)
    rows: list[list[b.Cell]] = []
    for i, step in enumerate(schedule.steps):
        at = (*AT, "steps", i)
        setup = ink.number(*at, "setup_s", unit="min", digits=0, bare=True) if step.setup_s else "-"
        parts = " and ".join(ink.words(*at, "parts", n) for n in range(len(step.parts)))
        rows.append(
            [
                b.strong(after_shift_begins(ink.words(*at, "into_shift"), day=ink.words(*at, "day"))),
                ink.words(*at, "end_day"),
                capital(order.words(*at, "station")), parts, b.small(_what(order, i)), setup,
                b.BOX,
            ]
        )  # fmt: skip
    caption = "Working days to scale, one row a station; a date where lots begin."
    blocks = [
        b.para(
            "Each line begins on its day, + so many hours and minutes after the shift begins, and goes on by itself. "
            "A stay outside begins in the morning of its day."
        ),
        b.pictures(b.picture(svg=svg, alt="The lots of each station along the working days.", width_mm=PICTURE_MM,
                             caption=caption)),
        b.table(
            [
                ("begins", "32", "l"), ("ends", "21", "l"), ("where", "28", "l"), ("part", "18", "l"),
                ("what", "1fr", "l"), ("set-up, min", "20", "r"), ("done", "13", "c"),
            ],
            rows, tight=True,
        ),
    ]  # fmt: skip
    return b.page(sheet="Who does what when", title="The work, lot by lot", blocks=blocks)


def _what(order: OrderPrinting, index: int) -> str:
    """A step's own words, with what is done where they count pieces alone."""
    step, at = order.load.schedule.steps[index] if order.load.schedule else None, (*AT, "steps", index)
    assert step is not None
    words = order.of_part(step.parts[0], *at, "what")
    return f"{DONE[step.kind]}: {words}" if step.kind in DONE else words


def day_page(order: OrderPrinting) -> dict[str, Any] | None:
    """What each person does on one day, and how long each machine can be left; None where no machine runs."""
    schedule, ink = order.load.schedule, order.ink
    if schedule is None or schedule.rhythm is None:
        return None
    at = (*AT, "rhythm")
    alone: list[list[b.Cell]] = []
    for i, one in enumerate(schedule.rhythm.left_alone):
        here = (*at, "left_alone", i)
        edge = "-"
        if one.edge and one.edge_pieces_count is not None:
            edge = f"{order.words(*here, 'edge')}: {ink.number(*here, 'edge_pieces_count', digits=0)} pieces"
        alone.append(
            [
                b.strong(capital(order.words(*here, "machine_id"))), ink.words(*here, "part"),
                b.big(ink.number(*here, "run_s", unit="min:s")), sentence(order.words(*here, "stops")), edge,
            ]
        )  # fmt: skip
    blocks: list[b.Block] = [
        b.para(
            f"As an example {ink.words(*at, 'day')}, the first day on which most machines run: others go likewise. At: "
            "hours and minutes after the shift begins."
        ),
        b.heading("How long each machine can be left once it is loaded, at its shortest"),
        b.table(
            [
                ("machine", "40", "l"), ("part", "24", "l"), ("min:s", "22", "r"), ("it stops because", "1fr", "l"),
                ("first edge used up after", "42", "l"),
            ],
            alone,
        ),
    ]  # fmt: skip
    lines = order.content.day_lines
    for _, some in groupby(range(len(lines)), key=lambda i: lines[i].person):
        places = list(some)
        head = f"Person {ink.number('order', 'day_lines', places[0], 'person', digits=0)}"
        rows = [_day_row(order, i) for i in places]
        columns = [("at", "14", "r"), ("until", "14", "r"), ("times", "14", "r"), ("what", "1fr", "l")]
        blocks += [b.heading(head), b.table(columns, rows, tight=True)]
    return b.page(sheet="One day", title="The rhythm of a day, person by person", blocks=blocks)


def _day_row(order: OrderPrinting, index: int) -> list[b.Cell]:
    """One line of a person's day: what is done in turn, the place before it, its part behind."""
    ink, one, at = order.ink, order.content.day_lines[index], ("order", "day_lines", index)
    told = []
    for n, work in enumerate(one.works):
        here = (*at, "works", n)
        told.append(
            f"{capital(order.words(*here, 'station'))}: {order.of_part(work.part, *here, 'what')} "
            f"({ink.words(*here, 'part')})"
        )
    return [
        b.strong(after_shift_begins(ink.words(*at, "begins"))), after_shift_begins(ink.words(*at, "ends")),
        b.strong(ink.number(*at, "times_count", digits=0)) if one.times_count > 1 else "", "; then ".join(told),
    ]  # fmt: skip
