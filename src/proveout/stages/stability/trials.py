"""The two-minute cut in scrap that tells whether a cutter chatters at a pass's speed, feed and width."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from proveout.cutting.edge_models import side_forces
from proveout.cutting.speeds import feed_mm_per_s
from proveout.cutting.turning import EdgeModel
from proveout.geometry.boxes import box_corners
from proveout.grip.headings import headings
from proveout.grip.margins import GripMargins, grip_margins
from proveout.model.fact import Fact
from proveout.model.loads import PassLoad
from proveout.model.plan import ClampForce
from proveout.model.shop import Cutter, Jaws, Vise
from proveout.model.trial_cut import TrialCut
from proveout.model.work import Blank, Clamping, Pass

SHARES = (0.25, 0.5, 0.75, 1.0)
"""Where the depth is told, in shares of the deepest, for which the grip on the scrap is judged."""
SLOPE_NARROW, SLOPE_WIDE = math.tan(math.radians(5.0)), math.tan(math.radians(2.0))
"""Common practice, no source: steeper ways down load the end edges; the second where the middle of the end cuts."""
RUN_LEAST_MM, RUN_MOST_MM = 40.0, 300.0
LEVEL_S, LEVEL_LEAST_MM = 0.8, 15.0
"""At the end as long as can be heard."""
CLEAR_MM = 3.0
"""Between the deepest place and the jaws, and from the cutter's edge to the scrap before the cut."""
NARROW_MM = 1.0
"""A cut narrower than that finds air or a raw skin on one side of the bar: the side is cut clean first."""
LEAST_MM = 0.02
PARTS = tuple(round(1.0 - 0.05 * k, 2) for k in range(16))
"""Shares of the deepest that is wanted, tried until the grip on the scrap bears the cut."""
LEVEL_COS = 0.999
"""Of the angle between bar and jaws, at least."""
RESERVE_LEAST = 1.0
"""How many times the force of the cut may at least grow before the scrap moves."""
LENGTH_OFF_MM, MIDDLE_OFF_MM, ENDS_MM = 1.0, 5.0, 2.0
"""Common practice, no source: how far a hand saws and lays scrap off, and what burrs at both ends take of the patch."""


@dataclass(frozen=True)
class _Span:
    """An interval of a length, mm."""

    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class _Laid:
    """A test cut down to a depth, its way down, its scrap, and the grip on that for every heading of the force."""

    depth_mm: float
    run_mm: float
    scrap_mm: float
    margins: tuple[GripMargins, ...]

    @property
    def reserve(self) -> float:
        """How many times the force of the cut may grow before the scrap moves."""
        return min(m.reserve_ratio for m in self.margins)


@dataclass(frozen=True)
class Vises:
    """What holds the scrap. forces: of every clamping, as hard as its vise is closed.   yield_mpa: of the work."""

    vises: tuple[Vise, ...]
    jaws: tuple[Jaws, ...]
    forces: tuple[ClampForce, ...]
    yield_mpa: Fact

    def force_of(self, clamping: Clamping) -> Fact | None:
        """At the jaws of a clamping; None where nobody knows it."""
        return next((f.force_n for f in self.forces if f.clamping_id == clamping.id), None)

    def friction_of(self, clamping: Clamping) -> Fact | None:
        """Of a clamping's jaws; None where nobody knows it."""
        return next(j for j in self.jaws if j.id == clamping.jaws_id).friction_ratio


def trial_cut(
    one: Pass, load: PassLoad, *, proof_id: str, cutter: Cutter, models: tuple[EdgeModel, ...],
    clampings: tuple[Clamping, ...], blank: Blank, held: Vises,
) -> TrialCut | str:  # fmt: skip
    """The cut for one pass, or why none can be made.

    The scrap lies as the blank does, in plain jaws that take the raw bar, no longer than these. Its grip is judged at
    the force of the cut itself, at the worst end of all that is known: the cut goes as deep as that bears, and where it
    bears next to nothing there is no cut.   models: of the cutter's dull edges.
    """
    own = next(c for c in clampings if c.id == one.clamping_id)
    by_jaws = {j.id: j for j in held.jaws}
    plain = [
        c for c in clampings
        if c.machine_id == own.machine_id and not c.needs_form and c.surface == "raw"
        and by_jaws[c.jaws_id].for_surface != "finished"
    ]  # fmt: skip
    if not plain:
        return "no clamping on this machine holds a raw bar in plain jaws"
    found = [
        _trial_in(c, one, load, proof_id=proof_id, cutter=cutter, models=models, blank=blank, held=held)
        for c in sorted(plain, key=lambda c: (c.id != own.id, c.number))
    ]
    return next((cut for cut in found if isinstance(cut, TrialCut)), found[0])


