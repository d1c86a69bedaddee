"""Orders to outside finishers: one page each, in the words that finishers ask for, to lie in the box with the lot."""

from __future__ import annotations

from typing import Any

from proveout.model.plan import NOT_KNOWN
from proveout.sheets import blocks as b
from proveout.sheets.asked_faces import asked_svg
from proveout.sheets.coat_map import coat_map, coat_marks
from proveout.sheets.marking_words import marking_block
from proveout.sheets.names import capital
from proveout.sheets.planned_days import stays
from proveout.sheets.svg import svg_width_mm
from proveout.sheets.writer import Writer

TITLE = "Order to a finisher"
MAP_TITLE = "Mask and rack map"
MARKING_TITLE = "Where it is marked"
MAP_MM = 180.0
MASKS = "Plug and mask"
NEXT_PAGE = "drawn on the next page"
NO_MAP = "No map of masks and rack points could be drawn: go by the numbers in words."
NO_RACK = "Ask before racking: nobody has said where the mark may lie."
NUMBERS = "Their numbers are in the drawing at the end of the plan's papers, which goes with this order."
FACES_MOST = 8  # more faces are not listed on a line
COUNT = "Pieces counted when they come and again when they leave; every piece set aside is told"
DO_NOT = "Do not strip and coat again without asking: the pieces come out off size."


def finisher_pages(writer: Writer) -> list[dict[str, Any]]:
    """One page for each order, and behind that for a coat its map; none for a plan that sends nothing out."""
    made: list[dict[str, Any]] = []
    for index, order in enumerate(writer.plan.finish_orders):
        made.append(order_page(writer, index))
        if order.thickness_mm is not None and writer.views is not None:
            made.append(map_page(writer, index))
    return made


def _marked(writer: Writer, index: int) -> list[b.Block]:
    """The part with the faces that are marked hatched; on a page of its own where the order leaves no room."""
    marked = {id for one in writer.plan.finish_orders[index].markings for id in one.face_ids}
    if not marked or writer.views is None:
        return []
    numbers = [note.balloon for note in writer.plan.survey.faces if note.face_id in marked]
    svg = asked_svg(writer.views, writer.plan.survey, numbers=numbers)
    alt = "Line drawing of the part; the faces that are marked are hatched and carry their numbers."
    wide = min(MAP_MM, svg_width_mm(svg))
    return [
        {"kind": "may-break", "title": MARKING_TITLE, "note": "Where it is marked is drawn on the next page."},
        b.heading(MARKING_TITLE),
        b.pictures(b.picture(svg=svg, alt=alt, width_mm=wide, caption="Hatched: marked here. Not to scale.")),
    ]


def map_page(writer: Writer, index: int) -> dict[str, Any]:
    """Where plugs, masks and racks go, in pictures; what is masked once more in words."""
    plan, order, at = writer.plan, writer.plan.finish_orders[index], ("plan", "finish_orders", index)
    assert writer.views is not None
    marks = coat_marks(
        survey=plan.survey, coated_faces=plan.finishing.coated_faces, rack_may=order.rack_may, rack_not=order.rack_not
    )
    drawn = coat_map(marks, survey=plan.survey, coated_faces=plan.finishing.coated_faces, views=writer.views)
    blocks: list[b.Block] = [
        b.pictures(b.picture(svg=drawn.svg, alt=drawn.alt, width_mm=MAP_MM, caption="Views are not to one scale."))
    ]
    if drawn.missing:
        words = writer.ink.words(
            *at, "rack_not", as_text=f"Shows in none of these views: {writer.names.faces(drawn.missing)}."
        )
        blocks.append(b.framed(words))
    blocks += [b.heading(MASKS), _masks(writer, index)]
    if not order.rack_may:
        blocks.append(b.framed(NO_RACK))
    return b.page(
        sheet=TITLE, title=f"{MAP_TITLE} - {writer.ink.words(*at, 'process')}", blocks=blocks, one_page=True
    )  # fmt: skip


def order_page(writer: Writer, index: int) -> dict[str, Any]:
    """The order itself."""
    order, at, ink = writer.plan.finish_orders[index], ("plan", "finish_orders", index), writer.ink
    process = ink.words(*at, "process")
    blocks: list[b.Block] = [
        b.keys(
            [
                ("part", ink.words(*at, "part")),
                ("revision", ink.words(*at, "revision")),
                ("pieces planned, spares too", ink.number(*at, "pieces_count", digits=0)),
                ("alloy", ink.words(*at, "alloy")),
            ],
            across=3,
            boxes=("exact count in the boxes", "boxes"),
        ),
        b.table([("asked for", "44", "l"), ("", "1fr", "l")], _asked(writer, index), tight=True),
    ]
    if order.lacks:
        said = "; ".join(ink.words(*at, "lacks", k) for k in range(len(order.lacks)))
        blocks.insert(0, b.framed(f"Not said yet, to be written in before this goes out: {said}."))
    if order.thickness_mm is not None:
        drawn = "" if writer.views is None else NEXT_PAGE
        blocks += [b.heading(MASKS, more=drawn), _masks(writer, index), *_care(writer, index), *_rack(writer, index)]
    else:
        blocks += marking_block(writer, index)
        if order.show:
            blocks += [b.heading("Faces that show"), b.para(f"{_faces(writer, index, 'show')} {NUMBERS}")]
    blocks += _readings(writer, index)
    ticks = [
        "One trial piece first: look at it, gauge it, then the lot",
        "A test piece of the same bar rides along and comes back",
    ]
    blocks += [
        b.ticks([*(ticks if order.thickness_mm is not None else ticks[:1]), COUNT]),
        *([b.para(DO_NOT)] if order.thickness_mm is not None else []),
        b.keys(
            [], across=4,
            boxes=("our order no.", "sent on, packed by", "whom to ring", "back to"),
        ),
        *_marked(writer, index),
    ]  # fmt: skip
    return b.page(sheet=TITLE, title=f"{TITLE} - {process}", blocks=blocks, one_page=True)


