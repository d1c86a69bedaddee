"""Which pair of GO and NO-GO tells a thread: the standard one of its class, or one whose ends lie within its limits."""

from __future__ import annotations

import msgspec

from proveout.cutting.thread_limits import metric_pitch_diameters_mm, unified_pitch_diameters_mm
from proveout.cutting.threads import COARSE_PITCH_MM, pitch_of
from proveout.model.gauge import Gauge
from proveout.model.plan import Window
from proveout.model.size_text import Written, named_thread, read_size
from proveout.quantities.errors import OutOfRange
from proveout.quantities.units import MM_PER_INCH

# share of its limits that a pair must let through: what a gauge at four to one, drawn in by the whole of its
# uncertainty at either limit, lets through of a size; a narrower one turns too many good pieces away
LEAST_SHARE = 0.75
USUAL = {"thread plug": (6, "H"), "thread ring": (6, "g")}
SAME_MM = 1e-6
HAIR_MM = 1e-3  # limits of a class are written to the micrometre, some to 0.0001 in
PLUG, RING = "thread plug", "thread ring"


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """A gauge that tells a thread, and how much of the limits asked for it lets through: 1 of the standard pair."""

    gauge: Gauge
    share_ratio: float


def pairs_for(
    window: Window, gauges: tuple[Gauge, ...], *, low_mm: float, high_mm: float, guard_ratio: float
) -> tuple[Pair, ...]:
    """Pairs of the shop that let nothing pass outside of these pitch diameters, the widest first.

    A pair as calibrated is drawn in by guard_ratio of its uncertainty. The standard pair of the very class serves as it
    is, unless a screw under its coat may end above that class.
    """
    wanted = read_size(window.text)
    if wanted.manner != "thread" or wanted.letter.isupper() != window.is_inside:
        return ()
    found: list[Pair] = []
    for gauge in gauges:
        if gauge.kind != (PLUG if window.is_inside else RING):
            continue
        named = _thread_of(gauge)
        if named is None or not _is_alike(named, wanted):
            continue
        share = _share_ratio(gauge, named, wanted, low_mm, high_mm, guard_ratio)
        if share is not None and share >= LEAST_SHARE - 1e-9:
            found.append(Pair(gauge=gauge, share_ratio=round(min(share, 1.0), 6)))
    return tuple(sorted(found, key=lambda pair: (-pair.share_ratio, pair.gauge.uncertainty_mm, pair.gauge.id)))


def _thread_of(gauge: Gauge) -> Written | None:
    """What it is for: as written, else by its name; one without either is taken for a coarse one of class 6H or 6g."""
    if gauge.thread:
        return read_size(gauge.thread)
    named = named_thread(gauge.name)
    if named is not None:
        return named
    grade, letter = USUAL[gauge.kind]
    major = next((m for m in COARSE_PITCH_MM if gauge.low_mm - SAME_MM <= m <= gauge.high_mm + SAME_MM), None)
    if major is None:
        return None
    return Written(manner="thread", nominal_mm=major, pitch_mm=COARSE_PITCH_MM[major], letter=letter, grade=grade)


def _is_alike(named: Written, wanted: Written) -> bool:
    """The same diameter, pitch and side, whatever the class."""
    majors, pitches = (named.nominal_mm, wanted.nominal_mm), (pitch_of(named), pitch_of(wanted))
    if None in majors or None in pitches or named.letter.isupper() != wanted.letter.isupper():
        return False
    return all(abs((one or 0.0) - (other or 0.0)) <= SAME_MM for one, other in (majors, pitches))


def _class_of(thread: Written) -> str:
    """Grade and position of pitch diameter and crests, or the unified class; a class said once holds for both."""
    if thread.thread_class:
        return thread.thread_class
    pitch = f"{thread.grade}{thread.letter}"
    return pitch + (thread.crest_class or pitch)


def _share_ratio(
    gauge: Gauge, named: Written, wanted: Written, low_mm: float, high_mm: float, guard_ratio: float
) -> float | None:
    """Share of the limits that it lets through, None where something outside of them would pass."""
    go, no_go = gauge.go_pitch_diameter_mm, gauge.no_go_pitch_diameter_mm
    if go is not None and no_go is not None:
        guard = guard_ratio * gauge.uncertainty_mm
        ends = min(go, no_go) - guard, max(go, no_go) + guard
    else:
        limits = _class_limits_mm(named)
        if limits is None:
            return None
        is_its_own = abs(limits[0] - low_mm) <= HAIR_MM and abs(limits[1] - high_mm) <= HAIR_MM
        if is_its_own:
            return 1.0 if _class_of(named) == _class_of(wanted) else None
        ends = limits
    if ends[0] < low_mm - SAME_MM or ends[1] > high_mm + SAME_MM or high_mm <= low_mm:
        return None
    inner = abs(no_go - go) if go is not None and no_go is not None else ends[1] - ends[0]
    return inner / (high_mm - low_mm)


def _class_limits_mm(thread: Written) -> tuple[float, float] | None:
    """Pitch diameters of the class, None where they are not known here."""
    major, pitch = thread.nominal_mm, pitch_of(thread)
    if major is None or pitch is None:
        return None
    try:
        if thread.thread_class:
            turns = round(MM_PER_INCH / pitch)
            return unified_pitch_diameters_mm(major_mm=major, turns_count=turns, thread_class=thread.thread_class)
        return metric_pitch_diameters_mm(
            major_mm=major, pitch_mm=pitch, grade=thread.grade, position=thread.letter
        )  # fmt: skip
    except OutOfRange:
        return None
