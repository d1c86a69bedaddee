"""Decide the inspection lines: a gauge that can tell, how often, what of a lot, and the reading at which work stops."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import msgspec

from proveout.gauging.deciding import Accepted, accepted_mm
from proveout.gauging.drift import FREE_RATIO
from proveout.model.gauge import Gauge, WantedGauge
from proveout.model.inspection import InspectionRule
from proveout.model.plan import NOT_KNOWN, Finishing, InspectionLine, NoteGauge, Window
from proveout.model.proof import Decision, Proof
from proveout.model.work import Survey
from proveout.stages.inspection.choosing import after_coat, choose_gauge
from proveout.stages.inspection.frequency import Cutting, Often, often, often_words
from proveout.stages.inspection.gauge_proofs import gauge_proof, note_gauges, wanted_gauge, wanted_words
from proveout.stages.inspection.sampling import sample_of, sample_proof, sample_words

Of = Literal["radius", "chamfer"]
PLACES = 1000.0  # readings are written to thousandths


class Inspection(msgspec.Struct, frozen=True, kw_only=True):
    """Lines of the sheet, and what tells the notes that have no line: angles, textures, states of edges.

    wanted: gauges to get, for what nothing in the shop tells.
    """

    lines: tuple[InspectionLine, ...]
    note_gauges: tuple[NoteGauge, ...] = ()
    wanted: tuple[WantedGauge, ...] = ()


def decide(
    *, finishing: Finishing, survey: Survey, gauges: tuple[Gauge, ...], rule: InspectionRule, lot_count: int,
    cutting: Cutting,
) -> Decision[Inspection]:  # fmt: skip
    """One line for each written size, radius and chamfer, by balloon; one that no gauge can tell is *not shown*.

    Args:     rule: how readings decide and lots are sampled.   lot_count: pieces made together.   cutting: passes, wear
              and seconds of the cutters, as far as they are known.
    """
    lines: list[InspectionLine] = []
    proofs: list[Proof] = []
    wanted: list[WantedGauge | None] = []
    names = {hole.balloon: hole.id for hole in survey.holes}
    is_coated = finishing.coated_area_mm2 > 0.0
    for window, of in sorted(_gauged(finishing), key=lambda pair: (pair[0].balloon, pair[0].letter)):
        gauge = choose_gauge(window, gauges, of=of, guard_ratio=rule.guard_ratio)
        accepted = accepted_by(window, gauge, rule)
        # a radius or chamfer is the form of its cutter as often as its way: how wear moves it is not known
        found = often(
            window, accepted_mm=None if accepted is None else accepted.high_mm - accepted.low_mm,
            cutting=msgspec.structs.replace(cutting, cutters=()) if of else cutting, rule=rule,
        )  # fmt: skip
        can_be = window.width_mm > 0.0 and window.is_decided
        sample = sample_of(window, found=found, rule=rule, lot_count=lot_count) if can_be else None
        act = _act(accepted, found)
        after = choose_gauge(after_coat(window), gauges, of=of, guard_ratio=rule.guard_ratio) if is_coated else None
        lines.append(
            InspectionLine(
                balloon=window.balloon,
                mark=window.mark,
                text=window.text,
                of=of or "size",
                before_low_mm=window.before_low_mm,
                before_high_mm=window.before_high_mm,
                finished_low_mm=window.finished_low_mm,
                finished_high_mm=window.finished_high_mm,
                gauge="" if gauge is None else gauge.name or gauge.id,
                wanted=wanted_words(window, of=of) if gauge is None and can_be else "",
                after_gauge="" if after is None else after.name or after.id,
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
        place = names.get(window.balloon, f"balloon {window.balloon}")
        proofs.append(gauge_proof(window, gauge, place, of=of, guard_ratio=rule.guard_ratio))
        is_changed = is_coated and _is_grown(window)
        if gauge is None:
            wanted.append(wanted_gauge(window, of=of, when="before" if is_changed else ""))
        if is_changed and can_be:
            if after is None:
                wanted.append(wanted_gauge(after_coat(window), of=of, when="after"))
            proofs.append(
                gauge_proof(after_coat(window), after, place, of=of, guard_ratio=rule.guard_ratio, is_after=True)
            )
        told = None if sample is None else sample_proof(window, sample, rule)
        proofs += [] if told is None else [told]
    noted = note_gauges(finishing.notes, gauges)
    return Decision(
        value=Inspection(
            lines=tuple(lines), note_gauges=noted.value.gauges,
            wanted=(*(one for one in wanted if one is not None), *noted.value.wanted),
        ),
        proofs=(*proofs, *noted.proofs),
    )  # fmt: skip


def _is_grown(window: Window) -> bool:
    """The coat changes it: what tells it before need not tell it after."""
    return (window.before_low_mm, window.before_high_mm) != (window.finished_low_mm, window.finished_high_mm)


def _gauged(finishing: Finishing) -> Iterator[tuple[Window, Of | None]]:
    """The written sizes, and beside them radii and chamfers by their limits in mm."""
    for window in finishing.windows:
        yield window, None
    for note in finishing.notes:
        if note.kind in ("radius", "chamfer") and note.low is not None and note.high is not None:
            is_decided = note.before_low is not None and note.before_high is not None
            low, high = (note.before_low, note.before_high) if is_decided else (note.low, note.high)
            yield Window(
                balloon=note.balloon, letter=note.mark[len(str(note.balloon)):], text=note.text, kind="length",
                finished_low_mm=note.low, finished_high_mm=note.high, before_low_mm=low or 0.0,
                before_high_mm=high or 0.0, width_mm=round((high or 0.0) - (low or 0.0), 6), is_masked=False,
                is_critical=note.is_critical, face_ids=note.face_ids, is_decided=is_decided,
            ), note.kind  # fmt: skip


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
        if window.is_inside:
            return "GO does not enter or NO-GO enters: STOP, tell the owner"
        return "GO does not go on or NO-GO goes on: STOP, tell the owner"
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
