"""The plan as one page that needs nothing else: turnable picture, decisions, proofs, questions, costs."""

from __future__ import annotations

import json
from html import escape

from proveout.model.plan import NOT_KNOWN, Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.sheets import html_parts as h
from proveout.sheets.bars_picture import bars_svg
from proveout.sheets.ink import NOT_SHOWN
from proveout.sheets.limit_cells import limit_cells
from proveout.sheets.loading_html import loading_html
from proveout.sheets.mesh_data import mesh_data
from proveout.sheets.names import STAGES, digest_words
from proveout.sheets.pages_edges import edges_html
from proveout.sheets.pages_price import cost_line_name, price_html
from proveout.sheets.pages_trials import TITLE as TEST_CUTS
from proveout.sheets.pages_trials import trials_html
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.places_html import places_html
from proveout.sheets.reach_html import reach_html
from proveout.sheets.svg import end_svg, part_svg, picture_svg
from proveout.sheets.turned_html import turned_html
from proveout.sheets.writer import BANNER, CAUTIONS, CONCERNS, NOT_CUT, NOT_REACHED, UPRIGHT, Writer

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
        ("proofs", "Proofs, weakest first", _proofs(writer)),
        ("clampings", "Clampings and passes", _clampings(writer)),
        ("next", "From one operation to the next", turned_html(writer)),
        ("places", "What lies in each place", places_html(writer)),
        ("test-cuts", TEST_CUTS, trials_html(writer)),
        ("cautions", "Cautions", _cautions()),
        ("blank", "Blank", _blank(writer)),
        ("sizes", "Sizes before and after the coat", _sizes(writer)),
        ("bars", "Bars", _bars(writer)),
        ("cost", "Time and cost", _cost(writer)),
        ("open", "Assumed and noticed", _assumed(writer)),
    ]
    revision = f", revision {ink.words('plan', 'part', 'revision')}" if plan.part.revision else ""
    title = f"{number} {name}".strip() or "Part"
    start = f" · from {ink.words('plan', 'start')}" if plan.start else ""
    foot = f"{BANNER} · Plan {digest_words(writer.fingerprint)}{start} · program {ink.words('plan', 'program_version')}"
    plain = f"Plan of {plan.part.number} {plan.part.name}".strip()
    return h.page(
        title=plain, heading=title + revision, opening=_verdict(writer) + _first(writer), sections=sections, foot=foot,
        script="page.js",
    )  # fmt: skip


def _verdict(writer: Writer) -> str:
    ink = writer.ink
    holds, fails, missing = (
        ink.number("derived", f"{word}_count", digits=0) for word in ("holds", "fails", "not_shown")
    )
    counts = f"Proofs: {holds} hold, {fails} fail, {missing} are not shown."
    if writer.plan.ready:
        words = "Ready: every proof that must hold before release does hold."
        return h.tag("p", f"{h.text('strong', words)} {escape(counts)}", class_="verdict")
    open_ones = ink.number("derived", "open_count", digits=0)
    words = "Not ready - do not cut."
    return h.tag(
        "p",
        f"{h.text('strong', words)} {escape(counts)} Of those that must hold before release, {open_ones} do not yet.",
        class_="verdict",
    )


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
            ("minutes, one piece, all stations", _minutes(writer)),
            ("price of one piece", writer.money_span("plan", "cost", "each")),
        ]
    )


def _minutes(writer: Writer) -> str:
    text = writer.ink.span("plan", "time", "piece_s", unit="min:s")
    return text if text == NOT_SHOWN else f"{text} min"


def _cautions() -> str:
    return h.text("p", BANNER) + h.points(list(CAUTIONS))


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


