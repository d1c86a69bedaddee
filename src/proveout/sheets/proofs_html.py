"""Proofs as ruled lines with their limit marks, weakest first, and one proof in full."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape

from proveout.model.fact import OWNER_FILES, Fact
from proveout.sheets import html_parts as h
from proveout.sheets.ink import NAMED_AS, READ_AS, digits_apart
from proveout.sheets.names import STAGES
from proveout.sheets.writer import Writer

BARS = (
    "Each bar runs towards its limit, the upright stroke. A bar that stops short holds; one that crosses fails. "
    "The open end is the spread of what was found. A dashed empty bar is not shown: something must be measured "
    "first."
)
RAISED = str.maketrans("234", "²³⁴")  # in units
OWN_FILES = {"shop-file": "the shop file", "job-file": "the job file"}


def stage_name(stage: str) -> str:
    """A stage as people call it."""
    return STAGES.get(stage.replace(" ", "_"), stage)


def proof_row(writer: Writer, index: int, *, href: str = "") -> str:
    """One proof as a line of a list.   href: address of its own page, if it has one."""
    proof, at = writer.plan.proofs[index], ("plan", "proofs", index)
    more = [f"{stage_name(proof.stage)}: {writer.found(index)}."]
    if proof.verdict == "not shown":
        more.append(f"To decide it: {writer.words(*at, 'decides').rstrip('.')}.")
    if proof.verdict != "holds" and proof.remedy:
        more.append(f"What would help: {writer.words(*at, 'remedy').rstrip('.')}.")
    claim, subject = escape(writer.title(*at, "claim")), escape(writer.told(*at, "subject"))
    claim = h.tag("a", claim, href=href) if href else claim
    claim = f'{claim} <span class="subject">({subject})</span>'
    word = proof.verdict if proof.verdict == "holds" else f"<b>{proof.verdict}</b>"
    return (
        f'<li class="{proof.verdict.replace(" ", "-")}"><span class="claim">{claim}</span>'
        f'{h.proof_bar(proof, writer.mark(proof))}<span class="word">{word}</span>'
        f'<span class="more">{escape(" ".join(more))}</span></li>'
    )


def proof_list(writer: Writer, places: Iterable[int], *, href: Callable[[str], str]) -> str:
    """A list of proofs in the order given.   href: address of a proof's page, from its id."""
    rows = "".join(proof_row(writer, place, href=href(writer.plan.proofs[place].id)) for place in places)
    return h.tag("ol", rows, class_="proofs", role="list")


def proofs_html(writer: Writer) -> str:
    """Three groups, each weakest first: what stops release, what is open beside it, and folded away what holds."""
    groups: dict[str, list[str]] = {"must": [], "open": [], "holds": []}
    for index, proof in writer.weakest():
        group = "holds" if proof.verdict == "holds" else "must" if proof.blocks_release else "open"
        groups[group].append(proof_row(writer, index))
    lists = {name: h.tag("ol", "".join(rows), class_="proofs") for name, rows in groups.items()}
    inner = f"<p>{BARS}</p><h3>Must be settled first</h3>"
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


def proof_html(writer: Writer, index: int, *, titles: dict[str, str]) -> str:
    """One proof in full: found and wanted, formula, inputs with intervals and sources, what decides it, the remedy.

    titles: of sources, by their keys.
    """
    proof, at, ink = writer.plan.proofs[index], ("plan", "proofs", index), writer.ink
    found, wanted = writer.found_parts(index)
    word = f"{proof.verdict.capitalize()}."
    waits = "Release waits for it." if proof.blocks_release else "Release does not wait for it."
    margin = "not known"
    if proof.margin is not None:
        margin = f"{ink.number(*at, 'margin', digits=3)} (nought: at the limit; one: as far inside as the limit itself)"
    parts = [
        f'<p class="verdict {proof.verdict.replace(" ", "-")}">{h.text("strong", word)} {escape(waits)}</p>',
        f'<div class="rule">{h.proof_bar(proof, writer.mark(proof))}</div>',
        h.keys(
            [
                ("of", writer.told(*at, "subject")), ("found", found), ("wanted", wanted), ("margin", margin),
                ("decided in", stage_name(proof.stage)),
            ]
        ),
    ]  # fmt: skip
    if proof.verdict == "not shown":
        parts.append(h.text("h2", "What would decide it") + h.text("p", writer.sentence(*at, "decides")))
    if proof.remedy:
        parts.append(h.text("h2", "What would help") + h.text("p", writer.sentence(*at, "remedy")))
    basis = (*at, "basis")
    parts.append(h.text("h2", "How it was found") + h.text("p", writer.words(*basis, "formula")))
    parts.append(h.text("p", f"Source: {_source(writer, *basis, 'source', titles=titles)}"))
    parts.append(_inputs(writer, index, titles))
    if proof.basis.move is not None:
        where = writer.words(*basis, "move", "pass_id")
        parts.append(h.text("p", f"The move that decides: {ink.number(*basis, 'move', 'row', digits=0)} of {where}."))
    return "".join(part for part in parts if part)


def _inputs(writer: Writer, index: int, titles: dict[str, str]) -> str:
    """The inputs with their intervals, how well each is known and from where."""
    rows = []
    inputs = writer.plan.proofs[index].basis.inputs
    for name, fact in inputs.items():
        at = ("plan", "proofs", index, "basis", "inputs", name)
        named = writer.ink.words(*at[:-1], as_text=writer.names.short(name))
        source = _source(writer, *at, "source", titles=titles)
        rows.append([named, *_ends(writer, fact, *at), fact.strength, source])
    if not rows:
        return h.text("p", "No input beside what the formula names.")
    head = ["input", "lowest", "likely", "highest", "how well known", "from"]
    return h.table("What went in", head, rows, numeric={1, 2, 3})


def _ends(writer: Writer, fact: Fact, *at: str | int) -> list[str]:
    """The three numbers of a fact in the unit that people read; a ratio as a number, money in the shop's currency."""
    read = {"ratio": ""}.get(fact.unit, READ_AS.get(fact.unit, fact.unit))
    unit, as_is = read, fact.unit not in READ_AS or fact.unit == "ratio"
    unit = unit.replace("money", writer.shop.currency) if unit.startswith("money") else unit
    digits = digits_apart([fact.low, fact.nominal, fact.high], unit=unit, as_is=as_is)
    unit = NAMED_AS.get(unit, unit.translate(RAISED))
    return [
        writer.ink.number(*at, end, unit=unit, as_is=as_is, digits=digits) for end in ("low", "nominal", "high")
    ]  # fmt: skip


def _source(writer: Writer, *at: str | int, titles: dict[str, str]) -> str:
    """A source by its title, with the owner's own words behind it; the key as it stands where nobody knows it."""
    whole = str(writer.ink.at(*at))
    key, _, own = whole.partition(":")
    named = OWN_FILES.get(key) if key in OWNER_FILES else titles.get(key)
    said = titles.get(own.strip(), own.strip())
    text = f"{named or key}{f': {said}' if said else ''}"
    return writer.ink.words(*at, as_text=text)
