"""Decide the inspection lines: a gauge that can tell, how often, what of a lot, and the reading at which work stops."""

from __future__ import annotations

import math

from proveout.gauging.deciding import Accepted, accepted_mm, gauge_ratio
from proveout.gauging.drift import FREE_RATIO
from proveout.model.fact import Fact, exact_fact
from proveout.model.inspection import InspectionRule
from proveout.model.plan import NOT_KNOWN, Finishing, InspectionLine, Window
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Gauge
from proveout.model.work import Survey
from proveout.stages.inspection.choosing import LEAST_RATIO, choose_gauge, kinds_for
from proveout.stages.inspection.frequency import Cutting, Often, often, often_words
from proveout.stages.inspection.sampling import sample_of, sample_proof, sample_words

STAGE = "inspection"
PLACES = 1000.0  # readings are written to thousandths


def decide(
    *, finishing: Finishing, survey: Survey, gauges: tuple[Gauge, ...], rule: InspectionRule, lot_count: int,
    cutting: Cutting,
) -> Decision[tuple[InspectionLine, ...]]:  # fmt: skip
    """One line for each written size, by balloon; a size no gauge can tell keeps its line and is *not shown*.

    Args:     rule: how readings decide and lots are sampled.   lot_count: pieces made together.   cutting: passes, wear
              and seconds of the cutters, as far as they are known.
    """
    lines: list[InspectionLine] = []
    proofs: list[Proof] = []
    names = {hole.balloon: hole.id for hole in survey.holes}
    for window in sorted(finishing.windows, key=lambda w: (w.balloon, w.letter)):
        gauge = choose_gauge(window, gauges)
        accepted = accepted_by(window, gauge, rule)
        found = often(
            window, accepted_mm=None if accepted is None else accepted.high_mm - accepted.low_mm, cutting=cutting,
            rule=rule,
        )  # fmt: skip
        can_be = window.width_mm > 0.0 and window.is_decided
        sample = sample_of(window, found=found, rule=rule, lot_count=lot_count) if can_be else None
        act = _act(accepted, found)
        lines.append(
            InspectionLine(
                balloon=window.balloon,
                text=window.text,
                before_low_mm=window.before_low_mm,
                before_high_mm=window.before_high_mm,
                finished_low_mm=window.finished_low_mm,
                finished_high_mm=window.finished_high_mm,
                gauge="" if gauge is None else gauge.name or gauge.id,
                how_often=often_words(found, lot_count=lot_count, is_daily=rule.is_measured_daily),
                every_count=found.every_count,
                every_why=found.why,
                also_pieces=found.also_pieces,
                accept_low_mm=None if accepted is None else accepted.low_mm,
                accept_high_mm=None if accepted is None else accepted.high_mm,
                act_low_mm=None if act is None else act.low_mm,
                act_high_mm=None if act is None else act.high_mm,
                correct=_correct(act),
                sample=sample,
                sample_words="" if sample is None else sample_words(sample),
                reaction=reaction(window, gauge, accepted, rule),
                is_critical=window.is_critical,
                is_decided=window.is_decided,
            )
        )
        proofs.append(_gauge_proof(window, gauge, names.get(window.balloon, f"balloon {window.balloon}")))
        told = None if sample is None else sample_proof(window, sample, rule)
        proofs += [] if told is None else [told]
    return Decision(value=tuple(lines), proofs=tuple(proofs))


def accepted_by(window: Window, gauge: Gauge | None, rule: InspectionRule) -> Accepted | None:
    """Readings accepted before the coat, to the last place written, inward; None where no gauge reads the size."""
    if window.width_mm <= 0.0 or window.kind == "thread" or gauge is None or not window.is_decided:
        return None
    raw = accepted_mm(
        low_mm=window.before_low_mm, high_mm=window.before_high_mm,
        uncertainty_mm=gauge.uncertainty_mm, guard_ratio=rule.guard_ratio,
    )  # fmt: skip
    return _inward(raw.low_mm, raw.high_mm)


