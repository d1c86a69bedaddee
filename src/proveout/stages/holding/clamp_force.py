"""How hard the vise of each clamping is closed: as usual, or softer where the jaws would crush the work."""

from __future__ import annotations

from proveout.grip.clamp_force import clamp_force_from_chart_n
from proveout.model.fact import Fact, weaker_of
from proveout.model.limits import Limits
from proveout.model.plan import ClampForce
from proveout.model.shop import Vise
from proveout.model.work import Clamping

USUAL = 1.0
# common practice, no source: a screw vise presses in proportion to the torque at its handle, with the same spread
PROPORTION = "workshop-practice: jaw force in proportion to the torque at the handle"
CHART = "shop-file: the torque chart of the vise's maker, at the torque of this clamping"


def clamp_force(*, clamping: Clamping, vise: Vise, limits: Limits) -> ClampForce:
    """Torque and jaw force of one clamping at the share of the usual torque that the limits leave it.

    A vise that is closed by hand has no torque that anybody could set.
    """
    ratio = limits.of("preload_ratio", clamping.id, USUAL)
    torque = None if vise.torque_n_mm is None or vise.is_hand_tight else round(vise.torque_n_mm * ratio, 6)
    return ClampForce(
        clamping_id=clamping.id, ratio=ratio, torque_n_mm=torque,
        force_n=force_closed_with(vise, ratio),
    )  # fmt: skip


def clamp_forces(
    *, clampings: tuple[Clamping, ...], vises: tuple[Vise, ...], limits: Limits
) -> tuple[ClampForce, ...]:  # fmt: skip
    """One for each clamping, in their order."""
    by_id = {v.id: v for v in vises}
    return tuple(clamp_force(clamping=c, vise=by_id[c.vise_id], limits=limits) for c in clampings)


def force_closed_with(vise: Vise, ratio: float) -> Fact | None:
    """The jaw force at a share of the usual torque, with the same relative spread; None when nobody knows the usual.

    By the maker's chart where one is given, as few charts run through nothing; else in proportion. Beyond the ends of
    a chart both the chart carried on straight and proportion from its end are tried, and each end is the worse.
    """
    force = vise.preload_n
    if force is None or ratio == USUAL:
        return force
    by_chart = _shares_by_chart(vise, ratio)
    low, high, is_within = (ratio, ratio, False) if by_chart is None else by_chart
    source, strength = (CHART, "published as quoted") if is_within else (PROPORTION, "common practice")
    return Fact(
        low=force.low * low, nominal=force.nominal * (low + high) / 2.0, high=force.high * high, unit=force.unit,
        source=f"{source}, from {force.source}", strength=weaker_of(force.strength, strength),
    )  # fmt: skip


def _shares_by_chart(vise: Vise, ratio: float) -> tuple[float, float, bool] | None:
    """Least and greatest share of the usual force by the chart, and whether the chart reaches so far; None without."""
    torques, forces, usual = vise.chart_torques_n_mm, vise.chart_forces_n, vise.torque_n_mm
    if usual is None or len(torques) < 2 or not torques[0] <= usual <= torques[-1]:
        return None
    whole = clamp_force_from_chart_n(torque_n_mm=usual, chart_torques_n_mm=torques, chart_forces_n=forces)
    torque = usual * ratio
    if whole <= 0.0:
        return None
    if torques[0] <= torque <= torques[-1]:
        share = clamp_force_from_chart_n(torque_n_mm=torque, chart_torques_n_mm=torques, chart_forces_n=forces) / whole
        return share, share, True
    end, beside = (0, 1) if torque < torques[0] else (-1, -2)
    slope = (forces[end] - forces[beside]) / (torques[end] - torques[beside])
    straight = max(0.0, forces[end] + slope * (torque - torques[end]))
    ways = (straight / whole, forces[end] * torque / torques[end] / whole)
    return min(ways), max(ways), False
