"""The words of the shop file: every section, every key, its unit, its plausible range and its default."""

from __future__ import annotations

from typing import Any, get_args

import msgspec

from proveout.intake.accuracy_words import OF_BAR, OF_MACHINE, OF_VISE
from proveout.intake.calendar_words import CALENDAR, CLOSED
from proveout.intake.gauge_words import GAUGE
from proveout.intake.growth_words import GROWTH
from proveout.intake.inspection_words import INSPECTION, WEAR
from proveout.intake.machine_words import HEAD, ROTARY, TABLE
from proveout.intake.measured_words import RESPONSE, SPINDLE_READING, TEST_CUT
from proveout.intake.minutes_words import MINUTES
from proveout.intake.money_words import CHANNEL, INVOICE, MONEY, OVERTIME
from proveout.intake.probe_words import PROBE
from proveout.intake.sections import Section
from proveout.intake.stock_words import OF_SAW, REMNANT, SUPPLY
from proveout.intake.toml_words import Kind, Word
from proveout.intake.vise_closing import CLOSING
from proveout.model.cutter import CutterKind

CUTTER_KINDS: tuple[str, ...] = get_args(CutterKind)


def _length(stem: str, text: str, low: float, high: float, **more: Any) -> Word:
    return Word(stem=stem, text=text, measure="length", low=low, high=high, **more)


def _text(stem: str, text: str, kind: Kind = "text", **more: Any) -> Word:
    return Word(stem=stem, text=text, kind=kind, **more)


def _money(stem: str, text: str, high: float, **more: Any) -> Word:
    return Word(stem=stem, text=text, low=0.0, high=high, **more)


def _price(stem: str, text: str, high: float) -> Word:
    return Word(stem=stem, text=text, kind="fact", low=0.0, high=high)


def _hand(stem: str, text: str, low: float, nominal: float, high: float, *, measure: str = "seconds") -> Word:
    default = {"low": low, "nominal": nominal, "high": high, "strength": "assumed"}
    return Word(
        stem=stem, text=text, kind="fact", measure=measure, low=0.0, high=100_000.0, field=f"{stem}_s", default=default
    )


ID = _text("id", "short name, never changed once used", "id", must=True)

TOP = Section(
    name="",
    text="the shop",
    words=(
        _text("name", "name of the shop", must=True),
        _text("units", "system that people type and read here", "choice", choices=("mm", "inch"), default="mm"),
        _text("currency", "currency of every price", default="EUR"),
    ),
)

