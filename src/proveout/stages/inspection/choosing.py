"""Which gauge of the shop measures a size: the handiest that is good, else the finest that is good enough."""

from __future__ import annotations

import re

from proveout.gauging.deciding import gauge_ratio
from proveout.model.plan import Window
from proveout.model.shop import Gauge

# the window must be at least four times the gauge's uncertainty interval 2 U; ten times is good
LEAST_RATIO = 4.0
GOOD_RATIO = 10.0
# which gauges measure what, the handiest first
KINDS: dict[str, tuple[str, ...]] = {
    "hole": ("caliper", "plug", "bore gauge"),
    "shaft": ("caliper", "micrometer"),
    "length": ("caliper", "height gauge", "depth gauge", "micrometer"),
    "thread": ("thread plug",),
}
_MAJOR = re.compile(r"^\s*M([0-9]+(?:\.[0-9]+)?)")


def choose_gauge(window: Window, gauges: tuple[Gauge, ...]) -> Gauge | None:
    """The handiest gauge that is good, else the finest that is good enough, else None."""
    wanted = KINDS[window.kind]
    if window.width_mm <= 0.0 or not window.is_decided:
        return None
    fitting = [g for g in gauges if g.kind in wanted and _reaches(g, window)]
    fitting.sort(key=lambda g: (wanted.index(g.kind), g.uncertainty_mm, g.id))
    if window.kind == "thread":
        return fitting[0] if fitting else None
    rated = [(gauge_ratio(window_mm=window.width_mm, uncertainty_mm=g.uncertainty_mm), g) for g in fitting]
    good = [g for ratio, g in rated if ratio >= GOOD_RATIO - 1e-9]
    if good:
        return good[0]
    finest = max(rated, key=lambda pair: pair[0], default=None)
    return finest[1] if finest is not None and finest[0] >= LEAST_RATIO - 1e-9 else None


def _reaches(gauge: Gauge, window: Window) -> bool:
    if window.kind == "thread":
        if window.before_low_mm != window.finished_low_mm:  # coated: the plug of the finished thread cannot tell
            return False
        found = _MAJOR.match(window.text)
        return found is not None and gauge.low_mm - 1e-6 <= float(found[1]) <= gauge.high_mm + 1e-6
    return gauge.low_mm <= window.before_low_mm and window.before_high_mm <= gauge.high_mm
