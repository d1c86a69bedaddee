"""What a shop file was understood to say: one sentence a thing, and what is unknown with its consequence."""

from __future__ import annotations

import math
from collections.abc import Iterable

from proveout.intake.accuracy_words import unknown_accuracy
from proveout.intake.cutter_ranges import range_words
from proveout.intake.inspection_words import inspection_sentence
from proveout.intake.measured_sentences import measured_words
from proveout.intake.minutes_words import minutes_said
from proveout.intake.money_sentences import money_words, unknown_money
from proveout.intake.toml_words import WEEKDAYS, plain
from proveout.model.cutter import HEADED_KINDS
from proveout.model.fact import OWNER_FILES, Fact
from proveout.model.shop import Bar, Cutter, Finisher, Jaws, Machine, Shop, Vise
from proveout.quantities.units import MM_PER_INCH, MW_PER_KW, N_MM_PER_N_M, S_PER_MIN, rpm_from_rad_per_s

CUTTERS_NAMED = 3  # up to so many are named even when they are all


def check_words(shop: Shop) -> list[str]:
    """Sentences for the owner: what a shop file was taken to mean, what nobody there said, then what is unknown."""
    return [*understood(shop), *shop.assumed, *unknown(shop)]


def understood(shop: Shop) -> list[str]:
    """One sentence for each machine, vise, jaws, group of cutters and of bars, saw, finisher, gauges, people, money."""
    people = "person runs" if shop.people_count == 1 else "people run"
    return [
        (
            f"{shop.name}: people here use {'inches' if shop.units == 'inch' else 'mm'}; each key of a file ends in "
            f"its own unit, the sizes of a job and the papers are in mm; prices are in {shop.currency}."
        ),
        *(_machine(machine) for machine in shop.machines),
        *(_vise(vise) for vise in shop.vises),
        *(_jaws(jaws) for jaws in shop.jaws),
        *_cutter_groups(shop.cutters),
        *(range_words(cutter) for cutter in shop.cutters if cutter.is_range),
        *_bar_groups(shop),
        _saw(shop),
        *(_finisher(finisher, shop.currency) for finisher in shop.finishers),
        *_gauges(shop),
        inspection_sentence(shop.inspection),
        (
            f"{shop.people_count} {people} the machines, a shift of {plain(shop.shift_h)} h, "
            f"{plain(shop.spindle_h_per_week)} spindle hours a machine a week. {_days_off(shop.closed)}"
            f"{_overtime(shop)}"
        ),
        *_bench(shop),
        (
            f"Metal: figures for {' and '.join(shop.alloys) or 'no alloy named'}; "
            f"{plain(shop.density_kg_per_mm3 * 1e6)} g/cm³, yield {spread(shop.yield_mpa)}, "
            f"elastic modulus {'unknown' if shop.elastic_mpa is None else spread(shop.elastic_mpa)}, cutting pressure "
            f"{spread(shop.cutting_pressure_mpa)} falling with exponent {plain(shop.cutting_exponent_ratio)}; "
            f"{spread(shop.scrap_ratio, 100.0, '%')} of the pieces are lost."
        ),
        *measured_words(shop),
        *money_words(shop),
    ]


