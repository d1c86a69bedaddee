"""What the loads mean for cutter, drill table and spindle: rated speed, power and torque at the hardest move."""

from __future__ import annotations

import math

import numpy as np

from proveout.cutting.drilling import DRILL_FEED_MOST_MM, DRILL_MOST_MM
from proveout.cutting.easing import tighten_cut
from proveout.cutting.spindle import lasting_torque_n_mm
from proveout.model.fact import Fact, exact_fact
from proveout.model.measured import EFFICIENCY
from proveout.model.proof import Basis, MoveAt, Proof, Tighten, prove
from proveout.model.shop import Cutter, Machine
from proveout.model.work import HOLE_KINDS, Pass
from proveout.quantities.units import MW_PER_KW, N_MM_PER_N_M, rpm_from_rad_per_s
from proveout.stages.loads.found import FoundPass, Told, drill_size_mm, move_at


def spindle_proofs(told: Told) -> tuple[Proof, ...]:
    """Rated speed of every cutter on its machine, the drill table of every hole, power and torque of every machine."""
    proofs: list[Proof] = []
    used = sorted({(told.machine_of(f.one).id, f.one.cutter_id) for f in told.found})
    for machine_id, cutter_id in used:
        cutter, machine = told.cutters[cutter_id], told.machines[machine_id]
        fastest = max(
            f.one.speed_rad_per_s
            for f in told.found
            if f.one.cutter_id == cutter_id and told.machine_of(f.one).id == machine_id
        )
        proofs.append(_rated_speed(cutter, machine, fastest))
    for found in told.found:
        if found.one.kind in HOLE_KINDS and found.one.kind != "tap":
            proofs.extend(_table_covers(found.one, told.cutters[found.one.cutter_id]))
    for machine_id in sorted({c.machine_id for c in told.clampings.values()}):
        mine = [f for f in told.found if told.machine_of(f.one).id == machine_id]
        if mine:
            machine = told.machines[machine_id]
            proofs.append(_power(told, mine, machine))
            if machine.torque_curve:
                proofs.append(_torque(told, mine, machine))
    return tuple(proofs)


def hardest_move_words(found: FoundPass, values: np.ndarray | None) -> str:
    """Which move of a pass is the one that is judged, as words; empty where the pass is bounded as a whole."""
    if found.moves is None or values is None or len(values) == 0:
        return ""
    return f", which is move {int(found.moves.loads.rows[int(np.argmax(values))])} of its pass"


def _rated_speed(cutter: Cutter, machine: Machine, fastest: float) -> Proof:
    rated = cutter.rated_rad_per_s
    limit = None if rated is None else min(rated, machine.speed_max_rad_per_s)
    rpm = round(rpm_from_rad_per_s(fastest), 3)
    return prove(
        id=f"loads:{machine.id}:{cutter.id}:rated speed", stage="loads", subject=cutter.name,
        claim="the spindle turns no faster than cutter, holder and machine are rated for", sense="at most",
        found_low=rpm, found_high=rpm, limit=None if limit is None else round(rpm_from_rad_per_s(limit), 3),
        unit="1/min", blocks_release=True,
        basis=Basis(
            formula="n = 60 v_c / (pi D), at most what the machine allows, against the lower of both ratings",
            source="shop-file", inputs=_speed_inputs(rpm, cutter, machine),
        ),
        decides="read the highest permitted speed off cutter and holder and write it into the shop file",
        remedy="lower the cutting speed of this cutter",
    )  # fmt: skip


def _power(told: Told, mine: list[FoundPass], machine: Machine) -> Proof:
    worst = max(mine, key=lambda f: (f.load.power_mw, f.load.pass_id))
    at_edge = worst.load.power_mw / MW_PER_KW
    power = at_edge / EFFICIENCY.low
    by_move = None if worst.moves is None else worst.moves.loads.power_mw
    least = max(f.least_torque_n_mm * f.one.speed_rad_per_s for f in mine) / MW_PER_KW
    known = "" if machine.torque_curve else (
        "; the shop file has no torque by speed of this spindle, so that only its rated power counts"
    )  # fmt: skip
    return prove(
        id=f"loads:{machine.id}:power", stage="loads", subject=worst.load.pass_id,
        claim=f"the spindle has the power for its hardest {'pass' if by_move is None else 'move'}"
        f"{hardest_move_words(worst, by_move)}", sense="at most",
        found_low=round(least / EFFICIENCY.high, 4), found_high=round(power, 4),
        limit=machine.power_mw / MW_PER_KW, unit="kW", blocks_release=True,
        basis=Basis(
            formula="P = T omega / efficiency, T = F_t D / 2, F_t bound by B (k_c1.1 h^(1 - m_c)), B the edge in the "
            f"cut{_or_edges(told)}, as in src/proveout/cutting/turning.py{known}",
            source="load-bound", inputs=_power_inputs(told, worst, machine), move=_hardest(worst, by_move),
        ),
        remedy="a shallower level or a slower cutter", tighten=_ease(told, worst, power * MW_PER_KW, machine.power_mw),
    )  # fmt: skip