MACHINE = Section(
    name="machine",
    text="a milling machine",
    is_list=True,
    must=True,
    words=(
        ID,
        _text("name", "name said on the floor", default="", quiet=True),
        _text("kind", "three axes, or three with two that only position", "choice", choices=("3-axis", "3+2"),
            must=True),
        _length("travel_x", "travel along X", 50.0, 5000.0, must=True),
        _length("travel_y", "travel along Y", 50.0, 3000.0, must=True),
        _length("travel_z", "travel along Z", 50.0, 3000.0, must=True),
        Word(
            stem="speed_max", text="highest spindle speed", measure="spindle speed", low=500.0, high=80_000.0,
            field="speed_max_rad_per_s", must=True,
        ),
        Word(
            stem="power", text="spindle power that lasts", measure="power", low=0.2, high=150.0, field="power_mw",
                must=True
        ),
        Word(
            stem="torque_speeds", text="spindle speeds at which a torque that lasts is written, slowest first; without "
            "them only the power counts", kind="numbers", measure="spindle speed", low=1.0, high=80_000.0,
        ),
        Word(
            stem="torques", text="torque that lasts at each", kind="numbers", measure="torque", low=0.05, high=5000.0
        ),
        Word(
            stem="rapid", text="rapid speed", measure="speed", low=1.0, high=150.0, field="rapid_mm_per_s", default=15.0
        ),
        Word(
            stem="feed_max", text="highest cutting feed", measure="speed", low=0.5, high=100.0,
            field="feed_max_mm_per_s", default=8.0,
        ),
        Word(
            stem="accel", text="acceleration of the axes", measure="acceleration", low=0.1, high=30.0,
            field="accel_mm_per_s2", default=2.0,
        ),
        Word(
            stem="jerk", text="how quickly the acceleration may change; without it the change is taken to be at once",
            measure="jerk", low=0.5, high=5000.0, field="jerk_mm_per_s3",
        ),
        Word(
            stem="corner_jump", text="jump of velocity at corners of a path; without it a usual one is assumed",
            measure="speed", low=0.0, high=20.0, field="corner_jump_mm_per_s",
        ),
        Word(
            stem="cutter_change", text="cutter change, chip to chip", measure="seconds", low=0.5, high=300.0,
            field="cutter_change_s", default=8.0,
        ),
        Word(
            stem="pockets", text="places in the cutter changer", kind="count", low=1, high=400, field="pockets_count",
            must=True,
        ),
        Word(
            stem="changer", text='ids of the cutters that stand in the changer, by place from the first, "" where none '
            "does: they keep their numbers in every program", kind="texts", default=[], quiet=True,
        ),
        Word(
            stem="vises", text="vises on the table at once", kind="count", low=1, high=24, field="vises_count",
                default=1
        ),
        _text("idle_vises_off", "vises in which no work lies are taken off the table before it starts: setup sheets "
            "then ask for it, and no move is held against them", "flag", default=False, quiet=True),
        _text("has_probe", "touch probe in the spindle", "flag", default=False),
        _money("rate_per_h", "price of an hour, with its operator", 1000.0, must=True),
        Word(
            stem="setup", text="setting up for one operation", measure="minutes", low=0.0, high=1000.0, field="setup_s",
            default=45.0,
        ),
        Word(
            stem="setup_more", text="setting up each further place of one cycle: vise, jaws, stop and zero; without it "
            "as long as the first", measure="minutes", low=0.0, high=1000.0, field="setup_more_s",
        ),
        _length("resolution", "smallest step a program can ask for", 0.0001, 0.01, field="resolution_mm",
            default=0.001),
        *OF_MACHINE,
    ),
)  # fmt: skip

BED = (
    _length("bed_length", "length of the vise's body under the jaws, front to back", 20.0, 2000.0),
    _length("bed_width", "its width, along the jaws", 20.0, 1000.0),
    _length("bed_behind", "how far it reaches behind the fixed jaw's face", 0.0, 1000.0),
    _length("bed_below", "from the seat down to its top", 1.0, 300.0),
    _length("bed_height", "from its top down to its foot on the table", 5.0, 500.0),
)

STANDS = tuple(
    Word(
        stem=f"stands_{axis}", text=f"machine {axis.upper()} of the spindle's nose where it would touch the middle of "
        "the fixed jaw's face, its front one where it has two, at the height of the seat, measured", measure="length",
        low=-5000.0, high=5000.0,
    )
    for axis in "xyz"
)  # fmt: skip
FIXED_JAW = ("behind", "in the middle")

