"""Price page: the cost of a piece as a band, what widens it, by quantity, against price, and how many to make."""

from __future__ import annotations

from typing import Any

from proveout.model.cost_band import CostBand
from proveout.sheets import blocks as b
from proveout.sheets import html_parts as h
from proveout.sheets.curve_picture import HEIGHT_MM, LOW_MM, WIDTH_MM, curve_svg
from proveout.sheets.writer import Writer

NEXT = "How many to make at once stands on the next page."
TITLE = "Price"
AT = ("plan", "cost", "band")
TOLD_CAUSES = 3
TOLD_CLIFFS = 6
CAPTION = "Thick: the middle. Hatched: eight draws in ten. Short strokes on the axis: the steps and bends told below."
LOW, MIDDLE, HIGH = "one in ten below", "middle", "one in ten above"


def _band(writer: Writer, *address: str | int) -> tuple[str, str, str]:
    return (
        writer.ink.number(*address, "p10", digits=2),
        writer.ink.number(*address, "p50", digits=2),
        writer.ink.number(*address, "p90", digits=2),
    )


def _lines(writer: Writer, band: CostBand) -> list[list[str]]:
    rows = []
    for i, line in enumerate(band.lines):
        at = (*AT, "lines", i)
        causes = ", ".join(writer.words(*at, "causes", k) for k in range(len(line.causes)))
        rows.append([writer.title(*at, "text"), *_band(writer, *at, "each"), causes or "nothing written"])
    rows.append(["A piece", *_band(writer, *AT, "each"), "all together"])
    return rows


def _causes(writer: Writer, band: CostBand) -> list[list[str]]:
    rows = []
    for i in range(min(TOLD_CAUSES, len(band.widest))):
        at = (*AT, "widest", i)
        low, _, high = _band(writer, *at, "known")
        rows.append(
            [
                writer.title(*at, "text"),
                writer.ink.number(*at, "narrows_ratio", unit="%", digits=0),
                f"{low} to {high}",
                writer.sentence(*at, "measure"),
            ]
        )
    return rows


def _spread_words(writer: Writer, band: CostBand) -> str:
    """What the band leaves out, and what it would be with every line on its own."""
    low, _, high = _band(writer, *AT, "apart")
    text = (
        f"With every line drawn on its own the band would be {low} to {high}: that is too narrow, because one cause "
        "moves several lines. "
    )
    if band.not_spread:
        named = ", ".join(writer.words(*AT, "not_spread", i) for i in range(len(band.not_spread)))
        text += f"Counted as exact, because nobody wrote how far it may be off: {named}. "
    count, seed = (writer.ink.number(*AT, key, digits=0) for key in ("draws_count", "seed"))
    return text + f"{count} draws, seed {seed}. Each line at its worst end at once: {_worst(writer)}."


def _worst(writer: Writer) -> str:
    return writer.money_span("plan", "cost", "each")


def cliff_words(writer: Writer, band: CostBand) -> list[str]:
    """The steps and bends of the curve, and from where on what is done once hardly counts."""
    told = []
    for i, cliff in enumerate(band.cliffs[:TOLD_CLIFFS]):
        at = (*AT, "cliffs", i)
        more = f", {writer.money(*at, 'jump')} more" if cliff.jump > 0.0 else ""
        told.append(f"{writer.ink.number(*at, 'quantity', digits=0)}: {writer.words(*at, 'text')}{more}")
    if band.even_share_quantity is not None:
        told.append(
            f"from {writer.ink.number(*AT, 'even_share_quantity', digits=0)} on at most a tenth of the money is for "
            "what is done once"
        )
    return told


def _channels(writer: Writer, band: CostBand) -> list[list[str]]:
    rows, ink = [], writer.ink
    for i, one in enumerate(band.channels):
        at = (*AT, "channels", i)
        left = "not shown: no price written"
        if one.left is not None:
            low, middle, high = _band(writer, *at, "left")
            left = f"{middle} ({low} to {high})"
        pays = [
            "-" if value is None else ink.number(*at, key, digits=0)
            for key, value in (("even_quantity", one.even_quantity), ("sure_quantity", one.sure_quantity))
        ]
        rows.append(
            [
                ink.words(*at, "channel"),
                "-" if one.net is None else ink.number(*at, "net", digits=2),
                left,
                "-" if one.loss_ratio is None else ink.number(*at, "loss_ratio", unit="%", digits=0),
                *pays,
                "-" if one.floor_price is None else ink.number(*at, "floor_price", digits=2),
            ]
        )
    return rows


