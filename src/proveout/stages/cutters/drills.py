"""Holes: drill by diameter, else an end mill, else a smaller drill and the reason; spots, mouths and taps."""

from __future__ import annotations

import math
from collections.abc import Callable

import msgspec
import numpy as np

from proveout.cutting.threads import FULL_DEPTH_RATIO, pitch_of
from proveout.model.choice import (
    DRILL_MATCH_MM,
    DRILL_OVER_MM,
    DRILL_SPREAD_MM,
    DRILL_UNDER_MM,
    MILL_RATIO,
    REAM_MATCH_MM,
    REAM_STOCK_MM,
    THREAD_ROOM_MM,
    Role,
)
from proveout.model.cutter import tooth_rows_count
from proveout.model.shop import Cutter
from proveout.model.size_text import read_size
from proveout.model.work import Hole, HoleStep, Tilt

WIDE_RATIO = 2.0
"""A hole wider than this many end-mill diameters is a pocket: it is roughed and its wall finished."""
SIZING_ROOM_MM = 0.3
"""An end mill goes down the middle of a drilled hole that is wider by so much, and then round."""
ROUNDING_MM = 1e-6


class HoleUses(msgspec.Struct, frozen=True, kw_only=True):
    """What was chosen for one hole: (role, cutter, why) and why anything is missing."""

    uses: tuple[tuple[Role, Cutter, str], ...]
    reason: str
    is_pocket: bool = False


def for_hole(
    *,
    hole: Hole,
    tilt: Tilt,
    top_mm: float,
    cutters: tuple[Cutter, ...],
    grow_mm: Callable[[tuple[str, ...]], float],
    thread: str,
    width_mm: float | None = None,
    has_room: Callable[[Cutter, tuple[float, float, float]], bool] = lambda _cutter, _tip: True,
) -> HoleUses:
    """Chooses the cutters of one hole.

    grow_mm: how much wider a step is before coat.   width_mm: of the window that its narrowest step must lie in, where
    one is written, 0 where no width of it is sure: narrower than a drill's own spread it is reamed, else milled round.
    has_room: whether the holder is free with the tip at a place of the tilt's frame; one without room is chosen only
    when no other serves.
    """
    cylinders = [(s, s.diameter_mm + grow_mm(s.face_ids)) for s in hole.steps if s.kind == "cylinder"]
    if not cylinders:
        return HoleUses(uses=(), reason="the hole has no cylinder that a drill or end mill could make")
    step, size = min(cylinders, key=lambda c: c[1])
    x, y, entry = (float(v) for v in tilt.frame.into([hole.entry_mm])[0])
    depth = step.depth_high_mm
    is_into = float(np.dot(tilt.frame.z, hole.outward)) > 0.0
    mouth = entry if is_into else entry + depth
    sunk = max(0.0, top_mm - mouth)

    def free(cutters: list[Cutter], deep_mm: float) -> list[Cutter]:
        """Those of the cutters that have room with the tip that deep below the mouth; all when none has."""
        return [c for c in cutters if has_room(c, (x, y, mouth - deep_mm))] or cutters

    mills = [c for c in cutters if c.kind == "end mill"]
    drills = [c for c in cutters if c.kind == "drill"]
    uses: list[tuple[Role, Cutter, str]] = []
    reason = ""
    tall = step.depth_high_mm - step.depth_low_mm
    match = free([c for c in drills if _matches(c, size) and _reaches(c, tall, depth)], depth)
    is_flat_blind = hole.bottom == "flat" and not hole.is_through
    mill = _mill(mills, size, depth, tall)
    wide = mill is not None and size > WIDE_RATIO * mill.diameter_mm
    is_tight = width_mm is not None and width_mm < DRILL_SPREAD_MM and not thread
    if is_flat_blind and mill is not None and wide:
        return HoleUses(uses=(), reason="", is_pocket=True)
    if is_flat_blind and mill is not None:
        uses.append(("bore", mill, f"flat bottom: milled round, Ø{mill.diameter_mm:g} in Ø{size:.3f} mm"))
    elif is_tight and (pair := _reamed(hole, step, size, cutters)) is not None:
        why = f"{_wide(width_mm)}, a drill spreads over {DRILL_SPREAD_MM:g} mm at best"
        uses.append(("drill", pair[0], f"leaves {size - pair[0].diameter_mm:.2f} mm for {pair[1].id}"))
        uses.append(("ream", pair[1], why))
    elif is_tight and mill is not None and not wide:
        why = f"{_wide(width_mm)} and no reamer fits: milled round, which a drill does not hold"
        uses.append(("bore", mill, why))
    elif match:
        best = min(match, key=lambda c: (abs(c.diameter_mm - size), -c.stick_out_mm, c.id))
        uses.append(("drill", best, f"Ø{best.diameter_mm:g} is within {DRILL_MATCH_MM:g} mm of Ø{size:.3f} mm"))
        sizing = [c for c in mills if _sizes(c, size, depth, tall) and has_room(c, (x, y, mouth - depth))]
        if best.diameter_mm < size - DRILL_UNDER_MM - ROUNDING_MM and sizing and not thread:
            round_it = max(sizing, key=lambda c: (c.diameter_mm, c.id))
            uses.append(("size", round_it, f"takes what Ø{best.diameter_mm:g} leaves of Ø{size:.3f} mm"))
        if is_flat_blind:
            reason = "the bottom is flat and no end mill of the shop fits: the drill's cone stays"
    elif mill is not None and wide:
        return HoleUses(uses=(), reason="", is_pocket=True)
    elif mill is not None:
        uses.append(("bore", mill, f"no drill of Ø{size:.3f} mm: milled round, at most 0.8 of the hole"))
    else:
        smaller = [c for c in drills if c.diameter_mm < size and _reaches(c, tall, depth)]
        reason = f"no drill within {DRILL_MATCH_MM:g} mm of Ø{size:.3f} mm, {depth:.1f} mm deep, and no end mill fits"
        if smaller:
            best = max(smaller, key=lambda c: (c.diameter_mm, c.id))
            uses.append(("drill", best, "smaller than the hole: metal stays"))
    if any(u[0] == "drill" for u in uses):
        begun = step.depth_low_mm if is_into else 0.0
        spots = free([c for c in cutters if c.kind == "spot"], begun)
        spot = _spot(spots, size, depth + sunk if step.depth_low_mm > 0 else sunk)
        if spot is not None:
            uses.insert(0, ("spot", spot, "starts the drill on its place"))
    reason = _further(uses, hole, step, cylinders, cutters, reason, thread)
    return HoleUses(uses=tuple(uses), reason=reason)


