"""The setup sheet of one operation: how the work lies, what holds it, its cautions, zero, cutters, passes."""

from __future__ import annotations

from typing import Any

from proveout.model.fact import Fact
from proveout.model.plan import taken_out
from proveout.quantities.units import N_MM_PER_N_M
from proveout.sheets import blocks as b
from proveout.sheets.cautions import UNDER
from proveout.sheets.ink import digits_whole
from proveout.sheets.jaw_words import pocket_words
from proveout.sheets.names import digest_words
from proveout.sheets.pages_places import alone_words, cycle_words, places_words, zero_rows
from proveout.sheets.svg import end_svg, natural_width_mm, picture_svg
from proveout.sheets.turned_words import facing_words
from proveout.sheets.writer import Writer
from proveout.stages.holding.gripping import RESERVE_MAX

OPERATOR_MM, OPERATOR_SMALL_MM = (112.0, 66.0), (76.0, 50.0)
END_MOST_MM = 84.0
ROW_MM, GUTTER_MM, KEYS_MM = 180.0, 4.0, 36.0  # a row of pictures; keys stand beside small ones
BEFORE_CUTTING = (
    "First cut at reduced depth, door closed, nobody in line with the cutter plane. This sheet vouches for no set-up."
)
MEASURED = "measured here"
LOOSE_LINES_MAX = 3
TORQUE_DIGITS_MOST = 3


def _closed_at(writer: Writer, index: int) -> int | None:
    """Place in the plan of how hard this clamping's vise is closed; None for a plan that does not say."""
    name = writer.plan.clampings[index].id
    return next((i for i, one in enumerate(writer.plan.clamp_forces) if one.clamping_id == name), None)


def _torque(writer: Writer, index: int) -> tuple[str, str]:
    """Clamp torque and jaw force of this clamping in print, "not known" where the shop has none."""
    ink, place = writer.ink, _closed_at(writer, index)
    at = writer.place("vises", writer.plan.clampings[index].vise_id)
    if place is not None:
        one, path, name = writer.plan.clamp_forces[place], ("plan", "clamp_forces", place), "force_n"
        torque_n_mm, force_n = one.torque_n_mm, one.force_n
        least = 0 if one.ratio == 1.0 else 1
    elif at is not None:
        vise, path, name = writer.shop.vises[at], ("shop", "vises", at), "preload_n"
        torque_n_mm, force_n, least = vise.torque_n_mm, vise.preload_n, 0
    else:
        return "not known", "not known"
    torque, force = "not known", "not known"
    if torque_n_mm is not None:
        torque = ink.number(*path, "torque_n_mm", unit="N m", digits=torque_digits(torque_n_mm, least=least))
    if force_n is not None:
        force = ink.span(*path, name, unit="kN", digits=1)
    return torque, force


def torque_digits(torque_n_mm: float, *, least: int) -> int:
    """Decimals, at least so many, with which a torque is printed as it was proved: rounded it would be another one."""
    torque = torque_n_mm / N_MM_PER_N_M
    exact = (d for d in range(least, TORQUE_DIGITS_MOST) if abs(round(torque, d) - torque) < 1e-6)
    return next(exact, TORQUE_DIGITS_MOST)


def torque_words(writer: Writer, index: int) -> str:
    """Clamp torque of this clamping in print."""
    return _torque(writer, index)[0]


def _closing_words(writer: Writer, index: int) -> str:
    """How hard to close the vise of this clamping, in one sentence; it says so when that is softer than usual."""
    torque, force = _torque(writer, index)
    if torque == force == "not known":
        return "How hard to close the vise is NOT KNOWN."
    at_jaws = "force at the jaws not known" if force == "not known" else f"{force} at the jaws"
    text = f"Close the vise with {torque} ({at_jaws})" if torque != "not known" else f"Close the vise to {at_jaws}"
    place, vise = _closed_at(writer, index), writer.place("vises", writer.plan.clampings[index].vise_id)
    if vise is not None and writer.shop.vises[vise].is_hand_tight:
        return f"Close the vise by hand as always ({at_jaws}): without a torque wrench nobody knows it closer."
    is_softer = place is not None and writer.plan.clamp_forces[place].ratio < 1.0
    return f"{text}{', softer than usual: the jaws would crush the work' if is_softer else ''}."


