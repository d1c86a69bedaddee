"""Finished limits, the window before the coat, and the ways out of one that is empty."""

from __future__ import annotations

import math

from proveout.cutting.threads import COARSE_PITCH_MM
from proveout.model.fact import Strength
from proveout.model.job import Coat, Size
from proveout.model.plan import Window
from proveout.model.shop import Noun
from proveout.quantities.coat import CoatedSize, SizeWindow, before_coat_window, build_up_mm
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_deviation_mm, grade_mm, hole_h_limits_mm, shaft_h_limits_mm
from proveout.stages.finishing.features import Feature
from proveout.stages.finishing.written import Written

# common practice, no source: below this a milling shop cannot be taken to hold a size piece after piece
HELD_WIDTH_MM = 0.010
# common practice, no source: metal and coat that a hone needs to take to clean a bore up
HONE_STOCK_MM = 0.010
# pitch diameters of coarse metric threads of class 6H, mm: low, high (source key iso_965_table, from memory)
_PITCH_DIAMETERS_MM: dict[tuple[float, float], tuple[float, float]] = {
    (5.0, 0.8): (4.480, 4.605),
    (6.0, 1.0): (5.350, 5.500),
    (8.0, 1.25): (7.188, 7.348),
}


class Limits(Noun, frozen=True, kw_only=True):
    """Finished limits of one size, mm, and where they come from."""

    low_mm: float
    high_mm: float
    source: str
    formula: str
    strength: Strength = "published as quoted"


def finished_limits(*, written: Written, feature: Feature, general_tolerance: str | None) -> Limits | str:
    """Limits of the finished size, or, in words, what the owner has to write instead."""
    nominal = written.nominal_mm if written.nominal_mm is not None else feature.size_mm
    try:
        if written.manner == "thread":
            return _thread_limits(written)
        if written.manner == "class":
            return _class_limits(written, feature, nominal)
        if written.manner == "deviations":
            low, high = nominal + written.low_deviation_mm, nominal + written.high_deviation_mm
            return Limits(
                low_mm=_tidy(low),
                high_mm=_tidy(high),
                source="job-file",
                formula="nominal + written deviations",
                strength="owner's guess",
            )
        if general_tolerance is None:
            return "write limits for this size or a general tolerance for the job"
        half = general_deviation_mm(size_mm=nominal, general_class=general_tolerance)
    except OutOfRange as error:
        return f"write limits as numbers, such as 20 +0.05/0: {error.what}, {error.value}"
    return Limits(
        low_mm=_tidy(nominal - half),
        high_mm=_tidy(nominal + half),
        source="iso_2768_table",
        formula=f"nominal -+ general tolerance {general_tolerance}",
    )


def _class_limits(written: Written, feature: Feature, nominal_mm: float) -> Limits | str:
    letter, grade = written.letter, written.grade
    if letter not in {"H", "h"}:
        return f"write limits as numbers, such as 20 +0.05/0: only H and h are read, not {letter}{grade}"
    if (letter == "H") != feature.is_inside:
        inside = "a hole or slot" if feature.is_inside else "a shaft or outside length"
        return f"{letter}{grade} does not go with {inside}: H is for holes, h for shafts"
    limits = hole_h_limits_mm if letter == "H" else shaft_h_limits_mm
    low, high = limits(size_mm=nominal_mm, grade=grade)
    return Limits(
        low_mm=_tidy(low), high_mm=_tidy(high), source="iso_286_table", formula=f"{letter}{grade} of {nominal_mm:g} mm"
    )


def _thread_limits(written: Written) -> Limits | str:
    major = written.nominal_mm or 0.0
    pitch = written.pitch_mm if written.pitch_mm is not None else COARSE_PITCH_MM.get(major, 0.0)
    found = _PITCH_DIAMETERS_MM.get((major, pitch))
    if found is None:
        return f"write the pitch diameter limits of M{major:g}: only M5, M6 and M8 coarse 6H are in the table"
    return Limits(
        low_mm=found[0],
        high_mm=found[1],
        source="iso_965_table",
        strength="from memory",
        formula=f"pitch diameter of M{major:g} x {pitch:g} 6H",
    )


def tapping_mm(written: Written) -> float | None:
    """The hole that a thread is cut in: major diameter less pitch; None when the pitch is unknown."""
    major = written.nominal_mm or 0.0
    pitch = written.pitch_mm if written.pitch_mm is not None else COARSE_PITCH_MM.get(major)
    return None if pitch is None else major - pitch


def make_window(
    *,
    size: Size,
    feature: Feature,
    limits: Limits,
    coat: Coat | None,
    coated_count: int,
    is_thread: bool,
    is_masked: bool,
) -> Window:
    """The window of one size before the coat. coated_count: how many of its two surfaces take the coat, 0 to 2."""
    before = window_before(limits=limits, feature=feature, coat=coat, coated_count=coated_count, is_thread=is_thread)
    return Window(
        balloon=size.balloon,
        letter=size.letter,
        text=size.text,
        kind="thread" if is_thread else feature.kind,
        finished_low_mm=limits.low_mm,
        finished_high_mm=limits.high_mm,
        before_low_mm=_tidy(before.low_mm),
        before_high_mm=_tidy(before.high_mm),
        width_mm=_tidy(before.width_mm),
        is_masked=is_masked,
        is_critical=size.is_critical,
        face_ids=feature.face_ids,
    )


