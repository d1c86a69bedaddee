"""What a milling pass and its moves ask for at most, from what was planned and what the replay measured."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_models import NO_MM, RUNOUT_MM, forces_by_law, most_of, side_means
from proveout.cutting.turning import (
    THINNEST_CHIP_MM,
    EdgeModel,
    engagements_of_mm,
    peak_chips_mm,
)
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.shop import Cutter, Noun
from proveout.model.work import Pass, PassCut

Floats = NDArray[np.float64]

STEEP_RATIO = 0.7
# a plunge that takes less than this share of the cutter's whole section only brushes past
DUST_RATIO = 0.005
MEANS = ("tangential_n", "radial_n", "axial_n")


class MillingLoad(Noun, frozen=True, kw_only=True):
    """Bounds of one pass, N and N mm, and the engagement at which the force across is largest.

    radial_n: off the wall.  mean_n: of a whole turn, round, off the wall and along the axis.  by_law_n: tangential by
    each law of the edge, none of a drill or a tap.
    """

    tangential_n: float
    plane_n: float
    axial_n: float
    torque_n_mm: float
    radial_mm: float
    axial_mm: float
    radial_n: float = 0.0
    mean_n: tuple[float, float, float] = (0.0, 0.0, 0.0)
    by_law_n: tuple[float, ...] = ()


class MilledMoves(msgspec.Struct, frozen=True, kw_only=True):
    """Bounds of the moves of one pass, (k,) each.

    engaged_mm: how high above the tip edges can be in the cut.  wide_mm: the widest that the cut can be.  radial_mm,
    axial_mm: the engagement at which the force across is largest.  chip_low_mm, chip_high_mm: the thickest chip of a
    turn without run-out, at the narrowest and the widest that the cut can be; 0 where a move plunges.  mean_n: (3, k)
    of a whole turn, round, off the wall and along the axis.  by_law_n: (n, k) tangential by each law.
    """

    tangential_n: Floats
    radial_n: Floats
    mean_n: Floats
    by_law_n: Floats
    across_n: Floats
    axial_n: Floats
    torque_n_mm: Floats
    tooth_feed_mm: Floats
    radial_mm: Floats
    axial_mm: Floats
    engaged_mm: Floats
    wide_mm: Floats
    chip_low_mm: Floats
    chip_high_mm: Floats


def milling_load(
    one: Pass, moves: Moves, measured: PassCut | None, cutter: Cutter, models: tuple[EdgeModel, ...]
) -> MillingLoad:
    """The largest of every engagement that agrees with plan and replay, and of plunging, by any of the models.

    Which of depth and width made a measured section larger than the planned one is unknown: both are tried. What the
    replay did not measure is taken as a slot over the whole flute.
    """
    feed = one.tooth_feed_mm if measured is None else max(one.tooth_feed_mm, measured.tooth_feed_max_mm)
    pairs = engagements_mm(one, measured, cutter)
    axial, radial = (np.array(values) for values in zip(*pairs, strict=True))
    engaged = {"axial_mm": axial, "radial_mm": radial, "tooth_feed_mm": np.full(len(pairs), feed)}
    by_law = forces_by_law(cutter, models, **engaged)
    forces, means = most_of(by_law), side_means(cutter, models, **engaged)
    laws = [float(one.tangential_n.max()) for one in by_law]
    mean = [float(getattr(means, name).max()) for name in MEANS]
    tried = [
        MillingLoad(
            tangential_n=float(forces.tangential_n[i]), plane_n=float(forces.across_n[i]),
            axial_n=float(forces.axial_n[i]), torque_n_mm=float(forces.tangential_n[i]) * cutter.diameter_mm / 2.0,
            radial_mm=wide, axial_mm=deep,
        )
        for i, (deep, wide) in enumerate(pairs)
    ]  # fmt: skip
    if measured is None or measured.plunge_max_mm2 > DUST_RATIO * _disc_mm2(cutter):
        area = _disc_mm2(cutter) if measured is None else measured.plunge_max_mm2
        down = _fastest_plunge_mm(one, moves, cutter, feed)
        ends = _plunges_n(cutter, models, area_mm2=np.array([area]), tooth_feed_mm=np.array([down]))[:, 0]
        force, radius = float(ends.max()), cutter.diameter_mm / 2.0
        laws = [max(pair) for pair in zip(laws, ends.tolist(), strict=True)]
        # end edges never leave the metal: what they push with at most they push with all the time
        mean = [max(mean[0], force), mean[1], max(mean[2], force)]
        tried.append(
            MillingLoad(
                tangential_n=force, plane_n=force, axial_n=force, torque_n_mm=force * radius, radial_mm=radius,
                axial_mm=0.0,
            )
        )  # fmt: skip
    worst = max(tried, key=lambda t: t.plane_n)
    return MillingLoad(
        tangential_n=max(t.tangential_n for t in tried), plane_n=worst.plane_n, axial_n=max(t.axial_n for t in tried),
        torque_n_mm=max(t.torque_n_mm for t in tried), radial_mm=worst.radial_mm,
        axial_mm=max(t.axial_mm for t in tried), radial_n=float(forces.radial_n.max()),
        mean_n=(mean[0], mean[1], mean[2]), by_law_n=tuple(laws),
    )  # fmt: skip


def milled_moves(
    one: Pass, moves: Moves, measured: PassCut | None, cuts: MoveCuts, whole: MillingLoad, cutter: Cutter,
    models: tuple[EdgeModel, ...],
) -> MilledMoves:  # fmt: skip
    """Every move at its own feed, section and depth, by any of the models; none has more than its pass as a whole.

    A section may be deep and narrow or shallow and wide: the worst of all that neither plan nor standing metal rules
    out.  Where the replay could not tell the section, the planned one counts.
    """
    teeth, diameter = max(cutter.flutes_count, 1), cutter.diameter_mm
    per_turn = moves.feed_mm_per_s[cuts.rows] * 2.0 * math.pi / one.speed_rad_per_s
    feed = per_turn / teeth
    deep, wide = max(one.axial_mm, NO_MM), min(diameter, max(one.radial_mm, NO_MM))
    flute = max(cutter.flute_length_mm, one.axial_mm)
    largest = flute * diameter if measured is None else max(deep * wide, measured.section_max_mm2)
    section = np.where(np.isnan(cuts.section_mm2), largest, cuts.section_mm2)
    is_more = section > deep * wide
    widest = np.where(is_more, np.minimum(diameter, section / deep), wide)
    deepest = np.where(is_more, np.maximum(deep, np.minimum(flute, section / wide)), deep)
    deepest = np.minimum(deepest, np.maximum(cuts.deep_mm, NO_MM))
    # what cannot be so deep must be wider
    widest = np.minimum(diameter, np.maximum(widest, section / deepest))
    depths, widths = engagements_of_mm(section_mm2=section, axial_most_mm=deepest, radial_most_mm=widest)
    engaged = {"axial_mm": depths, "radial_mm": widths, "tooth_feed_mm": np.broadcast_to(feed, depths.shape)}
    by_law = forces_by_law(cutter, models, **engaged)
    tried, means = most_of(by_law), side_means(cutter, models, **engaged)
    at, own = tried.across_n.argmax(axis=0), np.arange(len(section))
    lowered = _disc_mm2(cutter) if measured is None else measured.plunge_max_mm2
    down = np.where(np.isnan(cuts.plunge_mm2), lowered, cuts.plunge_mm2)
    ends = np.where(down > 0.0, _plunges_n(cutter, models, area_mm2=down, tooth_feed_mm=feed), 0.0)
    plunge = ends.max(axis=0)
    laws = [np.maximum(one.tangential_n.max(axis=0), end) for one, end in zip(by_law, ends, strict=True)]
    mean = [getattr(means, name).max(axis=0) for name in MEANS]
    mean = [np.maximum(mean[0], plunge), mean[1], np.maximum(mean[2], plunge)]
    tangential = np.minimum(np.maximum(tried.tangential_n.max(axis=0), plunge), whole.tangential_n)
    is_plunge = section <= 0.0

    def chip(radial_mm: Floats) -> Floats:
        return peak_chips_mm(
            tooth_feed_mm=feed, radial_mm=radial_mm, diameter_mm=diameter, teeth_count=teeth, runout_mm=0.0
        )

    return MilledMoves(
        tangential_n=tangential, radial_n=np.minimum(tried.radial_n.max(axis=0), whole.radial_n),
        mean_n=np.minimum(mean, np.array(whole.mean_n)[:, None]),
        by_law_n=np.minimum(laws, np.array(whole.by_law_n)[:, None]),
        across_n=np.minimum(np.maximum(tried.across_n.max(axis=0), plunge), whole.plane_n),
        axial_n=np.minimum(np.maximum(tried.axial_n.max(axis=0), plunge), whole.axial_n),
        torque_n_mm=np.minimum(tangential * diameter / 2.0, whole.torque_n_mm), tooth_feed_mm=feed,
        radial_mm=np.where(is_plunge, diameter / 2.0, widths[at, own]),
        axial_mm=np.where(is_plunge, 0.0, depths[at, own]), engaged_mm=deepest,
        wide_mm=np.where(is_plunge, diameter, widest),
        chip_low_mm=np.where(is_plunge, 0.0, chip(section / deepest)),
        chip_high_mm=np.where(is_plunge, 0.0, chip(widest)),
    )  # fmt: skip


def engagements_mm(one: Pass, measured: PassCut | None, cutter: Cutter) -> list[tuple[float, float]]:
    """Pairs (axial, radial) to try, mm."""
    diameter, flute = cutter.diameter_mm, max(cutter.flute_length_mm, one.axial_mm)
    if measured is None:
        return [(flute, diameter)]
    axial, radial = max(one.axial_mm, NO_MM), min(diameter, max(one.radial_mm, NO_MM))
    section = measured.section_max_mm2
    if section <= axial * radial:
        return [(axial, radial)]
    wide = min(diameter, section / axial)
    deep = max(axial, min(flute, section / radial))
    return [(max(axial, section / wide), wide), (deep, min(diameter, max(radial, section / deep)))]


def _disc_mm2(cutter: Cutter) -> float:
    return math.pi * cutter.diameter_mm**2 / 4.0


def _fastest_plunge_mm(one: Pass, moves: Moves, cutter: Cutter, feed_mm: float) -> float:
    """Feed of a tooth of the fastest plunge that can have met metal."""
    feeds = moves.feed_mm_per_s[1:]
    steep = (feeds > 0.0) & (-np.diff(moves.points[:, 2]) > STEEP_RATIO * moves.lengths_mm)
    per_tooth = feeds[steep] * 2.0 * math.pi / (one.speed_rad_per_s * max(cutter.flutes_count, 1))
    # faster moves met no metal, or the replay would have said so
    per_tooth = per_tooth[per_tooth <= feed_mm * (1.0 + 1e-6)]
    return float(per_tooth.max()) if len(per_tooth) else feed_mm


def _plunges_n(cutter: Cutter, models: tuple[EdgeModel, ...], *, area_mm2: Floats, tooth_feed_mm: Floats) -> Floats:
    """Going down on the end edges, (n, k) N by each of n models.

    Formula: F = n R q_t(h), h = f_z + e at most z f_z; n = min(z, 1 + z sqrt(A / disc)) teeth that cut over
    the whole radius when the plunge meets the area A; the push along the axis and across it are each as large as F,
    the torque F R.
    """
    teeth_count, radius = max(cutter.flutes_count, 1), cutter.diameter_mm / 2.0
    thickness = np.maximum(THINNEST_CHIP_MM, np.minimum(tooth_feed_mm + RUNOUT_MM, teeth_count * tooth_feed_mm))
    teeth = np.minimum(float(teeth_count), 1.0 + teeth_count * np.sqrt(area_mm2 / _disc_mm2(cutter)))
    return np.array([teeth * radius * model.tangential.at_n_per_mm(thickness) for model in models])
