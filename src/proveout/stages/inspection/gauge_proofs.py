"""Whether the shop has what tells a size, before its coat and after it, and what to get where it has not."""

from __future__ import annotations

import math
from typing import Literal

import msgspec

from proveout.gauging.deciding import gauge_ratio
from proveout.model.fact import Fact, exact_fact
from proveout.model.gauge import Gauge, WantedGauge
from proveout.model.plan import NOT_KNOWN, NoteGauge, SizeNote, Window
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.quantities.limits import MM_PER_UM
from proveout.stages.inspection.choosing import KINDS, LEAST_RATIO, choose_gauge, kinds_for
from proveout.stages.inspection.thread_pairs import LEAST_SHARE, pairs_for

STAGE = "inspection"


def gauge_proof(
    window: Window, gauge: Gauge | None, place: str, *, of: str | None, guard_ratio: float, is_after: bool = False
) -> Proof:
    """One gauge against one size, as it is machined or, with `is_after`, as it is finished."""
    is_thread = window.kind == "thread"
    when = "its finished limits, after the coat" if is_after else "its window before the coat"
    inputs: dict[str, Fact] = {}
    if window.is_decided:
        named = "finished limits" if is_after else "window before the coat"
        inputs[named] = exact_fact(window.width_mm, "mm", "own-algorithm", "assumed")
    if gauge is not None:
        inputs[f"uncertainty of {gauge.id}"] = exact_fact(gauge.uncertainty_mm, "mm", "shop-file", "owner's guess")
    found: float | None = None
    if gauge is not None and is_thread:
        pairs = pairs_for(
            window, (gauge,), low_mm=window.before_low_mm, high_mm=window.before_high_mm, guard_ratio=guard_ratio
        )
        found = pairs[0].share_ratio
        for end, size in (("GO", gauge.go_pitch_diameter_mm), ("NO-GO", gauge.no_go_pitch_diameter_mm)):
            if size is not None:
                inputs[f"pitch diameter of {end}"] = exact_fact(size, "mm", "shop-file", "owner's guess")
    elif gauge is not None:
        by_width = gauge_ratio(window_mm=window.width_mm, uncertainty_mm=gauge.uncertainty_mm)
        found = round(min(by_width, 1e6), 6)
    return prove(
        id=f"{STAGE}:{window.mark}:gauge-can-tell{'-finished' if is_after else ''}",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"a gauge of the shop can tell whether {window.text} at {place} lies in {when}",
        sense="at least",
        found_low=found,
        found_high=found,
        limit=LEAST_SHARE if is_thread else LEAST_RATIO,
        unit="ratio",
        blocks_release=window.is_critical,
        basis=Basis(
            formula="share of the limits that a pair of GO and NO-GO of this very thread lets through, which lets "
            "nothing pass outside of them: 1 of the standard pair of its class, (NO-GO - GO) / window of one as "
            "calibrated, drawn in by U; at least as much as a gauge at four to one drawn in by U leaves"
            if is_thread
            else "window / (2 U) >= 4, U uncertainty at k = 2",
            source="workshop-practice" if is_thread else "decision_rule_text",
            inputs=inputs,
        ),
        decides=wanted_words(window, of=of, is_after=is_after) if gauge is None else "",
    )


def wanted_words(window: Window, *, of: str | None, is_after: bool = False) -> str:
    """What to get for a size that nothing in the shop tells."""
    if not window.is_decided:
        return f"the window before the coat is {NOT_KNOWN}"
    if window.width_mm <= 0.0:
        return "open the window first"
    article, noun = _wanted(window, of=of, is_after=is_after)
    return f"get {article} {noun}"


def wanted_gauge(window: Window, *, of: str | None, when: Literal["", "before", "after"] = "") -> WantedGauge | None:
    """The gauge to buy for a size that nothing in the shop tells; None while its window is empty or not known.

    when: of a size that a coat changes, before or after it.
    """
    if not window.is_decided or window.width_mm <= 0.0:
        return None
    _, noun = _wanted(window, of=of, is_after=when == "after")
    return WantedGauge(what=noun, mark=window.mark, when=when)


def _wanted(window: Window, *, of: str | None, is_after: bool) -> tuple[str, str]:
    """Its article and what it is."""
    kinds = " or ".join(kinds_for(window, of))
    if window.kind == "thread":
        low, high = window.before_low_mm, window.before_high_mm
        is_standard = is_after or (low, high) == (window.finished_low_mm, window.finished_high_mm)
        go, no_go = (low, high) if window.is_inside else (high, low)
        if is_standard and not (is_after and not window.is_inside):
            return "the", f"{kinds} for {window.text}: GO of pitch diameter {go:.3f} mm, NO-GO {no_go:.3f} mm"
        more, less = ("more", "less") if window.is_inside else ("less", "more")
        stage = "after" if is_after else "before"
        return "a", (
            f"{kinds} for {window.text} {stage} its coat, calibrated, its uncertainty taken off: GO of pitch "
            f"diameter {go:.3f} mm or a little {more}, NO-GO of {no_go:.3f} mm or a little {less}"
        )
    needed = math.floor(1e4 * window.width_mm / (2.0 * LEAST_RATIO)) / 1e4
    return "a", f"{kinds} for {window.before_high_mm:.3f} mm of at most ±{needed:g} mm"


