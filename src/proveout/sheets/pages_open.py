"""Pages to be read before release: proofs weakest first, cautions and open points, faces and holes by number."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.cautions import BANNER, plan_cautions
from proveout.sheets.names import shape_words
from proveout.sheets.numbered import numbered_svgs
from proveout.sheets.writer import CONCERNS, NOT_CUT, NOT_REACHED, YES, Writer

ROW_MM = 180.0  # the width between the margins
TALLEST_MM = 215.0  # a picture on a page of its own, its caption below


def proofs_page(writer: Writer) -> dict[str, Any]:
    """Every proof, weakest first, each with its limit mark: open ones in full, those that hold on one line each."""
    rows, held = [], []
    for index, proof in writer.weakest():
        mark = writer.mark(proof)
        at = ("plan", "proofs", index)
        row = {
            "claim": writer.title(*at, "claim"),
            "subject": writer.told(*at, "subject"),
            "verdict": proof.verdict,
            "best": mark.best_ratio or 0.0,
            "worst": 1.0 if mark.worst_ratio is None else mark.worst_ratio,
            "has_bar": proof.unit != YES,
        }
        if proof.verdict == "holds":
            found, wanted = writer.found_parts(index)
            held.append({**row, "found": found, "wanted": wanted})
            continue
        todo = ""
        if proof.verdict == "not shown":
            todo = f"To decide it: {writer.words(*at, 'decides').rstrip('.')}."
        elif proof.remedy:
            todo = f"What would help: {writer.words(*at, 'remedy').rstrip('.')}."
        rows.append(
            {
                **row,
                "found": writer.found(index),
                "dashed": proof.verdict == "not shown",
                "blocks": "blocks release" if proof.blocks_release else "",
                "todo": todo,
            }
        )
    blocks: list[b.Block] = [
        b.para(
            "Each bar runs towards its limit, the upright stroke. It holds when the bar stops short of it and fails "
            "when it crosses. The open end of a bar is the spread of what was found. A dashed empty bar is not shown: "
            "something must be measured first."
        ),
    ]
    if rows:
        blocks += [b.heading("To be settled"), {"kind": "proofs", "rows": rows}]
    if held:
        blocks += [b.heading("Holds"), {"kind": "held", "rows": held}]
    return b.page(sheet="Proofs, weakest first", title="Proofs, weakest first", blocks=blocks)


def cautions_page(writer: Writer) -> dict[str, Any]:
    """Cautions, open questions, warnings, what is not cut, and everything that was assumed."""
    plan = writer.plan
    cautions = plan_cautions(plan=plan, shop=writer.shop)
    blocks: list[b.Block] = [b.framed(BANNER), b.heading("Cautions"), b.points(list(cautions))]
    if plan.questions:
        blocks.append(b.heading("Questions that only the owner can answer"))
        blocks.append(
            b.points(
                [
                    " ".join(writer.sentence("plan", "questions", i, field) for field in ("text", "would_change"))
                    for i in range(len(plan.questions))
                ]
            )
        )
    if plan.concerns:
        said = [" ".join(writer.concern(i)) for i in range(len(plan.concerns))]
        blocks += [b.heading("Concerns for the designer", more=CONCERNS), b.points(said)]
    if plan.not_cut:
        blocks += [b.heading(NOT_CUT), b.points(writer.not_cut())]
    not_reached = writer.not_reached()
    if not_reached:
        blocks += [b.heading(NOT_REACHED), b.points(not_reached)]
    lines = [writer.sentence("plan", "warnings", i) for i in range(len(plan.warnings))]
    if lines:
        blocks += [b.heading("Noticed on reading"), b.points(lines)]
    assumed = [writer.sentence("plan", "assumed", i) for i in range(len(plan.assumed))]
    if assumed:
        blocks += [b.heading("Assumed, because nobody has said otherwise"), b.points(assumed)]
    return b.page(sheet="Cautions and open points", title="Cautions and open points", blocks=blocks)


def _shape(writer: Writer, id: str, *at: str | int) -> str:
    """What a face or hole is part of, with its size, and its own shape and place."""
    features = writer.plan.survey.features
    homes = [i for i, f in enumerate(features) if f.hole_id == id and f.kind in ("hole", "thread")]
    place = writer.names.feature_of.get(id, max(homes, key=lambda i: features[i].kind, default=None))
    shape = shape_words(id)
    shape = shape if place is None or ", mouth" not in shape else shape[shape.index("mouth") :]
    own = writer.ink.words(*at, as_text=shape)
    return own if place is None else f"{writer.ink.words('plan', 'survey', 'features', place, 'name')}; {own}"


def numbers_pages(writer: Writer) -> list[dict[str, Any]]:
    """Where the faces and holes are that the papers name by number; nothing when they name none."""
    plan = writer.plan
    named: list[int] = []
    rows: list[list[b.Cell]] = []
    for i, note in enumerate(plan.survey.faces):
        if note.face_id in writer.names.used:
            at = ("plan", "survey", "faces", i)
            named.append(note.balloon)
            rows.append(
                [
                    b.strong(f"face {writer.ink.number(*at, 'balloon', digits=0)}"),
                    _shape(writer, note.face_id, *at, "face_id"),
                    writer.ink.number(*at, "area_mm2", digits=0),
                ]
            )
    for i, hole in enumerate(plan.survey.holes):
        if hole.id in writer.names.used:
            at = ("plan", "survey", "holes", i)
            named.append(hole.balloon)
            rows.append(
                [
                    b.strong(f"hole {writer.ink.number(*at, 'balloon', digits=0)}"),
                    _shape(writer, hole.id, *at, "id"),
                    "",
                ]
            )
    if not rows:
        return []
    title = "Faces and holes by number"
    pages: list[dict[str, Any]] = []
    if writer.views is not None:
        alt = "Views of the finished part; each face and hole named on these papers carries its number."
        caption = "Named on these papers, by number. Views are not to one scale."
        for svg in _numbered(writer, frozenset(named)):
            drawn = b.pictures(b.picture(svg=svg, alt=alt, width_mm=ROW_MM, caption=caption))
            pages.append(b.page(sheet=title, title=title, blocks=[drawn]))
    columns = [("number", "24", "l"), ("kind, size and place in the frame of the solid, mm", "1fr", "l")]
    listed = b.table([*columns, ("area, mm²", "24", "r")], rows, tight=True)
    return [*pages, b.page(sheet=title, title=f"{title}, in words" if pages else title, blocks=[listed])]


def _numbered(writer: Writer, named: frozenset[int]) -> list[str]:
    """The numbered drawing of what these papers name, a picture a page."""
    views = writer.views
    assert views is not None
    return numbered_svgs(
        views.solid,
        writer.plan.survey,
        drawings=views.drawings,
        only=named,
        column_mm=ROW_MM / 2.0,
        row_mm=ROW_MM * 0.35,
        is_headed=False,
        height_mm=TALLEST_MM,
    )
