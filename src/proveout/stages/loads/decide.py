"""Loads: a bound for every pass from the engagement that the replay measured."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.drilling import drill_thrust_n, drill_torque_n_mm
from proveout.cutting.easing import tighten_cut
from proveout.cutting.tapping import tap_torque_by_pitch_n_mm
from proveout.geometry.frames import Frame
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.moves import BOX_CHORD_MM, Moves
from proveout.model.proof import Basis, Decision, Proof, Tighten, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Blank, Clamping, Pass, PassCut, PassPlan
from proveout.quantities.units import MW_PER_KW, rpm_from_rad_per_s
from proveout.stages.loads.milling import milling_load

# aluminium of HB 100 in the drill maker's formula (source key twist_drill_formula), raised by 30 % for a worn drill
DRILL_MATERIAL_RATIO = 1.01 * 1.3
EFFICIENCY_RATIO = 0.8
HOLE_KINDS = ("drill", "peck", "spot", "ream", "tap")
# what the drill maker's table covers; a larger drill or feed is not shown
DRILL_MOST_MM, DRILL_FEED_MOST_MM = 40.0, 1.0
# long-chipping aluminium in the tap maker's formula (source key tap_torque_catalogue), doubled for a dull tap
TAP_PRESSURE_MPA = 2.0 * 800.0


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
    run: Run,
) -> Decision[tuple[PassLoad, ...]]:
    """Bounds for all passes and what they mean for spindle and cutter.

    Args:     cuts: the replay's measurement of the same passes.   pressure_mpa: k_c1.1 as an interval; its high end
              is used.   exponent_ratio: m_c.   blank: no cut can lie outside it; without it only the path bounds.
              limits: those in force, from which the spindle's remedy goes on.
    """
    by_cutter = {c.id: c for c in cutters}
    by_clamping = {c.id: c for c in clampings}
    by_machine = {m.id: m for m in machines}
    by_cut = {c.pass_id: c for c in cuts}
    loads: list[PassLoad] = []
    for one in plan.passes:
        run.check("loads", one.id)
        clamping = by_clamping[one.clamping_id]
        tilt = next(t for t in clamping.tilts if t.id == one.tilt_id)
        loads.append(
            _load(one, plan.moves[one.moves_digest], by_cut.get(one.id), clamping, tilt.frame,
                  by_cutter[one.cutter_id], pressure_mpa, exponent_ratio, blank)
        )  # fmt: skip
    proofs = _proofs(
        plan, tuple(loads), by_clamping, by_cutter, by_machine, pressure_mpa, exponent_ratio, limits or Limits()
    )
    return Decision(value=tuple(loads), proofs=proofs)


def _load(
    one: Pass,
    moves: Moves,
    measured: PassCut | None,
    clamping: Clamping,
    frame: Frame,
    cutter: Cutter,
    pressure_mpa: Fact,
    exponent_ratio: float,
    blank: Blank | None,
) -> PassLoad:
    axial, radial = one.axial_mm, one.radial_mm
    edges_mm = 0.0  # how far from the axis the force acts: drill and tap push evenly, with a couple beside
    diameter = cutter.diameter_mm
    if one.kind == "tap":
        pitch = cutter.pitch_mm if cutter.pitch_mm > 0.0 else one.tooth_feed_mm * cutter.flutes_count
        torque = tap_torque_by_pitch_n_mm(specific_force_mpa=TAP_PRESSURE_MPA, pitch_mm=pitch, major_mm=diameter)
        tangential = torque / (diameter / 2.0)
        # a tap that drags on its feed pushes or pulls; how hard depends on the holder: as much as its edges push round
        plane, along_axis = 0.0, tangential
    elif one.kind in HOLE_KINDS:
        size, feed = _drill_size_mm(one, cutter), min(DRILL_FEED_MOST_MM, one.tooth_feed_mm * cutter.flutes_count)
        size = min(DRILL_MOST_MM, size)
        thrust = drill_thrust_n(material_ratio=DRILL_MATERIAL_RATIO, diameter_mm=size, feed_per_turn_mm=feed)
        torque = drill_torque_n_mm(material_ratio=DRILL_MATERIAL_RATIO, diameter_mm=size, feed_per_turn_mm=feed)
        tangential, plane, along_axis = torque / (size / 2.0), 0.0, thrust
    else:
        bound = milling_load(
            one, moves, measured, cutter, unit_force_mpa=pressure_mpa.high, exponent_ratio=exponent_ratio
        )
        tangential, plane, along_axis, torque = bound.tangential_n, bound.plane_n, bound.axial_n, bound.torque_n_mm
        axial, radial, edges_mm = bound.axial_mm, bound.radial_mm, diameter / 2.0
    moves = moves.straight(within_mm=BOX_CHORD_MM)
    feeding = np.flatnonzero(moves.feed_mm_per_s > 0.0)
    rows = np.unique(np.concatenate([feeding, np.maximum(feeding - 1, 0)])) if len(feeding) else np.arange(1)
    tip = moves.points[rows]
    is_tilted = bool(abs(float(np.dot(frame.z, clamping.frame.z)) - 1.0) > 1e-6)
    upper = tip + np.array([0.0, 0.0, axial if one.kind not in HOLE_KINDS else 0.0])
    met = np.vstack([clamping.frame.into(frame.out_of(rows)) for rows in (tip, upper)])
    round_about = np.array([edges_mm, edges_mm, edges_mm if is_tilted else 0.0])
    low, high = met.min(axis=0) - round_about, met.max(axis=0) + round_about
    if blank is not None:
        box = clamping.frame.into(_corners(blank))
        low, high = np.clip(low, box.min(axis=0), box.max(axis=0)), np.clip(high, box.min(axis=0), box.max(axis=0))
    along = max(abs(low[0] - clamping.jaw_middle_mm), abs(high[0] - clamping.jaw_middle_mm))
    across = max(abs(low[1] + clamping.gap_mm / 2.0), abs(high[1] + clamping.gap_mm / 2.0))
    return PassLoad(
        pass_id=one.id, clamping_id=clamping.id, is_tilted=is_tilted, tangential_n=round(tangential, 4),
        plane_n=round(plane, 4), axial_n=round(along_axis, 4), torque_n_mm=round(torque, 3),
        power_mw=round(torque * one.speed_rad_per_s, 3),
        height_mm=round(float(high[2]), 4),
        along_mm=round(float(along), 4), across_mm=round(float(across), 4), radial_mm=round(radial, 4),
        axial_mm=round(axial, 4),
    )  # fmt: skip


def _drill_size_mm(one: Pass, cutter: Cutter) -> float:
    """The width a drill cuts: its own, for a spot what its cone takes; never below the table's 1 mm."""
    if one.kind != "spot":
        return max(1.0, cutter.diameter_mm)
    return max(1.0, min(cutter.diameter_mm, 2.0 * max(one.axial_mm, 0.5) * math.tan(cutter.tip_angle_rad / 2.0)))


