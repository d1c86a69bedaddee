"""One clamping's grip as the bound sees it: patch, jaw force, friction, and where and how a pass pushes."""

from __future__ import annotations

import math

from proveout.grip.headings import headings
from proveout.grip.margins import GripMargins, grip_margins
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.plan import ClampForce
from proveout.model.shop import Jaws, Noun, Vise
from proveout.model.work import Clamping
from proveout.stages.holding.clamp_force import clamp_force

RESERVE_MAX = 99.0


class Hold(Noun, frozen=True, kw_only=True):
    """The grip at one pass: how many times its force could grow (interval), the mode that gives way, its margin.

    Each is the worst over all headings of the force, not all at the same heading.
    """

    pass_id: str
    clamping_id: str
    reserve_low: float
    reserve_high: float
    mode: str
    margin: float


class Push(Noun, frozen=True, kw_only=True):
    """What one pass asks of the grip, in the words of grip/margins.py, at the high end of the cutting pressure.

    level_n: level with the jaws, at any heading.  up_n: up or down.  couple_n: along one jaw, half the gap from the
    middle: a drill's torque.  above_mm: of the cut over the patch's upper edge.  off_along_mm, off_across_mm: farthest
    from the middle between the patches.
    """

    level_n: float
    up_n: float
    couple_n: float
    above_mm: float
    off_along_mm: float
    off_across_mm: float


class Grip(Noun, frozen=True, kw_only=True):
    """What the bound needs of one clamping. A friction or jaw force that nobody backed is None here: not known.

    clamp: how hard the vise is closed.  force_n: at the jaws.
    """

    clamping: Clamping
    vise: Vise
    yield_mpa: Fact
    pressure_mpa: Fact
    clamp: ClampForce
    force_n: Fact | None
    friction_ratio: Fact | None

    @property
    def least_force_n(self) -> float | None:
        """What the jaws press with at least where nobody knows how hard: the vise is closed beyond its chart."""
        return self.vise.least_preload_n if self.force_n is None else None

    @property
    def has_patch(self) -> bool:
        """Whether jaw and work are sure to touch."""
        clamping = self.clamping
        return clamping.patch_length_mm.low > 0.0 and clamping.patch_height_mm.low > 0.0

    @property
    def off_middle_mm(self) -> float:
        """How far the middle of the patch can lie from the middle of the jaws: it may be anywhere where both meet."""
        span = self.vise.jaw_length_mm
        if self.clamping.jaw_middle_mm > 0.0:
            span = min(span, 2.0 * self.clamping.jaw_middle_mm)
        return max(0.0, (span - self.clamping.patch_length_mm.low) / 2.0)

    @property
    def below_top_mm(self) -> float:
        """How far the patch's upper edge can lie below the jaw tops: all that the patch may lose is lost there."""
        return self.clamping.patch_height_mm.high - self.clamping.patch_height_mm.low

    @property
    def share(self) -> float:
        """The least cutting force as a share of the bound, by the interval of the cutting pressure."""
        return self.pressure_mpa.low / self.pressure_mpa.high


def grip_of(
    *, clamping: Clamping, vise: Vise, jaws: Jaws, yield_mpa: Fact, pressure_mpa: Fact, limits: Limits
) -> Grip:  # fmt: skip
    """The grip of a clamping; a friction or jaw force without source or spread, or merely assumed, is not known."""
    clamp = clamp_force(clamping=clamping, vise=vise, limits=limits)
    is_force_known = vise.preload_n is not None and vise.preload_n.is_backed
    is_friction_known = jaws.friction_ratio is not None and jaws.friction_ratio.is_backed
    return Grip(
        clamping=clamping, vise=vise, yield_mpa=yield_mpa, pressure_mpa=pressure_mpa, clamp=clamp,
        force_n=clamp.force_n if is_force_known else None,
        friction_ratio=jaws.friction_ratio if is_friction_known else None,
    )  # fmt: skip