def _torque(told: Told, mine: list[FoundPass], machine: Machine) -> Proof:
    """The hardest pass against the torque that lasts at its own speed; outside the speeds written none is known."""

    def asked_n_mm(found: FoundPass) -> float:
        return found.load.torque_n_mm / EFFICIENCY.low

    def used(found: FoundPass) -> float:
        has = lasting_torque_n_mm(machine, found.one.speed_rad_per_s)
        return math.inf if has is None else asked_n_mm(found) / has

    worst = max(mine, key=lambda f: (used(f), f.load.pass_id))
    has = lasting_torque_n_mm(machine, worst.one.speed_rad_per_s)
    by_move = None if worst.moves is None else worst.moves.loads.torque_n_mm
    high = asked_n_mm(worst) / N_MM_PER_N_M
    speeds = [rpm_from_rad_per_s(speed) for speed, _ in machine.torque_curve]
    return prove(
        id=f"loads:{machine.id}:torque", stage="loads", subject=worst.load.pass_id,
        claim=f"the spindle has the torque for its hardest {'pass' if by_move is None else 'move'}"
        f"{hardest_move_words(worst, by_move)}, at the speed of that pass", sense="at most",
        found_low=round(worst.least_torque_n_mm / EFFICIENCY.high / N_MM_PER_N_M, 4), found_high=round(high, 4),
        limit=None if has is None else round(has / N_MM_PER_N_M, 4), unit="N m", blocks_release=True,
        basis=Basis(
            formula="T / efficiency, T = F_t D / 2, against the torque that lasts at that speed, straight between the "
            "speeds that are written", source="load-bound",
            inputs={
                "n, of this pass": exact_fact(
                    round(rpm_from_rad_per_s(worst.one.speed_rad_per_s), 3), "1/min", "own-algorithm", "assumed"
                ),
                **_cut_inputs(told, worst),
                "lowest speed written": exact_fact(round(speeds[0], 3), "1/min", "shop-file", "owner's guess"),
                "highest speed written": exact_fact(round(speeds[-1], 3), "1/min", "shop-file", "owner's guess"),
            },
            move=_hardest(worst, by_move),
        ),
        decides="write the spindle's torque at this speed into the shop file",
        remedy="a shallower level or a faster cutter",
        tighten=None if has is None else _ease(told, worst, asked_n_mm(worst), has),
    )  # fmt: skip


def _hardest(found: FoundPass, values: np.ndarray | None) -> MoveAt | None:
    return None if values is None or not len(values) else move_at(found, int(np.argmax(values)))


def _ease(told: Told, worst: FoundPass, asked: float, has: float) -> Tighten | None:
    """A lighter cut where the spindle lacks power; what it has over what is asked is the share to go down to."""
    one, cutter = worst.one, told.cutters[worst.one.cutter_id]
    reserve = has / asked if asked > 0.0 else math.inf
    return tighten_cut(worst.load, reserve, one, cutter.diameter_mm, told.limits)


def _or_edges(told: Told) -> str:
    return "" if told.coefficients is None else " or by B (K_tc h + K_te), whichever is more"


def _speed_inputs(rpm: float, cutter: Cutter, machine: Machine) -> dict[str, Fact]:
    rated = cutter.rated_rad_per_s
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


def _power_inputs(told: Told, worst: FoundPass, machine: Machine) -> dict[str, Fact]:
    return {
        **_cut_inputs(told, worst),
        "omega": exact_fact(worst.one.speed_rad_per_s, "rad/s", "own-algorithm", "assumed"),
        "spindle power": exact_fact(machine.power_mw / MW_PER_KW, "kW", "shop-file", "owner's guess"),
    }


def _cut_inputs(told: Told, worst: FoundPass) -> dict[str, Fact]:
    """What the torque at the edge rests on, by either law and on the mean, and what of the motor's reaches it."""
    load, one = worst.load, worst.one
    least, cutter = worst.least_torque_n_mm, told.cutters[one.cutter_id]
    edges = {} if told.coefficients is None else {name: told.coefficients.facts[name] for name in ("K_tc", "K_te")}
    return {
        "k_c1.1": told.pressure_mpa,
        "m_c": exact_fact(told.exponent_ratio, "ratio", "shop-file", "owner's guess"),
        **edges,
        "a_p": exact_fact(load.axial_mm, "mm", "replay", "assumed"),
        "a_e": exact_fact(load.radial_mm, "mm", "replay", "assumed"),
        "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
        "z": exact_fact(float(cutter.flutes_count), "edges", "shop-file", "owner's guess"),
        "f_z": exact_fact(one.tooth_feed_mm, "mm", "own-algorithm", "assumed"),
        "T": Fact(
            low=least, nominal=(least + load.torque_n_mm) / 2.0, high=load.torque_n_mm, unit="N mm",
            source="load-bound", strength="assumed",
        ),
        **_turn_inputs(worst),
        "efficiency": EFFICIENCY,
    }  # fmt: skip


def _turn_inputs(worst: FoundPass) -> dict[str, Fact]:
    """The tangential force by each law side by side, and the means over a turn, at most; told, and not leant on."""
    push = worst.push
    if push is None:
        return {}
    told = {
        "F_t by k_c1.1 alone": (push.by_pressure_n, "N"), "F_t by K_tc and K_te alone": (push.by_edges_n, "N"),
        "F_t, mean over a turn": (push.mean_tangential_n, "N"), "T, mean over a turn": (push.mean_torque_n_mm, "N mm"),
    }  # fmt: skip
    return {
        name: exact_fact(value, unit, "load-bound", "assumed")
        for name, (value, unit) in told.items()
        if value is not None
    }


def _table_covers(one: Pass, cutter: Cutter) -> list[Proof]:
    """A proof that is not shown where the drill maker's table ends; none inside it."""
    size, feed = drill_size_mm(one, cutter), one.tooth_feed_mm * cutter.flutes_count
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
