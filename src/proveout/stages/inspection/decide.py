"""Decide the inspection lines: a gauge that can tell, how often, and the reading at which work stops."""

from __future__ import annotations

import math
import re

from proveout.model.fact import exact_fact
from proveout.model.plan import Finishing, InspectionLine, Window
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Gauge
from proveout.model.work import Survey

STAGE = "inspection"
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
# common practice, no source: windows narrower than this many mm are gauged every so many pieces
EVERY: tuple[tuple[float, int], ...] = ((0.020, 1), (0.050, 5), (0.100, 10))
EVERY_WIDER = 25
EVERY_THREAD = 10
_MAJOR = re.compile(r"^\s*M([0-9]+(?:\.[0-9]+)?)")


def decide(*, finishing: Finishing, survey: Survey, gauges: tuple[Gauge, ...]) -> Decision[tuple[InspectionLine, ...]]:
    """One line for each written size, by balloon; a size no gauge can tell keeps its line and is *not shown*."""
    lines: list[InspectionLine] = []
    proofs: list[Proof] = []
    names = {hole.balloon: hole.id for hole in survey.holes}
    for window in sorted(finishing.windows, key=lambda w: (w.balloon, w.letter)):
        gauge = choose_gauge(window, gauges)
        lines.append(
            InspectionLine(
                balloon=window.balloon,
                text=window.text,
                before_low_mm=window.before_low_mm,
                before_high_mm=window.before_high_mm,
                finished_low_mm=window.finished_low_mm,
                finished_high_mm=window.finished_high_mm,
                gauge="" if gauge is None else gauge.name or gauge.id,
                how_often=how_often(window),
                every_count=every_count(window),
                reaction=reaction(window, gauge),
                is_critical=window.is_critical,
            )
        )
        proofs.append(_gauge_proof(window, gauge, names.get(window.balloon, f"balloon {window.balloon}")))
    return Decision(value=tuple(lines), proofs=tuple(proofs))


def gauge_ratio(*, window_mm: float, uncertainty_mm: float) -> float:
    """Width of the window over the gauge's uncertainty interval: W / (2 U), infinite for a perfect gauge."""
    return window_mm / (2.0 * uncertainty_mm) if uncertainty_mm > 0.0 else math.inf


def choose_gauge(window: Window, gauges: tuple[Gauge, ...]) -> Gauge | None:
    """The handiest gauge that is good, else the finest that is good enough, else None."""
    wanted = KINDS[window.kind]
    if window.width_mm <= 0.0:
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


def every_count(window: Window) -> int:
    """Pieces from one check to the next: 1 when critical; else the narrower the window the fewer."""
    if window.is_critical:
        return 1
    if window.kind == "thread":
        return EVERY_THREAD
    return next((n for width, n in EVERY if window.width_mm < width), EVERY_WIDER)


def how_often(window: Window) -> str:
    """Which pieces are gauged, in words: every piece, or the first, every nth by its number, and the last."""
    every = every_count(window)
    if every == 1:
        return "every piece"
    return f"pieces 1, {every}, {2 * every}, {3 * every} and so on, and the last"


def reaction(window: Window, gauge: Gauge | None) -> str:
    """The readings at which work stops: the limits before the coat, drawn in by the gauge's uncertainty."""
    if window.width_mm <= 0.0:
        return "do not make: no size before the coat ends within its limits; tell the owner"
    if window.kind == "thread":
        return "GO does not enter or NO-GO enters: STOP, tell the owner"
    guard = gauge.uncertainty_mm if gauge is not None else 0.0
    low = math.ceil(1000.0 * (window.before_low_mm + guard) - 1e-6) / 1000.0
    high = math.floor(1000.0 * (window.before_high_mm - guard) + 1e-6) / 1000.0
    drawn_in = f" (drawn in by the gauge's ±{guard:g})" if guard > 0.0 else ""
    return f"reads below {low:.3f} or above {high:.3f}{drawn_in}: STOP, tell the owner"


def _gauge_proof(window: Window, gauge: Gauge | None, place: str) -> Proof:
    is_thread = window.kind == "thread"
    ratio: float | None = None
    if gauge is not None:
        by_width = gauge_ratio(window_mm=window.width_mm, uncertainty_mm=gauge.uncertainty_mm)
        ratio = LEAST_RATIO if is_thread else round(min(by_width, 1e6), 6)
    inputs = {"window before the coat": exact_fact(window.width_mm, "mm", "own-algorithm", "assumed")}
    if gauge is not None:
        inputs[f"uncertainty of {gauge.id}"] = exact_fact(gauge.uncertainty_mm, "mm", "shop-file", "owner's guess")
    kinds = " or ".join(KINDS[window.kind])
    if is_thread:
        decides = (
            f"get a thread plug for {window.text} with pitch diameters {window.before_low_mm:.3f} and "
            f"{window.before_high_mm:.3f} mm"
        )
    elif window.width_mm <= 0.0:
        decides = "open the window first"
    else:
        needed = window.width_mm / (2.0 * LEAST_RATIO)
        decides = f"get a {kinds} for {window.before_high_mm:.3f} mm of at most ±{math.floor(1e4 * needed) / 1e4:g} mm"
    return prove(
        id=f"{STAGE}:{window.mark}:gauge-can-tell",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"a gauge of the shop can tell whether {window.text} at {place} lies in its window before the coat",
        sense="at least",
        found_low=ratio,
        found_high=ratio,
        limit=LEAST_RATIO,
        unit="ratio",
        blocks_release=window.is_critical,
        basis=Basis(
            formula="a GO and NO-GO plug exists" if is_thread else "window / (2 U) >= 4, U uncertainty at k = 2",
            source="workshop-practice" if is_thread else "decision_rule_text",
            inputs=inputs,
        ),
        decides=decides if gauge is None else "",
    )