def _standing(fact: Fact) -> str:
    """Whether a figure was measured in this shop; everything else is an assumption to whoever stands before it."""
    return "measured here" if fact.strength == MEASURED else "assumed"


def _holding_words(writer: Writer, index: int) -> str:
    """What the holding rests on, and how far the weakest grip proof of the clamping is from its limit."""
    clamping, ink = writer.plan.clampings[index], writer.ink
    jaws, vise = writer.place("jaws", clamping.jaws_id), writer.place("vises", clamping.vise_id)
    friction = None if jaws is None else writer.shop.jaws[jaws].friction_ratio
    if friction is None:
        words = ["Holding: the friction of these jaws is NOT KNOWN"]
    else:
        span = ink.span("shop", "jaws", jaws, "friction_ratio", digits=2)  # type: ignore[arg-type]
        words = [f"Holding: friction {span} is {_standing(friction)}"]
    place = _closed_at(writer, index)
    preload = None if vise is None else writer.shop.vises[vise].preload_n
    preload = preload if place is None else writer.plan.clamp_forces[place].force_n
    words.append("the jaw force is NOT KNOWN" if preload is None else f"the jaw force is {_standing(preload)}")
    text = ", ".join(words) + "."
    grip = writer.grip_proof(clamping.id)
    if grip is not None:
        proof, at = writer.plan.proofs[grip], ("plan", "proofs", grip)
        shown = proof.verdict if proof.verdict == "holds" else proof.verdict.upper()
        text += " Grip at its hardest pass: "
        if proof.found_low is None or proof.found_high is None or proof.limit is None:
            text += f"nothing could be reckoned: {shown}."
        else:
            low, high = (ink.number(*at, f"found_{end}", digits=2) for end in ("low", "high"))
            wanted = f"{proof.sense} {ink.number(*at, 'limit', digits=1)}"
            if proof.found_high >= RESERVE_MAX:
                high = f"{ink.number(*at, 'found_high', digits=0)} or more"
            text += f"{low} to {high} times the cutting force, wanted {wanted}: {shown}."
    return text


def caution_lines(writer: Writer, index: int) -> list[str]:
    """The few cautions that belong beside the machine, holding first; none of them vouches for the set-up."""
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    jaws = writer.place("jaws", clamping.jaws_id)
    toothed = jaws is not None and writer.shop.jaws[jaws].kind == "toothed"
    seated = "work seated and bitten" if toothed else "work seated without a gap, held by both jaws"
    lines = [
        _holding_words(writer, index),
        f"{_closing_words(writer, index)} Check the jaw force on the vise's torque chart; {seated}. {BEFORE_CUTTING}",
    ]
    program = next((i for i, one in enumerate(plan.programs) if one.clamping_id == clamping.id), None)
    if program is not None:
        file = ink.words("plan", "programs", program, "file")
        mark = ink.words(
            "plan", "programs", program, "fingerprint", as_text=digest_words(plan.programs[program].fingerprint)
        )
        lines.append(
            f"Program {file}, fingerprint {mark}: one that was edited has another.{places_words(writer, index)} Each H "
            "holds the length of the cutter in the pocket of its number; check the lengths and the zero before the "
            "first start."
        )
    if clamping.is_tilted:
        lift = ink.number("derived", "clampings", clamping.id, "lift_mm", unit="mm", digits=0)
        lines.append(
            "Tilts: signs and centres of A and C differ between machines. Measure the rotation centre first, then run "
            f"every tilt dry, block by block with rapids slowed and the zero lifted by {lift}, watching table, vise "
            "and holder at each turn."
        )
    if clamping.removes_grip:
        lines.append(
            "The strip held before is cut away here: pieces can come loose. Look under the work before each start."
        )
    under = sorted({p.cutter_id for p in plan.passes if p.clamping_id == clamping.id and p.kind == "undercut"})
    if under:
        names = ", ".join(writer.shop_name("cutters", cutter_id) for cutter_id in under)
        lines.append(f"{names}: {UNDER}")
    alone = alone_words(writer, index)
    lines += [alone] if alone else []
    lines += _loose_lines(writer, clamping.id)
    return lines