def _proof_row(writer: Writer, index: int) -> str:
    proof, at = writer.plan.proofs[index], ("plan", "proofs", index)
    more = [f"{STAGES.get(proof.stage.replace(' ', '_'), proof.stage)}: {writer.found(index)}."]
    if proof.verdict == "not shown":
        more.append(f"To decide it: {writer.words(*at, 'decides').rstrip('.')}.")
    if proof.verdict != "holds" and proof.remedy:
        more.append(f"What would help: {writer.words(*at, 'remedy').rstrip('.')}.")
    claim, subject = escape(writer.title(*at, "claim")), escape(writer.told(*at, "subject"))
    claim = f'{claim} <span class="subject">({subject})</span>'
    word = proof.verdict if proof.verdict == "holds" else f"<b>{proof.verdict}</b>"
    return (
        f'<li class="{proof.verdict.replace(" ", "-")}"><span class="claim">{claim}</span>'
        f'{h.proof_bar(proof, writer.mark(proof))}<span class="word">{word}</span>'
        f'<span class="more">{escape(" ".join(more))}</span></li>'
    )


def _proofs(writer: Writer) -> str:
    """Three groups, each weakest first: what stops release, what is open beside it, and folded away what holds."""
    groups: dict[str, list[str]] = {"must": [], "open": [], "holds": []}
    for index, proof in writer.weakest():
        group = "holds" if proof.verdict == "holds" else "must" if proof.blocks_release else "open"
        groups[group].append(_proof_row(writer, index))
    intro = (
        "<p>Each bar runs towards its limit, the upright stroke. A bar that stops short holds; one that crosses fails. "
        "The open end is the spread of what was found. A dashed empty bar is not shown: something must be measured "
        "first.</p>"
    )
    lists = {name: h.tag("ol", "".join(rows), class_="proofs") for name, rows in groups.items()}
    inner = intro + "<h3>Must be settled first</h3>"
    inner += lists["must"] if groups["must"] else "<p>Nothing: every proof that must hold before release holds.</p>"
    if groups["open"]:
        inner += "<h3>Open, but release does not wait for it</h3>" + lists["open"]
    if groups["holds"]:
        count = writer.ink.number("derived", "holds_count", digits=0)
        inner += (
            f'<h3>Holds</h3><details class="held"><summary>Show the {escape(count)} proofs that hold</summary>'
            f"{lists['holds']}</details>"
        )
    return inner


def _blank(writer: Writer) -> str:
    plan, ink = writer.plan, writer.ink
    chosen = ("plan", "blank", "chosen")
    facts = h.keys(
        [
            ("bar", writer.words(*chosen, "bar_id")),
            ("sawn length", ink.number(*chosen, "cut_length_mm", unit="mm", digits=2)),
            ("pieces from a bar", ink.number(*chosen, "pieces_per_bar", digits=0)),
            ("mass of a blank", ink.number(*chosen, "mass_kg", unit="kg", digits=3)),
            ("bar, each piece", writer.money(*chosen, "material_price_each")),
        ]
    )
    stack = [
        [line.side, ink.words(*chosen, "stack", i, "text"), ink.number(*chosen, "stack", i, "size_mm", digits=2)]
        for i, line in enumerate(plan.blank.chosen.stack)
    ]
    inner = facts
    if plan.blank.chosen.is_ideal:
        inner += "<p><b>No bar of the shop fits.</b> This is the blank that would.</p>"
    inner += h.table("How the blank adds up, mm", ["along", "what", "mm"], stack, numeric={2})
    why = plan.blank.why
    first = max(0, len(why) - len(plan.blank.others))  # reasons of the chosen one come first
    inner += h.points([writer.sentence("plan", "blank", "why", i) for i in range(first)]) if first else ""
    others = [
        [
            writer.words("plan", "blank", "others", i, "bar_id"),
            writer.money("plan", "blank", "others", i, "material_price_each"),
            writer.sentence("plan", "blank", "why", first + i) if first + i < len(why) else "",
        ]
        for i in range(len(plan.blank.others))
    ]
    if others:
        inner += h.table("The next-best bars", ["bar", "each", "why not"], others, numeric={1})
    return inner


