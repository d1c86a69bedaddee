"""The shop as described by its owner: machines, vises, jaws, cutters, bars, saw, finishers, people, money.

These are the nouns after intake: units inside (mm, s, N, rad, MPa, mW), money in the shop's own currency.
A value the owner did not give is None, never a guess.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.model.bodies import Bed, Head, Table
from proveout.model.cutter import CutterKind, Piece
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.model.fact import Fact
from proveout.model.gauge import Gauge
from proveout.model.inspection import InspectionWish
from proveout.model.measured import Response, ScrapCut, SpindleReading
from proveout.model.minute_factors import MinuteFactors
from proveout.model.program_style import ProgramStyle
from proveout.model.stock import Remnant, Supply

JAW_DEPTH_MM = 40.0
"""Assumed from a jaw's face to its back where nobody measured it."""


class Noun(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of the nouns: frozen, keywords only, unknown fields refused."""


class Rotary(Noun, frozen=True, kw_only=True):
    """The two rotary axes of a 3+2 mill: A about machine X, C about the table's own axis (ISO 841).

    A and C count as the work turns, by the right-hand rule about machine +X and +Z.  c_low_rad, c_high_rad: ends of a
    C axis that does not turn without end, None when nobody wrote them.
    """

    a_low_rad: float
    a_high_rad: float
    c_is_continuous: bool
    pivot_in_machine_mm: tuple[float, float, float] | None
    pivot_error_mm: Fact | None
    brake_torque_n_mm: Fact | None
    tilt_s: float
    c_low_rad: float | None = None
    c_high_rad: float | None = None


class Probe(Noun, frozen=True, kw_only=True):
    """A touch probe in the spindle.

    error_mm: how far a reading may be off.   ball_mm: diameter of the stylus ball.   stylus_mm: free length from the
    ball's underside to the probe's body.   body_mm: diameter of that body.
    """

    error_mm: Fact
    ball_mm: float
    stylus_mm: float
    body_mm: float


class Machine(Noun, frozen=True, kw_only=True):
    """One milling machine.

    jerk_mm_per_s3: how quickly the acceleration may change, None when nobody wrote it.  corner_jump_mm_per_s: by how
    much the velocity may jump where a path turns, None likewise.  program: how its control is spoken to, None when
    nobody described that.  table, head, probe: None when nobody described them.  setup_more_s: setting up each further
    place of one cycle, None when nobody wrote it: then as long as the first.
    torque_curve: speed in rad/s and the torque in N mm that the spindle keeps up there, slowest first; empty when
    nobody wrote them.  zero_error_mm: of a work zero; length_error_mm: of a cutter's tip against the length that the
    control holds; side_error_mm: of a wall against where its cutter was meant to leave it; all three None when nobody
    measured them.  changer: ids of the cutters that stand in it, by place from 1, empty where none does.
    idle_vises_off: vises in which no work lies are taken off its table before it starts.  minutes: None: as reckoned.
    """

    id: str
    name: str
    kind: Literal["3-axis", "3+2"]
    travel_mm: tuple[float, float, float]
    speed_max_rad_per_s: float
    power_mw: float
    rapid_mm_per_s: float
    feed_max_mm_per_s: float
    accel_mm_per_s2: float
    cutter_change_s: float
    pockets_count: int
    vises_count: int
    has_probe: bool
    rate_per_h: float
    setup_s: float
    resolution_mm: float
    rotary: Rotary | None = None
    program: ProgramStyle | None = None
    jerk_mm_per_s3: float | None = None
    corner_jump_mm_per_s: float | None = None
    table: Table | None = None
    head: Head | None = None
    probe: Probe | None = None
    setup_more_s: float | None = None
    torque_curve: tuple[tuple[float, float], ...] = ()
    zero_error_mm: Fact | None = None
    length_error_mm: Fact | None = None
    side_error_mm: Fact | None = None
    changer: tuple[str, ...] = ()
    idle_vises_off: bool = False
    minutes: MinuteFactors | None = None

    @property
    def setup_of_more_s(self) -> float:
        """Setting up each further place of one cycle."""
        return self.setup_s if self.setup_more_s is None else self.setup_more_s


class Vise(Noun, frozen=True, kw_only=True):
    """A two-jaw vise; preload is the force between the jaws at the stated torque.

    from_c_axis_mm: from the C axis to the middle of the fixed jaw's face.  above_a_axis_mm: of the seat, below it
    negative.  Both None when nobody measured where the vise stands.  stands_mm: machine coordinates of the spindle's
    nose where it would touch the middle of the fixed jaw's face at the height of the seat, at A = C = 0; None likewise.
    jaw_depth_mm: of a jaw, front to back, with what stands behind it; None: JAW_DEPTH_MM.  bed: None when nobody
    described it.  lift_mm: how far the work rises off its seat as the jaws close; None when nobody measured it.
    kind_count: how many of this kind stand on a machine, None when nobody said. more_stand_mm: as stands_mm, of each
    further one. has_middle_jaw: its fixed jaw stands in the middle between two moving ones, and it takes two pieces,
    each pressed with the whole force; middle_jaw_mm: from one face of that jaw to the other; measures are those of its
    front side. is_hand_tight: it is closed by hand, without a torque wrench: preload_n then spans what a hand may do,
    and nobody closes it a little softer. seat_slope_mm_per_m: how much the seat rises, any way; jaw_slope_mm_per_m: how
    much the fixed jaw runs off, along X or upright; repeat_mm: how far one piece lies off from load to load, at the
    stop and at the fixed jaw; None when nobody measured them. chart_torques_n_mm, chart_forces_n: points of its maker's
    torque chart, rising; empty when nobody wrote them. grip_reserve_ratio: times the cutting force its grip must bear.
    least_preload_n: what it presses with at least where preload_n is not known, closed harder than its chart tells.
    """

    id: str
    machines: tuple[str, ...]
    opening_max_mm: float
    jaw_length_mm: float
    jaw_height_mm: float
    preload_n: Fact | None
    rating_n: float | None
    torque_n_mm: float | None
    from_c_axis_mm: Fact | None = None
    above_a_axis_mm: Fact | None = None
    stands_mm: tuple[float, float, float] | None = None
    jaw_depth_mm: float | None = None
    bed: Bed | None = None
    lift_mm: Fact | None = None
    kind_count: int | None = None
    more_stand_mm: tuple[tuple[float, float, float], ...] = ()
    has_middle_jaw: bool = False
    is_hand_tight: bool = False
    middle_jaw_mm: float | None = None
    seat_slope_mm_per_m: Fact | None = None
    jaw_slope_mm_per_m: Fact | None = None
    repeat_mm: Fact | None = None
    chart_torques_n_mm: tuple[float, ...] = ()
    chart_forces_n: tuple[float, ...] = ()
    grip_reserve_ratio: float = 1.0
    least_preload_n: float | None = None

    @property
    def jaw_deep_mm(self) -> float:
        """From a jaw's face to its back."""
        return JAW_DEPTH_MM if self.jaw_depth_mm is None else self.jaw_depth_mm

    @property
    def fixed_deep_mm(self) -> float:
        """From the fixed jaw's face to its back: to its other face where it stands in the middle."""
        return self.jaw_deep_mm if not self.has_middle_jaw or self.middle_jaw_mm is None else self.middle_jaw_mm

    def stand_of(self, number: int) -> tuple[float, float, float] | None:
        """Where the first, second or further vise of this kind stands; None when nobody measured."""
        stands = (self.stands_mm, *self.more_stand_mm)
        return stands[number - 1] if number <= len(stands) else None


class Jaws(Noun, frozen=True, kw_only=True):
    """A pair of jaw plates; friction against the surface they touch, None when nobody knows.

    blank_thickness_mm, blank_height_mm: of one soft jaw before it is cut, across the jaws and above the vise bed; None
    when nobody wrote them.  step_mm: how far the step that the work stands on reaches under it; None: all the way.
    """

    id: str
    kind: Literal["toothed", "smooth", "soft"]
    grip_mm: float
    friction_ratio: Fact | None
    for_surface: Literal["raw", "finished", "any"]
    make_s: float
    price: float
    blank_thickness_mm: float | None = None
    blank_height_mm: float | None = None
    step_mm: float | None = None


class Cutter(Noun, frozen=True, kw_only=True):
    """A cutter in its holder. `cutting` are the pieces with edges, `body` the shank and holder; tip at z = 0.

    cutting_speed_mm_per_s, tooth_feed_mm: kept as written, unless a low end stands beside them.
    cutting_speed_low_mm_per_s: None: the speed is kept; else the fastest up to cutting_speed_mm_per_s is chosen.
    chip_low_mm: None: the feed is kept; else it is chosen so that the thickest chip of a turn is from chip_low_mm to
    tooth_feed_mm thick.  axial_max_mm, radial_max_mm: deepest and widest roughing; None: as the passes are wont to go.
    holder_speed_max_rad_per_s: rating of the holder alone, None where speed_max_rad_per_s is that of both.
    made_of: None where nobody wrote it.
    wear_mm_per_s: how far the surface that it leaves moves for each second it is used; None when nobody measured it.
    neck_diameter_mm, neck_length_mm: of a T-slot or undercut cutter between head and shank; None where the shank goes
    down to the head.  bending_strength_mpa: of what it is made of; None where nobody wrote it.
    """

    id: str
    name: str
    kind: CutterKind
    diameter_mm: float
    corner_radius_mm: float
    flutes_count: int
    flute_length_mm: float
    stick_out_mm: float
    shank_diameter_mm: float
    holder_diameter_mm: float
    holder_length_mm: float
    tip_angle_rad: float
    tip_diameter_mm: float
    pitch_mm: float
    speed_max_rad_per_s: float | None
    cutting_speed_mm_per_s: float
    tooth_feed_mm: float
    life_s: float | None
    price: float
    wear_mm_per_s: Fact | None = None
    cutting_speed_low_mm_per_s: float | None = None
    chip_low_mm: float | None = None
    axial_max_mm: float | None = None
    radial_max_mm: float | None = None
    holder_speed_max_rad_per_s: float | None = None
    made_of: Literal["carbide", "high-speed steel"] | None = None
    neck_diameter_mm: float | None = None
    neck_length_mm: float | None = None
    bending_strength_mpa: Fact | None = None

    @property
    def rated_rad_per_s(self) -> float | None:
        """The lower of what cutter and holder are rated for; None where nobody wrote the cutter's."""
        if self.speed_max_rad_per_s is None or self.holder_speed_max_rad_per_s is None:
            return self.speed_max_rad_per_s
        return min(self.speed_max_rad_per_s, self.holder_speed_max_rad_per_s)

    @property
    def is_range(self) -> bool:
        """Whether the owner left something between ends or below a most, for the plan to choose."""
        chosen = (self.cutting_speed_low_mm_per_s, self.chip_low_mm, self.axial_max_mm, self.radial_max_mm)
        return any(value is not None for value in chosen)

    @property
    def gauge_mm(self) -> float:
        """From the spindle's nose to the tip: the holder and what sticks out of it."""
        return self.stick_out_mm + self.holder_length_mm

    @property
    def shank_from_mm(self) -> float:
        """Height over the tip from which it is as thick as its shank."""
        return self.flute_length_mm + (self.neck_length_mm or 0.0)

    @property
    def neck_or_shank_mm(self) -> float:
        """Diameter right behind the edges."""
        return self.shank_diameter_mm if self.neck_diameter_mm is None else self.neck_diameter_mm

    @property
    def cutting(self) -> tuple[Piece, ...]:
        """The pieces that carry edges."""
        return cutting_pieces(self)

    @property
    def body(self) -> tuple[Piece, ...]:
        """Neck, shank and holder: they must never touch metal."""
        return body_pieces(self)


class Bar(Noun, frozen=True, kw_only=True):
    """One rectangular bar section that can be bought or lies in the rack. Tolerances are +/- per side length.

    faced_bow_mm: how far a piece of it bowed once one side was faced, that was faced_bow_length_mm long and of which
    faced_bow_thickness_mm was left; all three None when nobody measured it.
    """

    id: str
    alloy: str
    width_mm: float
    height_mm: float
    width_tolerance_mm: float
    height_tolerance_mm: float
    corner_radius_mm: float
    bow_mm_per_m: float
    twist_rad_per_m: float
    lengths_mm: tuple[float, ...]
    price_per_kg: float
    condition: str
    faced_bow_mm: Fact | None = None
    faced_bow_length_mm: float | None = None
    faced_bow_thickness_mm: float | None = None


class Saw(Noun, frozen=True, kw_only=True):
    """The saw: bundles up to width x height, lengths within +/- tolerance.

    lift_limit_kg: what one person may lift here, remnant_least_mm: the shortest remnant that is kept; None where
    nobody wrote it.
    """

    bundle_width_mm: float
    bundle_height_mm: float
    kerf_mm: float
    trim_mm: float
    tail_mm: float
    length_tolerance_mm: float
    rate_mm2_per_s: float
    handling_s: float
    setup_s: float
    rate_per_h: float
    lift_limit_kg: float | None = None
    remnant_least_mm: float | None = None


class Finisher(Noun, frozen=True, kw_only=True):
    """An outside finisher; days are working days from pick-up to return.

    plug_price, mask_price: of one; tighter_coat_price: a piece.  None where nobody asked.  loading_price: a lot;
    further_part_price: for each part number beyond the first in it.  charges_plugs: every plug and mask is charged.
    closed: days off.  coat_growth_mm: how far a surface coated coat_growth_at_mm thick was read to stand outside.
    coat_thickness_mm: of coats that were asked for at coat_thickness_at_mm, as they were read.
    """

    id: str
    process: str
    lot_minimum: float
    price_each: float
    freight: float
    days_low: int
    days_high: int
    pickup_weekdays: tuple[int, ...]
    plug_price: Fact | None = None
    mask_price: Fact | None = None
    tighter_coat_price: Fact | None = None
    loading_price: float = 0.0
    further_part_price: float = 0.0
    charges_plugs: bool = False
    closed: tuple[str, ...] | None = None
    coat_growth_mm: Fact | None = None
    coat_growth_at_mm: float | None = None
    coat_thickness_mm: Fact | None = None
    coat_thickness_at_mm: float | None = None


class Bench(Noun, frozen=True, kw_only=True):
    """Hand work and outlay around the machines, in seconds and money.

    hand_edge_mm_per_s: of edge broken by hand;  scale_step_kg: the finest that the counting scale shows; None where
    nobody measured.
    hone_s: of one bore, by the shop's own people; hone_price: of one bore, elsewhere; oversize_tap_price: of one tap.
    None where nobody wrote it.
    """

    load_s: Fact
    blow_off_s: Fact
    gauging_s: Fact
    deburr_s: Fact
    blast_s: Fact
    plug_s: Fact
    kit_s: Fact
    programming_s: Fact
    prove_out_s: Fact
    rate_per_h: float
    hand_edge_mm_per_s: Fact | None = None
    scale_step_kg: float | None = None
    hone_s: Fact | None = None
    hone_price: Fact | None = None
    oversize_tap_price: Fact | None = None


class Channel(Noun, frozen=True, kw_only=True):
    """One way of selling. fee_ratio: share of the price that goes to others; fee_each: money a piece beside it."""

    id: str
    fee_ratio: float
    fee_each: float = 0.0


class ShopMoney(Noun, frozen=True, kw_only=True):
    """How far the shop's prices may be off, all of a kind together, as multiples of what is written.

    bar_ratio: of metal; rate_ratio: of all rates an hour; outside_ratio: of all finishers; setup_ratio: of the minutes
    of set-ups and saw; cutter_ratio: of what cutters cost for each minute.  None: nobody said, and it counts as exact.
    chip_price_per_kg: paid for chips, None where they are given away.  holding_ratio: what a year of lying costs, as a
    share of what a piece costs.  channels: ways of selling.
    """

    bar_ratio: Fact | None = None
    rate_ratio: Fact | None = None
    outside_ratio: Fact | None = None
    setup_ratio: Fact | None = None
    cutter_ratio: Fact | None = None
    chip_price_per_kg: Fact | None = None
    holding_ratio: Fact | None = None
    channels: tuple[Channel, ...] = ()


class Shop(Noun, frozen=True, kw_only=True):
    """The whole description. `assumed` lists every default that was filled in, in words, line by line.

    units: the system that people here type and read; inside it changes nothing.
    elastic_mpa: elastic modulus of the metal.
    alloys: those that density, yield, modulus and cutting pressure, and the cutters' speeds, are for; empty: nobody
    said.  responses, spindle_readings, test_cuts: measured here; empty where nobody measured.  inspection: how lots are
    sampled and readings decided by, as far as the owner wrote it.  money: how far prices may be off, and where pieces
    are sold.
    closed: days off beside Saturdays and Sundays, as written; None where nobody wrote them.
    overtime_ratio: what an hour beyond the shift costs more, as a share of its rate; None where nobody wrote it.
    """

    name: str
    currency: str
    machines: tuple[Machine, ...]
    vises: tuple[Vise, ...]
    jaws: tuple[Jaws, ...]
    cutters: tuple[Cutter, ...]
    bars: tuple[Bar, ...]
    saw: Saw
    finishers: tuple[Finisher, ...]
    gauges: tuple[Gauge, ...]
    bench: Bench
    people_count: int
    shift_h: float
    spindle_h_per_week: float
    density_kg_per_mm3: float
    yield_mpa: Fact
    cutting_pressure_mpa: Fact
    cutting_exponent_ratio: float
    scrap_ratio: Fact
    door_side: Literal["-y"] = "-y"
    units: Literal["mm", "inch"] = "mm"
    alloys: tuple[str, ...] = ()
    elastic_mpa: Fact | None = None
    assumed: tuple[str, ...] = ()
    responses: tuple[Response, ...] = ()
    spindle_readings: tuple[SpindleReading, ...] = ()
    test_cuts: tuple[ScrapCut, ...] = ()
    inspection: InspectionWish = InspectionWish()
    remnants: tuple[Remnant, ...] = ()
    supplies: tuple[Supply, ...] = ()
    money: ShopMoney = ShopMoney()
    closed: tuple[str, ...] | None = None
    overtime_ratio: Fact | None = None