def _loose_lines(writer: Writer, clamping_id: str) -> list[str]:
    """Each slug or window with the pass that sets it free, and to stop before it."""
    plan, ink = writer.plan, writer.ink
    lines: list[str] = []
    for index, one in enumerate(plan.removal.loose):
        if one.clamping_id != clamping_id or len(lines) >= LOOSE_LINES_MAX:
            continue
        at = ("plan", "removal", "loose", index)
        size = " x ".join(ink.number(*at, "size_mm", i, digits=1) for i in range(3))
        x, y, z = (ink.number(*at, "at_mm", i, digits=1) for i in range(3))
        place = next(i for i, p in enumerate(plan.passes) if p.id == one.pass_id)
        lines.append(
            f"In {plan.passes[place].kind}, {writer.feature(place)}, a piece of {size} mm comes loose at X {x} Y {y} "
            f"Z {z}: stop before that pass; the cutter catches a loose piece and throws it."
        )
    return lines


def _zero_table(writer: Writer, index: int) -> b.Block:
    """Boxes for the zero as measured; on a machine with rotary axes also the rotation centre, assumed and measured."""
    ink = writer.ink
    clamping = writer.plan.clampings[index]
    places = zero_rows(writer, index)
    rows: list[list[b.Cell]] = places or [[b.strong("work zero, measured"), b.BOX, b.BOX, b.BOX, b.BOX]]
    rotary = writer.rotary(clamping)
    if rotary is not None:
        at = writer.place("machines", clamping.machine_id)
        base = ("shop", "machines", at, "rotary")
        pivot: list[b.Cell] = ["not known"] * 3
        if rotary.pivot_in_machine_mm is not None:
            pivot = [
                b.strong(ink.number(*base, "pivot_in_machine_mm", i, digits=3))  # type: ignore[arg-type]
                for i in range(3)
            ]
        wrong = "error not known"
        if rotary.pivot_error_mm is not None:
            wrong = f"error up to {ink.number(*base, 'pivot_error_mm', 'high', unit='mm', digits=3)}"  # type: ignore[arg-type]
        rows += [
            ["rotation centre, assumed", *pivot, b.small(wrong)],
            [b.strong("rotation centre, measured"), b.BOX, b.BOX, b.BOX, b.BOX],
        ]
    columns = [("", "52", "l"), ("X", "1fr", "c"), ("Y", "1fr", "c"), ("Z", "1fr", "c"), ("who, when", "34", "c")]
    return b.table(columns, rows, tight=True)


def _to_load(writer: Writer, index: int) -> str:
    """Which pockets are to be filled and what comes out of them, where somebody wrote what stands in the changer."""
    clamping, ink = writer.plan.clampings[index], writer.ink
    place = writer.place("machines", clamping.machine_id)
    stands = () if place is None else writer.shop.machines[place].changer
    if not any(stands):
        return ""
    pockets = writer.derived.pockets.get(clamping.machine_id, {})
    used = {writer.plan.passes[at].cutter_id for at in writer.passes_of(clamping.id)}
    new = sorted((id for id in used if id not in stands), key=lambda id: pockets[id])
    if not new:
        return "By the shop file they stand in the changer: check each one."
    at = ("derived", "pockets", clamping.machine_id)
    numbers = [ink.number(*at, id, digits=0) for id in new]
    said = [f"Load and measure: {'pocket' if len(new) == 1 else 'pockets'} {', '.join(numbers)}."]
    out = taken_out(stands, {id: pockets[id] for id in new})
    said += [
        f"Takes out {writer.shop_name('cutters', out[id])} from pocket {ink.number(*at, id, digits=0)}; put it back "
        "after and measure it anew."
        for id in new
        if id in out
    ]
    if len(new) < len(used):
        said.append("By the shop file the others stand in the changer: check each one.")
    return " ".join(said)


