"""Loads of every move of a pass: where it pushes, how hard, and how far its cutter bends."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.deflection import (
    ELASTIC_ENDS_MPA,
    FLUTED_DIAMETER_RATIO,
    GIVING_WAY_RATIO,
    stepped_deflections_mm,
)
from proveout.cutting.stepped_beam import has_head, most_give_mm
from proveout.geometry.frames import Frame
from proveout.model.loads import PassLoad
from proveout.model.move_cuts import MoveCuts
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import BOX_CHORD_MM, Moves
from proveout.model.shop import Cutter
from proveout.model.work import Clamping, Pass
from proveout.stages.loads.milling import MilledMoves

Floats = NDArray[np.float64]
Box = tuple[Floats, Floats]
LEANING = 1e-6


class MovesFound(msgspec.Struct, frozen=True, kw_only=True):
    """The loads of a pass's moves, with what is judged beside them, (k,) each.

    chip_low_mm, chip_high_mm: see MilledMoves; None of a drill or a tap.  bent_low_mm: the tip is sure to bend so far
    at some moment.
    """

    loads: MoveLoads
    chip_low_mm: Floats | None
    chip_high_mm: Floats | None
    bent_low_mm: Floats


class Site(msgspec.Struct, frozen=True, kw_only=True):
    """Where a pass cuts: its clamping, the frame of its tilt, and the blank's box in the clamping's frame, or None."""

    clamping: Clamping
    frame: Frame
    blank: Box | None

    @property
    def axis(self) -> Floats:
        """The cutter's axis in the clamping's frame."""
        axis = self.clamping.frame.turn @ np.array(self.frame.z)
        return np.asarray(axis / np.linalg.norm(axis))


def milled_loads(
    one: Pass, moves: Moves, cuts: MoveCuts, cutter: Cutter, site: Site, found: MilledMoves, *, share: float,
    least_torque_n_mm: Floats, least_share: Floats,
) -> MovesFound:  # fmt: skip
    """Loads of a milling pass: the force acts at the edges in the cut, so there is no couple beside it.

    least_torque_n_mm: (k,) what each move is sure to ask for at some moment.   least_share: (k,) likewise of its force
    across, as a share of the greatest.
    """
    axis = site.axis
    low, high = boxes_mm(moves, cuts.rows, site, reach_mm=cutter.diameter_mm / 2.0, tall_mm=found.engaged_mm)
    force = _any_way_n(axis, across_n=found.across_n, along_n=found.axial_n)
    bent = _bent_mm(cutter, found)
    loads = MoveLoads(
        pass_id=one.id, clamping_id=site.clamping.id, rows=cuts.rows, force_low_n=-force, force_high_n=force,
        couple_n_mm=np.zeros(len(force)), axis=axis, at_low_mm=low, at_high_mm=high, cut_low_mm=low, cut_high_mm=high,
        torque_n_mm=found.torque_n_mm, power_mw=found.torque_n_mm * one.speed_rad_per_s, scale_share=share,
        deflection_mm=bent[0],
        tooth_feed_mm=found.tooth_feed_mm, radial_mm=found.radial_mm, axial_mm=found.axial_mm,
        least_share=least_share, least_torque_n_mm=least_torque_n_mm,
    )  # fmt: skip
    return MovesFound(
        loads=loads,
        chip_low_mm=found.chip_low_mm,
        chip_high_mm=found.chip_high_mm,
        bent_low_mm=least_share * bent[1],
    )


def _bent_mm(cutter: Cutter, found: MilledMoves) -> tuple[Floats, Floats]:
    """At the tip, (k,) each: at most, with holder and spindle giving way, and the least for the greatest force."""
    if has_head(cutter):
        most = most_give_mm(cutter, across_n=found.across_n, axial_n=found.axial_n).across_mm
        return most, np.zeros(len(most))
    soft, stiff = (
        stepped_deflections_mm(
            force_n=found.across_n, stick_out_mm=cutter.stick_out_mm, flute_length_mm=cutter.flute_length_mm,
            diameter_mm=cutter.diameter_mm, shank_diameter_mm=cutter.shank_diameter_mm or cutter.diameter_mm,
            elasticity_mpa=elastic, diameter_ratio=FLUTED_DIAMETER_RATIO,
        )
        for elastic in ELASTIC_ENDS_MPA[cutter.made_of]
    )  # fmt: skip
    return GIVING_WAY_RATIO * soft, stiff


def bored_loads(
    one: Pass, moves: Moves, cuts: MoveCuts, cutter: Cutter, site: Site, *, thrust_n: float, torque_n_mm: float,
    share: float, is_sure: NDArray[np.bool_],
) -> MovesFound:  # fmt: skip
    """Loads of a drill, a reamer or a tap: along its axis, either way, and a couple about it.

    A drill that breaks through is pulled, a tap that turns back is pushed and turns the work the other way: neither is
    known to be less than going in, so both ends are as large. The metal it cuts lies all about that axis, and beside
    its point.   is_sure: (k,) moves that cut all of it at some moment.
    """
    count, axis = len(cuts.rows), site.axis
    low, high = boxes_mm(moves, cuts.rows, site, reach_mm=0.0, tall_mm=np.zeros(count))
    cut_low, cut_high = boxes_mm(
        moves, cuts.rows, site, reach_mm=cutter.diameter_mm / 2.0, tall_mm=np.full(count, _point_mm(cutter))
    )
    force = _any_way_n(axis, across_n=np.zeros(count), along_n=np.full(count, thrust_n))
    torque, unknown = np.full(count, torque_n_mm), np.full(count, np.nan)
    per_turn = moves.feed_mm_per_s[cuts.rows] * 2.0 * math.pi / one.speed_rad_per_s
    loads = MoveLoads(
        pass_id=one.id, clamping_id=site.clamping.id, rows=cuts.rows, force_low_n=-force, force_high_n=force,
        couple_n_mm=torque, axis=axis, at_low_mm=low, at_high_mm=high, cut_low_mm=cut_low, cut_high_mm=cut_high,
        torque_n_mm=torque, power_mw=torque * one.speed_rad_per_s, scale_share=share, deflection_mm=unknown,
        tooth_feed_mm=per_turn / max(cutter.flutes_count, 1), radial_mm=np.full(count, one.radial_mm),
        axial_mm=np.full(count, one.axial_mm), least_share=np.where(is_sure, share, 0.0),
        least_torque_n_mm=np.where(is_sure, share, 0.0) * torque,
    )  # fmt: skip
    return MovesFound(loads=loads, chip_low_mm=None, chip_high_mm=None, bent_low_mm=unknown)


def envelope(whole: PassLoad, found: MovesFound, milled: MilledMoves | None, clamping: Clamping) -> PassLoad:
    """A pass as the hardest of its moves, nowhere more than the pass as a whole; without moves nothing is asked."""
    loads = found.loads
    if len(loads.rows) == 0:
        return msgspec.structs.replace(
            whole, tangential_n=0.0, plane_n=0.0, axial_n=0.0, torque_n_mm=0.0, power_mw=0.0
        )  # fmt: skip
    low, high = loads.at_low_mm.min(axis=0), loads.at_high_mm.max(axis=0)
    along = max(abs(low[0] - clamping.jaw_middle_mm), abs(high[0] - clamping.jaw_middle_mm))
    across = max(abs(low[1] + clamping.gap_mm / 2.0), abs(high[1] + clamping.gap_mm / 2.0))
    changed = {
        "torque_n_mm": round(float(loads.torque_n_mm.max()), 3), "power_mw": round(float(loads.power_mw.max()), 3),
        "height_mm": min(whole.height_mm, round(float(high[2]), 4)),
        "along_mm": min(whole.along_mm, round(float(along), 4)),
        "across_mm": min(whole.across_mm, round(float(across), 4)),
    }  # fmt: skip
    if milled is not None:
        at = int(np.argmax(milled.across_n))
        changed |= {
            "tangential_n": round(float(milled.tangential_n.max()), 4),
            "plane_n": round(float(milled.across_n.max()), 4), "axial_n": round(float(milled.axial_n.max()), 4),
            "radial_mm": round(float(milled.radial_mm[at]), 4), "axial_mm": round(float(milled.engaged_mm.max()), 4),
        }  # fmt: skip
    return msgspec.structs.replace(whole, **changed)


def _point_mm(cutter: Cutter) -> float:
    """From the tip to where the cutter is as wide as it gets: above that a straight plunge cuts nothing new."""
    return max((p.z_high_mm for p in cutter.cutting if p.r_low_mm < p.r_high_mm), default=0.0)


def _any_way_n(axis: Floats, *, across_n: Floats, along_n: Floats) -> Floats:
    """(k, 3) half the box that holds a force of any heading across the axis and either way along it."""
    aside = np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    return np.asarray(across_n[:, None] * aside + along_n[:, None] * np.abs(axis))


def boxes_mm(moves: Moves, rows: NDArray[np.int64], site: Site, *, reach_mm: float, tall_mm: Floats) -> Box:
    """(k, 3) low and high corner of what a cutter so wide and tall can touch during each move, kept to the blank."""
    straight, owner = moves.divided(within_mm=BOX_CHORD_MM)
    at = site.clamping.frame.into(site.frame.out_of(straight.points))
    # the way to each point begins at the point before it
    low, high = (worse(at[1:], at[:-1]) for worse in (np.minimum, np.maximum))
    firsts = np.searchsorted(owner[1:], rows, side="left")
    lasts = np.searchsorted(owner[1:], rows, side="right")
    pairs = np.column_stack([firsts, lasts]).ravel()
    if len(rows) == 0:
        return np.zeros((0, 3)), np.zeros((0, 3))
    low = np.minimum.reduceat(np.vstack([low, low[-1:]]), pairs)[::2]
    high = np.maximum.reduceat(np.vstack([high, high[-1:]]), pairs)[::2]
    axis = site.axis
    wide = reach_mm * np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    up = tall_mm[:, None] * axis
    low, high = low + np.minimum(up, 0.0) - wide, high + np.maximum(up, 0.0) + wide
    if site.blank is not None:
        low, high = (np.clip(corner, site.blank[0], site.blank[1]) for corner in (low, high))
    return low, high


def is_leaning(site: Site) -> bool:
    """Whether the cutter's axis is not the clamping's z."""
    return bool(abs(float(np.dot(site.frame.z, site.clamping.frame.z)) - 1.0) > LEANING)
