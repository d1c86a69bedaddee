"""How hard the vise of each clamping is closed: as usual, or softer where the jaws would crush the work."""

from __future__ import annotations

from proveout.grip.clamp_force import clamp_force_from_chart_n
from proveout.model.fact import Fact, weaker_of
from proveout.model.limits import Limits
from proveout.model.plan import ClampForce
from proveout.model.proof import Tighten
from proveout.model.shop import Vise
from proveout.model.work import Clamping

USUAL = 1.0
CHART_KEYS = "chart_torques_n_m and chart_forces_kn"
CHART = "shop-file: the torque chart of the vise's maker"
AT_TORQUE = f"{CHART}, at the torque of this clamping"


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
    """The jaw force at a share of the usual torque, with the same relative spread; None where nobody knows it.

    By the maker's chart alone, between its ends and where it holds the usual torque: few charts run through nothing, so
    that proportion says too much of a softer vise and too little of a harder one, and nothing bounds it.
    """
    force = vise.preload_n
    if force is None or ratio == USUAL:
        return force
    share = _share_by_chart(vise, ratio)
    if share is None:
        return None
    return Fact(
        low=force.low * share, nominal=force.nominal * share, high=force.high * share, unit=force.unit,
        source=f"{AT_TORQUE}, from {force.source}", strength=weaker_of(force.strength, "published as quoted"),
    )  # fmt: skip


def least_beyond_chart_n(vise: Vise, ratio: float) -> float | None:
    """What a harder closing than the chart tells presses with at least: what its upper end does; None for any other.

    No chart falls: with more torque no vise closes softer. How much more it presses with, nobody knows.
    """
    force, torques, usual = vise.preload_n, vise.chart_torques_n_mm, vise.torque_n_mm
    if force is None or usual is None or len(torques) < 2 or usual * ratio <= torques[-1]:
        return None
    share = _share_by_chart(vise, torques[-1] / usual)
    return None if share is None else force.low * share


def known_softer(vise: Vise, softer: Tighten | None) -> Tighten | None:
    """A softer closing whose force the vise maker's chart tells; None for any other."""
    if softer is None or force_closed_with(vise, softer.bound) is None:
        return None
    return softer


def torque_chart_words(vise: Vise) -> str:
    """What must be written before another torque than the usual one can be named; empty where a chart is."""
    return "" if vise.chart_torques_n_mm else f", once the vise maker's chart is written ({CHART_KEYS}),"


def _share_by_chart(vise: Vise, ratio: float) -> float | None:
    """Share of the usual force by the chart; None where it does not reach from the one torque to the other."""
    torques, forces, usual = vise.chart_torques_n_mm, vise.chart_forces_n, vise.torque_n_mm
    if usual is None or len(torques) < 2:
        return None
    if not all(torques[0] <= torque <= torques[-1] for torque in (usual, usual * ratio)):
        return None
    there, whole = (
        clamp_force_from_chart_n(torque_n_mm=torque, chart_torques_n_mm=torques, chart_forces_n=forces)
        for torque in (usual * ratio, usual)
    )
    return there / whole if whole > 0.0 else None