def _trial_in(
    clamping: Clamping, one: Pass, load: PassLoad, *, proof_id: str, cutter: Cutter, models: tuple[EdgeModel, ...],
    blank: Blank, held: Vises,
) -> TrialCut | str:  # fmt: skip
    vise = next(v for v in held.vises if v.id == clamping.vise_id)
    along = clamping.frame.x[blank.length_axis]
    if abs(along) < LEVEL_COS:
        return "the bar does not lie along the jaws"
    corners = box_corners(blank.low_mm, blank.high_mm)
    placed = clamping.frame.into(corners)
    top_mm = float(placed[:, 2].max()) - clamping.jaw_top_mm
    # as wide as any move of the pass: those that push hardest may be narrow and deep
    radial = min(max(load.radial_mm, one.radial_mm), cutter.diameter_mm)
    slope = SLOPE_NARROW if radial <= cutter.diameter_mm / 2.0 else SLOPE_WIDE
    feed = feed_mm_per_s(
        feed_per_tooth_mm=one.tooth_feed_mm, teeth_count=cutter.flutes_count, spindle_rad_per_s=one.speed_rad_per_s
    )
    level = float(max(LEVEL_LEAST_MM, math.ceil(feed * LEVEL_S - 1e-9)))
    jaws_mm = min(vise.jaw_length_mm, clamping.jaw_length_mm or math.inf)
    room = math.floor(jaws_mm - 2.0 * MIDDLE_OFF_MM - LENGTH_OFF_MM)
    run_most = min(RUN_MOST_MM, room - level - cutter.diameter_mm)
    if run_most < RUN_LEAST_MM:
        return f"the jaws, {jaws_mm:g} mm long, are too short for scrap that such a cut fits on"
    deepest = min(load.axial_mm, top_mm - CLEAR_MM, cutter.flute_length_mm, math.floor(run_most) * slope)
    if deepest < LEAST_MM:
        return "the bar stands too low above the jaws"
    width_mm = float(np.ptp(placed[:, 1]))
    unknown = _unknown(clamping, vise, held, width_mm)
    if unknown:
        return unknown

    def laid(part: float) -> _Laid:
        depth = math.floor(100.0 * part * deepest + 1e-6) / 100.0
        run = float(max(RUN_LEAST_MM, math.ceil(depth / slope - 1e-9)))
        scrap = float(math.ceil(run + level + cutter.diameter_mm - 1e-9))
        margins = _margins(
            clamping, held, cutter, models, scrap_mm=scrap, width_mm=width_mm, top_mm=top_mm, radial_mm=radial,
            depth_mm=depth, end_mm=slope * cutter.diameter_mm, tooth_feed_mm=one.tooth_feed_mm,
        )  # fmt: skip
        return _Laid(depth_mm=depth, run_mm=run, scrap_mm=scrap, margins=tuple(margins))

    asked = max(RESERVE_LEAST, vise.grip_reserve_ratio)
    cut = next((c for c in map(laid, PARTS) if c.reserve >= asked), laid(PARTS[-1]))
    if cut.reserve < asked:
        told = math.floor(100.0 * cut.reserve) / 100.0
        more = f", and {asked:g} times is asked of it" if asked > RESERVE_LEAST else ""
        deep = f"{cut.depth_mm:g} mm deep{more}"
        return f"the grip on scrap in {clamping.jaws_id} bears {told:g} of the force of a cut {deep}"
    if not all(m.holds for m in cut.margins):
        return f"{clamping.jaws_id} would crush the scrap"
    run, scrap = cut.run_mm, cut.scrap_mm
    # towards -X with the work on the cutter's right: the chip begins thick, as in the passes
    start, is_slot = scrap + cutter.diameter_mm / 2.0 + CLEAR_MM, radial >= cutter.diameter_mm - 1e-6
    depths = tuple(round(share * cut.depth_mm, 3) for share in SHARES)
    return TrialCut(
        proof_id=proof_id, machine_id=clamping.machine_id, cutter_id=cutter.id, pass_id=one.id,
        clamping_id=clamping.id, bar_id=blank.bar_id, scrap_mm=scrap, grip_mm=round(clamping.jaw_top_mm, 2),
        top_mm=round(top_mm, 2), length_off_mm=LENGTH_OFF_MM, middle_off_mm=MIDDLE_OFF_MM,
        reserve_low=math.floor(100.0 * cut.reserve) / 100.0,
        speed_rad_per_s=one.speed_rad_per_s, feed_mm_per_s=feed, radial_mm=round(radial, 3), start_mm=round(start, 2),
        ramp_mm=scrap, x_mm=tuple(round(scrap - share * run, 2) for share in SHARES), depths_mm=depths,
        end_mm=round(scrap - run - level, 2), y_mm=0.0 if is_slot else round(radial - cutter.diameter_mm / 2.0, 3),
        pass_mm=round(load.axial_mm, 3), tooth_hz=round(cutter.flutes_count * one.speed_rad_per_s / (2.0 * math.pi), 2),
        cut_s=round((start - scrap + math.hypot(run, cut.depth_mm) + level) / feed, 2), is_slot=is_slot,
        is_narrow=radial < NARROW_MM, is_whole=cut.depth_mm >= load.axial_mm - 0.01,
    )  # fmt: skip


