"""The rotary brake against every cut of a clamping that stands on the rotary axes."""

from __future__ import annotations

import math

import numpy as np

from proveout.cutting.easing import beside_the_first, least_steps, tighten_cut
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.proof import Basis, MoveAt, Proof, Tighten, prove
from proveout.model.shop import Machine, Noun, Rotary, Vise
from proveout.quantities.units import N_MM_PER_N_M
from proveout.stages.holding.gripping import Grip, reckoned
from proveout.stages.holding.proofs import STAGE, Kinds, step_words
from proveout.stages.holding.sure_torque import Sure, sure_torque

WEIGHT_WORDS = "; the weight of table, vise and work turns about the axes too and is in neither end of M"
TOLD = 1e3
"""Parts of one N m that are told."""


def at_most_told(torque_n_m: float) -> float:
    """A greatest torque as it is told, rounded up: nothing holds by rounding."""
    return math.ceil(torque_n_m * TOLD) / TOLD


def at_least_told(torque_n_m: float) -> float:
    """A least torque as it is told, rounded down: nothing fails by rounding."""
    return math.floor(torque_n_m * TOLD) / TOLD


def _lever_mm(machine: Machine, rotary: Rotary) -> float:
    """How far from the A or the C axis a cut can lie at most: A runs along x, C along z (ISO 841).

    With the pivot known in machine coordinates (zero at one end of each travel) the far end of the travels counts,
    else the whole travel; along z always the whole, since the tool's length is in there.
    """
    far = [machine.travel_mm[0], machine.travel_mm[1]]
    if rotary.pivot_in_machine_mm is not None:
        for k in range(2):
            at, travel = abs(rotary.pivot_in_machine_mm[k]), machine.travel_mm[k]
            far[k] = max(at, travel - at) if at <= travel else at + travel
    return max(math.hypot(far[0], far[1]), math.hypot(far[1], machine.travel_mm[2]))


def _far_mm(load: PassLoad, grip: Grip) -> float | None:
    """How far the pass can cut from either rotary axis where the vise stands; None when nobody measured that.

    The C axis stands upright and meets the A axis in the pivot; a cut lies no farther from the middle of the fixed jaw
    than along the jaws and across the gap together.
    """
    aside, above = grip.vise.from_c_axis_mm, grip.vise.above_a_axis_mm
    if aside is None or above is None:
        return None
    along = load.along_mm + grip.off_middle_mm
    level = aside.high + math.hypot(along, load.across_mm + grip.clamping.gap_mm / 2.0)
    # the lowest cut lies at the seat or above it (the passes prove it), the highest at height_mm
    height = max(abs(above.low), abs(above.high), abs(above.high + load.height_mm))
    return math.hypot(level, height)


class Asked(Noun, frozen=True, kw_only=True):
    """What one pass asks of the brake, and how: the move that asks most, None where the pass was bound as a whole.

    scale: least over greatest force.
    """

    load: PassLoad
    force_n: float
    lever_mm: float
    couple_n_mm: float
    row: int | None = None
    scale: float = 1.0

    @property
    def torque_n_mm(self) -> float:
        """At the axis."""
        return self.force_n * self.lever_mm + self.couple_n_mm


def _by_move(load: PassLoad, moves: MoveLoads | None, grip: Grip, most_mm: float) -> Asked | None:
    """The move of a pass that asks most: its whole force at the far corner of where it acts.

    The force acts at the cutter's edges, so that the spindle's torque is in it; a drill's couple goes on top.
    """
    if moves is None or not len(moves.rows):
        return None
    size = np.linalg.norm(np.maximum(np.abs(moves.force_low_n), np.abs(moves.force_high_n)), axis=1)
    lever = np.full(len(size), most_mm)
    aside, above = grip.vise.from_c_axis_mm, grip.vise.above_a_axis_mm
    if aside is not None and above is not None:
        low, high = moves.at_low_mm, moves.at_high_mm
        x = np.maximum(
            np.abs(low[:, 0] - grip.clamping.jaw_middle_mm), np.abs(high[:, 0] - grip.clamping.jaw_middle_mm)
        )
        y = np.maximum(np.abs(low[:, 1]), np.abs(high[:, 1]))
        level = aside.high + np.hypot(x + grip.off_middle_mm, y)
        height = np.maximum(np.abs(above.low + low[:, 2]), np.abs(above.high + high[:, 2]))
        lever = np.minimum(most_mm, np.hypot(level, height))
    worst = int(np.argmax(size * lever + moves.couple_n_mm))
    return Asked(
        load=load, force_n=float(size[worst]), lever_mm=float(lever[worst]),
        couple_n_mm=float(moves.couple_n_mm[worst]), row=int(moves.rows[worst]), scale=float(moves.shares[worst]),
    )  # fmt: skip


