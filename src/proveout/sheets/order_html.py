"""An order as one page that needs nothing else: ready or not, late or not, hours against weeks, ways out, its parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from proveout.model.fact import Fact
from proveout.model.order import OrderLoad
from proveout.model.plan import Plan
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.model.sawing import OrderSawing
from proveout.model.shop import Noun, Shop
from proveout.sheets import html_parts as h
from proveout.sheets.calendar_picture import calendar_svg
from proveout.sheets.cautions import BANNER
from proveout.sheets.ink import Ink
from proveout.sheets.names import Names, capital, sentence
from proveout.sheets.sawing_html import sawing_html
from proveout.sheets.schedule_html import dates_table, rhythm_table, steps_table

SEVERAL = 2  # dates
WAY_OUT = "Way out: "  # begins the notes that repeat a way out
VERDICTS = {
    "late": "Late, as reckoned even at the best ends.",
    "fits": "Fits by the date, as reckoned even at the worst ends.",
    "not shown": "Whether it fits by the date is not shown.",
}
VERDICTS_OF_DATES = {
    "late": "A part is late by its own date, as reckoned even at the best ends.",
    "fits": "Every part fits by its own date, as reckoned even at the worst ends.",
    "not shown": "Whether every part fits by its own date is not shown.",
}


class OrderContent(Noun, frozen=True, kw_only=True):
    """What the page prints from; open_counts: proofs of each part that must hold before release and do not yet."""

    load: OrderLoad
    plans: tuple[Plan, ...]
    open_counts: tuple[int, ...]
    unready_count: int
    fits: tuple[Proof, ...] = ()
    sawing: OrderSawing | None = None
    sawing_proofs: tuple[Proof, ...] = ()


class _Order:
    """The content with its ink and plain names."""

    def __init__(self, *, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, marked: bool,
        fits: tuple[Proof, ...] = (), sawing: OrderSawing | None = None, sawing_proofs: tuple[Proof, ...] = (),
        is_inch: bool = False,
    ) -> None:  # fmt: skip
        plans = tuple(plan for plan, _ in parts)
        self.content = OrderContent(
            load=load,
            plans=plans,
            open_counts=tuple(len(open_proofs(plan.proofs)) for plan in plans),
            unready_count=sum(not plan.ready for plan in plans),
            fits=fits,
            sawing=sawing,
            sawing_proofs=weakest_first(sawing_proofs),
        )
        self.folders = tuple(folder for _, folder in parts)
        self.shop, self.load = shop, load
        self.ink = Ink(roots={"order": self.content, "shop": shop}, marked=marked, is_inch=is_inch)
        self.names = Names(plan=plans[0], shop=shop)

    def words(self, *address: str | int) -> str:
        """Words of the order with machines named plainly."""
        return self.ink.words(*address, as_text=self.names.short(str(self.ink.at(*address))))

    def late_ends(self, *at: str | int) -> str:
        """From how many to how many working days past the date, rounded up: a part of a day late is a day."""
        fact: Fact = self.ink.at(*at)
        low, high = (
            self.ink.words(*at, end, as_text=f"{math.ceil(value) + 0}".replace("-", "−"))
            for end, value in (("low", fact.low), ("high", fact.high))
        )
        return low if low == high else f"{low} to {high}"

    def ends(self, *address: str | int, unit: str = "") -> str:
        """Both ends of a fact, whole, in the unit it is kept in; one number where both print alike."""
        low, high = (self.ink.number(*address, end, digits=0, bare=True, as_is=True) for end in ("low", "high"))
        return f"{low if low == high else f'{low} to {high}'}{unit}"


def order_html(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, name: str = "",
    fits: tuple[Proof, ...] = (), sawing: OrderSawing | None = None,
) -> str:  # fmt: skip
    """The page as text. parts: each plan with the folder of its pages, one at least.   name: of the order."""
    return html_of_order(_Order(parts=parts, load=load, shop=shop, marked=False, fits=fits, sawing=sawing), name)


def marked_order(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, fits: tuple[Proof, ...] = (),
    sawing: OrderSawing | None = None,
) -> tuple[str, Ink]:  # fmt: skip
    """The page with everything printed marked, and its ink: for tests."""
    order = _Order(parts=parts, load=load, shop=shop, marked=True, fits=fits, sawing=sawing)
    return html_of_order(order, ""), order.ink


def order_body(*, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, fits: tuple[Proof, ...] = (),
    sawing: OrderSawing | None = None, sawing_proofs: tuple[Proof, ...] = (), is_marked: bool = False,
    is_inch: bool = False,
) -> tuple[str, Ink]:  # fmt: skip
    """The same between a page's head and foot, with its ink.

    Args:     parts: each plan with the address of its own page.   is_inch: lengths in inches, for a page of the desk.
    """
    order = _Order(
        parts=parts, load=load, shop=shop, marked=is_marked, fits=fits, sawing=sawing, sawing_proofs=sawing_proofs,
        is_inch=is_inch,
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


def html_of_order(order: _Order, name: str) -> str:
    """The page, every number in it printed by the order's ink."""
    title = f"Order {name}".strip()
    links = h.part_links(
        [(order.ink.words("order", "plans", i, "part", "number"), folder) for i, folder in enumerate(order.folders)]
    )
    sections = _sections(order, _parts(order) + links)
    return h.page(title=title, heading=title, opening=_verdict(order), sections=sections, foot=BANNER)


