"""Which gauge of the shop measures a size: the handiest that is good, else the finest that is good enough."""

from __future__ import annotations

import msgspec

from proveout.gauging.deciding import gauge_ratio
from proveout.model.gauge import Gauge
from proveout.model.plan import Window
from proveout.stages.inspection.thread_pairs import PLUG, RING, pairs_for

# the window must be at least four times the gauge's uncertainty interval 2 U; ten times is good
LEAST_RATIO = 4.0
GOOD_RATIO = 10.0
# which gauges measure what, the handiest first
KINDS: dict[str, tuple[str, ...]] = {
    "hole": ("caliper", "plug", "bore gauge"),
    "shaft": ("caliper", "micrometer"),
    "length": ("caliper", "height gauge", "depth gauge", "micrometer"),
    "radius": ("radius gauge", "comparator"),
    "chamfer": ("chamfer gauge", "comparator"),
    "angle": ("bevel protractor", "comparator"),
    "texture": ("roughness tester",),
    "edge": ("visual", "comparator"),
}
STEP_KINDS = ("caliper", "height gauge", "depth gauge")
SLOT_KINDS = ("caliper", "bore gauge")


def kinds_for(window: Window, of: str | None = None) -> tuple[str, ...]:
    """Kinds of gauges that can read the size, the handiest first: anvils of a micrometer go around, not between.

    of: what is measured where that is no size between two surfaces, such as a radius.
    """
    if of:
        return KINDS[of]
    if window.kind == "thread":
        return (PLUG if window.is_inside else RING,)
    if window.kind == "length" and window.is_step:
        return STEP_KINDS
    if window.kind == "length" and window.is_inside:
        return SLOT_KINDS
    return KINDS[window.kind]


def choose_gauge(
    window: Window, gauges: tuple[Gauge, ...], *, of: str | None = None, guard_ratio: float = 1.0
) -> Gauge | None:
    """The handiest gauge that is good, else the finest that is good enough, else None; of a thread the widest pair.

    Args:     of: as kinds_for.   guard_ratio: share of its uncertainty by which a pair as calibrated is drawn in.
    """
    if window.width_mm <= 0.0 or not window.is_decided:
        return None
    if window.kind == "thread":
        pairs = pairs_for(
            window, gauges, low_mm=window.before_low_mm, high_mm=window.before_high_mm, guard_ratio=guard_ratio
        )
        return pairs[0].gauge if pairs else None
    wanted = kinds_for(window, of)
    fitting = [g for g in gauges if g.kind in wanted and _reaches(g, window)]
    fitting.sort(key=lambda g: (wanted.index(g.kind), g.uncertainty_mm, g.id))
    rated = [(gauge_ratio(window_mm=window.width_mm, uncertainty_mm=g.uncertainty_mm), g) for g in fitting]
    good = [g for ratio, g in rated if ratio >= GOOD_RATIO - 1e-9]
    if good:
        return good[0]
    finest = max(rated, key=lambda pair: pair[0], default=None)
    return finest[1] if finest is not None and finest[0] >= LEAST_RATIO - 1e-9 else None


def after_coat(window: Window) -> Window:
    """The size as it is gauged once it is finished."""
    return msgspec.structs.replace(
        window, before_low_mm=window.finished_low_mm, before_high_mm=window.finished_high_mm, is_decided=True,
        width_mm=round(window.finished_high_mm - window.finished_low_mm, 6),
    )  # fmt: skip


def _reaches(gauge: Gauge, window: Window) -> bool:
    return gauge.low_mm <= window.before_low_mm and window.before_high_mm <= gauge.high_mm