def brake_proofs(
    grip: Grip, loads: list[PassLoad], machine: Machine, kinds: Kinds, limits: Limits, moves: dict[str, MoveLoads]
) -> list[Proof]:  # fmt: skip
    """Every cut of the clamping stands on the rotary axes, tilted or not: the better bound of each pass, of two.

    The hardest pass, and one for each other cutter that asks too much, with the least bound that any of its passes asks
    for: one round then settles them all.

    A bound that leans on the whole travels, as nobody measured where the vise stands, tightens nothing: a rule and a
    square decide it, not slower cuts. The low end is what a drill in solid metal, or a square mill on a straight way,
    is sure to make about an axis; below the limit where the brake at its best would hold it, so that *fails* means
    beyond that. The weight of table, vise and work, which hangs on the brake too, is in neither end.
    """
    rotary, vise = machine.rotary, grip.vise
    assert rotary is not None
    most = _lever_mm(machine, rotary)

    def asked_of(load: PassLoad) -> Asked:
        far = _far_mm(load, grip)
        whole = Asked(
            load=load, force_n=math.hypot(load.plane_n, load.axial_n), couple_n_mm=load.torque_n_mm,
            lever_mm=most if far is None else min(most, far), scale=grip.share,
        )  # fmt: skip
        one = _by_move(load, moves.get(load.pass_id), grip, most)
        return whole if one is None or whole.torque_n_mm < one.torque_n_mm else one

    def step_of(asked: Asked) -> Tighten | None:
        brake = rotary.brake_torque_n_mm
        if brake is None or asked.torque_n_mm <= 0.0 or not _is_placed(vise):
            return None
        return tighten_cut(asked.load, brake.low / asked.torque_n_mm, *kinds[asked.load.pass_id], limits)

    ranked = sorted((asked_of(x) for x in loads), key=lambda x: (-x.torque_n_mm, x.load.pass_id))
    sure = sure_torque(grip, [moves[x.pass_id] for x in loads if x.pass_id in moves], kinds)
    name = f"{STAGE}:{grip.clamping.id}:rotary brake"
    steps = least_steps([step_of(x) for x in ranked])
    first = steps[0] if steps else None
    proofs = [_brake_proof(name, grip, machine, ranked[0] if ranked else None, sure, first)]
    proofs.extend(
        _brake_proof(f"{name} {step_words(step)}", grip, machine, ranked[place], Sure(), step)
        for place, step in beside_the_first(steps)
    )
    return proofs


