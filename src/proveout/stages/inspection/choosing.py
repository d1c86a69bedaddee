"""Which gauge of the shop measures a size: the handiest that is good, else the finest that is good enough."""

from __future__ import annotations

from typing import NamedTuple

from proveout.cutting.threads import COARSE_PITCH_MM, pitch_of
from proveout.gauging.deciding import gauge_ratio
from proveout.model.plan import Window
from proveout.model.shop import Gauge
from proveout.model.size_text import Written, named_thread, read_size

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
    wanted = _thread(read_size(window.text)) if window.is_inside else None
    if wanted is None or not gauge.low_mm - 1e-6 <= wanted.major_mm <= gauge.high_mm + 1e-6:
        return False
    coarse = _Thread(wanted.major_mm, COARSE_PITCH_MM.get(wanted.major_mm), USUAL_CLASS)
    named = named_thread(gauge.name)
    return wanted.pitch_mm is not None and wanted == (coarse if named is None else _thread(named))


def _thread(written: Written) -> _Thread | None:
    """The metric inside thread that is written; None for any other kind of thread."""
    if written.manner != "thread" or written.nominal_mm is None or written.thread_class:
        return None
    tolerance = f"{written.grade}{written.letter}{written.crest_class}"
    if tolerance != tolerance.upper():
        return None
    return _Thread(written.nominal_mm, pitch_of(written), USUAL_CLASS if tolerance == "6H6H" else tolerance)
