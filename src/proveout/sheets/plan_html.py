"""The plan as one page that needs nothing else: turnable picture, decisions, proofs, questions, costs."""

from __future__ import annotations

import json
from html import escape

from proveout.model.job import part_title
from proveout.model.plan import NOT_KNOWN, Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.sheets import html_parts as h
from proveout.sheets.blank_html import bars_html, blank_html
from proveout.sheets.cautions import BANNER, plan_cautions
from proveout.sheets.loading_html import loading_html
from proveout.sheets.mesh_data import mesh_data
from proveout.sheets.names import digest_words
from proveout.sheets.pages_edges import edges_html
from proveout.sheets.pages_price import price_html
from proveout.sheets.pages_trials import TITLE as TEST_CUTS
from proveout.sheets.pages_trials import trials_html
from proveout.sheets.passes_html import passes_html
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.places_html import places_html
from proveout.sheets.proofs_html import proofs_html
from proveout.sheets.reach_html import reach_html
from proveout.sheets.rounds_html import rounds_html
from proveout.sheets.svg import end_svg, part_svg, picture_svg
from proveout.sheets.turned_html import turned_html
from proveout.sheets.verdict_html import minutes_words, verdict_html
from proveout.sheets.ways_html import ways_html
from proveout.sheets.writer import CONCERNS, NOT_CUT, NOT_REACHED, Writer

SEEN_MM = 0.005  # where no proof sets a limit, a deviation up to this is drawn plain: it prints as nothing


def plan_html(
    *, plan: Plan, shop: Shop, target: Target | None, drawings: dict[str, ClampingDrawings], fingerprint: str
) -> str:
    """The page as text. target: mesh to turn, None leaves the still drawing.

    drawings: by clamping id, made along operator_view and end_view.
    """
    return html_of(Writer(plan=plan, shop=shop, drawings=drawings, fingerprint=fingerprint), target)


def html_of(writer: Writer, target: Target | None) -> str:
    """The page, every number in it printed by the writer's ink."""
    plan, ink = writer.plan, writer.ink
    number, name = ink.words("plan", "part", "number"), ink.words("plan", "part", "name")
    sections = [
        ("part", "The part", _part(writer, target)),
        ("questions", "Questions", _questions(writer)),
        ("concerns", "Concerns for the designer", _concerns(writer)),
        ("proofs", "Proofs, weakest first", proofs_html(writer)),
        ("clampings", "Clampings and passes", _clampings(writer)),
        ("tightened", "What was tightened, and what it cost", rounds_html(writer)),
        ("next", "From one operation to the next", turned_html(writer)),
        ("places", "What lies in each place", places_html(writer)),
        ("test-cuts", TEST_CUTS, trials_html(writer)),
        ("cautions", "Cautions", _cautions(writer)),
        ("blank", "Blank", blank_html(writer)),
        ("sizes", "Sizes before and after the coat", _sizes(writer)),
        ("bars", "Bars", bars_html(writer)),
        ("cost", "Time and cost", _cost(writer)),
        ("open", "Assumed and noticed", _assumed(writer)),
    ]
    revision = f", revision {ink.words('plan', 'part', 'revision')}" if plan.part.revision else ""
    title = part_title(number, name) or "Part"
    start = f" · from {ink.words('plan', 'start')}" if plan.start else ""
    foot = f"{BANNER} · Plan {digest_words(writer.fingerprint)}{start} · program {ink.words('plan', 'program_version')}"
    plain = f"Plan of {plan.part.title}"
    return h.page(
        title=plain, heading=title + revision, opening=verdict_html(writer) + _first(writer), sections=sections,
        foot=foot, script="page.js",
    )  # fmt: skip


def _first(writer: Writer) -> str:
    """What a person wants to know before anything else: which way up, which bar, how long, how dear."""
    plan, ink = writer.plan, writer.ink
    bar = writer.words("plan", "blank", "chosen", "bar_id")
    length = ink.number("plan", "blank", "chosen", "cut_length_mm", unit="mm", digits=2)
    fits = "none fits; wanted " if plan.blank.chosen.is_ideal else ""
    return h.keys(
        [
            ("which way up", writer.ways_up()),
            ("bar", f"{fits}{bar}, sawn {length}"),
            ("minutes, one piece, all stations", minutes_words(writer)),
            ("price of one piece", writer.money_span("plan", "cost", "each")),
        ]
    )


def _cautions(writer: Writer) -> str:
    return h.text("p", BANNER) + h.points(list(plan_cautions(plan=writer.plan, shop=writer.shop)))