VISE = Section(
    name="vise",
    text="a two-jaw vise",
    is_list=True,
    must=True,
    words=(
        ID,
        _text("machines", "ids of the machines it is used on", "texts", must=True),
        _length("opening_max", "widest opening between the jaws", 10.0, 1000.0, field="opening_max_mm", must=True),
        _length("jaw_length", "length of a jaw", 10.0, 1000.0, field="jaw_length_mm", must=True),
        _length("jaw_height", "height of a jaw above the vise bed", 5.0, 300.0, field="jaw_height_mm", must=True),
        _length("jaw_depth", "from a jaw's face to its back; without it 40 mm are taken", 5.0, 300.0,
            field="jaw_depth_mm"),
        Word(
            stem="count", text="how many of this kind stand on a machine; without it all of its vises where it has no "
            "other kind, else one", kind="count", low=1, high=24, field="kind_count",
        ),
        _text("fixed_jaw", "behind the work; or in the middle between two moving jaws, each of which presses its own "
            "piece with the whole force. Two pieces between one pair of jaws are no such thing and are never planned: "
            "the thinner one is loose", "choice", choices=FIXED_JAW, default=FIXED_JAW[0], quiet=True),
        _length("middle_jaw", "of a fixed jaw in the middle, from its front face to its back face", 5.0, 500.0,
            field="middle_jaw_mm"),
        *BED,
        Word(
            stem="preload", text="force between the jaws at the torque used", kind="fact", measure="force", low=0.2,
            high=150.0, field="preload_n",
        ),
        Word(stem="rating", text="highest force the maker allows", measure="force", low=0.2, high=200.0,
            field="rating_n"),
        Word(stem="torque", text="torque at the handle", measure="torque", low=1.0, high=500.0, field="torque_n_mm"),
        *CLOSING,
        Word(
            stem="from_c_axis", text="from the C axis to the middle of the fixed jaw's face, on a table that turns",
            kind="fact", measure="length", low=0.0, high=1000.0, field="from_c_axis_mm",
        ),
        Word(
            stem="above_a_axis", text="height of the seat above the A axis, negative below it", kind="fact",
            measure="length", low=-1000.0, high=1000.0, field="above_a_axis_mm",
        ),
        Word(
            stem="lift", text="how far the work rises off its seat as the jaws close on it, measured", kind="fact",
            measure="length", low=0.0, high=2.0, field="lift_mm",
        ),
        *OF_VISE,
        *STANDS,
    ),
)  # fmt: skip

JAWS = Section(
    name="jaws",
    text="a pair of jaw plates",
    is_list=True,
    must=True,
    words=(
        ID,
        _text("kind", "what the jaw faces are like", "choice", choices=("toothed", "smooth", "soft"), must=True),
        _length("grip", "height of the strip they hold", 0.5, 60.0, field="grip_mm", must=True),
        Word(
            stem="friction", text="friction against the surface held", kind="fact", measure="ratio", low=0.02, high=1.0,
            field="friction_ratio",
        ),
        _text("for_surface", "surface they may touch", "choice", choices=("raw", "finished", "any"), must=True),
        Word(
            stem="make", text="making a pair for one part; getting it ready alone where its cutting is planned",
            measure="minutes", low=0.0, high=2000.0, field="make_s", default=0.0,
        ),
        _money("price", "price of a pair", 10_000.0, default=0.0),
        _length("blank_thickness", "thickness of one soft jaw before it is cut, across the jaws", 5.0, 200.0,
            field="blank_thickness_mm"),
        _length("blank_height", "height of one soft jaw before it is cut, above the vise bed", 5.0, 300.0,
            field="blank_height_mm"),
        _length("step", "how far the step that the work stands on reaches under it, from the jaw's face", 0.5, 60.0,
            field="step_mm"),
    ),
)  # fmt: skip

