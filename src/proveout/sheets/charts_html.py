"""Charts of a plan on its page: money by quantity, minutes by pass, the hardest moves, bars with their cuts."""

from __future__ import annotations

from html import escape

from proveout.sheets import html_parts as h
from proveout.sheets.blank_html import bars_figure
from proveout.sheets.blocks_html import blocks_html
from proveout.sheets.curve_picture import curve_svg
from proveout.sheets.ink import NOT_SHOWN
from proveout.sheets.pages_price import CAPTION, cliff_words
from proveout.sheets.pages_saw import bundles_table
from proveout.sheets.writer import Writer

FULL, LIMIT_AT = 204.0, 140.0  # units of a bar's picture: its length, and its limit mark where it has one
MOST_RATIO = FULL / LIMIT_AT - 0.02
SAME = "The same numbers as a table"
NO_MOVES = (
    "What stands here is the hardest move of each pass; loads.csv, among the files of the plan, has every move. The "
    "move that decides a proof stands on the page of that proof."
)


def charts_html(writer: Writer) -> str:
    """All charts, each headed."""
    plan = writer.plan
    sections = [
        ("money", "Money of a piece by quantity", _money(writer)),
        ("minutes", "Minutes by pass", _minutes(writer)),
        ("loads", "Loads and margins along the programs", _loads(writer)),
        ("bars", "The bars with their cuts", _bars(writer)),
    ]
    unknown = h.text("p", f"Times and money are not shown: {plan.metal_unknown}.") if plan.metal_unknown else ""
    return unknown + "".join(
        f'<section id="{id}" aria-labelledby="h-{id}">{h.text("h2", title, id=f"h-{id}")}{inner}</section>'
        for id, title, inner in sections
    )


def _folded(inner: str) -> str:
    return f"<details><summary>{SAME}</summary>{inner}</details>"


def _drawn(svg: str, caption: str) -> str:
    wide = h.tag("div", svg, class_="scroll drawn", tabindex="0", role="region", aria_label=caption)
    return f'<figure class="wide">{wide}{h.text("figcaption", caption)}</figure>'


def _money(writer: Writer) -> str:
    band, ink = writer.plan.cost.band, writer.ink
    svg = "" if writer.plan.metal_unknown else curve_svg(writer, ids="curve")
    if band is None or not svg:
        return h.text("p", "Money by quantity is not shown: the plan has no band of it.")
    rows = []
    for i in range(len(band.curve)):
        at = ("plan", "cost", "band", "curve", i)
        each = [ink.number(*at, "each", end, digits=2) for end in ("p10", "p50", "p90")]
        rows.append([ink.number(*at, "quantity", digits=0), *each])
    caption = f"Money of a piece, {writer.plan.cost.currency}"
    table = h.table(caption, ["pieces at once", "one in ten below", "middle", "one in ten above"], rows,
                    numeric={0, 1, 2, 3})  # fmt: skip
    return _drawn(svg, CAPTION) + h.points(cliff_words(writer, band)) + _folded(table)


def bar(share: float, *, limit: bool) -> str:
    """One bar as a picture: share of its full length, or of the way to a limit mark. The number stands beside it."""
    long = (LIMIT_AT * min(share, MOST_RATIO)) if limit else (FULL - 2.0) * min(share, 1.0)
    mark = f'<path d="M{LIMIT_AT + 1:.0f} 1V17" stroke="#9e2b1a" stroke-width="2.5"/>' if limit else ""
    rule = f'<path d="M1 14.5H{FULL - 1:.0f}" stroke="#b9b2a7"/>'
    filled = f'<rect x="1" y="4" width="{long:.1f}" height="9" fill="#1b1916"/>'
    return f'<svg class="bar" viewBox="0 0 {FULL:.0f} 18" aria-hidden="true">{rule}{filled}{mark}</svg>'


def _bar_table(caption: str, head: list[str], rows: list[list[str]], drawn: set[int]) -> str:
    """A table in which the columns of `drawn` are ready pictures."""
    top = "".join(h.text("th", word, scope="col") for word in head)
    body = ""
    for row in rows:
        cells = h.text("th", row[0], scope="row")
        for place, one in enumerate(row[1:], start=1):
            cells += f'<td class="drawn">{one}</td>' if place in drawn else f"<td>{escape(one)}</td>"
        body += f"<tr>{cells}</tr>"
    inner = f"{h.text('caption', caption)}<thead><tr>{top}</tr></thead><tbody>{body}</tbody>"
    return h.tag("div", h.tag("table", inner, class_="bars"), class_="scroll", tabindex="0", role="region",
                 aria_label=caption)  # fmt: skip