def _brake_proof(
    name: str, grip: Grip, machine: Machine, asked: Asked | None, sure: Sure, tighten: Tighten | None
) -> Proof:  # fmt: skip
    rotary, clamping, vise = machine.rotary, grip.clamping, grip.vise
    assert rotary is not None
    brake = rotary.brake_torque_n_mm
    torque = None if asked is None else asked.torque_n_mm / N_MM_PER_N_M
    is_placed = _is_placed(vise)
    reason = "no cut lies farther from either rotary axis where the vise stands" if is_placed else (
        "no cut within the travels lies farther from either rotary axis"
    )  # fmt: skip
    lever = _lever_mm(machine, rotary) if asked is None else asked.lever_mm
    at = "" if asked is None or asked.row is None else f"; hardest in {asked.load.pass_id}, move {asked.row}"
    wanted = [
        text
        for text, is_open in (
            ("the brake's holding torque", brake is None),
            ("where the vise stands from the rotation axes", not is_placed),
        )
        if is_open
    ]
    return prove(
        id=name, stage=STAGE, subject=asked.load.pass_id if asked else f"clamping {clamping.number}",
        claim="the rotary brake holds every cut, the weight of table, vise and work left out", sense="at most",
        found_low=None if torque is None else at_least_told(_low_n_mm(sure, brake) / N_MM_PER_N_M),
        found_high=None if torque is None else at_most_told(torque),
        limit=None if brake is None else brake.low / N_MM_PER_N_M,
        unit="N m", blocks_release=True,
        basis=Basis(
            formula=f"M = F d + T, d = {lever:.0f} mm: {reason}{_sure_words(sure)}{WEIGHT_WORDS}",
            source="own-algorithm", inputs=_inputs(asked, sure, grip, machine, lever),
            move=None if asked is None or asked.row is None else MoveAt(pass_id=asked.load.pass_id, row=asked.row),
        ),
        decides=" and ".join(wanted) or "the brake's holding torque, more closely",
        remedy="move the vise nearer to the rotation centre and measure where it stands, or take shallower levels" + at,
        tighten=tighten,
    )  # fmt: skip


def _is_placed(vise: Vise) -> bool:
    """Whether somebody measured where it stands about both axes."""
    return vise.from_c_axis_mm is not None and vise.above_a_axis_mm is not None


def _low_n_mm(sure: Sure, brake: Fact | None) -> float:
    """What is told as the low end: beyond the limit only where the brake at its best lets go too."""
    if brake is None or sure.torque_n_mm > brake.high:
        return sure.torque_n_mm
    return min(sure.torque_n_mm, brake.low)


def _sure_words(sure: Sure) -> str:
    if not sure.row:
        return ""
    return (
        f"; at least, by {sure.pass_id}, move {sure.row}: d . (r x F) about the {sure.axis} axis at the best end of "
        "force, place and metal, derived at the top of src/proveout/grip/axis_torque.py, and told no higher than the "
        "limit while the brake at its best would hold it"
    )


def _inputs(asked: Asked | None, sure: Sure, grip: Grip, machine: Machine, lever_mm: float) -> dict[str, Fact]:
    rotary, vise = machine.rotary, grip.vise
    assert rotary is not None
    inputs = {
        name: fact
        for name, fact in (
            ("brake torque", rotary.brake_torque_n_mm),
            ("fixed jaw from the C axis", vise.from_c_axis_mm),
            ("seat above the A axis", vise.above_a_axis_mm),
        )
        if fact is not None
    }  # fmt: skip
    for axis, travel in zip("xyz", machine.travel_mm, strict=True):
        inputs[f"travel {axis}"] = exact_fact(travel, "mm", "shop-file", "owner's guess")
    if rotary.pivot_in_machine_mm is not None:
        for axis, at in zip("xyz", rotary.pivot_in_machine_mm, strict=True):
            inputs[f"rotation centre {axis}"] = exact_fact(at, "mm", "shop-file", "owner's guess")
    if sure.row:
        inputs["torque that is sure"] = exact_fact(
            at_least_told(sure.torque_n_mm / N_MM_PER_N_M), "N m", "own-algorithm", "assumed"
        )
    inputs["d, lever"] = exact_fact(lever_mm, "mm", "own-algorithm", "assumed")
    if asked is not None:
        force, couple, scale = asked.force_n, asked.couple_n_mm / N_MM_PER_N_M, asked.scale
        inputs["k_c1.1, cutting pressure"] = grip.pressure_mpa
        inputs["F, force of the cut"] = reckoned(scale * force, force, "N", "load-bound")
        inputs["T, cutter's torque"] = reckoned(scale * couple, couple, "N m", "load-bound")
        if asked.row is not None:
            inputs["move of the pass"] = exact_fact(float(asked.row), "moves", "own-algorithm", "assumed")
    return inputs