def _wide(width_mm: float | None) -> str:
    """How wide the window of a hole is sure to be, in words."""
    return f"the window is {width_mm:.3f} mm wide" if width_mm else "no width of the window is sure"


def _further(
    uses: list[tuple[Role, Cutter, str]],
    hole: Hole,
    step: HoleStep,
    cylinders: list[tuple[HoleStep, float]],
    cutters: tuple[Cutter, ...],
    reason: str,
    thread: str,
) -> str:
    """Adds the cutters of wider steps, mouth and thread; returns the reason for what stays uncut."""
    mills = [c for c in cutters if c.kind == "end mill"]
    tall = step.depth_high_mm - step.depth_low_mm
    steps = [c for c in cylinders if c[0] is not step]
    if any(s.depth_high_mm > step.depth_low_mm + 1e-6 for s, _ in steps):
        reason = reason or "the hole widens below its narrowest step: the other side must make that"
    if steps and uses:
        least = min(d for _, d in steps)
        bore = _mill(
            mills,
            least,
            max(s.depth_high_mm for s, _ in steps),
            max(s.depth_high_mm - s.depth_low_mm for s, _ in steps),
        )
        if bore is None:
            reason = reason or f"no end mill of the shop fits the step Ø{least:.3f} mm"
        elif not any(u[0] == "bore" for u in uses):
            uses.append(("bore", bore, f"steps of the hole, Ø{bore.diameter_mm:g} at most 0.8 of Ø{least:.3f} mm"))
    if any(s.kind == "cone" and s.depth_low_mm < 1e-6 for s in hole.steps):
        edge = sorted(
            (c for c in cutters if c.kind in ("edge break", "spot")), key=lambda c: (c.kind, c.diameter_mm, c.id)
        )
        if edge:
            uses.append(("edge", edge[0], "breaks the mouth"))
    if thread:
        tapping, why = _tap(cutters, thread, tall)
        if tapping is None:
            tapping, why = _thread_mill(cutters, thread, step.diameter_mm, tall) or (None, why)
        wrong = _untappable(thread, step, cylinders)
        tapping, why = (None, wrong) if wrong else (tapping, why)
        if tapping is not None:
            uses.append(("tap", tapping, why))
        else:
            reason = reason or why
    return reason


def thread_of(text: str) -> tuple[float, float] | None:
    """Nominal diameter and pitch, mm, of a written thread: M6, M6 6H, M10x1.25, 1/4-20 UNC-2B."""
    written = read_size(text)
    pitch = pitch_of(written)
    if written.manner != "thread" or written.nominal_mm is None or pitch is None:
        return None
    return written.nominal_mm, pitch


def _untappable(text: str, step: HoleStep, cylinders: list[tuple[HoleStep, float]]) -> str:
    """Why a tap must not go into the narrowest step, which is where it would go; empty when it may."""
    if ";" in text:
        return f"two threads in one hole, {text}: only one can be tapped yet"
    size = thread_of(text)
    if size is None:
        return ""
    nearest = min((s for s, _ in cylinders), key=lambda s: abs(s.diameter_mm - (size[0] - size[1])))
    if nearest.diameter_mm > step.diameter_mm + 1e-6:
        return f"{text} stands in the step Ø{nearest.diameter_mm:g} mm: only the narrowest step can be tapped yet"
    least = size[0] - FULL_DEPTH_RATIO * size[1]
    if not least <= step.diameter_mm < size[0]:
        return (
            f"{text} does not go into Ø{step.diameter_mm:g} mm: the hole for its tap is at least Ø{least:.3f} mm, "
            f"where the thread has its full depth, and less than Ø{size[0]:g} mm"
        )
    return ""


