"""Speed, feed and depth of a cutter whose row leaves them to the plan: the fastest within every limit known so far."""

from __future__ import annotations

import math
from collections.abc import Iterable

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.chip_thickness import radial_thinning_ratio
from proveout.cutting.deflection import (
    ELASTIC_ENDS_MPA,
    FLUTED_DIAMETER_RATIO,
    GIVING_WAY_RATIO,
    stepped_deflections_mm,
)
from proveout.cutting.drilling import (
    DRILL_FEED_MOST_MM,
    DRILL_LEAST_MM,
    DRILL_MATERIAL_RATIO,
    DRILL_MOST_MM,
    drill_torque_n_mm,
)
from proveout.cutting.easing import AXIAL_FLOOR, FEED_FLOOR, WALL_FLOOR
from proveout.cutting.edge_coefficients import CoefficientRange
from proveout.cutting.edge_models import edge_ends, side_forces
from proveout.cutting.fastest import Fastest, Room, fastest_depth, fastest_feed, largest_feed_mm, room_of
from proveout.cutting.tapping import TAP_PRESSURE_MPA, tap_torque_by_pitch_n_mm
from proveout.cutting.turning import TurnForces
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.pace import AS_PLANNED, BENT, DEEPEST, OWN_FEED, PITCH, THICK, Pace
from proveout.model.shop import Cutter, Machine
from proveout.stages.passes.speeds import (
    AIR_RATIO,
    PLUNGE_RATIO,
    RAMP_RATIO,
    SLOT_RATIO,
    THINNED_MOST,
    FeedLimit,
    Speeds,
)

Floats = NDArray[np.float64]
AS_DEEP_RATIO = 1.0 - 1e-9


class Metal(msgspec.Struct, frozen=True, kw_only=True):
    """How hard the metal is to cut. pressure_mpa: k_c1.1.  coefficients: None of a family that nobody published."""

    pressure_mpa: Fact
    exponent_ratio: float
    coefficients: CoefficientRange | None