def _part(writer: Writer, target: Target | None) -> str:
    plan, ink = writer.plan, writer.ink
    size = " × ".join(ink.number("plan", "part", "size_mm", i, digits=2) for i in range(3)) + " mm"
    facts = h.keys(
        [
            ("size", size),
            ("alloy", ink.words("plan", "part", "alloy")),
            ("ordered", ink.number("plan", "part", "quantity", digits=0)),
            ("faces", ink.number("plan", "part", "faces_count", digits=0)),
        ]
    )
    still = ""
    lines = writer.part_drawing()
    if lines is not None:
        alt = "Line drawing of the finished part, seen as it lies in the first operation."
        svg = part_svg(lines, alt=alt, width_mm=170.0, height_mm=110.0, ids="p")
        still = f'<figure id="still">{svg}<figcaption>As it lies in the first operation.</figcaption></figure>'
    if target is None or not len(target.triangles):
        return still + facts
    most, deepest = (_limit(plan, f"removal check:{word}") for word in ("leftover", "gouge"))
    places = {one.face_id: i for i, one in enumerate(plan.removal.faces)}
    states, notes, names = [], [], []
    for face_id in target.face_ids:
        of = writer.part_of((face_id,))
        name = ink.words("plan", "finishing", "offset_mm", as_text=writer.names.short(face_id))
        names.append(f"{name} of {of}" if of else name)
        at = places.get(face_id)
        if at is None:
            states.append(0)
            notes.append("Not measured by the replay of the cut.")
            continue
        one = plan.removal.faces[at]
        left, gouge = (
            ink.number("plan", "removal", "faces", at, f, unit="mm", digits=3) for f in ("leftover_mm", "gouge_mm")
        )
        states.append(2 if one.gouge_mm > deepest else 1 if one.leftover_mm > most else 0)
        notes.append(f"Left over at most {left}, cut too deep at most {gouge}.")
    data = json.dumps({**mesh_data(target), "states": states, "notes": notes, "names": names}, separators=(",", ":"))
    tools = "".join(
        f'<button type="button" data-act="{act}">{words}</button>'
        for act, words in (
            ("left", "turn left"),
            ("right", "turn right"),
            ("up", "tip up"),
            ("down", "tip down"),
            ("larger", "larger"),
            ("smaller", "smaller"),
            ("back", "as at first"),
        )
    )
    label = "The finished part in ink lines. Arrow keys turn it, plus and minus change its size, Home turns it back."
    swatch = (
        '<svg width="28" height="16" viewBox="0 0 28 16" aria-hidden="true">'
        '<rect x=".5" y=".5" width="27" height="15" fill="#fff" stroke="#1b1916"/>{}</svg>'
    )
    single = '<path d="M2 15L16 1M9 15L23 1M16 15L27 4M1 9L9 1" stroke="#1b1916" fill="none"/>'
    cross = single + '<path d="M2 1L16 15M9 1L23 15M16 1L27 12M1 7L9 15" stroke="#1b1916" fill="none"/>'
    legend = "".join(
        f"<li>{swatch.format(inner)}{words}</li>"
        for inner, words in (("", "within limits"), (single, "metal left over"), (cross, "cut too deep"))
    )
    return (
        f'{still}<canvas id="turn" hidden tabindex="0" role="img" aria-label="{label}"></canvas>'
        f'<div id="turn-tools" hidden><div class="tools">{tools}</div><ul class="legend">{legend}</ul>'
        f'<p class="tools"><label for="face-list">Face</label> '
        '<select id="face-list"><option value="">none chosen</option></select> '
        f'<span id="face-note" aria-live="polite"></span></p></div>{facts}'
        f'<script type="application/json" id="mesh">{data.replace("<", chr(92) + "u003c")}</script>'
    )


def _limit(plan: Plan, id: str) -> float:
    """The narrowest limit of the proofs whose ids begin so: what a face may differ by; SEEN_MM when there is none."""
    limits = [proof.limit for proof in plan.proofs if proof.id.startswith(id) and proof.limit is not None]
    return min(limits, default=SEEN_MM)


def _questions(writer: Writer) -> str:
    items = []
    for i in range(len(writer.plan.questions)):
        asked, change = (writer.sentence("plan", "questions", i, field) for field in ("text", "would_change"))
        items.append(f"<li><b>{escape(asked)}</b> {escape(change)}</li>")
    if not items:
        return ""
    return "<p>Only the owner can answer these. The first would change most.</p>" + h.tag("ol", "".join(items))


def _concerns(writer: Writer) -> str:
    items = []
    for i in range(len(writer.plan.concerns)):
        text, more = writer.concern(i)
        items.append(f"<li><b>{escape(text)}</b> {escape(more)}</li>")
    if not items:
        return ""
    return f"<p>{CONCERNS}</p>" + h.tag("ol", "".join(items))