def _tap(cutters: tuple[Cutter, ...], text: str, tall_mm: float) -> tuple[Cutter | None, str]:
    size = thread_of(text)
    if size is None:
        return None, f"the thread {text!r} is no size with a known pitch"
    fit = [
        c
        for c in cutters
        if c.kind == "tap"
        and abs(c.diameter_mm - size[0]) < 0.25
        and abs(c.pitch_mm - size[1]) < 1e-3
        and c.stick_out_mm >= tall_mm
    ]
    if not fit:
        return None, f"no tap {text} that reaches {tall_mm:.1f} mm is in the shop"
    best = min(fit, key=lambda c: (abs(c.diameter_mm - size[0]), c.id))
    return best, f"cuts {text}, pitch {size[1]:g} mm"


def _thread_mill(cutters: tuple[Cutter, ...], text: str, hole_mm: float, tall_mm: float) -> tuple[Cutter, str] | None:
    """One that comes out of its thread within the hole; with one row of teeth any pitch up to its own is cut."""
    size = thread_of(text)
    if size is None:
        return None
    fit = [
        c for c in cutters
        if c.kind == "thread mill" and c.diameter_mm <= hole_mm - THREAD_ROOM_MM and c.stick_out_mm >= tall_mm
        and (c.flute_length_mm >= tall_mm or c.shank_diameter_mm + size[0] - c.diameter_mm < hole_mm)
        and (abs(c.pitch_mm - size[1]) < 1e-3 or (_rows(c) == 1 and size[1] <= c.pitch_mm))
    ]  # fmt: skip
    if not fit:
        return None
    best = max(fit, key=lambda c: (_rows(c) > 1, c.diameter_mm, c.id))
    return best, f"mills {text}, pitch {size[1]:g} mm: the shop has no tap for it"


def _rows(cutter: Cutter) -> int:
    return tooth_rows_count(flute_length_mm=cutter.flute_length_mm, pitch_mm=cutter.pitch_mm)


def _spot(cutters: list[Cutter], size: float, sunk: float) -> Cutter | None:
    spots = [c for c in cutters if c.kind == "spot" and c.stick_out_mm >= sunk]
    return min(spots, key=lambda c: (abs(c.diameter_mm - max(size, 6.0)), c.id)) if spots else None


def _mill(mills: list[Cutter], size: float, depth: float, tall: float) -> Cutter | None:
    fit = [
        c
        for c in mills
        if c.diameter_mm <= MILL_RATIO * size + 1e-9
        and c.stick_out_mm >= depth
        and (c.flute_length_mm >= tall or c.shank_diameter_mm < c.diameter_mm - 0.04)
    ]
    return max(fit, key=lambda c: (c.diameter_mm, c.id)) if fit else None


def _reamed(hole: Hole, step: HoleStep, size: float, cutters: tuple[Cutter, ...]) -> tuple[Cutter, Cutter] | None:
    """The drill and the reamer of a through hole, None where the shop lacks either."""
    tall, depth = step.depth_high_mm - step.depth_low_mm, step.depth_high_mm
    reamers = [
        c for c in cutters
        if c.kind == "reamer" and abs(c.diameter_mm - size) <= REAM_MATCH_MM + ROUNDING_MM and c.stick_out_mm > depth
        and c.flute_length_mm >= tall
    ]  # fmt: skip
    least, most = REAM_STOCK_MM
    drills = [
        c for c in cutters
        if c.kind == "drill" and size - most <= c.diameter_mm <= size - least and _reaches(c, tall, depth)
    ]  # fmt: skip
    if not hole.is_through or not reamers or not drills:
        return None
    reamer = min(reamers, key=lambda c: (abs(c.diameter_mm - size), c.id))
    return max(drills, key=lambda c: (c.diameter_mm, c.id)), reamer


def _matches(drill: Cutter, size: float) -> bool:
    """Not so narrow that metal stays, not so wide that it cuts below the hole's wall."""
    return size - DRILL_MATCH_MM - ROUNDING_MM <= drill.diameter_mm <= size + DRILL_OVER_MM + ROUNDING_MM


def _sizes(mill: Cutter, size: float, depth: float, tall: float) -> bool:
    """An end mill that stands in the drilled hole with air about it and covers its whole length."""
    fits = size / 2.0 <= mill.diameter_mm <= size - SIZING_ROOM_MM
    return fits and mill.stick_out_mm >= depth and mill.flute_length_mm >= tall


def _reaches(cutter: Cutter, tall: float, depth: float) -> bool:
    tip = cutter.diameter_mm / 2.0 / math.tan(max(cutter.tip_angle_rad, 0.1) / 2.0)
    return cutter.flute_length_mm >= tall + tip and cutter.stick_out_mm >= depth + tip