CUTTER = Section(
    name="crib.cutter",
    text="a cutter in its holder",
    is_list=True,
    must=True,
    words=(
        ID,
        _text("name", "name said on the floor", default="", quiet=True),
        _text("kind", "kind of cutter", "choice", choices=CUTTER_KINDS, must=True),
        _length("diameter", "cutting diameter", 0.1, 250.0, field="diameter_mm", must=True),
        _length("corner_radius", "radius at the corner", 0.0, 50.0, field="corner_radius_mm", default=0.0, quiet=True),
        Word(stem="flutes", text="number of cutting edges", kind="count", low=1, high=40, field="flutes_count",
            must=True),
        _length("flute_length", "length that cuts", 0.1, 300.0, field="flute_length_mm", must=True),
        _length("stick_out", "tip to holder", 1.0, 500.0, field="stick_out_mm", must=True),
        _length("shank_diameter", "diameter of the shank", 0.5, 80.0, field="shank_diameter_mm"),
        _length("neck_diameter", "of a T-slot or undercut cutter, between head and shank; left out, the shank goes "
            "down to the head", 0.5, 80.0, field="neck_diameter_mm"),
        _length("neck_length", "of that neck, from the head to the shank", 0.1, 300.0, field="neck_length_mm"),
        Word(
            stem="bending_strength", text="bending strength of what it is made of, as its maker says; without it "
            "nothing shows that a neck bears its cuts", kind="fact", measure="stress", low=300.0, high=7000.0,
            field="bending_strength_mpa",
        ),
        _length("holder_diameter", "widest diameter of the holder", 5.0, 200.0, field="holder_diameter_mm"),
        _length("holder_length", "length of the holder", 5.0, 300.0, field="holder_length_mm"),
        Word(
            stem="tip_angle", text="whole angle of the point; of an undercut cutter its flank to the axis",
            measure="angle", low=1.0, high=180.0, field="tip_angle_rad",
        ),
        _length("tip_diameter", "flat at the point", 0.0, 50.0, field="tip_diameter_mm", default=0.0, quiet=True),
        _length("pitch", "pitch of a tap or a thread mill; of one row of teeth the largest it cuts", 0.1, 8.0,
            field="pitch_mm"),
        Word(
            stem="speed_max", text="highest speed that cutter and holder are rated for", measure="spindle speed",
            low=100.0, high=100_000.0, field="speed_max_rad_per_s",
        ),
        Word(
            stem="holder_speed_max", text="highest speed that its holder alone is rated for, where it is lower",
            measure="spindle speed", low=100.0, high=100_000.0, field="holder_speed_max_rad_per_s",
        ),
        Word(
            stem="cutting_speed", text="cutting speed in the shop's alloy, kept as it is; with cutting_speed_low the "
            "highest of a range; left out, the cutter may run as fast as it is rated", measure="cutting speed",
            low=1.0, high=3000.0, field="cutting_speed_mm_per_s",
        ),
        Word(
            stem="cutting_speed_low", text="lowest cutting speed of a range of which the plan takes the fastest that "
            "spindle, ratings, power and torque allow", measure="cutting speed", low=1.0, high=3000.0,
            field="cutting_speed_low_mm_per_s",
        ),
        _length("tooth_feed", "feed per edge, kept as it is; with chip_low the thickest chip that an edge may take; of "
            "a tap ignored", 0.0005, 2.0, field="tooth_feed_mm", must=True),
        _length("chip_low", "thinnest chip that is still cut and not rubbed off; with it the plan takes the feed at "
            "which the thickest chip of a turn comes nearest to tooth_feed", 0.0002, 2.0, field="chip_low_mm"),
        _text("made_of", "what its edges are made of, which says how far it bends; left out, either of both", "choice",
            choices=("carbide", "high-speed steel")),
        _length("axial_max", "deepest roughing cut that the plan may take; left out, half the diameter", 0.05, 300.0,
            field="axial_max_mm"),
        _length("radial_max", "widest roughing cut that the plan may take, half the diameter at the most; left out, "
            "two fifths", 0.05, 125.0, field="radial_max_mm"),
        Word(stem="life", text="cutting minutes before it is changed", measure="minutes", low=1.0, high=1e5,
            field="life_s"),
        WEAR,
        _money("price", "price of a new one", 10_000.0, default=0.0),
    ),
)  # fmt: skip

BAR = Section(
    name="rack.bar",
    text="one rectangular bar section",
    is_list=True,
    must=True,
    words=(
        ID,
        _text("alloy", "alloy and temper", default="6061-T6"),
        _text("condition", "extruded or cold finished", "choice", choices=("extruded", "cold finished"), must=True),
        _length("width", "wider side", 3.0, 1000.0, field="width_mm", must=True),
        _length("height", "other side", 3.0, 1000.0, field="height_mm", must=True),
        _length("width_tolerance", "wider side, plus and minus", 0.005, 5.0, field="width_tolerance_mm", must=True),
        _length("height_tolerance", "other side, plus and minus", 0.005, 5.0, field="height_tolerance_mm", must=True),
        _length("corner_radius", "radius of its long edges, at most", 0.0, 10.0, field="corner_radius_mm", default=0.8),
        Word(stem="bow", text="bow along it, at most", measure="bow", low=0.0, high=10.0, field="bow_mm_per_m",
            default=2.0),
        Word(
            stem="twist", text="twist along it, at most", measure="twist", low=0.0, high=10.0, field="twist_rad_per_m",
            default=3.3,
        ),
        Word(
            stem="lengths", text="lengths it comes in", kind="numbers", measure="bar length", low=0.1, high=12.0,
            field="lengths_mm", must=True,
        ),
        _money("price_per_kg", "price of a kilogram", 1000.0, must=True),
        *OF_BAR,
    ),
)  # fmt: skip