def window_before(
    *, limits: Limits, feature: Feature, coat: Coat | None, coated_count: int, is_thread: bool
) -> SizeWindow:
    """Sizes before the coat that stay within the finished limits at the worst end of thickness and build-up."""
    if coat is None or coated_count == 0:
        return SizeWindow(low_mm=limits.low_mm, high_mm=limits.high_mm)
    size: CoatedSize = "internal thread" if is_thread else "bore" if feature.is_inside else "shaft"
    # one coated end of an inside length: the mirror image of an outside length with one coated end
    mirror = coated_count == 1 and feature.is_inside
    low, high = (-limits.high_mm, -limits.low_mm) if mirror else (limits.low_mm, limits.high_mm)
    found = before_coat_window(
        size="one face" if coated_count == 1 else size,
        finished_low_mm=low,
        finished_high_mm=high,
        thickness_low_mm=coat.thickness_mm.low,
        thickness_high_mm=coat.thickness_mm.high,
        share_low_ratio=coat.build_up_ratio.low,
        share_high_ratio=coat.build_up_ratio.high,
    )
    return SizeWindow(low_mm=-found.high_mm, high_mm=-found.low_mm) if mirror else found


def ways_out(*, window: Window, coat: Coat, surfaces: float) -> tuple[str, ...]:
    """What the owner can do about a window that is empty or too narrow, each way with the number it needs.

    Of a thread whose window is wide enough only what closes it is left: an oversize tap or a plug.

    surfaces: how often the build-up of one surface counts in the size: 2 for a diameter, 4 for a pitch diameter.
    """
    least, most = build_up_mm(
        thickness_low_mm=coat.thickness_mm.low,
        thickness_high_mm=coat.thickness_mm.high,
        share_low_ratio=coat.build_up_ratio.low,
        share_high_ratio=coat.build_up_ratio.high,
    )
    spread = surfaces * (most - least)
    width = window.finished_high_mm - window.finished_low_mm
    is_inside = window.before_low_mm + window.before_high_mm > window.finished_low_mm + window.finished_high_mm
    is_tight = window.width_mm < HELD_WIDTH_MM
    ways = [_loosen(window, needed_mm=spread + HELD_WIDTH_MM, spread_mm=spread)] if is_tight else []
    if window.kind == "thread":
        ways.append(
            f"oversize tap: pitch diameter {window.before_low_mm:.3f} to {window.before_high_mm:.3f} mm before the coat"
            if window.width_mm > 0.0
            else "oversize tap: none can help, as the coat varies by more than the thread allows"
        )
    ways.append(
        f"plug or mask it: the window becomes {window.finished_low_mm:.3f} to {window.finished_high_mm:.3f} mm, "
        f"{1000.0 * width:.0f} µm wide"
    )
    if window.kind == "hole" and is_inside:
        before_hone = window.finished_low_mm + surfaces * least - HONE_STOCK_MM
        ways.append(
            f"hone after the coat: machine to at most {before_hone:.3f} mm"
            f" so that the hone always finds {HONE_STOCK_MM:.3f} mm, then hone to {window.finished_low_mm:.3f} to "
            f"{window.finished_high_mm:.3f} mm (the bore is then bare or thinly coated)"
        )
    if is_tight:
        ways.append(_tighten(coat, allowed_mm=width - HELD_WIDTH_MM, surfaces=surfaces))
    return tuple(ways)


def _loosen(window: Window, *, needed_mm: float, spread_mm: float) -> str:
    text = f"loosen it: limits at least {needed_mm:.3f} mm apart"
    if window.kind == "hole":
        size = window.finished_low_mm
        for grade in range(6, 15):
            try:
                width = grade_mm(grade=grade, size_mm=size)
            except OutOfRange:
                break
            if width >= needed_mm:
                return f"{text}, such as {size:g} H{grade}, whose window is {1000.0 * (width - spread_mm):.0f} µm wide"
    return text


def _tighten(coat: Coat, *, allowed_mm: float, surfaces: float) -> str:
    """The share x by which the thickness may vary so that c t ((1 + x) s_high - (1 - x) s_low) = allowed."""
    low, high = coat.build_up_ratio.low, coat.build_up_ratio.high
    nominal = coat.thickness_mm.nominal
    if nominal <= 0.0 or low + high <= 0.0:
        return "tighten the coat: its thickness is not known"
    share = (allowed_mm / (surfaces * nominal) - (high - low)) / (high + low)
    if share <= 0.0:
        return (
            f"tighten the coat: thickness alone cannot help while {100 * low:.0f} to {100 * high:.0f} % of it "
            "builds up; the finisher would have to state that share more closely as well"
        )
    percent = math.floor(1000.0 * share + 1e-9) / 10.0
    return f"tighten the coat to ±{percent:g} % of {nominal:.3f} mm: the window becomes {HELD_WIDTH_MM:.3f} mm wide"


def _tidy(value_mm: float) -> float:
    """To the nanometre: sums of printed decimals come out as printed."""
    return round(value_mm, 6) + 0.0