def _asked(writer: Writer, index: int) -> list[list[b.Cell]]:
    """The rows of what is asked for."""
    order, at, ink = writer.plan.finish_orders[index], ("plan", "finish_orders", index), writer.ink
    rows: list[list[b.Cell]] = [["process", b.strong(capital(ink.words(*at, "process")))]]
    if order.thickness_mm is not None and order.build_up_mm is not None:
        rows += [
            ["thickness of the coat", b.strong(ink.span(*at, "thickness_mm", unit="mm", digits=3))],
            ["build-up, each surface", b.strong(ink.span(*at, "build_up_mm", unit="mm", digits=3))],
            ["area to coat, a piece", ink.number(*at, "coated_area_mm2", unit="cm²", digits=0)],
            ["area to coat, all pieces planned", ink.number("derived", "lot_area_mm2", index, unit="dm²", digits=0)],
        ]
    rows.append(["the pieces come", ink.words(*at, "prior")])
    if order.thickness_mm is not None:
        for head, field in (("specification", "spec"), ("colour", "colour"), ("seal", "seal")):
            if getattr(order, field):
                rows.append([head, b.strong(ink.words(*at, field))])
        wanted = {True: "wanted", False: "not wanted", None: "not said yet"}[order.certificate]
        rows.append(["certificate", wanted])
    if order.same_load:
        parts = ", ".join(ink.words(*at, "same_load", k) for k in range(len(order.same_load)))
        rows.append(["one load, for shade, with", b.strong(parts)])
    away = [ink.number(*at, f"days_{end}", digits=0) for end in ("low", "high")]
    days = away[0] if away[0] == away[1] else " to ".join(away)
    planned = stays(writer, order.finisher_id)
    due = f"the whole order is wanted {ink.words(*at, 'due')}" if order.due else "no day said yet"
    rows.append(["working days away", days if planned else f"{days}; {due}"])
    rows += [["as planned", b.strong(words)] for words in planned]
    if order.after:
        rows.append(["then", ", ".join(ink.words(*at, "after", k) for k in range(len(order.after)))])
    return rows


def _faces(writer: Writer, index: int, field: str) -> str:
    """Faces by number, the largest first; of many the first and that there are more, where a map shows those."""
    order = writer.plan.finish_orders[index]
    ids: tuple[str, ...] = getattr(order, field)
    most = FACES_MOST if order.thickness_mm is not None and writer.views is not None else len(ids)
    named = writer.names.faces(ids[:most])
    more = " and others, see the map" if len(ids) > most else ""
    return f"{capital(writer.ink.words('plan', 'finish_orders', index, field, as_text=named))}{more}."


def _masks(writer: Writer, index: int) -> b.Block:
    """What is plugged and masked, in words."""
    order = writer.plan.finish_orders[index]
    if not order.masks:
        return b.para("Nothing: every surface takes the coat, holes too.")
    return b.points([writer.sentence("plan", "finish_orders", index, "masks", k) for k in range(len(order.masks))])


def _care(writer: Writer, index: int) -> list[b.Block]:
    order, at = writer.plan.finish_orders[index], ("plan", "finish_orders", index)
    if not order.watch:
        return []
    return [
        b.heading("Take care of"), b.points([writer.sentence(*at, "watch", k) for k in range(len(order.watch))])
    ]  # fmt: skip


def _rack(writer: Writer, index: int) -> list[b.Block]:
    order = writer.plan.finish_orders[index]
    rows: list[list[b.Cell]] = []
    for head, field, mark, none in (
        ("may hold by", "rack_may", "ringed", NO_RACK),
        ("may not touch", "rack_not", "hatched", "Nothing named."),
        ("faces that show", "show", "", "Not said yet."),
    ):
        drawn = f"What is {mark} on the drawing: " if mark and writer.views is not None else ""
        words = _faces(writer, index, field) if getattr(order, field) else none
        rows.append([b.strong(head), f"{drawn}{words[:1].lower()}{words[1:]}" if drawn and words != none else words])
    drawn = NO_MAP if writer.views is None else NEXT_PAGE
    return [
        b.heading("Rack", more=drawn),
        b.table([("", "44", "l"), ("by number", "1fr", "l")], rows, tight=True),
    ]


def _readings(writer: Writer, index: int) -> list[b.Block]:
    """Sizes measured before the pieces go and when they are back, with boxes for both."""
    order, ink = writer.plan.finish_orders[index], writer.ink
    rows: list[list[b.Cell]] = []
    for k, reading in enumerate(order.readings):
        at = ("plan", "finish_orders", index, "readings", k)
        ends = {
            stage: " – ".join(ink.number(*at, f"{stage}_{end}_mm", digits=3) for end in ("low", "high"))
            for stage in (("before", "finished") if reading.is_decided else ("finished",))
        }
        size = f"{ink.number(*at, 'balloon', digits=0)}: {writer.words(*at, 'text')}"
        rows.append([b.strong(size), ends.get("before", NOT_KNOWN), b.BOX, ends["finished"], b.BOX])
    if not rows:
        return []
    heads = [("size", "1fr", "l"), ("before the coat, mm", "40", "r"), ("read", "26", "c")]
    return [
        b.heading("Close sizes, read before and after"),
        b.table([*heads, ("after it, mm", "40", "r"), ("read", "26", "c")], rows),
    ]
