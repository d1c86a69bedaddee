"""The owner's shop file (TOML) becomes the shop's nouns; every fault is refused with its place and what to do."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any, Protocol, TypeVar

from proveout.intake import shop_words as words
from proveout.intake.assumed_lines import marked_assumed
from proveout.intake.bodies_file import bed_of_words, head_of_words, probe_of_words, refuse_sunk_vise, table_of_words
from proveout.intake.calendar_words import checked_days, closed_of_words
from proveout.intake.changer_words import refuse_strange_changer
from proveout.intake.cutter_ranges import refuse_crossed_ranges, with_rated_speed
from proveout.intake.file_kinds import refuse_other_kind
from proveout.intake.gauge_words import gauge_of_words
from proveout.intake.inspection_words import inspection_of_words
from proveout.intake.measured_files import readings_of_words, responses_of_words, scrap_cuts_of_words
from proveout.intake.minutes_words import minutes_of_words
from proveout.intake.money_words import money_of_words
from proveout.intake.program_words import program_style
from proveout.intake.spindle_words import torque_curve_of_words
from proveout.intake.stock_words import read_stock
from proveout.intake.toml_words import (
    WEEKDAYS,
    Place,
    load_toml,
    place_of,
    plain,
    read_text,
    read_words,
    refuse_twice,
    refuse_unknown,
    table_at,
    tables_at,
)
from proveout.intake.vise_closing import closing_of_words
from proveout.intake.vise_places import (
    FURTHER,
    further_of_words,
    refuse_idle_off,
    refuse_stray_places,
    vise_kind_of_words,
)
from proveout.model.cutter import HEADED_KINDS
from proveout.model.shop import Bar, Bench, Cutter, Finisher, Jaws, Machine, Rotary, Saw, Shop, Vise
from proveout.quantities.errors import BadInput, OutOfRange


class WithId(Protocol):
    """Anything that has an id."""

    @property
    def id(self) -> str:
        """Its id."""
        ...


Thing = TypeVar("Thing", bound=WithId)
INNER = ("rotary", "table", "head", "probe", "minutes", "program")
POINTED = ("drill", "spot", "edge break", "undercut")
FRIDAY = WEEKDAYS.index("Fri")


def read_shop(path: Path) -> Shop:
    """The shop described by a TOML file."""
    return shop_from_text(read_text(path), file=path.name, folder=path.parent)


def shop_from_text(text: str, *, file: str = "shop file", folder: Path | None = None) -> Shop:
    """The shop described by TOML text; `file` is the name said in messages, `folder` where its tables lie."""
    raw = load_toml(text, file=file)
    refuse_other_kind(raw, wanted="shop", file=file)
    top, assumed = Place(file=file), []
    own = [word.key for word in words.TOP.words]
    sections = [section.name for section in words.SHOP_SECTIONS if section.name and "." not in section.name]
    refuse_unknown(raw.keys(), [*own, *sections], top)
    head = read_words({key: raw[key] for key in own if key in raw}, words.TOP.words, top, assumed)
    machines = _listed(raw, words.MACHINE, file, lambda one, place: _machine(one, place, assumed))
    crib, rack = _with_rows(raw, words.CRIB, "cutter", top), _with_rows(raw, words.RACK, "bar", top)
    cutters = _listed(crib, words.CUTTER, file, lambda one, place: cutter_from_words(one, place, assumed))
    bars = _listed(rack, words.BAR, file, lambda one, place: _bar(one, place, assumed))
    shop = Shop(
        name=head["name"],
        currency=head["currency"],
        units=head["units"],
        machines=machines,
        vises=_listed(raw, words.VISE, file, lambda one, place: _vise(one, place, assumed, machines)),
        jaws=_listed(
            raw, words.JAWS, file, lambda one, place: Jaws(**read_words(one, words.JAWS.words, place, assumed))
        ),
        cutters=cutters,
        bars=bars,
        saw=Saw(**_single(raw, words.SAW, top, assumed)),
        finishers=_listed(raw, words.FINISHER, file, lambda one, place: _finisher(one, place, assumed)),
        gauges=_listed(raw, words.GAUGE, file, lambda one, place: gauge_of_words(one, place, assumed)),
        bench=Bench(**_single(raw, words.BENCH, top, assumed)),
        **_people_and_material(raw, top, assumed),
        responses=responses_of_words(
            raw, file=file, folder=folder, machines=machines, cutters=cutters, assumed=assumed
        ),
        spindle_readings=readings_of_words(raw, file=file, machines=machines, cutters=cutters, assumed=assumed),
        test_cuts=scrap_cuts_of_words(raw, file=file, machines=machines, cutters=cutters, assumed=assumed),
        inspection=inspection_of_words(raw, top),
        **read_stock(raw, top, bars),
        money=money_of_words(raw, top),
        closed=closed_of_words(raw, top),
        assumed=(*marked_assumed(text, file=file), *assumed),
    )
    _refuse_unheld_machine(shop, top)
    for machine in shop.machines:
        refuse_strange_changer(machine, shop.cutters, Place(file=file, path=f'machine "{machine.id}"'))
        refuse_idle_off(machine, shop.vises, Place(file=file, path=f'machine "{machine.id}"'))
    for vise in shop.vises:
        refuse_stray_places(vise, shop.machines, Place(file=file, path=f'vise "{vise.id}"'))
    refuse_sunk_vise(shop, top)
    return shop


def cutter_from_words(raw: Mapping[str, Any], place: Place, assumed: list[str]) -> Cutter:
    """One cutter from its keys in trade units; what is filled in is appended to `assumed` in words."""
    values = read_words(raw, words.CUTTER.words, place, assumed)
    kind, diameter = values["kind"], values["diameter_mm"]
    values["name"] = values["name"] or f"{kind} {plain(diameter)}"
    if values["shank_diameter_mm"] is None:
        values["shank_diameter_mm"] = diameter
        assumed.append(
            f"{place.at()}: the shank is not given; it is assumed as thick as the cutter, {plain(diameter)} mm."
        )
    for key, largest in (("holder_diameter_mm", 63.0), ("holder_length_mm", 80.0)):
        if values[key] is None:
            values[key] = largest
            name = "diameter" if "diameter" in key else "length"
            assumed.append(f"{place.at()}: the holder's {name} is not given; {plain(largest)} mm is assumed.")
    if kind == "ball":
        values["corner_radius_mm"] = diameter / 2.0
    if kind in ("tap", "thread mill") and values["pitch_mm"] is None:
        raise BadInput(f"A {kind} needs its pitch", where=place.at(), value="no pitch_mm", do="add pitch_mm = ...")
    values["pitch_mm"] = values["pitch_mm"] or 0.0
    if values["tip_angle_rad"] is None:
        if kind in POINTED:
            raise BadInput(
                f"A cutter of the kind {kind} needs the angle of its point", where=place.at(), value="no tip_angle_deg",
                do="add tip_angle_deg = ...",
            )  # fmt: skip
        values["tip_angle_rad"] = math.pi
    cutter = Cutter(**with_rated_speed(values, place))
    _refuse_impossible(cutter, place)
    refuse_crossed_ranges(cutter, place)
    return cutter


def _refuse_impossible(cutter: Cutter, place: Place) -> None:
    def refuse(what: str, value: str, limit: str) -> None:
        raise OutOfRange(
            what, where=place.at(), value=value, limit=limit, do="measure the cutter and correct the number"
        )

    radius = cutter.diameter_mm / 2.0
    if cutter.flute_length_mm > cutter.stick_out_mm:
        refuse(
            "The flutes are longer than the cutter sticks out", f"flute_length {plain(cutter.flute_length_mm)} mm",
            f"stick_out {plain(cutter.stick_out_mm)} mm or less",
        )  # fmt: skip
    if cutter.corner_radius_mm > radius + 1e-9:
        refuse(
            "The corner radius is larger than half the cutter", f"{plain(cutter.corner_radius_mm)} mm",
            f"{plain(radius)} mm or less",
        )  # fmt: skip
    if cutter.kind in ("drill", "spot", "edge break"):
        if cutter.tip_diameter_mm >= cutter.diameter_mm:
            refuse(
                "The flat at the point is as wide as the cutter", f"tip_diameter {plain(cutter.tip_diameter_mm)} mm",
                f"less than {plain(cutter.diameter_mm)} mm",
            )  # fmt: skip
        if cutter.tip_angle_rad > math.radians(175.0):
            refuse("The point has no angle", f"{plain(math.degrees(cutter.tip_angle_rad))} °", "175 ° or less")
        point = (radius - cutter.tip_diameter_mm / 2.0) / math.tan(cutter.tip_angle_rad / 2.0)
        if point > cutter.flute_length_mm + 1e-9:
            refuse(
                "The point is longer than the flutes", f"flute_length {plain(cutter.flute_length_mm)} mm",
                f"{plain(point)} mm or more",
            )  # fmt: skip
    _refuse_impossible_neck(cutter, place, refuse)
    if cutter.kind == "undercut":
        if cutter.tip_angle_rad > math.radians(80.0):
            refuse("The flank is too flat", f"{plain(math.degrees(cutter.tip_angle_rad))} °", "80 ° or less")
        neck = 2.0 * (radius - cutter.flute_length_mm * math.tan(cutter.tip_angle_rad))
        if neck <= 0.0:
            refuse("This undercut cutter has no neck left", f"neck {plain(neck)} mm", "more than 0 mm")
        is_whole = cutter.neck_diameter_mm is None
        key, told = ("shank_diameter", "shank") if is_whole else ("neck_diameter", "neck written")
        if cutter.neck_or_shank_mm > neck + 0.01:
            refuse(
                f"The {told} is thicker than the neck of the undercut cutter",
                f"{key} {plain(cutter.neck_or_shank_mm)} mm", f"{plain(neck)} mm or less",
            )  # fmt: skip


def _refuse_impossible_neck(cutter: Cutter, place: Place, refuse: Callable[[str, str, str], None]) -> None:
    diameter, length = cutter.neck_diameter_mm, cutter.neck_length_mm
    if diameter is None and length is None:
        return
    if diameter is None or length is None:
        missing = "neck_diameter" if diameter is None else "neck_length"
        raise BadInput("Half of a neck is given", where=place.at(), value=f"no {missing}", do=f"add {missing}_mm = ...")
    if cutter.kind not in HEADED_KINDS:
        raise BadInput(
            f"No neck is known of the kind {cutter.kind}", where=place.at(),
            value=f"neck_diameter {plain(diameter)} mm", limit=" or ".join(HEADED_KINDS),
            do="leave out neck_diameter and neck_length",
        )  # fmt: skip
    if diameter >= cutter.diameter_mm:
        refuse("The neck is as thick as the head", f"neck_diameter {plain(diameter)} mm",
               f"less than {plain(cutter.diameter_mm)} mm")  # fmt: skip
    if cutter.shank_from_mm > cutter.stick_out_mm + 1e-9:
        room = cutter.stick_out_mm - cutter.flute_length_mm
        refuse("The neck goes into the holder", f"neck_length {plain(length)} mm", f"{plain(room)} mm or less")


def _single(raw: Mapping[str, Any], section: words.Section, top: Place, assumed: list[str]) -> dict[str, Any]:
    table = table_at(raw, section.name, top, must=section.must, why=section.text) or {}
    return read_words(table, section.words, Place(file=top.file, path=section.name), assumed)


def _listed(
    raw: Mapping[str, Any], section: words.Section, file: str, build: Callable[[dict[str, Any], Place], Thing]
) -> tuple[Thing, ...]:
    name, _, inner = section.name.partition(".")
    top = Place(file=file, path=name if inner else "")
    tables = tables_at(raw, inner or name, top, must=section.must, why=section.text)
    noun = inner or name
    things = tuple(build(one, place_of(one, noun, number, file)) for number, one in enumerate(tables, start=1))
    refuse_twice([thing.id for thing in things], f"[[{section.name}]]", top)
    return things


def _with_rows(raw: Mapping[str, Any], section: words.Section, inner: str, top: Place) -> dict[str, Any]:
    """A section with rows, each completed by the keys that stand once above them."""
    table = table_at(raw, section.name, top, must=True, why=section.text) or {}
    place = Place(file=top.file, path=section.name)
    above = {key: value for key, value in table.items() if key != inner}
    read_words(above, section.words, place, [], inner=[inner])
    word_of = {key: word for word in section.words for key in word.keys}
    rows = []
    for row in tables_at(table, inner, place, must=False):
        missing = {key: value for key, value in above.items() if not word_of[key].keys.keys() & row.keys()}
        rows.append({**missing, **row})
    return {inner: rows}


def _machine(raw: dict[str, Any], place: Place, assumed: list[str]) -> Machine:
    own = {key: value for key, value in raw.items() if key not in INNER}
    values = read_words(own, words.MACHINE.words, place, assumed, inner=list(INNER))
    values["travel_mm"] = tuple(values.pop(f"travel_{axis}") for axis in "xyz")
    values["torque_curve"] = torque_curve_of_words(values, place)
    values["name"] = values["name"] or values["id"]
    values["changer"] = tuple(values["changer"])
    rotary = table_at(raw, "rotary", place, must=False)
    if (values["kind"] == "3+2") != (rotary is not None):
        raise BadInput(
            "A 3+2 machine has a section [machine.rotary], a 3-axis machine has none",
            where=place.at(),
            value=f'kind = "{values["kind"]}" {"without" if rotary is None else "with"} [machine.rotary]',
            do="add or remove [machine.rotary], or correct the kind",
        )
    if values["feed_max_mm_per_s"] > values["rapid_mm_per_s"] + 1e-9:
        raise OutOfRange(
            "The highest feed is above the rapid speed", where=place.at(),
            value=f"feed_max {plain(values['feed_max_mm_per_s'] * 0.06)} m/min",
            limit=f"rapid {plain(values['rapid_mm_per_s'] * 0.06)} m/min", do="correct one of the two",
        )  # fmt: skip
    inner = Place(file=place.file, path=f"{place.path} rotary")
    spoken = table_at(raw, "program", place, must=False)
    style = None
    if spoken is not None:
        style = program_style(
            spoken, Place(file=place.file, path=f"{place.path} program"), assumed, turns=rotary is not None
        )
    return Machine(
        rotary=None if rotary is None else _rotary(rotary, inner, assumed), program=style,
        table=table_of_words(table_at(raw, "table", place, must=False), place),
        minutes=minutes_of_words(table_at(raw, "minutes", place, must=False), place),
        head=head_of_words(table_at(raw, "head", place, must=False), place),
        probe=probe_of_words(table_at(raw, "probe", place, must=False), place, has_probe=values["has_probe"]), **values,
    )  # fmt: skip


def _rotary(raw: dict[str, Any], place: Place, assumed: list[str]) -> Rotary:
    values = read_words(raw, words.ROTARY.words, place, assumed)
    pivot = [values.pop(f"pivot_{axis}") for axis in "xyz"]
    if any(one is None for one in pivot) and not all(one is None for one in pivot):
        raise BadInput(
            "A pivot needs all three of pivot_x_mm, pivot_y_mm and pivot_z_mm", where=place.at(),
            value=f"{sum(one is not None for one in pivot)} of 3", do="add what is missing, or leave all three out",
        )  # fmt: skip
    return Rotary(pivot_in_machine_mm=None if pivot[0] is None else tuple(pivot), **values)


def _vise(raw: dict[str, Any], place: Place, assumed: list[str], machines: Collection[Machine]) -> Vise:
    own = {key: value for key, value in raw.items() if key != FURTHER}
    values = read_words(own, words.VISE.words, place, assumed, inner=[FURTHER])
    values |= vise_kind_of_words(values, place)
    values |= closing_of_words(values, place)
    stands = [values.pop(f"stands_{axis}") for axis in "xyz"]
    if any(one is None for one in stands) and not all(one is None for one in stands):
        raise BadInput(
            "Where a vise stands needs all three of stands_x_mm, stands_y_mm and stands_z_mm", where=place.at(),
            value=f"{sum(one is not None for one in stands)} of 3", do="add what is missing, or leave all three out",
        )  # fmt: skip
    bed = bed_of_words(values, place)
    vise = Vise(
        stands_mm=None if stands[0] is None else tuple(stands), bed=bed, more_stand_mm=further_of_words(raw, place),
        **values,
    )  # fmt: skip
    known = [machine.id for machine in machines]
    for name in vise.machines:
        if name not in known:
            raise BadInput(
                "This vise names a machine that the shop does not have", where=place.at("machines"), value=f'"{name}"',
                limit=", ".join(known), do="correct the name or add the machine",
            )  # fmt: skip
    if not vise.machines:
        raise BadInput(
            "This vise is on no machine", where=place.at("machines"), value="[]", do="name at least one machine"
        )
    written, rating = values["preload_n"], vise.rating_n
    if written is not None and rating is not None and not vise.is_hand_tight and written.high > rating:
        raise OutOfRange(
            "This vise is tightened above its rating", where=place.at("preload_kn"),
            value=f"{plain(written.high / 1000.0)} kN", limit=f"rating {plain(rating / 1000.0)} kN",
            do="lower the preload or correct the rating",
        )  # fmt: skip
    return vise


def _bar(raw: dict[str, Any], place: Place, assumed: list[str]) -> Bar:
    bar = Bar(**read_words(raw, words.BAR.words, place, assumed))
    if bar.height_mm > bar.width_mm:
        raise OutOfRange(
            "The height of a bar is its smaller side", where=place.at(), value=f"height {plain(bar.height_mm)} mm",
            limit=f"width {plain(bar.width_mm)} mm or less", do="swap width and height",
        )  # fmt: skip
    if not bar.lengths_mm:
        raise BadInput("This bar has no length", where=place.at("lengths_m"), value="[]", do="name at least one length")
    if 2.0 * bar.corner_radius_mm >= bar.height_mm:
        raise OutOfRange(
            "The corner radius of this bar leaves no flat", where=place.at(), value=f"{plain(bar.corner_radius_mm)} mm",
            limit=f"less than {plain(bar.height_mm / 2.0)} mm", do="correct the radius or the section",
        )  # fmt: skip
    bow = (bar.faced_bow_mm, bar.faced_bow_length_mm, bar.faced_bow_thickness_mm)
    if any(one is None for one in bow) and not all(one is None for one in bow):
        raise BadInput(
            "A bow after facing needs all three of faced_bow_mm, faced_bow_length_mm and faced_bow_thickness_mm",
            where=place.at(), value=f"{sum(one is not None for one in bow)} of 3",
            do="add what is missing, or leave all three out",
        )  # fmt: skip
    return bar


def _finisher(raw: dict[str, Any], place: Place, assumed: list[str]) -> Finisher:
    finisher = Finisher(**read_words(raw, words.FINISHER.words, place, assumed))
    if finisher.days_low > finisher.days_high:
        raise OutOfRange(
            "days_low is above days_high", where=place.at(), value=f"{finisher.days_low} days",
            limit=f"{finisher.days_high} days or less", do="swap the two",
        )  # fmt: skip
    if finisher.charges_plugs and (finisher.plug_price is None or finisher.mask_price is None):
        raise BadInput(
            "This finisher charges plugs and masks at no price", where=place.at("charges_plugs"), value="true",
            do="add plug_price and mask_price, or write charges_plugs = false",
        )  # fmt: skip
    if (finisher.coat_growth_mm is None) != (finisher.coat_growth_at_mm is None):
        raise BadInput(
            "The growth of a coat is read at a thickness", where=place.at("coat_growth"),
            value="one of coat_growth and coat_growth_at alone", do="write both or neither",
        )  # fmt: skip
    if (finisher.coat_thickness_mm is None) != (finisher.coat_thickness_at_mm is None):
        raise BadInput(
            "The thickness of coats is read where one was asked for", where=place.at("coat_thickness"),
            value="one of coat_thickness and coat_thickness_at alone", do="write both or neither",
        )  # fmt: skip
    checked_days(finisher.closed, place)
    if not finisher.pickup_weekdays:
        raise BadInput(
            "This finisher never collects", where=place.at("pickup"), value="[]", do='write pickup = ["Thu"]'
        )
    if min(finisher.pickup_weekdays) > FRIDAY:
        raise BadInput(
            "This finisher collects at weekends alone, when nobody works here", where=place.at("pickup"),
            value=", ".join(WEEKDAYS[day] for day in finisher.pickup_weekdays), limit="a day from Monday to Friday",
            do="write the weekday on which you hand the parts over",
        )  # fmt: skip
    return finisher


def _people_and_material(raw: Mapping[str, Any], top: Place, assumed: list[str]) -> dict[str, Any]:
    people = _single(raw, words.PEOPLE, top, assumed)
    material = _single(raw, words.MATERIAL, top, assumed)
    return {
        "people_count": people["count"],
        "shift_h": people["shift"],
        "spindle_h_per_week": people["spindle_h_per_week"],
        "overtime_ratio": people["overtime_ratio"],
        "alloys": tuple(material["alloys"]),
        "density_kg_per_mm3": material["density"],
        "yield_mpa": material["yield_mpa"],
        "elastic_mpa": material["elastic_mpa"],
        "cutting_pressure_mpa": material["cutting_pressure_mpa"],
        "cutting_exponent_ratio": material["cutting_exponent"],
        "scrap_ratio": material["scrap_ratio"],
    }


def _refuse_unheld_machine(shop: Shop, top: Place) -> None:
    held = {name for vise in shop.vises for name in vise.machines}
    for machine in shop.machines:
        if machine.id not in held:
            raise BadInput(
                "This machine has no vise", where=top.at(f'machine "{machine.id}"'), value="no vise names it",
                do=f'add "{machine.id}" to machines of a vise',
            )  # fmt: skip
