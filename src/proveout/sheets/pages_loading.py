"""The loading card of one operation, for the machine's door: RIGHT, every WRONG that seats, and what tells them."""

from __future__ import annotations

from typing import Any

from proveout.model.loading import Loading
from proveout.sheets import blocks as b
from proveout.sheets.loading_picture import as_bare, drawn_looks, ringed, wrong_name, wrong_picture
from proveout.sheets.picture import ClampingDrawings, Picture
from proveout.sheets.svg import picture_svg
from proveout.sheets.writer import Writer
from proveout.stages.loading.naming import turn_words

RIGHT_MM, WRONG_MM, WRONG_SMALL_MM = (98.0, 58.0), (57.0, 37.0), (57.0, 31.0)  # the last on a card short of room
A_ROW = 3
NAMED_MAX = 5
"""Kinds of piece that no picture shows and that are named all the same; what nothing tells is always named."""
OTHERS = "Also wrong, not drawn"
HARDEST = "Each as it is hardest to tell; its other ways are counted."
OTHER_HEADS: tuple[str, ...] = ("piece", "how it lies", "where to look: so much looks different", "other ways")
ALIKE = (" of it look different", "look ")  # what the head of the column says already
TOUCH_WORDS = {(0, 1): "to the right", (0, -1): "to the left", (1, 1): "away from you", (1, -1): "towards you"}
WIPE = (
    "Wipe the seat, both jaws and the stop; blow out the corners. Wipe the work where it touches them.",
    "Push it to the stop, tap it down, close to the torque.",
)


BEHIND = (
    "Drawn as in front of the middle jaw. Behind it all lies turned half round, its stop at the right: there the "
    "pictures show what is seen from behind the table."
)


def loading_place(writer: Writer, index: int) -> int | None:
    """Place in the plan of what was found for a clamping; None for a plan that does not say."""
    name = writer.plan.clampings[index].id
    return next((i for i, one in enumerate(writer.plan.loading) if one.clamping_id == name), None)


def loading_page(writer: Writer, index: int, *, torque: str) -> dict[str, Any] | None:
    """One card on one page; None where nothing was found out. torque: of the vise, in print."""
    place = loading_place(writer, index)
    if place is None:
        return None
    loading = writer.plan.loading[place]
    right, wrong = loading_pictures(writer, index, place)
    drawn = drawn_looks(loading)
    blocks: list[b.Block] = [
        b.beside(
            [
                b.lead("RIGHT: so, and no other way."),
                *([] if index == 0 else [b.para(from_before_words(writer, index))]),
                *(b.para(text) for text in behind_words(writer, index)),
                b.para(writer.sentence("plan", "clampings", index, "seat_text")),
                b.para(WIPE[0]),
                b.para(WIPE[1]),
                b.keys([("clamp torque", torque)], across=2),
            ],
            svg=_svg(right, RIGHT_MM, f"lr{index}"), alt=right.alt, width_mm=RIGHT_MM[0],
        ),
        b.framed(verdict_words(writer, place)),
        *_touch_blocks(writer, place, loading),
    ]  # fmt: skip
    if wrong:
        blocks.append(b.heading("WRONG: the jaws take it all the same", more="A dashed ring is where to look."))
    for first in range(0, len(wrong), A_ROW):
        row = wrong[first : first + A_ROW]
        shown = [
            [
                b.picture(
                    svg=_svg(one, size, f"lw{mark}{index}-{first + k}"), alt=one.alt, width_mm=size[0],
                    caption=f"WRONG {'ABCDEF'[first + k]}: {caption_words(writer, place, drawn[first + k])}",
                )
                for k, one in enumerate(row)
            ]
            for size, mark in ((WRONG_MM, ""), (WRONG_SMALL_MM, "s"))
        ]  # fmt: skip
        blocks.append(b.pictures(*shown[0], small=shown[1]))
    blocks.append(b.para(tried_words(writer, place)))
    title = f"Loading card - {writer.op(index)}"
    others = _other_blocks(writer, place)
    if others:
        note = "More wrong loads, not drawn, stand on the next page."
        blocks += [{"kind": "may-break", "title": f"{title}, more wrong loads", "note": note}, *others]
    machine = writer.shop_name("machines", writer.plan.clampings[index].machine_id)
    return b.page(sheet=title, title=f"{title}, {machine}", blocks=blocks, one_page=True)