def _sections(order: _Order, parts: str, *, is_folded: bool = False) -> list[tuple[str, str, str]]:
    """Id, title and ready HTML of each section.   parts: those of the first.   is_folded: long tables are."""

    def long(summary: str, table: str) -> str:
        return f"<details><summary>{summary}</summary>{table}</details>" if is_folded and table else table

    return [
        ("parts", "The parts", parts),
        ("fits", "Fits once coated", _fits(order)),
        ("saw", "Sawn together", sawing_html(order.content.sawing, order.ink, order.shop) + _saw_proofs(order)),
        ("hours", "Hours against weeks", _hours(order)),
        ("ways", "Ways out", _ways(order)),
        ("buying", "What the parts need beside what is there", _purchases(order)),
        ("dates", "Each part against its date", dates_table(order)),
        ("schedule", "The work, lot by lot", _calendar(order) + long("Every lot as a table", steps_table(order))),
        ("rhythm", "The rhythm of a day", long("One day, hand by hand", rhythm_table(order))),
        ("notes", "How it was reckoned", _notes(order)),
    ]


def _verdict(order: _Order) -> str:
    load, ink = order.load, order.ink
    words = [(VERDICTS if len(load.dues) < SEVERAL else VERDICTS_OF_DATES)[load.verdict]]
    if load.start:
        words.append(f"From {ink.words('order', 'load', 'start')}.")
    if load.due and len(load.dues) < SEVERAL:
        words.append(f"Wanted {ink.words('order', 'load', 'due')}.")
    who = ""
    if len(load.dues) >= SEVERAL:
        words.append(f"Wanted {_dues(order)}.")
        if load.schedule is not None:
            who = f" for {ink.words('order', 'load', 'schedule', 'late_part')}, the worst against its own date"
    if load.late_days is not None and load.verdict == "late":
        words.append(f"Late by {order.late_ends('order', 'load', 'late_days')} working days{who}.")
    if load.late_days is not None and load.verdict == "not shown":
        words.append(
            f"From {order.late_ends('order', 'load', 'late_days')} working days past it{who}; below nought is early."
        )
    if load.verdict != "fits":
        label = "Ends last" if load.schedule is None else "Bottleneck"
        words.append(f"{label}: {order.words('order', 'load', 'bottleneck')}.")
    if load.schedule is not None:
        words.append(f"Scheduled to be done {ink.words('order', 'load', 'schedule', 'done')}.")
        words.append(
            f"Four of five drawn cases are done by {ink.words('order', 'load', 'schedule', 'promise', 'most_day')}."
        )
        at = ("order", "load", "schedule", "bars_taken_as_there")
        bars = [ink.words(*at, i) for i in range(len(load.schedule.bars_taken_as_there))]
        if bars:
            words.append(f"Bars {', '.join(bars)} are taken as there: nobody wrote how many days they take.")
        lacks = [order.words("order", "load", "schedule", "unknown", i) for i in range(len(load.schedule.unknown))]
        words += [sentence(text) for text in lacks]
    unready = ink.number("order", "unready_count", digits=0)
    ready = "Every part is ready."
    if order.content.unready_count:
        ready = f"Parts that are not ready - do not cut them: {unready}."
    if open_proofs(order.content.sawing_proofs):
        ready += " Sawing together is not ready either: see what is proved of it."
    late = h.tag("p", f"{h.text('strong', words[0])} {escape(' '.join(words[1:]))}", class_="verdict")
    return late + h.tag("p", h.text("strong", ready), class_="verdict")