def reaction(window: Window, gauge: Gauge | None, accepted: Accepted | None, rule: InspectionRule) -> str:
    """The readings at which work stops: the limits before the coat, drawn in by the gauge's uncertainty."""
    if window.width_mm <= 0.0:
        return "do not make: no size before the coat ends within its limits; tell the owner"
    if not window.is_decided:
        return f"do not make: what to machine to is {NOT_KNOWN}; tell the owner"
    if window.kind == "thread":
        return "GO does not enter or NO-GO enters: STOP, tell the owner"
    if accepted is None:
        bare = _inward(window.before_low_mm, window.before_high_mm)
        return (
            f"reads below {bare.low_mm:.3f} or above {bare.high_mm:.3f}: STOP, tell the owner; between them no "
            "gauge of the shop can tell"
        )
    if accepted.low_mm > accepted.high_mm:
        return "no reading of this gauge is accepted: STOP, tell the owner"
    drawn_in = ""
    if gauge is not None and gauge.uncertainty_mm > 0.0 and rule.guard_ratio > 0.0:
        share = "" if rule.guard_ratio == 1.0 else f"{100.0 * rule.guard_ratio:g} % of "
        drawn_in = f" (drawn in by {share}the gauge's ±{gauge.uncertainty_mm:g})"
    return f"reads below {accepted.low_mm:.3f} or above {accepted.high_mm:.3f}{drawn_in}: STOP, tell the owner"


def _inward(low: float, high: float) -> Accepted:
    return Accepted(low_mm=math.ceil(PLACES * low - 1e-6) / PLACES, high_mm=math.floor(PLACES * high + 1e-6) / PLACES)


def _act(accepted: Accepted | None, found: Often) -> Accepted | None:
    """Readings between which the offset stays: a quarter inside where the wear is known, None elsewhere."""
    if accepted is None or found.moved_mm is None:
        return None
    reach = FREE_RATIO * (accepted.high_mm - accepted.low_mm)
    act = _inward(accepted.low_mm + reach, accepted.high_mm - reach)
    return act if act.low_mm <= act.high_mm else None


def _correct(act: Accepted | None) -> str:
    if act is None:
        return ""
    middle = 0.5 * (act.low_mm + act.high_mm)
    return (
        f"below {act.low_mm:.3f} or above {act.high_mm:.3f}, and not yet STOP: correct the offset towards {middle:.3f} "
        "and gauge the next piece"
    )


def _gauge_proof(window: Window, gauge: Gauge | None, place: str) -> Proof:
    is_thread = window.kind == "thread"
    ratio: float | None = None
    if gauge is not None:
        by_width = gauge_ratio(window_mm=window.width_mm, uncertainty_mm=gauge.uncertainty_mm)
        ratio = LEAST_RATIO if is_thread else round(min(by_width, 1e6), 6)
    inputs: dict[str, Fact] = {}
    if window.is_decided:
        inputs["window before the coat"] = exact_fact(window.width_mm, "mm", "own-algorithm", "assumed")
    if gauge is not None:
        inputs[f"uncertainty of {gauge.id}"] = exact_fact(gauge.uncertainty_mm, "mm", "shop-file", "owner's guess")
    kinds = " or ".join(kinds_for(window))
    if not window.is_decided:
        decides = f"the window before the coat is {NOT_KNOWN}"
    elif is_thread:
        what = "plug" if window.is_inside else "ring"
        decides = (
            f"get a thread {what} for {window.text} with pitch diameters {window.before_low_mm:.3f} and "
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
            formula="a GO and NO-GO plug of this very thread exists"
            if is_thread
            else "window / (2 U) >= 4, U uncertainty at k = 2",
            source="workshop-practice" if is_thread else "decision_rule_text",
            inputs=inputs,
        ),
        decides=decides if gauge is None else "",
    )