def unknown(shop: Shop) -> list[str]:
    """One sentence for each thing that the file leaves out, with what cannot be shown without it."""
    lines: list[str] = []
    for machine in shop.machines:
        if machine.rotary is not None:
            if machine.rotary.pivot_in_machine_mm is None or machine.rotary.pivot_error_mm is None:
                lines.append(
                    f"Unknown: the measured pivot of {machine.id} and its uncertainty. Without both no tilted work "
                    "on it is ready."
                )
            if machine.rotary.brake_torque_n_mm is None:
                lines.append(
                    f"Unknown: the torque that the brake of {machine.id} holds. Without it no tilted work is ready."
                )
        lacks = [noun for noun, one in (("table", machine.table), ("head", machine.head)) if one is None]
        if lacks:
            lines.append(
                f"Unknown: the {_list(lacks)} of {machine.id}. Whether a cutter, holder or head strikes there is not "
                "looked at; only a dry run tells."
            )
    for vise in shop.vises:
        if vise.bed is None:
            lines.append(f"Unknown: the bed of {vise.id}. What strikes it is not looked at; only a dry run tells.")
        if vise.preload_n is None:
            lines.append(f"Unknown: the preload of {vise.id}. Without it no holding in this vise can be shown.")
        elif not vise.preload_n.is_backed:
            lines.append(_not_backed(f"the preload of {vise.id}", vise.preload_n))
        if vise.rating_n is None:
            lines.append(f"Unknown: the rating of {vise.id}. Its preload is not compared with what its maker allows.")
    lines += unknown_accuracy(shop)
    lines += [
        f"Unknown: the friction of {jaws.id}. Without it no holding in these jaws can be shown."
        for jaws in shop.jaws
        if jaws.friction_ratio is None
    ]
    lines += [
        _not_backed(f"the friction of {jaws.id}", jaws.friction_ratio)
        for jaws in shop.jaws
        if jaws.friction_ratio is not None and not jaws.friction_ratio.is_backed
    ]
    lines += [
        f"Unknown: thickness and height of {jaws.id} before they are cut. Without both no pocket in them is planned."
        for jaws in shop.jaws
        if jaws.kind == "soft" and None in (jaws.blank_thickness_mm, jaws.blank_height_mm)
    ]
    unrated = [cutter.id for cutter in shop.cutters if cutter.speed_max_rad_per_s is None]
    if unrated:
        lines.append(
            f"Unknown: the rated speed of {_some(unrated, shop)}. Without it no pass with them is shown to stay below "
            "the limit of cutter and holder."
        )
    weak = [c.id for c in shop.cutters if c.kind in HEADED_KINDS and c.bending_strength_mpa is None]
    if weak:
        told = f"Unknown: the bending strength of {_some(weak, shop)}."
        lines.append(f"{told} Nothing shows that the neck bears its cuts.")
    lifeless = [cutter.id for cutter in shop.cutters if cutter.life_s is None]
    if lifeless:
        lines.append(f"Unknown: the life of {_some(lifeless, shop)}. Their wear is not counted in money or in changes.")
    if not shop.finishers:
        lines.append("Unknown: any outside finisher. A coat can be planned but neither priced nor dated.")
    lines += unknown_money(shop)
    if not shop.gauges:
        lines.append(
            "Unknown: any gauge. The inspection sheet names what is needed, and no size is shown to be measurable."
        )
    return lines


def _not_backed(name: str, fact: Fact) -> str:
    why = [
        text
        for text, is_so in (
            ("is only assumed", fact.strength == "assumed"),
            ("has no source", fact.strength != "assumed" and fact.source in OWNER_FILES),
            ("has no lowest and highest value", fact.low == fact.high),
        )
        if is_so
    ]
    return f"Counts as unknown: {name} {_list(why)}. Until that is written no holding with it can be shown."


def spread(fact: Fact, times: float = 1.0, unit: str | None = None) -> str:
    """A fact in print: 17.5 (15 to 20) kN, owner's guess."""
    unit = fact.unit if unit is None else unit
    unit = "" if unit == "ratio" else f" {unit}"
    if fact.low == fact.high:
        return f"{plain(fact.nominal * times)}{unit}, {fact.strength}"
    low, nominal, high = (plain(end * times) for end in (fact.low, fact.nominal, fact.high))
    return f"{nominal} ({low} to {high}){unit}, {fact.strength}"


def _list(names: Iterable[str]) -> str:
    names = list(names)
    return ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]


def _some(cutter_ids: list[str], shop: Shop) -> str:
    """The cutters by id; where it is all of a whole crib, that is said instead."""
    is_whole = len(cutter_ids) == len(shop.cutters) > CUTTERS_NAMED
    return f"every cutter ({len(cutter_ids)})" if is_whole else _list(cutter_ids)


def _changer(machine: Machine) -> str:
    count = sum(1 for cutter in machine.changer if cutter)
    return f" of which {count} hold cutters for good" if count else ""