def _cutter_rows(writer: Writer, index: int) -> list[dict[str, str]]:
    clamping, ink = writer.plan.clampings[index], writer.ink
    pockets = writer.derived.pockets.get(clamping.machine_id, {})
    used: list[str] = []
    for place in writer.passes_of(clamping.id):
        if writer.plan.passes[place].cutter_id not in used:
            used.append(writer.plan.passes[place].cutter_id)
    rows: list[dict[str, str]] = []
    for cutter_id in sorted(used, key=lambda id: pockets[id]):
        at = writer.place("cutters", cutter_id)
        pocket = ink.number("derived", "pockets", clamping.machine_id, cutter_id, digits=0)
        if at is None:
            rows.append({"pocket": pocket, "name": cutter_id, "diameter": "", "life": "-", "stick_out": ""})
            continue
        path = ("shop", "cutters", at)
        known = writer.shop.cutters[at].life_s is not None
        digits = digits_whole(writer.shop.cutters[at].diameter_mm)
        rows.append(
            {
                "pocket": pocket,
                "name": ink.words(*path, "name"),
                "diameter": f"Ø{ink.number(*path, 'diameter_mm', digits=digits)}",
                "life": ink.number(*path, "life_s", unit="min", digits=0, bare=True) if known else "-",
                "stick_out": ink.number(*path, "stick_out_mm", digits=1),
            }
        )
    return rows


def _pass_table(writer: Writer, index: int) -> b.Block:
    """Passes in working order, like neighbours on one row; on a tilting machine with their positions of A and C."""
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    turns = writer.rotary(clamping) is not None
    tilts = {tilt.id: i for i, tilt in enumerate(clamping.tilts)}
    pockets = writer.derived.pockets.get(clamping.machine_id, {})
    rows: list[list[b.Cell]] = []
    for number, like in enumerate(writer.derived.clampings[clamping.id].rows):
        place = like.places[0]
        one = plan.passes[place]
        known = one.cutter_id in pockets
        lowest = ("derived", "clampings", clamping.id, "rows", number, "low_mm")
        row: list[b.Cell] = [
            b.strong(one.kind),
            writer.feature(*like.places),
            ink.number("derived", "pockets", clamping.machine_id, one.cutter_id, digits=0) if known else "-",
        ]
        if turns:
            at = ("plan", "clampings", index, "tilts", tilts[one.tilt_id])
            row += [
                b.strong(ink.number(*at, "a_rad", unit="°", digits=1)),
                b.strong(ink.number(*at, "c_rad", unit="°", digits=1)),
            ]
        row += [
            ink.number("plan", "passes", place, "speed_rad_per_s", unit="1/min", digits=0, bare=True),
            ink.number("derived", "passes", one.id, "feed_mm_per_s", unit="mm/min", digits=0, bare=True),
            "-" if like.low_mm is None else ink.number(*lowest, digits=2),
            writer.row_minutes(clamping.id, number),
        ]
        rows.append(row)
    columns = [("pass", "29", "l"), ("where", "1fr", "l"), ("pocket", "13", "r")]
    if turns:
        columns += [("A", "14", "r"), ("C", "15", "r")]
    speed, feed, time = ("20", "20", "20") if plan.metal_unknown else ("14", "15", "14")  # "not shown" on one line
    columns += [("1/min", speed, "r"), ("mm/min", feed, "r"), ("lowest Z", "16", "r"), ("min:s", time, "r")]
    return b.table(columns, rows, tight=True)


def _tilt_blocks(writer: Writer, index: int) -> list[b.Block]:
    """Each tilt that passes stand at, with the side that the cutter comes from; nothing when none is tilted."""
    clamping, ink = writer.plan.clampings[index], writer.ink
    if not clamping.is_tilted:
        return []
    said = []
    for place, tilt in enumerate(clamping.tilts):
        if not writer.derived.clampings[clamping.id].tilts[tilt.id].places:
            continue
        at = ("plan", "clampings", index, "tilts", place)
        a, c = (ink.number(*at, f"{axis}_rad", unit="°", digits=1) for axis in ("a", "c"))
        said.append({"head": f"A {a}, C {c}", "text": writer.comes_from(clamping.id, tilt.id)})
    return [
        {"kind": "named", "lead": "The cutter comes, as you stand before the vise with A and C at zero:", "rows": said}
    ]


