"""Test cuts in scrap: how each is set up, made, listened to and written down."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets import html_parts as h
from proveout.sheets.writer import Writer

TITLE = "Test cuts for chatter"
WHAT_FOR = (
    "What was measured here, if anything, does not say whether these cutters chatter. Each cut takes about two "
    "minutes, in scrap of the same bar, and tells for a block as stiff as that; thin walls and work that gives way are "
    "not tested by it. A cut that is left out stays not shown: then begin the pass itself at reduced depth, and listen."
)
GRIP = (
    "Close the vise on the scrap as that operation's setup sheet says, the scrap down on the jaw step and in the "
    "middle of the jaws: its grip was reckoned so, for the force of this cut. Nothing vouches for scrap that is "
    "longer, shorter, held less deep or off the middle, nor for a dirty bar."
)
HOWL = (
    "At a howl: hold the feed, lift straight up, and stop. Do not go on to hear more; a cut that chatters loads cutter "
    "and grip beyond what was reckoned."
)
CAUTIONS = (
    "Door closed, nobody in line with the cutter, one hand on the stop, coolant as in the pass.",
    GRIP,
    HOWL,
    "Never deeper than the last depth told, and never faster than the speed told.",
)
LISTEN = (
    "Quiet: a steady hum at the tooth frequency or whole multiples of it, and an even wall. Chatter: a howl at another "
    "pitch, which a sound meter that shows frequencies sets beside the multiples; waves or a checked pattern on the "
    "wall, which begin at one place along X. That place tells the depth."
)


WRITE_DOWN = (
    "Tick a box where the cut was quiet, cross it where it howled. Then write it into the shop file as [[test_cut]]: "
    "machine, cutter and alloy, stick_out_mm as it hung in its holder, speed_rpm, tooth_feed_mm and radial_mm as told "
    "here, quiet_mm the deepest depth with a tick, zero if none, howled_mm where it howled, left out where "
    "it never did, and the date. The next plan goes by it: a howl no deeper than a pass blocks release."
)


def _names(writer: Writer, index: int) -> tuple[str, str]:
    """Cutter and machine, and the pass that the cut stands for."""
    one = writer.plan.trial_cuts[index]
    operations = {clamping.id: writer.op(i) for i, clamping in enumerate(writer.plan.clampings)}
    place = next((i for i, p in enumerate(writer.plan.passes) if p.id == one.pass_id), None)
    cutter, machine = writer.shop_name("cutters", one.cutter_id), writer.shop_name("machines", one.machine_id)
    more = [f"held as in {operations[one.clamping_id]}"] if one.clamping_id in operations else []
    if place is not None:
        made = writer.plan.passes[place]
        where = ", ".join(filter(None, (operations.get(made.clamping_id), made.kind, writer.feature(place))))
        more.insert(0, f"for {where}")
    return f"{cutter}, {machine}", "; ".join(more)


def _set_up(writer: Writer, index: int) -> str:
    ink, at, one = writer.ink, ("plan", "trial_cuts", index), writer.plan.trial_cuts[index]
    text = (
        f"{ink.words(*at, 'cutter_id')} on {ink.words(*at, 'machine_id')}, in scrap of "
        f"{ink.words(*at, 'bar_id')}, sawn {ink.number(*at, 'scrap_mm', unit='mm', digits=0)} long within "
        f"{ink.number(*at, 'length_off_mm', unit='mm', digits=0)}, lying as the blank does, in the middle of the jaws "
        f"within {ink.number(*at, 'middle_off_mm', unit='mm', digits=0)}, "
        f"{ink.number(*at, 'grip_mm', unit='mm', digits=1)} deep in them, its top at most "
        f"{ink.number(*at, 'top_mm', unit='mm', digits=1)} above them; there the grip bears at least "
        f"{ink.number(*at, 'reserve_low', digits=2)} times the force of the cut. X zero is its left end, Z zero its "
        "top, Y zero "
    )
    text += "the middle of its width." if one.is_slot else "its front side, at the operator."
    if one.is_narrow:
        text += " Cut the front side clean first with a larger mill, to the last depth, and set Y zero on it."
    return text


def _tooth_feed(writer: Writer, index: int) -> str:
    """Feed of an edge in brackets, as the pass has it."""
    plan = writer.plan
    place = next((i for i, p in enumerate(plan.passes) if p.id == plan.trial_cuts[index].pass_id), None)
    if place is None:
        return ""
    told = writer.ink.number("plan", "passes", place, "tooth_feed_mm", unit="mm", digits=4)
    return f" (tooth_feed {told})"


def _way(writer: Writer, index: int) -> str:
    ink, at, one = writer.ink, ("plan", "trial_cuts", index), writer.plan.trial_cuts[index]
    start, ramp, end = (ink.number(*at, f"{name}_mm", digits=1) for name in ("start", "ramp", "end"))
    last = len(one.depths_mm) - 1
    text = (
        f"Spindle {ink.number(*at, 'speed_rad_per_s', unit='1/min', digits=0)}, feed "
        f"{ink.number(*at, 'feed_mm_per_s', unit='mm/min', digits=0)}{_tooth_feed(writer, index)}, width of cut "
        f"{ink.number(*at, 'radial_mm', unit='mm', digits=2)}; the hum of the teeth is at "
        f"{ink.number(*at, 'tooth_hz', unit='Hz', digits=0)}. Start at X {start}, Y "
        f"{ink.number(*at, 'y_mm', digits=2)}, Z at the top; feed to X {ramp}; from there evenly down to X "
        f"{ink.number(*at, 'x_mm', last, digits=1)} at a depth of {ink.number(*at, 'depths_mm', last, digits=2)}; on "
        f"level to X {end}; stop and lift. {ink.number(*at, 'cut_s', unit='min:s')} min at feed."
    )
    if not one.is_whole:
        deep = ink.number(*at, "pass_mm", unit="mm", digits=2)
        text += f" The pass goes {deep} deep: beyond the last depth told this cut decides nothing."
    return text


def trials_page(writer: Writer) -> dict[str, Any] | None:
    """The page of test cuts, with room to write; None for a plan without any."""
    plan, ink = writer.plan, writer.ink
    if not plan.trial_cuts:
        return None
    blocks: list[b.Block] = [b.para(WHAT_FOR), b.framed_lines(list(CAUTIONS)), b.para(LISTEN)]
    for index, one in enumerate(plan.trial_cuts):
        at = ("plan", "trial_cuts", index)
        title, more = _names(writer, index)
        row: list[list[b.Cell]] = [
            [
                b.strong(
                    f"{ink.number(*at, 'depths_mm', k, digits=2)} at X {ink.number(*at, 'x_mm', k, digits=1)}"
                )
                for k in range(len(one.depths_mm))
            ],
            [b.BOX] * len(one.depths_mm),
        ]  # fmt: skip
        columns = [("depth, mm" if k == 0 else "", "1fr", "c") for k in range(len(one.depths_mm))]
        blocks.append(
            b.together(
                [
                    b.heading(title, more=more), b.para(_set_up(writer, index)), b.para(_way(writer, index)),
                    b.table([*columns, ("who, date", "30", "c")], [[*row[0], ""], [*row[1], b.BOX]], tight=True),
                ]
            )
        )  # fmt: skip
    blocks.append(b.para(WRITE_DOWN))
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks)


def trials_html(writer: Writer) -> str:
    """The same on the page of the plan."""
    if not writer.plan.trial_cuts:
        return ""
    parts = [h.text("p", WHAT_FOR), h.points(list(CAUTIONS)), h.text("p", LISTEN)]
    ink = writer.ink
    for index, one in enumerate(writer.plan.trial_cuts):
        at = ("plan", "trial_cuts", index)
        title, more = _names(writer, index)
        marks = ", ".join(
            f"{ink.number(*at, 'depths_mm', k, digits=2)} at X {ink.number(*at, 'x_mm', k, digits=1)}"
            for k in range(len(one.depths_mm))
        )
        parts.append(h.text("h3", f"{title}, {more}"))
        parts.append(h.points([_set_up(writer, index), _way(writer, index), f"Depths along the way, mm: {marks}."]))
    return "".join([*parts, h.text("p", WRITE_DOWN)])