CHANNEL_HEADS = (
    "way of selling", "less fees", "left a piece", "at a loss", "half pay from", "nine in ten from", "floor price",
)  # fmt: skip


def _bought(writer: Writer, band: CostBand) -> str:
    if band.bought_saving is None:
        return "Make or buy: not shown, no price of the finished piece is written as bought_each."
    low, middle, high = _band(writer, *AT, "bought_saving")
    share = writer.ink.number(*AT, "made_ratio", unit="%", digits=0)
    return f"Make or buy: making saves {middle} a piece ({low} to {high}); it is cheaper in {share} of the draws."


def _riding(writer: Writer, band: CostBand) -> str:
    """What rides in the coat's lot, as a sentence; empty where nothing does."""
    named = [
        f"{writer.ink.number(*AT, 'riders', i, 'pieces_count', digits=0)} pieces of "
        f"{writer.ink.words(*AT, 'riders', i, 'number')}"
        for i in range(len(band.riders))
    ]
    text = (
        f"In the coat's lot ride {' and '.join(named)}: what lacks to the minimum charge is shared by pieces, loading "
        "and freight evenly by part. "
    )
    return text if named else ""


def _spares(writer: Writer) -> str:
    ink = writer.ink
    lost = f"{ink.number(*AT, 'lost', 'p10', digits=0)} to {ink.number(*AT, 'lost', 'p90', digits=0)}"
    chance = ink.span(*AT, "spares_suffice", unit="%", digits=0)
    count = ink.number("plan", "bars", "spare_count", digits=0)
    return (
        f"Spares: {lost} pieces lost in eight draws of ten; {count} spares are enough with a chance of {chance}. "
        "Those beyond cost new bars, sawing and their price outside too, but no second set-up or lot here; how many at "
        "once leaves them out."
    )


def _lots(writer: Writer, band: CostBand) -> list[list[str]]:
    rows, ink = [], writer.ink
    assert band.lots is not None
    for i in range(len(band.lots.ways)):
        at = (*AT, "lots", "ways", i)
        span = f"{ink.number(*at, 'flat_low', digits=0)} to {ink.number(*at, 'flat_high', digits=0)}"
        ends = f"{ink.number(*at, 'best_low', digits=0)} to {ink.number(*at, 'best_high', digits=0)}"
        rows.append(
            [
                writer.title(*at, "text"),
                ink.number(*at, "quantity", digits=0),
                span,
                ends,
                ink.number(*at, "lots_per_year", digits=1),
                ink.number(*at, "per_year", digits=0),
                ink.number(*at, "outlay", digits=0),
                ink.number(*at, "lying", digits=0),
            ]
        )
    return rows


LOT_HEADS = (
    "how", "best", "little dearer", "best over demand", "lots a year", "money a year", "one lot", "lying",
)  # fmt: skip


def _lot_words(writer: Writer, band: CostBand) -> str:
    ink, at = writer.ink, (*AT, "lots")
    assert band.lots is not None
    demand = ink.span(*at, "demand", digits=0)
    holding = ink.span(*at, "holding_ratio", unit="%", digits=0)
    return (
        f"Wanted {demand} a year, lying costs {holding} of a piece a year; a lot charges "
        f"{writer.money(*at, 'lot_charge')} whatever its size. Little dearer: at most "
        f"{ink.number(*at, 'flat_ratio', unit='%', digits=0)} more a year. This batch of "
        f"{ink.number(*at, 'order_quantity', digits=0)}: {writer.money(*at, 'order_per_year', digits=0)} a year. "
        f"Without cliffs: {ink.number(*at, 'ways', 0, 'closed_form', digits=0)}. Programming and jaws are paid once "
        "and are no part of it."
    )


IN_PART = "Not every face has a pass: this is the money for what is planned, and the whole part costs more."
NO_LOTS = "How many to make: not shown. Write [demand] with per_year, and holding_percent, into the job file."


def _picture(writer: Writer, height_mm: float) -> dict[str, Any]:
    svg = curve_svg(writer, ids=f"curve-{'low' if height_mm == LOW_MM else 'high'}", height_mm=height_mm)
    return b.picture(svg=svg, alt="Cost of a piece by quantity.", width_mm=WIDTH_MM, caption=CAPTION)