def from_before_words(writer: Writer, index: int) -> str:
    """How the work is turned from as it lay in the operation before."""
    before, now = writer.plan.clampings[index - 1].frame.turn, writer.plan.clampings[index].frame.turn
    return f"From as it lay in {writer.op(index - 1)}: {turn_words(now @ before.T)}."


def behind_words(writer: Writer, index: int) -> list[str]:
    """Where one of the places lies behind a middle jaw: the pictures are of those in front."""
    at = writer.plan.load_of(writer.plan.clampings[index].id)
    laid = () if at is None else writer.plan.table_loads[at].laid
    name = writer.plan.clampings[index].id
    if not any(one.place.is_turned and one.clamping_id == name for one in laid):
        return []
    return [BEHIND]


def loading_pictures(writer: Writer, index: int, place: int) -> tuple[Picture, list[Picture]]:
    """RIGHT, with a ring where the wrong load that is hardest to tell differs, and the drawn wrong ones."""
    plan, clamping, loading = writer.plan, writer.plan.clampings[index], writer.plan.loading[place]
    right, _ = writer.pictures(index)
    if loading.looks:
        right = ringed(right, clamping, loading.wrong[loading.looks[0].loads[0]])
    wrong = []
    for at in drawn_looks(loading):
        drawn = writer.drawings.get(wrong_name(clamping.id, at), ClampingDrawings())
        look = loading.looks[at]
        wrong.append(
            wrong_picture(
                plan=plan, shop=writer.shop, clamping=clamping, load=loading.wrong[look.loads[0]],
                drawing=drawn.operator, title=writer.words("plan", "loading", place, "looks", at, "title"),
            )
        )  # fmt: skip
    return as_bare(right), wrong


def caption_words(writer: Writer, place: int, look: int) -> str:
    """What a wrong load is, and what to look for."""
    at = ("plan", "loading", place, "looks", look)
    return f"{writer.words(*at, 'title')}. {writer.sentence(*at, 'words')}"


def other_rows(writer: Writer, place: int) -> tuple[list[list[str]], int]:
    """What no picture shows, by body: the way that is hardest to tell, where to look, how many ways more.

    Of many bodies those that are easiest to see are only counted.
    Returns:  a row for each body, under OTHER_HEADS, and how many kinds of body have none.
    """
    loading = writer.plan.loading[place]
    by_body: dict[str, list[int]] = {}
    for at in sorted(set(range(len(loading.looks))) - set(drawn_looks(loading))):
        first = loading.looks[at].loads[0]
        by_body.setdefault(f"{loading.wrong[first].what} {loading.wrong[first].part}".strip(), []).append(at)
    rows: list[list[str]] = []
    left_count = 0
    for body, own in by_body.items():
        is_seen = all(loading.wrong[loading.looks[at].loads[0]].caught_by in ("touch", "look") for at in own)
        if len(rows) >= NAMED_MAX and is_seen:
            left_count += 1
            continue
        at = ("plan", "loading", place, "looks", own[0])
        piece = writer.names.short(body)
        how = writer.words(*at, "title").removeprefix(piece).removeprefix(", ")
        where = writer.words(*at, "words").removesuffix(ALIKE[0]).removeprefix(ALIKE[1])
        rows.append([piece, how, where, str(len(own) - 1) if own[1:] else "-"])
    return rows, left_count


def hardest_words(left_count: int) -> str:
    """What the rows of `other_rows` are; left_count: kinds of piece that have none."""
    return f"{HARDEST} {left_count} more kinds of piece are easier to see." if left_count else HARDEST


def tried_words(writer: Writer, place: int) -> str:
    """Whose pieces were laid into the jaws beside those of the part itself."""
    loading = writer.plan.loading[place]
    if not writer.plan.is_of_order:
        return "Pieces of other parts were not looked at: keep them away from here."
    tried, untried = (", ".join(names) for names in (loading.others_tried, loading.others_untried))
    how = " How they lie is told from as they lie in their own Op 1."
    words = f"Looked at too: blanks, half-made and finished pieces of {tried}.{how}" if tried else ""
    more = f"NOT looked at: half-made pieces of {untried}. Keep them away from here." if untried else ""
    return " ".join(filter(None, [words, more])) or "The order has no other part."


