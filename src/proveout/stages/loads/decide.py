"""Loads: a bound for every move and every pass from the engagement that the replay measured."""

from __future__ import annotations

from collections.abc import Collection

import msgspec
import numpy as np

from proveout.cutting.drilling import (
    DRILL_FEED_MOST_MM,
    DRILL_MATERIAL_RATIO,
    DRILL_MOST_MM,
    DRILL_WORN_RATIO,
    drill_thrust_n,
    drill_torque_n_mm,
)
from proveout.cutting.edge_coefficients import coefficients_of
from proveout.cutting.edge_models import RUNOUT_MM, EdgeEnds, edge_ends
from proveout.cutting.tapping import TAP_DULL_RATIO, TAP_PRESSURE_MPA, tap_torque_by_pitch_n_mm
from proveout.geometry.boxes import box_corners
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import Loads, PassLoad
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import BOX_CHORD_MM, Moves
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.sure_push import SureEdges, SureThrust
from proveout.model.work import HOLE_KINDS, Blank, Clamping, Pass, PassCut, PassPlan, Vector
from proveout.stages.loads.finish import finish_proofs
from proveout.stages.loads.found import FoundPass, Told, drill_size_mm
from proveout.stages.loads.least import least_across_n, least_torques_n_mm, shares
from proveout.stages.loads.milling import MilledMoves, MillingLoad, milled_moves, milling_load
from proveout.stages.loads.moves import MovesFound, Site, bored_loads, envelope, is_leaning, milled_loads
from proveout.stages.loads.proofs import spindle_proofs
from proveout.stages.loads.pushes import bored_turns, milled_turns, pass_push
from proveout.stages.loads.steady import steady_cut
from proveout.stages.loads.sure import sure_edges, sure_thrust

CHIPS_ASKED = 5


def decide(
    *,
    plan: PassPlan,
    cuts: tuple[PassCut, ...],
    clampings: tuple[Clamping, ...],
    cutters: tuple[Cutter, ...],
    machines: tuple[Machine, ...],
    pressure_mpa: Fact,
    exponent_ratio: float,
    blank: Blank | None = None,
    limits: Limits | None = None,
    move_cuts: tuple[MoveCuts, ...] = (),
    alloys: tuple[str, ...] = (),
    widths_mm: dict[str, float] | None = None,
    normals: dict[str, Vector] | None = None,
    raw_varies_mm: float = 0.0,
    run: Run,
) -> Decision[Loads]:
    """Bounds for all passes and their moves, and what they mean for spindle, cutter and finished faces.

    Args:     cuts: the replay's measurement of the same passes.   pressure_mpa: k_c1.1 as an interval; its high end
              is used.   exponent_ratio: m_c.   blank: no cut can lie outside it; without it only the path bounds.
              limits: those in force, from which the spindle's remedy goes on.   move_cuts: the replay's measurement of
              their moves; a pass without them is bounded as a whole.   alloys: of the metal; of a known family the
              forces are the worse of two models, else those of the pressure alone.   widths_mm: of the narrowest size
              on each face that has one.   normals: of flat faces, in the part's frame.   raw_varies_mm: by how much
              the blank may be larger than nominal at each side: no cut can lie outside that, and metal may stand so
              much higher than the replay of the nominal one found.
    """
    by_cutter, by_clamping = {c.id: c for c in cutters}, {c.id: c for c in clampings}
    by_cut, by_move = {c.pass_id: c for c in cuts}, {c.pass_id: c for c in move_cuts}
    coefficients = coefficients_of(alloys)
    found: list[FoundPass] = []
    faced: set[tuple[str, str]] = set()
    for one in plan.passes:
        run.check("loads", one.id)
        clamping, cutter = by_clamping[one.clamping_id], by_cutter[one.cutter_id]
        tilt = next(t for t in clamping.tilts if t.id == one.tilt_id)
        box = None
        if blank is not None:
            corners = clamping.frame.into(box_corners(blank.low_mm, blank.high_mm))
            box = corners.min(axis=0) - raw_varies_mm, corners.max(axis=0) + raw_varies_mm
        site = Site(clamping=clamping, frame=tilt.frame, blank=box)
        ends = edge_ends(
            cutter, pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio, coefficients=coefficients
        )  # fmt: skip
        moves = plan.moves[one.moves_digest]
        own = by_move.get(one.id)
        if own is not None:
            own = msgspec.structs.replace(own, deep_mm=own.deep_mm + raw_varies_mm)
        bound = _pass(one, moves, by_cut.get(one.id), own, cutter, site, ends, raw_varies_mm)
        found.append(_with_steady(bound, moves, by_move.get(one.id), cutter, raw_varies_mm, faced))
        if one.kind == "face":
            faced.add((one.clamping_id, one.tilt_id))
    told = Told(
        plan=plan, clampings=by_clamping, cutters=by_cutter, machines={m.id: m for m in machines},
        pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio, coefficients=coefficients,
        limits=limits or Limits(), found=tuple(found),
    )  # fmt: skip
    value = Loads(
        passes=tuple(f.load for f in found), moves=tuple(f.moves.loads for f in found if f.moves is not None),
        turns=tuple(f.turn for f in found if f.turn is not None),
        pushes=tuple(f.push for f in found if f.push is not None),
    )  # fmt: skip
    return Decision(value=value, proofs=(*spindle_proofs(told), *finish_proofs(told, widths_mm or {}, normals)))