def price_page(writer: Writer) -> dict[str, Any] | None:
    """One page; None where the money is not known."""
    plan, ink = writer.plan, writer.ink
    band = plan.cost.band
    if band is None or not plan.passes:
        return None
    low, middle, high = _band(writer, *AT, "each")
    currency, rows = plan.cost.currency, _lines(writer, band)
    numeric = ("16", "r")
    is_part = bool(plan.survey.unreached or plan.not_cut)
    blocks: list[b.Block] = [
        *([b.para(IN_PART, strong=True)] if is_part else []),
        b.keys(
            [
                (f"a piece, {currency}, {MIDDLE}", middle), (f"low: {LOW}", low), (f"high: {HIGH}", high),
                ("good pieces", ink.number("plan", "cost", "quantity", digits=0)),
            ],
            across=4,
        ),
        b.table(
            [("what", "1fr", "l"), ("low", *numeric), (MIDDLE, *numeric), ("high", *numeric), ("moved by", "78", "l")],
            [[b.strong(x) for x in row] if row is rows[-1] else list(row) for row in rows],
            tight=True,
        ),
        b.heading("What widens it most", more="measure the first one first"),
        b.table(
            [("cause", "44", "l"), ("narrows by", "20", "r"), ("then", "36", "r"), ("what would tell", "1fr", "l")],
            [list(row) for row in _causes(writer, band)],
            tight=True,
        ),
        b.para(_spread_words(writer, band)),
        b.pictures(_picture(writer, HEIGHT_MM), small=[_picture(writer, LOW_MM)]),
        b.para(f"{'; '.join(cliff_words(writer, band))}."),
    ]  # fmt: skip
    if band.channels:
        heads = [(CHANNEL_HEADS[0], "1fr", "l"), *((head, "auto", "r") for head in CHANNEL_HEADS[1:])]
        blocks += [
            b.heading(f"What is left of the price, {currency}"),
            b.table(heads, [list(row) for row in _channels(writer, band)], tight=True),
            b.para(_bought(writer, band)),
        ]
    blocks.append(b.para(_riding(writer, band) + _spares(writer)))
    if band.lots is None:
        blocks.append(b.para(NO_LOTS))
    else:
        heads = [(LOT_HEADS[0], "1fr", "l"), *((head, "auto", "r") for head in LOT_HEADS[1:])]
        blocks += [
            {"kind": "may-break", "title": f"{TITLE}, how many at once", "note": NEXT},
            b.heading("How many at once", more=f"money in {currency}"),
            b.table(heads, [list(row) for row in _lots(writer, band)], tight=True),
            b.para(_lot_words(writer, band)),
        ]
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks, one_page=True)


def price_html(writer: Writer) -> str:
    """The same on the page of the plan."""
    band = writer.plan.cost.band
    if band is None or not writer.plan.passes:
        return ""
    currency = writer.plan.cost.currency
    is_part = bool(writer.plan.survey.unreached or writer.plan.not_cut)
    parts = [
        h.text("p", IN_PART) if is_part else "",
        h.table(
            f"Cost of one piece drawn from its causes, {currency}", ["what", LOW, MIDDLE, HIGH, "moved by"],
            _lines(writer, band), numeric={1, 2, 3},
        ),
        h.table(
            "What widens it most", ["cause", "narrows by", "then", "what would tell"], _causes(writer, band),
            numeric={1, 2},
        ),
        h.text("p", _spread_words(writer, band)),
        f"<figure>{curve_svg(writer, ids='cost-curve')}<figcaption>{CAPTION}</figcaption></figure>",
        h.points(cliff_words(writer, band)),
    ]  # fmt: skip
    if band.channels:
        parts.append(
            h.table(
                f"What is left of the price, {currency}", list(CHANNEL_HEADS), _channels(writer, band),
                numeric=set(range(1, len(CHANNEL_HEADS))),
            )
        )  # fmt: skip
        parts.append(h.text("p", _bought(writer, band)))
    parts.append(h.text("p", _riding(writer, band) + _spares(writer)))
    if band.lots is None:
        return "".join([*parts, h.text("p", NO_LOTS)])
    parts.append(
        h.table(
            f"How many at once, money in {currency}", list(LOT_HEADS), _lots(writer, band),
            numeric=set(range(1, len(LOT_HEADS))),
        )
    )  # fmt: skip
    return "".join([*parts, h.text("p", _lot_words(writer, band))])
