"""How hard the vise of each clamping is closed: as usual, or softer where the jaws would crush the work."""

from __future__ import annotations

from proveout.model.fact import Fact, weaker_of
from proveout.model.limits import Limits
from proveout.model.plan import ClampForce
from proveout.model.shop import Vise
from proveout.model.work import Clamping

USUAL = 1.0
# common practice, no source: a screw vise presses in proportion to the torque at its handle, with the same spread
PROPORTION = "workshop-practice: jaw force in proportion to the torque at the handle"


def clamp_force(*, clamping: Clamping, vise: Vise, limits: Limits) -> ClampForce:
    """Torque and jaw force of one clamping at the share of the usual force that the limits leave it.

    A vise that is closed by hand has no torque that anybody could set.
    """
    ratio = limits.of("preload_ratio", clamping.id, USUAL)
    torque = None if vise.torque_n_mm is None or vise.is_hand_tight else round(vise.torque_n_mm * ratio, 6)
    return ClampForce(
        clamping_id=clamping.id, ratio=ratio, torque_n_mm=torque,
        force_n=None if vise.preload_n is None else _share_of(vise.preload_n, ratio),
    )  # fmt: skip


def clamp_forces(
    *, clampings: tuple[Clamping, ...], vises: tuple[Vise, ...], limits: Limits
) -> tuple[ClampForce, ...]:  # fmt: skip
    """One for each clamping, in their order."""
    by_id = {v.id: v for v in vises}
    return tuple(clamp_force(clamping=c, vise=by_id[c.vise_id], limits=limits) for c in clampings)


def _share_of(force: Fact, ratio: float) -> Fact:
    """A share of a jaw force with the same relative spread; nobody measured that one."""
    if ratio == USUAL:
        return force
    return Fact(
        low=force.low * ratio, nominal=force.nominal * ratio, high=force.high * ratio, unit=force.unit,
        source=f"{PROPORTION}, from {force.source}", strength=weaker_of(force.strength, "common practice"),
    )  # fmt: skip