def _shared(words: tuple[Word, ...], *stems: str) -> tuple[Word, ...]:
    """Words that may stand once above a list instead of in every row."""
    return tuple(msgspec.structs.replace(word, must=False, default=None) for word in words if word.stem in stems)


CRIB = Section(
    name="crib",
    text="the cutters; a key given here serves every cutter that does not have it",
    must=True,
    words=_shared(CUTTER.words, "holder_diameter", "holder_length", "speed_max", "holder_speed_max", "made_of", "life"),
)
RACK_STEMS = ("alloy", "condition", "corner_radius", "bow", "twist", "lengths", "price_per_kg")
RACK = Section(
    name="rack",
    text="the bars that can be bought or lie in the rack; a key given here serves every bar that does not have it",
    must=True,
    words=_shared(BAR.words, *RACK_STEMS, *(word.stem for word in OF_BAR)),
)

SAW = Section(
    name="saw",
    text="the saw",
    must=True,
    words=(
        _length("bundle_width", "widest bundle", 10.0, 2000.0, field="bundle_width_mm", must=True),
        _length("bundle_height", "highest bundle", 10.0, 2000.0, field="bundle_height_mm", must=True),
        _length("kerf", "width of the cut", 0.5, 10.0, field="kerf_mm", must=True),
        _length("trim", "first cut off each bar", 0.0, 100.0, field="trim_mm", must=True),
        _length("tail", "end that the saw vise must hold", 5.0, 500.0, field="tail_mm", must=True),
        _length("length_tolerance", "cut length, plus and minus", 0.01, 5.0, field="length_tolerance_mm", must=True),
        Word(
            stem="rate", text="section sawn in a minute", measure="sawing rate", low=1.0, high=5000.0,
            field="rate_mm2_per_s", must=True,
        ),
        Word(
            stem="handling", text="hand time for one stroke of the saw", measure="seconds", low=0.0, high=3600.0,
            field="handling_s", default=30.0,
        ),
        Word(
            stem="setup", text="setting the stop and the blade", measure="minutes", low=0.0, high=1000.0,
                field="setup_s",
            default=15.0,
        ),
        _money("rate_per_h", "price of an hour, with its operator", 1000.0, must=True),
        *OF_SAW,
    ),
)  # fmt: skip

FINISHER = Section(
    name="finisher",
    text="an outside finisher",
    is_list=True,
    words=(
        ID,
        _text("process", "what they do", must=True),
        _money("lot_minimum", "least charge for a lot", 100_000.0, must=True),
        _money("price_each", "price of one piece", 10_000.0, must=True),
        _money("freight", "carriage both ways, a lot", 10_000.0, default=0.0),
        *INVOICE,
        CLOSED,
        Word(stem="days_low", text="fewest working days away", kind="count", low=0, high=365, must=True),
        Word(stem="days_high", text="most working days away", kind="count", low=0, high=365, must=True),
        _text("pickup", "weekdays on which they collect", "weekdays", field="pickup_weekdays", must=True),
        _price("plug_price", "putting one plug in and taking it out", 1000.0),
        _price("mask_price", "masking one face or part of a hole by hand", 1000.0),
        _price("tighter_coat_price", "what a coat of closer thickness costs more, a piece", 10_000.0),
        *GROWTH,
    ),
)