def _machine(machine: Machine) -> str:
    x, y, z = (plain(one) for one in machine.travel_mm)
    text = (
        f"Machine {machine.id} ({machine.name}): {machine.kind}, travels {x} x {y} x {z} mm, "
        f"{rpm_from_rad_per_s(machine.speed_max_rad_per_s):.0f} 1/min, {plain(machine.power_mw / MW_PER_KW)} kW, rapid "
        f"{plain(machine.rapid_mm_per_s * 0.06)} m/min, feed to {plain(machine.feed_max_mm_per_s * 0.06)} m/min, "
        f"{plain(machine.accel_mm_per_s2 / 1000.0)} m/s², {_smoothness(machine)}"
        f"cutter change {plain(machine.cutter_change_s)} s, "
        f"{machine.pockets_count} pockets{_changer(machine)}, "
        f"{machine.vises_count} vise{'s' if machine.vises_count > 1 else ''}"
        f"{' of which idle ones are taken off the table' if machine.idle_vises_off else ''}, "
        f"{_probe(machine)}, {plain(machine.rate_per_h)} an hour, "
        f"{plain(machine.setup_s / S_PER_MIN)} min to set up{_bodies(machine)}{minutes_said(machine.minutes)}"
    )
    if machine.rotary is None:
        return text + "."
    rotary = machine.rotary
    return (
        f"{text}; A from {plain(math.degrees(rotary.a_low_rad))} to {plain(math.degrees(rotary.a_high_rad))}°, C "
        f"{'without end' if rotary.c_is_continuous else 'within one turn'}, {plain(rotary.tilt_s)} s a tilt, pivot "
        f"{'unknown' if rotary.pivot_error_mm is None else 'within ' + plain(rotary.pivot_error_mm.high) + ' mm'}, "
        "brake "
        + ("unknown." if rotary.brake_torque_n_mm is None else spread(rotary.brake_torque_n_mm, 1e-3, "N m") + ".")
    )


def _probe(machine: Machine) -> str:
    probe = machine.probe
    if probe is None:
        return "with probe, of which nothing is known" if machine.has_probe else "no probe"
    return (
        f"with probe: off by {spread(probe.error_mm, 1.0, 'mm')}, ball Ø{plain(probe.ball_mm)} mm, stylus "
        f"{plain(probe.stylus_mm)} mm, body Ø{plain(probe.body_mm)} mm"
    )


def _bodies(machine: Machine) -> str:
    table, head, text = machine.table, machine.head, ""
    if table is not None:
        x, y = (plain(size) for size in table.size_mm)
        top = "at the foot of the vise" if table.top_z_mm is None else f"at machine Z {plain(table.top_z_mm)}"
        size = f"round Ø{x}" if table.shape == "round" else f"{x} x {y}"
        text += f"; table {size}, {plain(table.thickness_mm)} mm thick, its top {top}"
    if head is not None:
        text += f"; spindle nose Ø{plain(head.nose_diameter_mm)} x {plain(head.nose_length_mm)}"
        if head.diameter_mm is not None and head.length_mm is not None:
            text += f", head above it Ø{plain(head.diameter_mm)} x {plain(head.length_mm)} mm"
    return text


def _smoothness(machine: Machine) -> str:
    jerk, jump = machine.jerk_mm_per_s3, machine.corner_jump_mm_per_s
    return ("" if jerk is None else f"jerk {plain(jerk / 1000.0)} m/s³, ") + (
        "" if jump is None else f"jump at corners {plain(jump * 0.06)} m/min, "
    )


def _vise(vise: Vise) -> str:
    preload = "unknown" if vise.preload_n is None else spread(vise.preload_n, 1e-3, "kN")
    rating = "unknown" if vise.rating_n is None else f"{plain(vise.rating_n / 1000.0)} kN"
    torque = "" if vise.torque_n_mm is None else f" at {plain(vise.torque_n_mm / N_MM_PER_N_M)} N m"
    torque += ", closed by hand without a torque wrench" if vise.is_hand_tight else ""
    asked = vise.grip_reserve_ratio
    torque += f", its grip to bear {plain(asked)} times the cutting force" if asked > 1.0 else ""
    stands = ""
    if vise.from_c_axis_mm is not None and vise.above_a_axis_mm is not None:
        stands = (
            f"; from the C axis to its fixed jaw {spread(vise.from_c_axis_mm, 1.0, 'mm')}; from the A axis up to its "
            f"seat {spread(vise.above_a_axis_mm, 1.0, 'mm')}"
        )
    return (
        f"Vise {vise.id} on {_list(vise.machines)}: opens {plain(vise.opening_max_mm)} mm, jaws "
        f"{plain(vise.jaw_length_mm)} long and {plain(vise.jaw_height_mm)} high, preload {preload}{torque}, "
        f"rating {rating}{stands}{_kind_of_vise(vise)}{_bed(vise)}."
    )


