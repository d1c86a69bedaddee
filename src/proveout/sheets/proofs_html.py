"""Proofs as ruled lines with their limit marks, weakest first, and one proof in full."""

from __future__ import annotations

from html import escape

from proveout.sheets import html_parts as h
from proveout.sheets.names import STAGES
from proveout.sheets.writer import Writer


def proof_row(writer: Writer, index: int, *, href: str = "") -> str:
    """One proof as a line of a list.   href: address of its own page, if it has one."""
    proof, at = writer.plan.proofs[index], ("plan", "proofs", index)
    more = [f"{STAGES.get(proof.stage.replace(' ', '_'), proof.stage)}: {writer.found(index)}."]
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


def proofs_html(writer: Writer) -> str:
    """Three groups, each weakest first: what stops release, what is open beside it, and folded away what holds."""
    groups: dict[str, list[str]] = {"must": [], "open": [], "holds": []}
    for index, proof in writer.weakest():
        group = "holds" if proof.verdict == "holds" else "must" if proof.blocks_release else "open"
        groups[group].append(proof_row(writer, index))
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