def _pictures(writer: Writer, index: int, keys: list[tuple[str, str]]) -> b.Block:
    """Both pictures and the key numbers, at two sizes: the smaller on a sheet that would not fit one page otherwise."""
    ink = writer.ink
    operator, end = writer.pictures(index)

    def of(height_mm: float, most_mm: float, row_mm: float, mark: str) -> list[dict[str, Any]]:
        width = natural_width_mm(operator, height_mm=height_mm, most_mm=most_mm)
        end_mm = min(END_MOST_MM, row_mm - GUTTER_MM - width)
        return [
            b.picture(
                svg=picture_svg(operator, width_mm=width, height_mm=height_mm, ids=f"o{mark}{index}"),
                alt=operator.alt,
                width_mm=width,
                caption=operator.caption,
            ),
            b.picture(
                svg=end_svg(end, ink=ink, index=index, width_mm=end_mm, height_mm=height_mm, ids=f"e{mark}{index}"),
                alt=end.alt,
                width_mm=end_mm,
                caption=end.caption,
            ),
        ]

    roomy = of(OPERATOR_MM[1], OPERATOR_MM[0], ROW_MM, "")
    small = of(OPERATOR_SMALL_MM[1], OPERATOR_SMALL_MM[0], ROW_MM - KEYS_MM - GUTTER_MM, "s")
    return b.pictures(*roomy, small=small, keys=keys)


def setup_page(writer: Writer, index: int) -> dict[str, Any]:
    """One operation on one sheet: laid out as roomy as one page allows."""
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    torque, preload = _torque(writer, index)
    machine = writer.shop_name("machines", clamping.machine_id)
    kind = writer.shop_name("jaws", clamping.jaws_id, "kind")
    cycle = (
        ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s") if clamping.id in plan.time.cycle_s else "-"
    )
    pocket = pocket_words(writer, index, force=preload)
    patch = ("plan", "clampings", index)
    along = ", for a tilted pass along its own cutter axis" if clamping.is_tilted else ""
    blocks: list[b.Block] = [
        _pictures(
            writer,
            index,
            [
                ("clamp torque", torque),
                ("jaw force", preload),
                ("grip height", ink.number("plan", "clampings", index, "jaw_top_mm", unit="mm", digits=1)),
                ("jaws", f"{kind}{', formed' if clamping.needs_form else ''}"),
            ],
        ),
        b.lead(writer.sentence("plan", "clampings", index, "seat_text")),
        b.para(
            "Where jaw and work really meet: "
            f"{ink.span(*patch, 'patch_length_mm', unit='mm', digits=1)} long, "
            f"{ink.span(*patch, 'patch_height_mm', unit='mm', digits=1)} high."
        ),
        *([b.para(pocket)] if pocket else []),
        b.framed_lines(caution_lines(writer, index)),
        b.heading("Work zero", more=writer.sentence("plan", "clampings", index, "zero_text")),
        _zero_table(writer, index),
        b.heading("Cutters", more=_to_load(writer, index)),
        {"kind": "cutters", "rows": _cutter_rows(writer, index)},
        {
            "kind": "may-break",
            "title": f"{writer.op(index)} - {machine}, passes",
            "note": "The passes stand on the next page.",
        },
        b.heading(
            "Passes, in working order",
            more=f"Cutting {ink.number('derived', 'clampings', clamping.id, 'cutting_s', unit='min:s')}, "
            f"{cycle_words(writer, index, cycle)}.",
        ),
        *_tilt_blocks(writer, index),
        _pass_table(writer, index),
        b.para(
            f"Lowest Z, mm: the tip at its deepest, from the work zero{along}. {facing_words(writer, index)}".rstrip()
        ),
    ]
    return b.page(
        sheet=f"Setup sheet - {writer.op(index)}", title=f"{writer.op(index)} - {machine}", blocks=blocks, one_page=True
    )