def _kind_of_vise(vise: Vise) -> str:
    """How many there are, which jaw is fixed, and where they stand on the table."""
    text = "" if vise.kind_count is None else f"; {vise.kind_count} of them"
    if vise.has_middle_jaw:
        thick = "unknown" if vise.middle_jaw_mm is None else f"{plain(vise.middle_jaw_mm)} mm"
        text += f"; its fixed jaw in the middle, {thick} thick, holds a piece on each side with the whole force"
    stands = [one for one in (vise.stands_mm, *vise.more_stand_mm) if one is not None]
    if stands:
        text += "; stands at machine " + _list([" ".join(plain(v) for v in one) for one in stands])
    return text


def _bed(vise: Vise) -> str:
    bed = vise.bed
    deep = "" if vise.jaw_depth_mm is None else f"; a jaw {plain(vise.jaw_depth_mm)} mm front to back"
    if bed is None:
        return deep
    return (
        f"{deep}; bed {plain(bed.length_mm)} x {plain(bed.width_mm)} mm, {plain(bed.behind_mm)} of it behind the "
        f"fixed jaw, from {plain(bed.below_mm)} to {plain(bed.foot_mm)} mm below the seat"
    )


def _jaws(jaws: Jaws) -> str:
    friction = "unknown" if jaws.friction_ratio is None else spread(jaws.friction_ratio)
    surface = {"raw": "the raw bar only", "finished": "finished faces only", "any": "any surface"}[jaws.for_surface]
    made = f", {plain(jaws.make_s / S_PER_MIN)} min to make a pair" if jaws.make_s else ""
    thick, high = jaws.blank_thickness_mm, jaws.blank_height_mm
    step = "" if jaws.step_mm is None else f", step {plain(jaws.step_mm)} mm deep"
    blank = ("" if thick is None else f", {plain(thick)} thick") + ("" if high is None else f", {plain(high)} high")
    return (
        f"Jaws {jaws.id}: {jaws.kind}{blank}{step}, for {surface}, hold {plain(jaws.grip_mm)} mm, friction "
        f"{friction}{made}, {plain(jaws.price)} a pair."
    )


def _cutter_groups(cutters: tuple[Cutter, ...]) -> list[str]:
    groups: dict[str, list[Cutter]] = {}
    for cutter in cutters:
        groups.setdefault(cutter.kind, []).append(cutter)
    return [
        f"Cutters, {kind}: "
        + "; ".join(
            f"{one.id} Ø{plain(one.diameter_mm)} z{one.flutes_count}, cuts {plain(one.flute_length_mm)}, out "
            f"{plain(one.stick_out_mm)}"
            + (f", pitch {plain(one.pitch_mm)}" if one.pitch_mm else "")
            + (f", {plain(math.degrees(one.tip_angle_rad))}°" if one.tip_angle_rad < 3.1 else "")
            for one in group
        )
        + " (mm)."
        for kind, group in groups.items()
    ]


def _bar_groups(shop: Shop) -> list[str]:
    groups: dict[tuple[str, str, tuple[float, ...], float, bool], list[Bar]] = {}
    for bar in shop.bars:
        key = (bar.alloy, bar.condition, bar.lengths_mm, bar.price_per_kg, bar.id.endswith("in"))
        groups.setdefault(key, []).append(bar)
    lines: list[str] = []
    for (alloy, condition, lengths, price, in_inches), bars in groups.items():
        scale, unit = (1.0 / MM_PER_INCH, "inch") if in_inches else (1.0, "mm")
        sections = ", ".join(f"{plain(bar.width_mm * scale)}x{plain(bar.height_mm * scale)}" for bar in bars)
        tolerance = max(max(bar.width_tolerance_mm, bar.height_tolerance_mm) for bar in bars)
        lines.append(
            f"Bars, {condition} {alloy}, {_list(plain(length / 1000.0) for length in lengths)} m long, "
            f"{plain(price)} a kg, sides within ±{plain(round(tolerance, 3))} mm at the widest, "
            f"bow to {plain(max(bar.bow_mm_per_m for bar in bars))} mm/m, "
            f"twist to {plain(math.degrees(max(bar.twist_rad_per_m for bar in bars)))}°/m: {sections} {unit}."
        )
    return lines


def _saw(shop: Shop) -> str:
    saw = shop.saw
    return (
        f"Saw: bundles to {plain(saw.bundle_width_mm)} wide and {plain(saw.bundle_height_mm)} high, kerf "
        f"{plain(saw.kerf_mm)}, trim {plain(saw.trim_mm)}, tail {plain(saw.tail_mm)}, length within "
        f"±{plain(saw.length_tolerance_mm)} mm, {plain(saw.rate_mm2_per_s * 0.6)} cm²/min, "
        f"{plain(saw.handling_s)} s a stroke, {plain(saw.setup_s / S_PER_MIN)} min to set up, "
        f"{plain(saw.rate_per_h)} an hour."
    )