def push_of(load: PassLoad, grip: Grip) -> Push:
    """Where and how hard a pass pushes."""
    clamping = grip.clamping
    across_mm = load.across_mm
    along_mm = load.along_mm + grip.off_middle_mm
    couple = 0.0
    level, up = load.plane_n, load.axial_n
    if load.is_tilted:
        # the cutter's torque may point anywhere: as a lever of the whole force it is in all three moments
        level = up = math.hypot(load.plane_n, load.axial_n)
        lever = load.torque_n_mm / up if load.plane_n == 0.0 and up > 0.0 else 0.0
        along_mm, across_mm = along_mm + lever, across_mm + lever
    elif load.plane_n == 0.0:
        # a drill or tap turns the work: a force along one jaw at half the gap makes that moment, pressure's share too
        couple = load.torque_n_mm / (clamping.gap_mm / 2.0)
        across_mm = max(across_mm, clamping.gap_mm / 2.0)
    return Push(
        level_n=level, up_n=up, couple_n=couple,
        above_mm=max(0.0, load.height_mm - clamping.jaw_top_mm) + grip.below_top_mm, off_along_mm=along_mm,
        off_across_mm=across_mm,
    )  # fmt: skip


def margins_of(
    load: PassLoad, grip: Grip, *, force: Fact | float, friction: Fact | float, length: Fact | float,
    height: Fact | float, yield_mpa: Fact | float, share: float,
) -> list[GripMargins]:  # fmt: skip
    """The bound at every heading. share: of the load, below 1 only for the best end."""
    push = push_of(load, grip)
    return [
        grip_margins(
            preload_n=force, friction_ratio=friction, patch_length_mm=length, patch_height_mm=height,
            jaw_gap_mm=grip.clamping.gap_mm, force_along_n=(along + push.couple_n) * share,
            force_across_n=across * share, force_up_n=push.up_n * share, cut_height_mm=push.above_mm,
            offset_along_mm=push.off_along_mm, offset_across_mm=push.off_across_mm, yield_mpa=yield_mpa,
        )
        for along, across in headings(push.level_n)
    ]  # fmt: skip


def hold_of(load: PassLoad, grip: Grip, force: Fact, friction: Fact) -> Hold:
    """The grip at one pass, at the worst and the best end of everything."""
    clamping = grip.clamping
    worst = margins_of(
        load, grip, force=force, friction=friction, length=clamping.patch_length_mm, height=clamping.patch_height_mm,
        yield_mpa=grip.yield_mpa, share=1.0,
    )  # fmt: skip
    best = margins_of(
        load, grip, force=force.high, friction=friction.high, length=clamping.patch_length_mm.high,
        height=clamping.patch_height_mm.high, yield_mpa=grip.yield_mpa.high, share=grip.share,
    )  # fmt: skip
    low = max(0.0, min(RESERVE_MAX, *(m.reserve_ratio for m in worst)))
    high = max(low, min(RESERVE_MAX, *(m.reserve_ratio for m in best)))
    weakest = min(worst, key=lambda m: m.margin)
    return Hold(
        pass_id=load.pass_id, clamping_id=load.clamping_id, reserve_low=down(low), reserve_high=round(high, 4),
        mode=weakest.worst, margin=down(weakest.margin),
    )  # fmt: skip


def bearing_mpa(load: PassLoad, grip: Grip, force: Fact) -> float:
    """Largest pressure on the smallest patch while the pass cuts; friction has no part in it."""
    found = margins_of(
        load, grip, force=force, friction=0.0, length=grip.clamping.patch_length_mm,
        height=grip.clamping.patch_height_mm, yield_mpa=grip.yield_mpa, share=1.0,
    )  # fmt: skip
    return max(m.bearing.demand for m in found)


def down(value: float) -> float:
    """Rounded against us."""
    return math.floor(value * 1e4) / 1e4


def reckoned(low: float, high: float, unit: str, key: str) -> Fact:
    """A number that this program reckoned."""
    return Fact(low=low, nominal=(low + high) / 2.0, high=high, unit=unit, source=key, strength="assumed")
