"""Finished limits of the written sizes, as class, deviations, thread or general tolerance say."""

from __future__ import annotations

from proveout.cutting.threads import COARSE_PITCH_MM
from proveout.model.fact import Strength
from proveout.model.shop import Noun
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_deviation_mm, hole_h_limits_mm, shaft_h_limits_mm
from proveout.stages.finishing.features import Feature
from proveout.stages.finishing.written import Written

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


class ThreadLimits(Noun, frozen=True, kw_only=True):
    """Pitch diameters of a thread, mm, and where they come from. basic_mm: that of the basic profile."""

    major_mm: float
    basic_mm: float
    low_mm: float
    high_mm: float
    source: str
    formula: str
    strength: Strength
    is_unified: bool = False


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
                low_mm=tidy(low),
                high_mm=tidy(high),
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
        low_mm=tidy(nominal - half),
        high_mm=tidy(nominal + half),
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
        low_mm=tidy(low), high_mm=tidy(high), source="iso_286_table", formula=f"{letter}{grade} of {nominal_mm:g} mm"
    )


def _thread_limits(written: Written) -> Limits | str:
    found = thread_limits(written)
    if isinstance(found, str):
        return found
    return Limits(
        low_mm=found.low_mm, high_mm=found.high_mm, source=found.source, strength=found.strength, formula=found.formula
    )


def thread_limits(written: Written) -> ThreadLimits | str:
    """Pitch diameters of a written thread, or, in words, what the owner has to write instead."""
    major = written.nominal_mm or 0.0
    pitch = written.pitch_mm if written.pitch_mm is not None else COARSE_PITCH_MM.get(major, 0.0)
    found = _PITCH_DIAMETERS_MM.get((major, pitch))
    if found is None:
        return f"write the pitch diameter limits of M{major:g}: only M5, M6 and M8 coarse 6H are in the table"
    return ThreadLimits(
        major_mm=major,
        basic_mm=found[0],
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


def tidy(value_mm: float) -> float:
    """To the nanometre: sums of printed decimals come out as printed."""
    return round(value_mm, 6) + 0.0