def _pass(
    one: Pass, moves: Moves, measured: PassCut | None, cuts: MoveCuts | None, cutter: Cutter, site: Site,
    ends: EdgeEnds, raw_varies_mm: float,
) -> FoundPass:  # fmt: skip
    diameter = cutter.diameter_mm
    if one.kind in HOLE_KINDS:
        if one.kind == "tap":
            pitch = cutter.pitch_mm if cutter.pitch_mm > 0.0 else one.tooth_feed_mm * cutter.flutes_count
            torque = tap_torque_by_pitch_n_mm(specific_force_mpa=TAP_PRESSURE_MPA, pitch_mm=pitch, major_mm=diameter)
            # a tap that drags on its feed pushes or pulls; how hard depends on the holder: as its edges push round
            tangential = thrust = torque / (diameter / 2.0)
            share = 1.0 / TAP_DULL_RATIO
        else:
            feed = min(DRILL_FEED_MOST_MM, one.tooth_feed_mm * cutter.flutes_count)
            size = min(DRILL_MOST_MM, drill_size_mm(one, cutter))
            given = {"material_ratio": DRILL_MATERIAL_RATIO, "diameter_mm": size, "feed_per_turn_mm": feed}
            thrust, torque = drill_thrust_n(**given), drill_torque_n_mm(**given)
            tangential, share = torque / (size / 2.0), 1.0 / DRILL_WORN_RATIO
        bound = MillingLoad(
            tangential_n=tangential, plane_n=0.0, axial_n=thrust, torque_n_mm=torque, radial_mm=one.radial_mm,
            axial_mm=one.axial_mm, mean_n=(tangential, 0.0, thrust),
        )  # fmt: skip
        whole, share = _whole(one, moves, bound, site, reach_mm=0.0, tall_mm=0.0), min(share, ends.pressure_share)
        if cuts is None:
            return _pushed(FoundPass(one=one, load=whole), bound, cutter)
        sure = sure_thrust(one, cuts, cutter, thrust_n=thrust, torque_n_mm=torque, share=share)
        is_sure = np.full(len(cuts.rows), one.kind == "tap") if sure is None else sure.is_whole
        by_move = bored_loads(
            one, moves, cuts, cutter, site, thrust_n=thrust, torque_n_mm=torque, share=share, is_sure=is_sure
        )
        by_move = _surely(by_move, sure)
        load = envelope(whole, by_move, None, site.clamping)
        turn = bored_turns(by_move, bound)
        return _pushed(FoundPass(one=one, load=load, moves=by_move, turn=turn), bound, cutter)
    # a drill and a tap push evenly about their axis, with a couple beside; a mill where its edges are
    bound = milling_load(one, moves, measured, cutter, ends.dull)
    whole = _whole(one, moves, bound, site, reach_mm=diameter / 2.0, tall_mm=bound.axial_mm)
    if cuts is None:
        return _pushed(FoundPass(one=one, load=whole), bound, cutter)
    milled = milled_moves(one, moves, measured, cuts, bound, cutter, ends.dull)
    share = _share(ends, milled)
    torques = np.minimum(
        least_torques_n_mm(one, moves, cuts, cutter, ends, raw_varies_mm=raw_varies_mm), milled.torque_n_mm
    )  # fmt: skip
    by_move = milled_loads(
        one, moves, cuts, cutter, site, milled, share=share, least_torque_n_mm=torques,
        least_share=shares(least_across_n(torques, milled, cutter, ends), milled.across_n),
    )  # fmt: skip
    by_move = _surely(by_move, sure_edges(one, moves, cuts, cutter, site, ends, raw_varies_mm=raw_varies_mm))
    load = envelope(whole, by_move, milled, site.clamping)
    turn = milled_turns(by_move, milled)
    found = FoundPass(one=one, load=load, moves=by_move, milled=milled, turn=turn)
    return _pushed(found, bound, cutter)


