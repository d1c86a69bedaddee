"""Vises closed with the torque that the owner pinned, in the stead of their usual one."""

from __future__ import annotations

import msgspec

from proveout.model.plan import ClampForce
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Vise
from proveout.model.work import Clamping
from proveout.quantities.units import N_MM_PER_N_M
from proveout.stages.holding.clamp_force import force_closed_with, least_beyond_chart_n

PIN = "torque"
TINY_N_MM = 1e-3


def closed_with(vise: Vise, torque_n_mm: float) -> Vise:
    """The vise with its usual torque, and the force that belongs to it, replaced.

    By hand nobody closes it with any torque: then it stays as it is. Where no usual torque is known, no force is. What
    is known of the usual force is known no better of the other one. Beyond the chart it presses no softer than there.
    """
    if vise.is_hand_tight or torque_n_mm == vise.torque_n_mm:
        return vise
    usual = vise.preload_n
    ratio = None if vise.torque_n_mm is None else torque_n_mm / vise.torque_n_mm
    force = None if ratio is None else force_closed_with(vise, ratio)
    least = None if ratio is None or usual is None or not usual.is_backed else least_beyond_chart_n(vise, ratio)
    if force is not None and usual is not None and not usual.is_backed:
        force = msgspec.structs.replace(force, source=usual.source, strength=usual.strength)
    return msgspec.structs.replace(vise, torque_n_mm=torque_n_mm, preload_n=force, least_preload_n=least)


def torque_pin_proof(
    torque_n_mm: float, *, clampings: tuple[Clamping, ...], vises: tuple[Vise, ...], forces: tuple[ClampForce, ...]
) -> Proof:  # fmt: skip
    """Whether every vise of the plan can be closed with the pinned torque, and is.   forces: of every clamping."""
    used = {clamping.vise_id for clamping in clampings}
    by_hand = [vise.id for vise in vises if vise.id in used and vise.is_hand_tight]
    told = f"torque = {torque_n_mm / N_MM_PER_N_M:g} N m"
    others = [
        one.clamping_id for one in forces if one.torque_n_mm is None or abs(one.torque_n_mm - torque_n_mm) > TINY_N_MM
    ]
    found = 1.0 if forces and not others else 0.0
    kept = "every clamping is closed with it" if found else f"not closed with it: {', '.join(others) or 'no clamping'}"
    return prove(
        id=f"holding:pin:{PIN}", stage="holding", subject=told, claim="the owner's pin is kept", sense="at least",
        found_low=found, found_high=found, limit=1.0, unit="yes = 1", blocks_release=False,
        basis=Basis(
            formula=f"closed by hand: {', '.join(by_hand)}" if by_hand else kept,
            source="own-algorithm",
        ),
        remedy="drop the pin, or close the vise with a torque wrench",
    )  # fmt: skip