def _corners(blank: Blank) -> NDArray[np.float64]:
    return np.array([[(blank.low_mm, blank.high_mm)[(i >> k) & 1][k] for k in range(3)] for i in range(8)])


def _proofs(
    plan: PassPlan,
    loads: tuple[PassLoad, ...],
    clampings: dict[str, Clamping],
    cutters: dict[str, Cutter],
    machines: dict[str, Machine],
    pressure_mpa: Fact,
    exponent_ratio: float,
    limits: Limits,
) -> tuple[Proof, ...]:
    proofs: list[Proof] = []
    by_pass = {p.id: p for p in plan.passes}
    used = sorted({(clampings[p.clamping_id].machine_id, p.cutter_id) for p in plan.passes})
    for machine_id, cutter_id in used:
        cutter, machine = cutters[cutter_id], machines[machine_id]
        fastest = max(
            p.speed_rad_per_s
            for p in plan.passes
            if p.cutter_id == cutter_id and clampings[p.clamping_id].machine_id == machine_id
        )
        rated = cutter.speed_max_rad_per_s
        limit = None if rated is None else min(rated, machine.speed_max_rad_per_s)
        rpm = round(rpm_from_rad_per_s(fastest), 3)
        proofs.append(
            prove(
                id=f"loads:{machine_id}:{cutter_id}:rated speed", stage="loads", subject=cutter.name,
                claim="the spindle turns no faster than cutter, holder and machine are rated for", sense="at most",
                found_low=rpm, found_high=rpm, limit=None if limit is None else round(rpm_from_rad_per_s(limit), 3),
                unit="1/min", blocks_release=True,
                basis=Basis(
                    formula="n = 60 v_c / (pi D), at most what the machine allows, against the lower of both ratings",
                    source="shop-file", inputs=_speed_inputs(rpm, cutter, machine),
                ),
                decides="read the highest permitted speed off cutter and holder and write it into the shop file",
                remedy="lower the cutting speed of this cutter",
            )
        )  # fmt: skip
    for one in plan.passes:
        cutter = cutters[one.cutter_id]
        if one.kind in HOLE_KINDS and one.kind != "tap":
            proofs.extend(_table_covers(one, cutter))
    for machine_id in sorted({c.machine_id for c in clampings.values()}):
        mine = [x for x in loads if clampings[x.clamping_id].machine_id == machine_id]
        if not mine:
            continue
        worst = max(mine, key=lambda x: (x.power_mw, x.pass_id))
        power = worst.power_mw / EFFICIENCY_RATIO / MW_PER_KW
        share = pressure_mpa.low / pressure_mpa.high
        proofs.append(
            prove(
                id=f"loads:{machine_id}:power", stage="loads", subject=by_pass[worst.pass_id].id,
                claim="the spindle has the power for its hardest pass", sense="at most",
                found_low=round(power * share, 4), found_high=round(power, 4),
                limit=machines[machine_id].power_mw / MW_PER_KW, unit="kW", blocks_release=True,
                basis=Basis(
                    formula="P = T omega / efficiency, T = F_t D / 2, F_t bound by n_e a_p k_c1.1 h^(1 - m_c) as in "
                    "src/proveout/cutting/force_bound.py", source="load-bound",
                    inputs=_power_inputs(
                        worst, by_pass[worst.pass_id], cutters, machines[machine_id], pressure_mpa, exponent_ratio
                    ),
                ),
                remedy="a shallower level or a slower cutter",
                tighten=_ease(worst, power, by_pass[worst.pass_id], cutters, machines[machine_id], limits),
            )
        )  # fmt: skip
    return tuple(proofs)