def _pushed(found: FoundPass, bound: MillingLoad, cutter: Cutter) -> FoundPass:
    return msgspec.structs.replace(found, push=pass_push(found, bound, cutter))


def _with_steady(
    found: FoundPass, moves: Moves, cuts: MoveCuts | None, cutter: Cutter, raw_varies_mm: float,
    faced: Collection[tuple[str, str]],
) -> FoundPass:  # fmt: skip
    """With the stretch at which a meter can be read.   cuts: in the nominal blank.   faced: clampings and tilts of
    which the top was cut before.
    """
    if cuts is None or found.push is None:
        return found
    is_faced = (found.one.clamping_id, found.one.tilt_id) in faced
    steady = steady_cut(found.one, moves, cuts, cutter, raw_varies_mm=raw_varies_mm, is_faced=is_faced)
    return msgspec.structs.replace(found, push=msgspec.structs.replace(found.push, steady=steady))


def _surely(found: MovesFound, sure: SureThrust | SureEdges | None) -> MovesFound:
    return msgspec.structs.replace(found, loads=msgspec.structs.replace(found.loads, sure=sure))


def _share(ends: EdgeEnds, milled: MilledMoves) -> float:
    """Least over greatest force of the moves, at the thickness of chip where that is least."""
    chips = milled.chip_high_mm[milled.chip_high_mm > 0.0]
    if len(chips) == 0:
        chips = milled.tooth_feed_mm
    low, high = (float(chips.min()), float(chips.max())) if len(chips) else (RUNOUT_MM, RUNOUT_MM)
    return min(ends.share(chip) for chip in np.geomspace(low, high + RUNOUT_MM, CHIPS_ASKED).tolist())


def _whole(
    one: Pass, moves: Moves, bound: MillingLoad, site: Site, *, reach_mm: float, tall_mm: float
) -> PassLoad:  # fmt: skip
    """The pass as a whole, wherever it feeds.   reach_mm: how far from the axis the force acts.   tall_mm: how high."""
    clamping, frame = site.clamping, site.frame
    moves = moves.straight(within_mm=BOX_CHORD_MM)
    feeding = np.flatnonzero(moves.feed_mm_per_s > 0.0)
    rows = np.unique(np.concatenate([feeding, np.maximum(feeding - 1, 0)])) if len(feeding) else np.arange(1)
    tip = moves.points[rows]
    is_tilted = is_leaning(site)
    upper = tip + np.array([0.0, 0.0, tall_mm])
    met = np.vstack([clamping.frame.into(frame.out_of(rows)) for rows in (tip, upper)])
    round_about = np.array([reach_mm, reach_mm, reach_mm if is_tilted else 0.0])
    low, high = met.min(axis=0) - round_about, met.max(axis=0) + round_about
    if site.blank is not None:
        low, high = (np.clip(corner, site.blank[0], site.blank[1]) for corner in (low, high))
    along = max(abs(low[0] - clamping.jaw_middle_mm), abs(high[0] - clamping.jaw_middle_mm))
    across = max(abs(low[1] + clamping.gap_mm / 2.0), abs(high[1] + clamping.gap_mm / 2.0))
    return PassLoad(
        pass_id=one.id, clamping_id=clamping.id, is_tilted=is_tilted, tangential_n=round(bound.tangential_n, 4),
        plane_n=round(bound.plane_n, 4), axial_n=round(bound.axial_n, 4), torque_n_mm=round(bound.torque_n_mm, 3),
        power_mw=round(bound.torque_n_mm * one.speed_rad_per_s, 3), height_mm=round(float(high[2]), 4),
        along_mm=round(float(along), 4), across_mm=round(float(across), 4), radial_mm=round(bound.radial_mm, 4),
        axial_mm=round(bound.axial_mm, 4),
    )  # fmt: skip