def _clampings(writer: Writer) -> str:
    plan, ink = writer.plan, writer.ink
    parts = []
    for index, clamping in enumerate(plan.clampings):
        operator, end = writer.pictures(index)
        left = picture_svg(operator, width_mm=96.0, height_mm=72.0, ids=f"o{index}")
        right = end_svg(end, ink=ink, index=index, width_mm=84.0, height_mm=64.0, ids=f"e{index}")
        cycle = (
            ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s")
            if clamping.id in plan.time.cycle_s
            else "-"
        )
        rows = []
        for number, like in enumerate(writer.derived.clampings[clamping.id].rows):
            one = plan.passes[like.places[0]]
            where, comes = writer.feature(*like.places), writer.comes_from(clamping.id, one.tilt_id)
            where += "" if comes == UPRIGHT else f" - cutter {comes}"
            cutter = writer.shop_name("cutters", one.cutter_id)
            binds = limit_cells(writer, like.places)
            rows.append([one.kind, where, cutter, *binds, writer.row_minutes(clamping.id, number)])
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
            + h.table(
                f"Passes in working order, whole cycle {cycle}",
                ["pass", "where", "cutter", "speed bound by", "feed bound by", "depth bound by", "min:s"],
                rows,
                numeric={6},
            )
        )
    if plan.not_cut:
        parts.append(f"<h3>{NOT_CUT}</h3>" + h.points(writer.not_cut()))
    not_reached = writer.not_reached()
    if not_reached:
        parts.append(f"<h3>{NOT_REACHED}</h3>" + h.points(not_reached))
    return "".join(parts) + reach_html(writer) + edges_html(writer) + _ways(writer)


def _ways(writer: Writer) -> str:
    """The sequences of clampings foreseen best, and what those planned in full came to."""
    plan, ink = writer.plan, writer.ink
    rows = []
    if plan.metal_unknown:
        return ""
    for index, way in enumerate(plan.ways):
        at = ("plan", "ways", index)
        foreseen = [writer.money(*at, name) for name in ("bound_each", "tilts_each", "leaning_each")]
        came = ["not planned in full", "-"]
        if way.is_chosen:
            came = ["this plan", "-"]
        if way.open_count is not None:
            came[0] = f"{ink.number(*at, 'open_count', digits=0)} open" + (", this plan" if way.is_chosen else "")
            came[1] = "-" if way.cost_each is None else writer.money_span(*at, "cost_each")
        rows.append([ink.words(*at, "why"), *foreseen, *came])
    if len(rows) < 2:
        return ""
    heads = ["clampings", "set-ups, jaws, blank", "tilts", "stiffness", "planned in full", "came to"]
    title = "Ways of holding, best foreseen first, money a piece; stiffness in name only"
    return h.table(title, heads, rows, numeric={1, 2, 3, 5})


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


def _bars(writer: Writer) -> str:
    ink = writer.ink
    at = ("plan", "bars")
    facts = h.keys(
        [
            ("bars", ink.number(*at, "bars_count", digits=0)),
            ("no plan uses fewer than", ink.number(*at, "lower_bound", digits=0)),
            ("pieces, spares in", ink.number(*at, "pieces_count", digits=0)),
            *(
                [("trial blanks beside them", ink.number(*at, "trial_count", digits=0))]
                if writer.plan.bars.trial_count
                else []
            ),
            ("strokes", ink.number(*at, "strokes_count", digits=0)),
            ("price of all bars", writer.money(*at, "price")),
        ]
    )
    return (
        facts
        + f"<figure>{bars_svg(writer)}"
        + "<figcaption>One line for each way of sawing; the hatched end is the remnant.</figcaption></figure>"
    )


def _cost(writer: Writer) -> str:
    plan, ink = writer.plan, writer.ink
    money = [
        [
            cost_line_name(writer, "plan", "cost", "lines", i, "text"),
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