def _unknown(clamping: Clamping, vise: Vise, held: Vises, width_mm: float) -> str:
    """What must be known before any cut is made in scrap between these jaws; empty where nothing is missing."""
    force = held.force_of(clamping)
    friction = held.friction_of(clamping)
    if force is None or vise.preload_n is None or not vise.preload_n.is_backed:
        return f"the jaw force of {vise.id} is not known"
    if friction is None or not friction.is_backed:
        return f"the friction of {clamping.jaws_id} is not known"
    if clamping.patch_height_mm.low <= 0.0:
        return "nobody can vouch that the jaws touch the bar below its rounded edge"
    return f"{vise.id} does not open so wide" if width_mm > vise.opening_max_mm else ""


def _margins(
    clamping: Clamping, held: Vises, cutter: Cutter, models: tuple[EdgeModel, ...], *, scrap_mm: float,
    width_mm: float, top_mm: float, radial_mm: float, depth_mm: float, end_mm: float, tooth_feed_mm: float,
) -> list[GripMargins]:  # fmt: skip
    """The grip on the scrap for every heading of the cut's force, which acts at the far end of the scrap's top.

    end_mm: how much deeper the end edges go within the cutter's width on the way down; they count as so much more
    depth, and push along the axis too.
    """
    force, friction = held.force_of(clamping), held.friction_of(clamping)
    assert force is not None
    assert friction is not None
    height = min(clamping.patch_height_mm.low, clamping.jaw_top_mm)
    cut = side_forces(
        cutter, models, axial_mm=np.array([depth_mm + end_mm]), radial_mm=np.array([radial_mm]),
        tooth_feed_mm=np.array([tooth_feed_mm]),
    )  # fmt: skip
    across_n = float(cut.across_n[0])
    along_axis_n = float(cut.axial_n[0]) + across_n * end_mm / (depth_mm + end_mm)
    shortest, longest = scrap_mm - LENGTH_OFF_MM - ENDS_MM, scrap_mm + LENGTH_OFF_MM
    return [
        grip_margins(
            preload_n=force, friction_ratio=friction, patch_length_mm=_Span(shortest, longest),
            patch_height_mm=_Span(height, clamping.jaw_top_mm), jaw_gap_mm=width_mm, force_along_n=along,
            force_across_n=across, force_up_n=along_axis_n, cut_height_mm=top_mm + clamping.jaw_top_mm - height,
            offset_along_mm=longest / 2.0 + ENDS_MM / 2.0, yield_mpa=held.yield_mpa,
        )
        for along, across in headings(across_n)
    ]  # fmt: skip