def verdict_words(writer: Writer, place: int) -> str:
    """What stands between a wrong load and the cutter."""
    loading = writer.plan.loading[place]
    if loading.decided_by == "nothing":
        return f"NOT PROVED. {writer.sentence('plan', 'loading', place, 'remedy')}"
    if loading.decided_by == "the jaws":
        return "Jaws and stop take nothing that would be cut wrongly."
    escaping = [one for one in loading.wrong if one.caught_by == "none"]
    apart = " Nothing tells a left-hand piece: keep them away from here." if escaping else ""
    if loading.decided_by == "the mark":
        marked = f"MARK: {writer.sentence('plan', 'loading', place, 'mark')} "
        words = "No mark in its place: do not clamp. Nothing else tells some of these apart."
        touch = " Touch as below as well." if loading.touches else ""
        return marked + words + touch + apart
    if loading.decided_by == "the card":
        words = "No probe looks at it: only you can tell. Hold every piece against this card before you close the vise."
        return words + apart
    by_eye = sum(one.caught_by == "look" for one in loading.wrong)
    card = " Hold it against this card as well: the touches do not tell all." if by_eye else ""
    return (
        "Touch as below at EVERY load, before the first cut: the program does not do it. Go down slowly. A touch "
        "before the start, none where one is due, or a reading outside is an alarm: open the vise, look, load again."
        f"{card}{apart}"
    )


def touch_rows(writer: Writer, place: int) -> list[list[str]]:
    """Each touch: where from, which way, what it reads rightly, and how far off is an alarm."""
    ink = writer.ink
    rows = []
    for k, touch in enumerate(writer.plan.loading[place].touches):
        at = ("plan", "loading", place, "touches", k)
        x, y, z = (ink.number(*at, "from_mm", axis, digits=1) for axis in range(3))
        axis = next(axis for axis in range(3) if touch.direction[axis] != 0.0)
        way = "down" if axis == 2 else TOUCH_WORDS[(axis, round(touch.direction[axis]))]
        low, high = (ink.number(*at, f"expect_{end}_mm", digits=2) for end in ("low", "high"))
        reads = low if low == high else f"{low} to {high}"
        reads = f"nothing down to Z {low}" if touch.is_air else f"{'XYZ'[axis]} {reads}"
        rows.append([f"X {x}  Y {y}  Z {z}", way, reads, f"± {ink.number(*at, 'alarm_mm', digits=2)}"])
    return rows


def _other_blocks(writer: Writer, place: int) -> list[b.Block]:
    rows, left_count = other_rows(writer, place)
    if not rows:
        return []
    widths, align = ("62", "42", "1fr", "19"), "lllr"
    columns = list(zip(OTHER_HEADS, widths, align, strict=True))
    return [
        b.heading(OTHERS, more=hardest_words(left_count)),
        b.table(columns, [list[b.Cell](row) for row in rows], tight=True),
    ]


def _touch_blocks(writer: Writer, place: int, loading: Loading) -> list[b.Block]:
    if not loading.touches:
        return []
    rows: list[list[b.Cell]] = [
        [from_, way, b.strong(reads), alarm] for from_, way, reads, alarm in touch_rows(writer, place)
    ]
    columns = [
        ("ball starts at, mm", "1fr", "l"),
        ("goes", "30", "l"),
        ("rightly reads, mm", "48", "l"),
        ("alarm, mm", "20", "r"),
    ]
    return [
        b.heading(
            "Touch at each load", more="From the work zero. Down reads the ball's underside, sideways its middle."
        ),
        b.table(columns, rows, tight=True),
    ]


def _svg(picture: Picture, size_mm: tuple[float, float], ids: str) -> str:
    return picture_svg(picture, width_mm=size_mm[0], height_mm=size_mm[1], ids=ids, margin_mm=2.5)