def _finisher(finisher: Finisher, currency: str) -> str:
    days = _list(WEEKDAYS[day] for day in finisher.pickup_weekdays)
    more = f"{_extras(finisher, currency)}{_off_words(finisher.closed)}"
    return (
        f"Finisher {finisher.id}: {finisher.process}, {finisher.price_each:.2f} {currency} a piece, at least "
        f"{finisher.lot_minimum:.2f} a lot, carriage {finisher.freight:.2f}, collects {days}, away "
        f"{finisher.days_low} to {finisher.days_high} working days{more}."
    )


def _days_off(closed: tuple[str, ...] | None) -> str:
    """What the shop is closed for."""
    if closed is None:
        return "Holidays are not known: write closed into [calendar]."
    return f"Closed {_list(closed)}." if closed else "No days off but Saturdays and Sundays."


def _overtime(shop: Shop) -> str:
    """What late hours cost more; nothing is said where it is not known, as the ways out say it."""
    if shop.overtime_ratio is None:
        return ""
    ends = [plain(round(100.0 * end, 1)) for end in (shop.overtime_ratio.low, shop.overtime_ratio.high)]
    return f" An hour beyond the shift costs {' to '.join(dict.fromkeys(ends))} % more."


def _off_words(closed: tuple[str, ...] | None) -> str:
    return f", closed {_list(closed)}" if closed else ""


def _extras(finisher: Finisher, currency: str) -> str:
    """What plugs, masks, a closer coat, loading and further numbers cost, as far as it is written."""
    named = (
        ("a plug", finisher.plug_price),
        ("a mask", finisher.mask_price),
        ("a closer coat", finisher.tighter_coat_price),
    )
    lots = (("loading a lot", finisher.loading_price), ("a further part number", finisher.further_part_price))
    said = [f"{name} {price.low:.2f} to {price.high:.2f} {currency}" for name, price in named if price is not None]
    said += [f"{name} {price:.2f} {currency}" for name, price in lots if price > 0.0]
    charged = "; every plug and mask is charged" if finisher.charges_plugs else ""
    read = ""
    if finisher.coat_growth_mm is not None and finisher.coat_growth_at_mm is not None:
        ends = f"{plain(finisher.coat_growth_mm.low)} to {plain(finisher.coat_growth_mm.high)} mm"
        read = f"; a coat {plain(finisher.coat_growth_at_mm)} mm thick was read to grow {ends} a surface"
    if finisher.coat_thickness_mm is not None and finisher.coat_thickness_at_mm is not None:
        ends = f"{plain(finisher.coat_thickness_mm.low)} to {plain(finisher.coat_thickness_mm.high)} mm"
        read += f"; coats asked for at {plain(finisher.coat_thickness_at_mm)} mm were read to come {ends} thick"
    return (f"; {', '.join(said)} more" if said else "") + charged + read


def _gauges(shop: Shop) -> list[str]:
    if not shop.gauges:
        return []
    ends = [f"{plain(one.low_mm)} to " * (one.low_mm < one.high_mm) + plain(one.high_mm) for one in shop.gauges]
    parts = [f"{one.id} ({one.kind}, {span} mm, ±{plain(one.uncertainty_mm)})"
             for one, span in zip(shop.gauges, ends, strict=True)]  # fmt: skip
    return [f"Gauges: {'; '.join(parts)}."]


def _bench(shop: Shop) -> list[str]:
    bench, minute = shop.bench, 1.0 / S_PER_MIN
    return [
        (
            f"Hand work, each piece: load and unload {spread(bench.load_s)}; blow off {spread(bench.blow_off_s)}; "
            f"gauge {spread(bench.gauging_s)}; edges {spread(bench.deburr_s)}; blast {spread(bench.blast_s)}; one plug "
            f"{spread(bench.plug_s)}; kit and box {spread(bench.kit_s)}."
        ),
        (
            f"Hand work, each design: programming {spread(bench.programming_s, minute, 'min')}; proving out "
            f"{spread(bench.prove_out_s, minute, 'min')}. "
            f"An hour of hand work costs {plain(bench.rate_per_h)} {shop.currency}."
        ),
    ]