def _ease(
    worst: PassLoad, power_kw: float, one: Pass, cutters: dict[str, Cutter], machine: Machine, limits: Limits
) -> Tighten | None:
    """A lighter cut where the spindle lacks power; what it has over what is asked is the share to go down to."""
    reserve = machine.power_mw / MW_PER_KW / power_kw if power_kw > 0.0 else math.inf
    return tighten_cut(worst, reserve, one.kind, one.cutter_id, cutters[one.cutter_id].diameter_mm, limits)


def _speed_inputs(rpm: float, cutter: Cutter, machine: Machine) -> dict[str, Fact]:
    rated = cutter.speed_max_rad_per_s
    inputs = {
        "v_c, cutting speed": exact_fact(cutter.cutting_speed_mm_per_s, "mm/s", "shop-file", "owner's guess"),
        "D, diameter": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
        "n, fastest pass": exact_fact(rpm, "1/min", "own-algorithm", "assumed"),
        "machine allows": exact_fact(
            round(rpm_from_rad_per_s(machine.speed_max_rad_per_s), 3), "1/min", "shop-file", "owner's guess"
        ),
    }
    if rated is not None:
        allows = round(rpm_from_rad_per_s(rated), 3)
        inputs["cutter and holder allow"] = exact_fact(allows, "1/min", "shop-file", "owner's guess")
    return inputs


def _power_inputs(
    load: PassLoad, one: Pass, cutters: dict[str, Cutter], machine: Machine, pressure_mpa: Fact, exponent_ratio: float
) -> dict[str, Fact]:
    least, cutter = load.torque_n_mm * pressure_mpa.low / pressure_mpa.high, cutters[one.cutter_id]
    return {
        "k_c1.1": pressure_mpa,
        "m_c": exact_fact(exponent_ratio, "ratio", "shop-file", "owner's guess"),
        "a_p": exact_fact(load.axial_mm, "mm", "replay", "assumed"),
        "a_e": exact_fact(load.radial_mm, "mm", "replay", "assumed"),
        "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
        "z": exact_fact(float(cutter.flutes_count), "edges", "shop-file", "owner's guess"),
        "f_z": exact_fact(one.tooth_feed_mm, "mm", "own-algorithm", "assumed"),
        "T": Fact(
            low=least, nominal=(least + load.torque_n_mm) / 2.0, high=load.torque_n_mm, unit="N mm",
            source="load-bound", strength="assumed",
        ),
        "omega": exact_fact(one.speed_rad_per_s, "rad/s", "own-algorithm", "assumed"),
        "efficiency": exact_fact(EFFICIENCY_RATIO, "ratio", "workshop-practice", "common practice"),
        "spindle power": exact_fact(machine.power_mw / MW_PER_KW, "kW", "shop-file", "owner's guess"),
    }  # fmt: skip


def _table_covers(one: Pass, cutter: Cutter) -> list[Proof]:
    """A proof that is not shown where the drill maker's table ends; none inside it."""
    size, feed = _drill_size_mm(one, cutter), one.tooth_feed_mm * cutter.flutes_count
    if size <= DRILL_MOST_MM and feed <= DRILL_FEED_MOST_MM:
        return []
    return [
        prove(
            id=f"loads:{one.id}:drill table", stage="loads", subject=one.id,
            claim="thrust and torque of this drill are known", sense="at most", found_low=None, found_high=None,
            limit=DRILL_MOST_MM if size > DRILL_MOST_MM else DRILL_FEED_MOST_MM,
            unit="mm" if size > DRILL_MOST_MM else "mm a turn", blocks_release=True,
            basis=Basis(
                formula="T = 570 K D f^0.85, for D up to 40 mm and f up to 1 mm", source="twist_drill_formula",
                inputs={
                    "D, width of the hole": exact_fact(size, "mm", "shop-file", "owner's guess"),
                    "f, feed a turn": exact_fact(feed, "mm", "own-algorithm", "assumed"),
                },
            ),
            decides="thrust and torque of this drill in this metal, measured or from its maker",
            remedy="a smaller drill or a slower feed, or mill the hole",
        )
    ]  # fmt: skip