def _dues(order: _Order) -> str:
    """Every date with the parts wanted on it."""
    told = []
    for i, one in enumerate(order.load.dues):
        at = ("order", "load", "dues", i)
        parts = " and ".join(order.ink.words(*at, "parts", n) for n in range(len(one.parts)))
        told.append(f"{parts} {order.ink.words(*at, 'due')}")
    return ", ".join(told)


def _parts(order: _Order) -> str:
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
    head = ["part", "pieces", "verdict", "proofs open", "min:s a piece", "bars", f"{money} a piece", f"{money} in all"]
    return h.table("What is asked for, and how it stands", head, rows, numeric={1, 3, 4, 5, 6, 7})


def _calendar(order: _Order) -> str:
    """The schedule as a picture, to be pushed sideways where it does not fit."""
    svg = calendar_svg(order, shift_h=order.shop.shift_h)
    if not svg:
        return ""
    caption = "Working days to scale, one row a station; dates where a lot begins."
    wide = h.tag("div", svg, class_="scroll drawn", tabindex="0", role="region", aria_label=caption)
    return f"<figure>{wide}{h.text('figcaption', caption)}</figure>"


def _purchases(order: _Order) -> str:
    """Every line that a part's plan wants bought; what several want stands once for each."""
    ink, rows = order.ink, []
    for i, plan in enumerate(order.content.plans):
        for k, line in enumerate(plan.purchases):
            at = ("order", "plans", i, "purchases", k)
            count = "not known" if line.count is None else f"{ink.number(*at, 'count', digits=0)} {line.unit}"
            days = "not known"
            if line.days_low is not None and line.days_high is not None:
                days = f"{ink.number(*at, 'days_low', digits=0)} to {ink.number(*at, 'days_high', digits=0)}"
            rows.append(
                [
                    capital(order.words(*at, "what")), ink.words("order", "plans", i, "part", "number"), count,
                    "-" if line.price_total is None else ink.number(*at, "price_total", digits=2), days,
                    ink.words(*at, "supplier") if line.supplier else "no supplier written",
                ]
            )  # fmt: skip
    head = ["what", "for", "count", order.shop.currency, "working days", "from"]
    caption = "As each part by itself needs it; bars that are sawn together are told above and are fewer"
    return h.table(caption, head, rows, numeric={2, 3, 4}) if rows else ""


def _fits(order: _Order) -> str:
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


def _saw_proofs(order: _Order) -> str:
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


def _hours(order: _Order) -> str:
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


def _ways(order: _Order) -> str:
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


def _notes(order: _Order) -> str:
    lines = [
        sentence(order.words("order", "load", "notes", i))
        for i, note in enumerate(order.load.notes)
        if not note.startswith(WAY_OUT)
    ]
    return h.points(lines) if lines else ""