BENCH = Section(
    name="bench",
    text="hand work around the machines",
    words=(
        _hand("load", "loading and unloading one piece", 20.0, 35.0, 60.0),
        _hand("blow_off", "blowing off and wiping the seat", 5.0, 12.0, 25.0),
        _hand("gauging", "gauging one piece", 15.0, 30.0, 60.0),
        _hand("deburr", "edges by hand, one piece", 30.0, 60.0, 150.0),
        _hand("blast", "blasting one piece", 90.0, 120.0, 180.0),
        _hand("plug", "plugging or unplugging one hole", 8.0, 15.0, 30.0),
        _hand("kit", "kit and box, one piece", 60.0, 120.0, 240.0),
        _hand("programming", "programming one design", 60.0, 180.0, 480.0, measure="minutes"),
        _hand("prove_out", "proving out one design", 45.0, 90.0, 240.0, measure="minutes"),
        _money("rate_per_h", "price of an hour of hand work", 1000.0, default=45.0),
        Word(
            stem="hand_edge",
            text="how much edge is broken by hand in a minute",
            kind="fact",
            measure="speed",
            low=0.01,
            high=100.0,
            field="hand_edge_mm_per_s",
        ),
        Word(
            stem="scale_step", text="finest that the scale shows on which bags are weighed", measure="mass", low=1e-4,
            high=1000.0, field="scale_step_kg",
        ),
        Word(
            stem="hone",
            text="honing one bore after the coat",
            kind="fact",
            measure="minutes",
            low=0.0,
            high=600.0,
            field="hone_s",
        ),
        _price("hone_price", "having one bore honed elsewhere after the coat", 10_000.0),
        _price("oversize_tap_price", "one tap made for a thread under a coat", 10_000.0),
    ),
)  # fmt: skip

PEOPLE = Section(
    name="people",
    text="who is there, and when",
    words=(
        Word(stem="count", text="people who run machines", kind="count", low=1, high=200, default=1),
        Word(stem="shift", text="hours of a shift", measure="hours", low=1.0, high=24.0, default=8.0),
        Word(stem="spindle_h_per_week", text="spindle hours of a machine in a week", low=1.0, high=168.0, default=30.0),
        OVERTIME,
    ),
)

MATERIAL = Section(
    name="material",
    text="the metal cut here, and how much of a batch is lost",
    words=(
        Word(
            stem="alloys", text="alloys that these figures and the speeds of the cutters are for", kind="texts",
            default=[],
        ),
        Word(stem="density", text="density", measure="density", low=1.0, high=20.0, default=2.70),
        Word(
            stem="yield", text="yield stress", kind="fact", measure="stress", low=20.0, high=2500.0, field="yield_mpa",
            default={"low": 240.0, "nominal": 276.0, "high": 276.0, "strength": "assumed"},
        ),
        Word(
            stem="elastic_modulus", text="elastic modulus", kind="fact", measure="stress", low=10_000.0, high=700_000.0,
            field="elastic_mpa",
            default={"low": 66_000.0, "nominal": 68_900.0, "high": 70_000.0, "strength": "assumed"},
        ),
        Word(
            stem="cutting_pressure", text="cutting pressure at 1 mm chip thickness", kind="fact", measure="stress",
            low=100.0, high=6000.0, field="cutting_pressure_mpa",
            default={"low": 560.0, "nominal": 800.0, "high": 1040.0, "strength": "assumed"},
        ),
        Word(stem="cutting_exponent", text="fall of that pressure with chip thickness", low=0.0, high=0.6,
            default=0.25),
        Word(
            stem="scrap", text="share of the pieces lost", kind="fact", measure="ratio", low=0.0, high=0.5,
            field="scrap_ratio", default={"low": 0.01, "nominal": 0.02, "high": 0.05, "strength": "assumed"},
        ),
    ),
)  # fmt: skip

SHOP_SECTIONS = (
    TOP, MACHINE, ROTARY, TABLE, HEAD, PROBE, MINUTES, VISE, JAWS, CRIB, CUTTER, RACK, BAR, SAW, FINISHER, GAUGE, BENCH,
    PEOPLE, CALENDAR, MATERIAL, RESPONSE, SPINDLE_READING, TEST_CUT, INSPECTION, MONEY, CHANNEL, REMNANT, SUPPLY,
)  # fmt: skip