def _pass_name(writer: Writer, place: int) -> str:
    one = writer.plan.passes[place]
    return f"{one.kind}, {writer.feature(place)}"


def _minutes(writer: Writer) -> str:
    """A bar for each pass, all clampings to one scale."""
    plan, ink = writer.plan, writer.ink
    if plan.metal_unknown or not plan.passes:
        return h.text("p", "Minutes by pass are not shown." if plan.passes else "No pass is planned.")
    lines = [writer.derived.passes[one.id].time_line for one in plan.passes]
    longest = max((plan.time.lines[line].seconds.high for line in lines if line >= 0), default=0.0)
    if longest <= 0.0:
        return h.text("p", "No minutes were reckoned for any pass.")
    made = []
    for index, clamping in enumerate(plan.clampings):
        rows = []
        for place in writer.passes_of(clamping.id):
            line = lines[place]
            told, share = "-", 0.0
            if line >= 0:
                told = ink.span("plan", "time", "lines", line, "seconds", unit="min:s")
                share = plan.time.lines[line].seconds.high / longest
            rows.append([_pass_name(writer, place), bar(share, limit=False), told])
        caption = f"{writer.op(index)}, in working order; bars to the longest pass of all, min:s"
        made.append(_bar_table(caption, ["pass", "as a bar", "min:s"], rows, {1}) if rows else "")
    return "".join(made)


def _loads(writer: Writer) -> str:
    """Power asked and grip left of each pass, on limit lines, and the push across, all to the hardest of it."""
    plan, ink = writer.plan, writer.ink
    limits = {one.pass_id: i for i, one in enumerate(plan.pass_limits)}
    pushes = {one.pass_id: i for i, one in enumerate(plan.pass_pushes)}
    hardest = max((one.tangential_n for one in plan.pass_pushes), default=0.0)
    made = []
    for index, clamping in enumerate(plan.clampings):
        rows = []
        for place in writer.passes_of(clamping.id):
            at = limits.get(plan.passes[place].id)
            power = reserve = NOT_SHOWN
            power_bar = reserve_bar = ""
            one = None if at is None else plan.pass_limits[at]
            if one is not None and one.power_ratio is not None:
                power = ink.number("plan", "pass_limits", at or 0, "power_ratio", unit="%", digits=0)
                power_bar = bar(one.power_ratio, limit=True)
            if one is not None and one.reserve_ratio is not None:
                reserve = ink.number("plan", "pass_limits", at or 0, "reserve_ratio", digits=2)
                has = one.reserve_ratio
                reserve_bar = bar(one.reserve_asked_ratio / has if has > 0.0 else MOST_RATIO, limit=True)
            push = pushes.get(plan.passes[place].id)
            told = ["", NOT_SHOWN, NOT_SHOWN]
            if push is not None:
                own = plan.pass_pushes[push].tangential_n
                told = [bar(own / hardest if hardest > 0.0 else 0.0, limit=False)]
                told += [
                    ink.number("plan", "pass_pushes", push, field, digits=0)
                    for field in ("tangential_n", "mean_tangential_n")
                ]
            rows.append([_pass_name(writer, place), power_bar, power, reserve_bar, reserve, *told])
        caption = (
            f"{writer.op(index)}, in working order, the hardest move of each pass; the upright stroke is the limit"
        )
        head = [
            "pass", "power towards its limit", "of it", "force towards the grip", "could grow, times",
            "push round, to the hardest of all", "peak of a turn, N", "mean of a turn, N",
        ]  # fmt: skip
        made.append(_bar_table(caption, head, rows, {1, 3, 5}) if rows else "")
    inner = "".join(made)
    return (inner + h.text("p", NO_MOVES)) if inner else h.text("p", "No pass is planned.")


def _bars(writer: Writer) -> str:
    if not writer.plan.bars.patterns:
        return h.text("p", "No bar is sawn.")
    return bars_figure(writer) + _folded(blocks_html([bundles_table(writer)]))
