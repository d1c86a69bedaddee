"""The rotary brake against every cut of a clamping that stands on the rotary axes."""

from __future__ import annotations

import math

from proveout.cutting.easing import tighten_cut
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Machine, Rotary
from proveout.stages.holding.gripping import Grip
from proveout.stages.holding.proofs import STAGE, Kinds, reckoned


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


def brake_proof(grip: Grip, loads: list[PassLoad], machine: Machine, kinds: Kinds, limits: Limits) -> Proof:
    """Every cut of the clamping stands on the rotary axes, tilted or not.

    A bound that leans on the whole travels, as nobody measured where the vise stands, tightens nothing: a rule and a
    square decide it, not slower cuts.
    """
    rotary, clamping, vise = machine.rotary, grip.clamping, grip.vise
    assert rotary is not None
    most = _lever_mm(machine, rotary)

    def lever_mm(load: PassLoad) -> float:
        far = _far_mm(load, grip)
        return most if far is None else min(most, far)

    def asked_n_mm(load: PassLoad) -> float:
        return math.hypot(load.plane_n, load.axial_n) * lever_mm(load) + load.torque_n_mm

    worst = max(loads, key=lambda x: (asked_n_mm(x), x.pass_id), default=None)
    torque = None if worst is None else asked_n_mm(worst) / 1000.0
    brake = rotary.brake_torque_n_mm
    is_placed = vise.from_c_axis_mm is not None and vise.above_a_axis_mm is not None
    tighten = None
    if worst is not None and torque is not None and brake is not None and torque > 0.0 and is_placed:
        tighten = tighten_cut(worst, brake.low / 1000.0 / torque, *kinds[worst.pass_id], limits)
    reason = "no cut lies farther from either rotary axis where the vise stands" if is_placed else (
        "no cut within the travels lies farther from either rotary axis"
    )  # fmt: skip
    lever = lever_mm(worst) if worst else most
    wanted = [
        text
        for text, is_open in (
            ("the brake's holding torque", brake is None),
            ("where the vise stands from the rotation axes", not is_placed),
        )
        if is_open
    ]
    return prove(
        id=f"{STAGE}:{clamping.id}:rotary brake", stage=STAGE,
        subject=worst.pass_id if worst else f"clamping {clamping.number}",
        claim="the rotary brake holds every cut", sense="at most",
        found_low=0.0 if torque is not None else None,
        found_high=None if torque is None else round(torque, 3), limit=None if brake is None else brake.low / 1000.0,
        unit="N m", blocks_release=True,
        basis=Basis(
            formula=f"M = F d + T, d = {lever:.0f} mm: {reason}", source="own-algorithm",
            inputs=_inputs(worst, grip, machine, lever),
        ),
        decides=" and ".join(wanted) or "the brake's holding torque, more closely",
        remedy="move the vise nearer to the rotation centre and measure where it stands, or take shallower levels",
        tighten=tighten,
    )  # fmt: skip


def _inputs(load: PassLoad | None, grip: Grip, machine: Machine, lever_mm: float) -> dict[str, Fact]:
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
    inputs["d, lever"] = exact_fact(lever_mm, "mm", "own-algorithm", "assumed")
    if load is not None:
        force = math.hypot(load.plane_n, load.axial_n)
        inputs["k_c1.1, cutting pressure"] = grip.pressure_mpa
        inputs["F, force of the cut"] = reckoned(grip.share * force, force, "N", "load-bound")
        inputs["T, cutter's torque"] = reckoned(
            grip.share * load.torque_n_mm / 1000.0, load.torque_n_mm / 1000.0, "N m", "load-bound"
        )
    return inputs
