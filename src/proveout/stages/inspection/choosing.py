"""Which gauge of the shop measures a size: the handiest that is good, else the finest that is good enough."""

from __future__ import annotations

import re
from typing import NamedTuple

from proveout.cutting.threads import COARSE_PITCH_MM
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
STEP_KINDS = ("caliper", "height gauge", "depth gauge")
SLOT_KINDS = ("caliper", "bore gauge")
_THREAD = re.compile(
    r"M([0-9]+(?:\.[0-9]+)?)(?:\s*[x×]\s*([0-9]+(?:\.[0-9]+)?))?(?:\s*-?\s*([3-9][GH](?:[3-9][GH])?)(?![0-9A-Za-z]))?"
)
_REST = re.compile(r"(?:\s+D[0-9]+)?(?:\s+(?:mask|plug)(?:ed)?)?", re.IGNORECASE)
USUAL_CLASS = "6H"


def kinds_for(window: Window) -> tuple[str, ...]:
    """Kinds of gauges that can read the size, the handiest first: anvils of a micrometer go around, not between."""
    if window.kind == "length" and window.is_step:
        return STEP_KINDS
    if window.kind == "length" and window.is_inside:
        return SLOT_KINDS
    return KINDS[window.kind]


def choose_gauge(window: Window, gauges: tuple[Gauge, ...]) -> Gauge | None:
    """The handiest gauge that is good, else the finest that is good enough, else None."""
    wanted = kinds_for(window)
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
        return _is_plug_of(gauge, window)
    return gauge.low_mm <= window.before_low_mm and window.before_high_mm <= gauge.high_mm


class _Thread(NamedTuple):
    """A metric inside thread. pitch_mm: None where it is left out and no coarse one is known."""

    major_mm: float
    pitch_mm: float | None
    tolerance: str


def _is_plug_of(gauge: Gauge, window: Window) -> bool:
    """The plug is for this very thread: by its name, and without one it is taken for a coarse one of class 6H."""
    wanted = _thread(window.text, is_whole=True) if window.is_inside else None
    if wanted is None or not gauge.low_mm - 1e-6 <= wanted.major_mm <= gauge.high_mm + 1e-6:
        return False
    coarse = _Thread(wanted.major_mm, COARSE_PITCH_MM.get(wanted.major_mm), USUAL_CLASS)
    return wanted.pitch_mm is not None and wanted == (_thread(gauge.name, is_whole=False) or coarse)


def _thread(text: str, *, is_whole: bool) -> _Thread | None:
    """The thread that a text is, or with is_whole False one that it names; None for any other kind of thread."""
    tidy = text.strip().replace(",", ".")
    found = _THREAD.match(tidy) if is_whole else _THREAD.search(tidy)
    if found is None or (is_whole and not _REST.fullmatch(tidy, found.end())):
        return None
    major = float(found[1])
    pitch = float(found[2]) if found[2] else COARSE_PITCH_MM.get(major)
    tolerance = USUAL_CLASS if found[3] in (None, "6H6H") else found[3]
    return _Thread(major, pitch, tolerance)