class NotesTold(msgspec.Struct, frozen=True, kw_only=True):
    """What tells notes, and what to get for those that nothing tells."""

    gauges: tuple[NoteGauge, ...]
    wanted: tuple[WantedGauge, ...]


def note_gauges(notes: tuple[SizeNote, ...], gauges: tuple[Gauge, ...]) -> Decision[NotesTold]:
    """What tells angles, textures and states of edges; those looked at by eye claim nothing."""
    found: list[NoteGauge] = []
    wanted: list[WantedGauge] = []
    proofs: list[Proof] = []
    for note in notes:
        if note.kind in ("radius", "chamfer"):
            continue
        if note.kind == "edge":
            gauge = next((g for kind in KINDS["edge"] for g in gauges if g.kind == kind), None)
        else:
            window = _of_note(note)
            own = tuple(one for g in gauges if (one := _in_unit(g, note)) is not None)
            gauge = choose_gauge(window, own, of=note.kind)
            proofs.append(_note_proof(note, window, gauge))
            if gauge is None:
                wanted.append(WantedGauge(what=_wanted_of(note, window), mark=note.mark))
        found.append(NoteGauge(mark=note.mark, gauge="" if gauge is None else gauge.name or gauge.id))
    return Decision(value=NotesTold(gauges=tuple(found), wanted=tuple(wanted)), proofs=tuple(proofs))


def _of_note(note: SizeNote) -> Window:
    """Its limits as a window in its own unit; a texture runs from nothing to its limit."""
    low, high = note.low or 0.0, note.high or 0.0
    return Window(
        balloon=note.balloon, text=note.text, kind="length", finished_low_mm=low, finished_high_mm=high,
        before_low_mm=low, before_high_mm=high, width_mm=round(high - low, 6), is_masked=False,
        is_critical=note.is_critical, face_ids=note.face_ids,
    )  # fmt: skip


def _in_unit(gauge: Gauge, note: SizeNote) -> Gauge | None:
    """The gauge with range and uncertainty in the unit of the note, None where it does not read it."""
    if note.kind == "texture":
        low, high = gauge.low_mm / MM_PER_UM, gauge.high_mm / MM_PER_UM
        if not low <= (note.high or 0.0) <= high:
            return None
        return msgspec.structs.replace(
            gauge, low_mm=0.0, high_mm=high, uncertainty_mm=gauge.uncertainty_mm / MM_PER_UM
        )  # fmt: skip
    if gauge.uncertainty_rad is None:
        return None
    return msgspec.structs.replace(
        gauge, low_mm=0.0, high_mm=360.0, uncertainty_mm=math.degrees(gauge.uncertainty_rad)
    )  # fmt: skip


def _unit_of(note: SizeNote) -> str:
    return "µm" if note.kind == "texture" else "°"


def _wanted_of(note: SizeNote, window: Window) -> str:
    needed = math.floor(1e4 * window.width_mm / (2.0 * LEAST_RATIO)) / 1e4
    return f"{' or '.join(KINDS[note.kind])} of at most ±{needed:g} {_unit_of(note)}"


def _note_proof(note: SizeNote, window: Window, gauge: Gauge | None) -> Proof:
    unit = _unit_of(note)
    found: float | None = None
    inputs = {"limits": exact_fact(window.width_mm, unit, "own-algorithm", "assumed")}
    if gauge is not None:
        found = round(
            min(gauge_ratio(window_mm=window.width_mm, uncertainty_mm=gauge.uncertainty_mm), 1e6), 6
        )  # fmt: skip
        inputs[f"uncertainty of {gauge.id}"] = exact_fact(gauge.uncertainty_mm, unit, "shop-file", "owner's guess")
    return prove(
        id=f"{STAGE}:{note.mark}:gauge-can-tell", stage=STAGE, subject=f"size {note.mark}",
        claim=f"a gauge of the shop can tell whether {note.text} at balloon {note.balloon} is kept", sense="at least",
        found_low=found, found_high=found, limit=LEAST_RATIO, unit="ratio", blocks_release=note.is_critical,
        basis=Basis(
            formula="limits / (2 U) >= 4, U uncertainty at k = 2", source="decision_rule_text", inputs=inputs
        ),
        decides=f"get a {_wanted_of(note, window)}" if gauge is None else "",
    )  # fmt: skip