def _clampings(writer: Writer) -> str:
    plan, ink = writer.plan, writer.ink
    parts = []
    for index, clamping in enumerate(plan.clampings):
        operator, end = writer.pictures(index)
        left = picture_svg(operator, width_mm=96.0, height_mm=72.0, ids=f"o{index}")
        right = end_svg(end, ink=ink, index=index, width_mm=84.0, height_mm=64.0, ids=f"e{index}")
        machine = writer.shop_name("machines", clamping.machine_id)
        parts.append(
            h.text("h3", f"{writer.op(index)} - {machine}")
            + f'<div class="pair"><figure>{left}<figcaption>{escape(operator.caption)}</figcaption></figure>'
            f"<figure>{right}<figcaption>{escape(end.caption)}</figcaption></figure></div>"
            + h.text(
                "p",
                " ".join(writer.sentence("plan", "clampings", index, field) for field in ("seat_text", "zero_text")),
            )
            + loading_html(writer, index)
            + passes_html(writer, index)
        )
    if plan.not_cut:
        parts.append(f"<h3>{NOT_CUT}</h3>" + h.points(writer.not_cut()))
    not_reached = writer.not_reached()
    if not_reached:
        parts.append(f"<h3>{NOT_REACHED}</h3>" + h.points(not_reached))
    return "".join(parts) + reach_html(writer) + edges_html(writer) + ways_html(writer)


def _sizes(writer: Writer) -> str:
    ink = writer.ink
    rows = []
    for i, window in enumerate(writer.plan.finishing.windows):
        at = ("plan", "finishing", "windows", i)
        ends = {
            word: f"{ink.number(*at, f'{word}_low_mm', digits=3)} to {ink.number(*at, f'{word}_high_mm', digits=3)}"
            for word in (("before", "finished") if window.is_decided else ("finished",))
        }
        rows.append(
            [
                ink.number(*at, "balloon", digits=0),
                ink.words(*at, "text"),
                ends.get("before", NOT_KNOWN),
                ends["finished"],
                ink.number(*at, "width_mm", digits=3) if window.is_decided else NOT_KNOWN,
            ]
        )
    if not rows:
        return ""
    return h.table(
        "Written sizes, mm",
        ["no.", "written", "machine to, before coat", "finished", "width of the window"],
        rows,
        numeric={2, 3, 4},
    )


def _cost(writer: Writer) -> str:
    plan, ink = writer.plan, writer.ink
    money = [
        [
            writer.title("plan", "cost", "lines", i, "text"),
            writer.words("plan", "cost", "lines", i, "how"),
            ink.span("plan", "cost", "lines", i, "each", digits=2),
        ]
        for i in range(len(plan.cost.lines))
    ]
    total = [
        "A piece",
        f"at {ink.number('plan', 'cost', 'quantity', digits=0)} pieces",
        ink.span("plan", "cost", "each", digits=2),
    ]
    words = {"piece": "each piece", "batch": "once a batch", "design": "once for the design"}
    hours = [
        [
            writer.words("plan", "time", "lines", i, "station"),
            writer.words("plan", "time", "lines", i, "text"),
            words[line.per],
            ink.span("plan", "time", "lines", i, "seconds", unit="min:s"),
        ]
        for i, line in enumerate(plan.time.lines)
        if not line.pass_id
    ]
    dear = ""
    if plan.cost.dear_faces:
        dear = "<h3>The faces that make it dear</h3>" + h.points(
            [writer.title("plan", "cost", "dear_faces", i) for i in range(len(plan.cost.dear_faces))]
        )
    if plan.metal_unknown:
        return h.text("p", f"Times and money are not shown: {plan.metal_unknown}.")
    return (
        h.table(
            f"Cost of one piece, {plan.cost.currency}, low to high",
            ["what", "how it was reckoned", plan.cost.currency],
            money,
            numeric={2},
            foot=total,
        )
        + price_html(writer)
        + dear
        + h.table(
            "Minutes beside the cutting, min:s", ["where", "what", "how often", "low to high"], hours, numeric={3}
        )
    )


def _assumed(writer: Writer) -> str:
    plan = writer.plan
    noticed = [writer.sentence("plan", "warnings", i) for i in range(len(plan.warnings))]
    assumed = [writer.sentence("plan", "assumed", i) for i in range(len(plan.assumed))]
    inner = ""
    if noticed:
        inner += "<h3>Noticed on reading</h3>" + h.points(noticed)
    if assumed:
        inner += "<h3>Assumed, because nobody has said otherwise</h3>" + h.points(assumed)
    return inner