class Pacer(msgspec.Struct, frozen=True, kw_only=True):
    """One cutter in one clamping: its machine, the limits in force for it, and the metal."""

    cutter: Cutter
    machine: Machine
    limits: Limits
    clamping_id: str
    metal: Metal

    def limit(self, quantity: str, default: float) -> float:
        """The bound in force."""
        return self.limits.of(quantity, f"{self.clamping_id}/{self.cutter.id}", default)

    def level(self, *, radial_mm: float, most_mm: float, deepest_by: str = AS_PLANNED) -> tuple[Speeds, float]:
        """Speeds and depth of a level at a width that is kept."""
        room, diameter = self._room(radial_mm), self.cutter.diameter_mm

        def torques(feeds: Floats, depths: Floats) -> Floats:
            return self._forces(depths, radial_mm, feeds).tangential_n * diameter / 2.0

        found = fastest_depth(room, floor_mm=AXIAL_FLOOR * diameter, most_mm=most_mm, torques_n_mm=torques)
        speeds = self._speeds(found, room, found.depth_by or deepest_by, found.axial_mm / diameter, limit=None)
        return speeds, found.axial_mm

    def stage(
        self, *, radial_mm: float, axial_mm: float, axial_ratio: float, deepest_by: str = AS_PLANNED,
        limit: FeedLimit | None = None,
    ) -> Speeds:  # fmt: skip
        """Speeds of a cut whose depth and width are given; axial_ratio, limit: by what its depth or feed is eased."""
        room = self._room(radial_mm, limit=limit)
        found = fastest_feed(
            room, axial_mm=axial_mm, torques_n_mm=lambda feeds: self._torques(axial_mm, radial_mm, feeds)
        )  # fmt: skip
        return self._speeds(found, room, deepest_by, axial_ratio, limit=limit)

    def wall(
        self, *, tall_mm: float, step_mm: float, radial_mm: float, wide_mm: float, bent_most_mm: float,
        may_divide: bool = True,
    ) -> tuple[Speeds, float]:  # fmt: skip
        """Speeds of finishing a wall and the depth of its steps, the quickest down the whole of it.

        step_mm: the deepest.   radial_mm: what the wall has left on it.   wide_mm: up to which the swift feed counts.
        bent_most_mm: how far the cutter may bend off it.   may_divide: into more steps than the deepest asks for, where
        that bends it less.
        """
        diameter = self.cutter.diameter_mm
        room = self._room(wide_mm, limit="wall_feed_ratio")
        if self.cutter.chip_low_mm is not None:
            # the thickest chip counts where the cut is widest, the thinnest where it is as narrow as it was left
            narrow = radial_thinning_ratio(radial_engagement_mm=min(radial_mm, diameter), diameter_mm=diameter)
            least = min(room.feed_high_mm, self.cutter.chip_low_mm * narrow)
            room = msgspec.structs.replace(room, feed_low_mm=least)
        first = max(1, math.ceil(tall_mm / step_mm - 1e-9))
        last = max(first, math.floor(tall_mm / (WALL_FLOOR * diameter))) if may_divide else first
        best: tuple[float, int, Fastest] | None = None
        is_bent_over = True
        for count in range(first, last + 1):
            most = room.feed_high_mm * room.teeth_count * room.high_rad_per_s / (2.0 * math.pi)
            if best is not None and min(most, self.machine.feed_max_mm_per_s) / count <= best[0]:
                break
            deep = min(step_mm, tall_mm / count)
            held = largest_feed_mm(
                low_mm=room.feed_low_mm, high_mm=room.feed_high_mm,
                is_held=lambda feeds, d=deep: self._bent_mm(d, radial_mm, feeds) <= bent_most_mm,
            )  # fmt: skip
            if held is None:
                continue
            own, is_bent_over = room, False
            if held < room.feed_high_mm * AS_DEEP_RATIO:
                own = msgspec.structs.replace(room, feed_high_mm=held, feed_by=BENT)
            found = fastest_feed(
                own, axial_mm=deep, torques_n_mm=lambda feeds, d=deep: self._torques(d, wide_mm, feeds)
            )  # fmt: skip
            if found.is_within and (best is None or found.feed_mm_per_s / count > best[0]):
                best = found.feed_mm_per_s / count, count, found
        if best is None:
            # nothing stays within: the thinnest chip bends the cutter least
            own = msgspec.structs.replace(room, feed_high_mm=room.feed_low_mm, feed_by=BENT)
            deep = min(step_mm, tall_mm / first)
            found = fastest_feed(own, axial_mm=deep, torques_n_mm=lambda feeds: self._torques(deep, wide_mm, feeds))
            best = 0.0, first, found
        _, count, found = best
        depth_by = AS_PLANNED if count == first else BENT
        speeds = self._speeds(found, room, depth_by, found.axial_mm / diameter, limit="wall_feed_ratio")
        if is_bent_over and self.cutter.chip_low_mm is not None and speeds.pace is not None:
            pace = msgspec.structs.replace(speeds.pace, bent_over_mm=bent_most_mm)
            speeds = msgspec.structs.replace(speeds, pace=pace)
        return _swift(speeds), found.axial_mm

    def strip(self, *, wide_mm: float, axial_mm: float) -> Speeds:
        """Speeds along a narrow strip of metal; wide_mm: up to which the swift feed counts."""
        return _swift(self.stage(radial_mm=wide_mm, axial_mm=axial_mm, axial_ratio=0.0, limit="feed_ratio"))

    def other(self, *, limit: FeedLimit | None) -> Speeds:
        """Speeds where the width of the cut is not known before its moves are: no chip is thicker than a tooth's feed.

        Of drills, reamers and taps the torque counts as well.
        """
        cutter = self.cutter
        room = self._room(cutter.diameter_mm, limit=limit)
        if cutter.kind == "tap":
            turn = cutter.pitch_mm / room.teeth_count
            room = msgspec.structs.replace(room, feed_low_mm=turn, feed_high_mm=turn, feed_by=PITCH)
        found = fastest_feed(room, axial_mm=0.0, torques_n_mm=self._hole_torques)
        return self._speeds(found, room, AS_PLANNED, 0.0, limit=limit)

    def _room(self, radial_mm: float, *, limit: FeedLimit | None = None) -> Room:
        cutter, is_kept = self.cutter, self.cutter.chip_low_mm is None
        wide = min(radial_mm, cutter.diameter_mm)
        thinning = radial_thinning_ratio(radial_engagement_mm=wide, diameter_mm=cutter.diameter_mm)
        if is_kept:
            thinning = 1.0 if limit else min(THINNED_MOST, thinning)
        return room_of(
            cutter, self.machine, thinning_ratio=thinning, feed_ratio=self._share(limit),
            feed_by=OWN_FEED if is_kept else THICK,
        )  # fmt: skip

    def _share(self, limit: FeedLimit | None) -> float:
        """Of the thickest chip, what the limits in force leave."""
        return 1.0 if limit is None else min(1.0, self.limit(limit, 1.0))

    def _forces(self, axial_mm: Floats, radial_mm: float, feeds_mm: Floats) -> TurnForces:
        ends = edge_ends(
            self.cutter, pressure_mpa=self.metal.pressure_mpa, exponent_ratio=self.metal.exponent_ratio,
            coefficients=self.metal.coefficients,
        )  # fmt: skip
        wide = np.full(feeds_mm.shape, min(radial_mm, self.cutter.diameter_mm))
        return side_forces(self.cutter, ends.dull, axial_mm=axial_mm, radial_mm=wide, tooth_feed_mm=feeds_mm)

    def _torques(self, axial_mm: float, radial_mm: float, feeds_mm: Floats) -> Floats:
        forces = self._forces(np.full(feeds_mm.shape, axial_mm), radial_mm, feeds_mm)
        return forces.tangential_n * self.cutter.diameter_mm / 2.0

    def _bent_mm(self, axial_mm: float, radial_mm: float, feeds_mm: Floats) -> Floats:
        """How far the tip bends at the worst end: as soft as such a cutter may be, holder and spindle giving way."""
        cutter = self.cutter
        across = self._forces(np.full(feeds_mm.shape, axial_mm), radial_mm, feeds_mm).across_n
        return GIVING_WAY_RATIO * stepped_deflections_mm(
            force_n=across, stick_out_mm=cutter.stick_out_mm, flute_length_mm=cutter.flute_length_mm,
            diameter_mm=cutter.diameter_mm, shank_diameter_mm=cutter.shank_diameter_mm or cutter.diameter_mm,
            elasticity_mpa=ELASTIC_ENDS_MPA[cutter.made_of][0], diameter_ratio=FLUTED_DIAMETER_RATIO,
        )  # fmt: skip

    def _hole_torques(self, feeds_mm: Floats) -> Floats:
        cutter = self.cutter
        if cutter.kind == "tap":
            torque = tap_torque_by_pitch_n_mm(
                specific_force_mpa=TAP_PRESSURE_MPA, pitch_mm=cutter.pitch_mm, major_mm=cutter.diameter_mm
            )
            return np.full(feeds_mm.shape, torque)
        if cutter.kind not in ("drill", "spot", "reamer"):
            return np.zeros(feeds_mm.shape)
        size = min(DRILL_MOST_MM, max(DRILL_LEAST_MM, cutter.diameter_mm))
        turns = np.minimum(DRILL_FEED_MOST_MM, feeds_mm * max(cutter.flutes_count, 1))
        return np.array(
            [
                drill_torque_n_mm(material_ratio=DRILL_MATERIAL_RATIO, diameter_mm=size, feed_per_turn_mm=float(turn))
                for turn in turns
            ]
        )

    def _speeds(
        self, found: Fastest, room: Room, depth_by: str, axial_ratio: float, *, limit: FeedLimit | None
    ) -> Speeds:  # fmt: skip
        """Feeds of the choice; where the cutter is engaged more widely no chip is thicker than is allowed."""
        cutter = self.cutter
        feed = found.feed_mm_per_s
        thick = cutter.tooth_feed_mm * room.teeth_count * found.speed_rad_per_s / (2.0 * math.pi)
        flat = min(feed, self._share(limit) * thick)
        floor = FEED_FLOOR
        if cutter.chip_low_mm is not None:
            floor = cutter.chip_low_mm / cutter.tooth_feed_mm
        return Speeds(
            speed_rad_per_s=found.speed_rad_per_s, tooth_feed_mm=found.tooth_feed_mm, feed_mm_per_s=feed,
            ramp_mm_per_s=RAMP_RATIO * flat, plunge_mm_per_s=PLUNGE_RATIO * flat,
            slot_mm_per_s=min(SLOT_RATIO * feed, flat),
            air_mm_per_s=min(AIR_RATIO * min(feed, thick), self.machine.feed_max_mm_per_s),
            pace=Pace(
                speed_by=found.speed_by, feed_by=found.feed_by, depth_by=depth_by, axial_ratio=axial_ratio,
                feed_floor_ratio=floor,
            ),
        )  # fmt: skip


def _swift(speeds: Speeds) -> Speeds:
    """The feed of a narrow cut as the swift one; elsewhere no chip is thicker than the thickest."""
    flat = speeds.ramp_mm_per_s / RAMP_RATIO
    if speeds.feed_mm_per_s <= flat:
        return speeds
    return msgspec.structs.replace(speeds, feed_mm_per_s=flat, swift_mm_per_s=speeds.feed_mm_per_s)


def bent_most_mm(
    face_ids: Iterable[str], widths_mm: dict[str, float], *, left_mm: float
) -> tuple[float, bool]:  # fmt: skip
    """How far a cutter may bend off walls, in mm, and whether a size on one of them says so.

    Half the narrowest size, never more than what is left on them.
    """
    sizes = [widths_mm[f] / 2.0 for f in face_ids if f in widths_mm]
    return min([left_mm, *sizes]), bool(sizes)


def deepest_of(cutter: Cutter, usual_mm: float) -> tuple[float, str]:
    """The depth that a cutter may go: its own deepest where the owner wrote one, else the usual; and its name."""
    if cutter.axial_max_mm is None:
        return usual_mm, AS_PLANNED
    return cutter.axial_max_mm, DEEPEST
