"""What a milling pass asks for at most, from what was planned and what the replay measured."""

from __future__ import annotations

import math

import numpy as np

from proveout.cutting.engaged_length import HELIX_HIGH_RAD, HELIX_LOW_RAD, engaged_edge_length_mm
from proveout.cutting.force_bound import THINNEST_CHIP_MM, engaged_teeth_count, milling_force_bound
from proveout.cutting.specific_force import specific_force_mpa
from proveout.model.moves import Moves
from proveout.model.shop import Cutter, Noun
from proveout.model.work import Pass, PassCut

# common practice, no source: run-out of a cutter in its holder, radial to tangential force
RUNOUT_MM = 0.02
RADIAL_RATIO = 0.6
STEEP_RATIO = 0.7
# a plunge that takes less than this share of the cutter's whole section only brushes past
DUST_RATIO = 0.005
SQUARE_KINDS = ("end mill", "counterbore")


class MillingLoad(Noun, frozen=True, kw_only=True):
    """Bounds of one pass, N and N mm, and the engagement at which the force across is largest."""

    tangential_n: float
    plane_n: float
    axial_n: float
    torque_n_mm: float
    radial_mm: float
    axial_mm: float


def milling_load(
    one: Pass, moves: Moves, measured: PassCut | None, cutter: Cutter, *, unit_force_mpa: float, exponent_ratio: float
) -> MillingLoad:
    """The largest of every engagement that agrees with plan and replay, and of plunging.

    Which of depth and width made a measured section larger than the planned one is unknown: both are tried. What the
    replay did not measure is taken as a slot over the whole flute.
    """
    feed = one.tooth_feed_mm if measured is None else max(one.tooth_feed_mm, measured.tooth_feed_max_mm)
    tried = [
        _sideways(
            cutter, axial_mm=axial, radial_mm=radial, feed_mm=feed, unit_force_mpa=unit_force_mpa,
            exponent_ratio=exponent_ratio,
        )
        for axial, radial in engagements_mm(one, measured, cutter)
    ]  # fmt: skip
    if measured is None or measured.plunge_max_mm2 > DUST_RATIO * _disc_mm2(cutter):
        area = _disc_mm2(cutter) if measured is None else measured.plunge_max_mm2
        tried.append(
            _plunge(
                one, moves, cutter, feed, area, unit_force_mpa=unit_force_mpa, exponent_ratio=exponent_ratio,
            )
        )  # fmt: skip
    worst = max(tried, key=lambda t: t.plane_n)
    return MillingLoad(
        tangential_n=max(t.tangential_n for t in tried), plane_n=worst.plane_n, axial_n=max(t.axial_n for t in tried),
        torque_n_mm=max(t.torque_n_mm for t in tried), radial_mm=worst.radial_mm,
        axial_mm=max(t.axial_mm for t in tried),
    )  # fmt: skip


def engagements_mm(one: Pass, measured: PassCut | None, cutter: Cutter) -> list[tuple[float, float]]:
    """Pairs (axial, radial) to try, mm."""
    diameter, flute = cutter.diameter_mm, max(cutter.flute_length_mm, one.axial_mm)
    if measured is None:
        return [(flute, diameter)]
    axial, radial = max(one.axial_mm, 1e-3), min(diameter, max(one.radial_mm, 1e-3))
    section = measured.section_max_mm2
    if section <= axial * radial:
        return [(axial, radial)]
    wide = min(diameter, section / axial)
    deep = max(axial, min(flute, section / radial))
    return [(max(axial, section / wide), wide), (deep, min(diameter, max(radial, section / deep)))]


def edge_ratio(cutter: Cutter, *, axial_mm: float) -> float:
    """Length of cutting edge for each unit of depth: 1 along a cylinder, more on a slant or a ball."""
    radius = cutter.diameter_mm / 2.0
    if cutter.kind == "ball":
        if axial_mm <= radius:
            return radius * math.acos(1.0 - axial_mm / radius) / axial_mm
        return (radius * math.pi / 2.0 + axial_mm - radius) / axial_mm
    if cutter.kind in ("edge break", "spot", "drill"):
        return 1.0 / max(math.cos(cutter.tip_angle_rad / 2.0), 0.1)
    if cutter.kind == "undercut":
        return 1.0 / max(math.cos(cutter.tip_angle_rad), 0.1)
    if cutter.kind == "thread mill":  # flanks of 60 degrees have twice the length of the profile that they stand on
        return 2.0
    # the edge angle of a face mill is not in the shop file: 45 degrees is the flattest that is usual
    return math.sqrt(2.0) if cutter.kind == "face mill" else 1.0


def _sideways(
    cutter: Cutter, *, axial_mm: float, radial_mm: float, feed_mm: float, unit_force_mpa: float, exponent_ratio: float
) -> MillingLoad:
    is_square = cutter.kind in SQUARE_KINDS and cutter.corner_radius_mm <= 0.0
    teeth = engaged_teeth_count(
        radial_engagement_mm=radial_mm, diameter_mm=cutter.diameter_mm, teeth_count=cutter.flutes_count
    )
    edge = engaged_edge_length_mm(
        axial_depth_mm=axial_mm, radial_engagement_mm=radial_mm, diameter_mm=cutter.diameter_mm,
        teeth_count=cutter.flutes_count, helix_rad=HELIX_LOW_RAD if cutter.kind == "end mill" else 0.0,
    )  # fmt: skip
    forces = milling_force_bound(
        unit_force_mpa=unit_force_mpa, exponent_ratio=exponent_ratio,
        axial_depth_mm=edge / teeth * edge_ratio(cutter, axial_mm=axial_mm), radial_engagement_mm=radial_mm,
        feed_per_tooth_mm=feed_mm, diameter_mm=cutter.diameter_mm, teeth_count=cutter.flutes_count,
        runout_mm=RUNOUT_MM, radial_ratio=RADIAL_RATIO, helix_rad=HELIX_HIGH_RAD,
    )  # fmt: skip
    # an edge laid back, rounded or on a ball turns its push off the surface towards the axis
    pushed = 0.0 if is_square else RADIAL_RATIO * forces.tangential_n
    return MillingLoad(
        tangential_n=forces.tangential_n, plane_n=forces.resultant_n, axial_n=forces.axial_n + pushed,
        torque_n_mm=forces.tangential_n * cutter.diameter_mm / 2.0, radial_mm=radial_mm, axial_mm=axial_mm,
    )  # fmt: skip


def _disc_mm2(cutter: Cutter) -> float:
    return math.pi * cutter.diameter_mm**2 / 4.0


def _plunge(
    one: Pass, moves: Moves, cutter: Cutter, feed_mm: float, area_mm2: float, *, unit_force_mpa: float,
    exponent_ratio: float,
) -> MillingLoad:  # fmt: skip
    """Going down on the end edges.

    Formula: F = n R k_c h^(1 - m_c), h = f_z + e at most z f_z; n = min(z, 1 + z sqrt(A / disc)) teeth that cut over
    the whole radius when the plunge meets the area A; the push along the axis and across it are each as large as F,
    the torque F R.
    """
    feeds = moves.feed_mm_per_s[1:]
    steep = (feeds > 0.0) & (-np.diff(moves.points[:, 2]) > STEEP_RATIO * moves.lengths_mm)
    teeth_count = max(cutter.flutes_count, 1)
    per_tooth = feeds[steep] * 2.0 * math.pi / (one.speed_rad_per_s * teeth_count)
    # faster moves met no metal, or the replay would have said so
    per_tooth = per_tooth[per_tooth <= feed_mm * (1.0 + 1e-6)]
    fastest = float(per_tooth.max()) if len(per_tooth) else feed_mm
    radius = cutter.diameter_mm / 2.0
    thickness = max(THINNEST_CHIP_MM, min(fastest + RUNOUT_MM, teeth_count * fastest))
    pressure = specific_force_mpa(
        unit_force_mpa=unit_force_mpa, exponent_ratio=exponent_ratio, chip_thickness_mm=thickness
    )
    teeth = min(float(teeth_count), 1.0 + teeth_count * math.sqrt(area_mm2 / _disc_mm2(cutter)))
    force = teeth * radius * thickness * pressure
    return MillingLoad(
        tangential_n=force, plane_n=force, axial_n=force, torque_n_mm=force * radius, radial_mm=radius, axial_mm=0.0
    )
