"""Finished limits of the written sizes, as class, deviations, thread or general tolerance say."""

from __future__ import annotations

from proveout.cutting.thread_limits import (
    basic_pitch_diameter_mm,
    metric_pitch_diameters_mm,
    unified_pitch_diameters_mm,
)
from proveout.cutting.threads import TapSeries, pitch_of
from proveout.model.fact import Strength
from proveout.model.shop import Noun
from proveout.model.size_text import Written
from proveout.quantities.deviations import hole_limits_mm, shaft_limits_mm
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_deviation_mm
from proveout.quantities.units import MM_PER_INCH
from proveout.stages.finishing.features import Feature


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

    @property
    def tap_series(self) -> TapSeries:
        """By which letter taps for it are numbered."""
        return "H" if self.is_unified else "D"


def finished_limits(
    *, written: Written, feature: Feature, general_tolerance: str | None, is_coated: bool = False
) -> Limits | str:
    """Limits of the finished size, or, in words, what the owner has to write instead.

    is_coated: of a thread, which on a shaft may then grow into its allowance.
    """
    nominal = written.nominal_mm if written.nominal_mm is not None else feature.size_mm
    try:
        if written.manner == "thread":
            return _thread_limits(written, feature, is_coated=is_coated)
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
    is_hole = letter == letter.upper()
    if is_hole != feature.is_inside:
        inside = "a hole or slot" if feature.is_inside else "a shaft or outside length"
        return f"{letter}{grade} does not go with {inside}: capitals are for holes, small letters for shafts"
    limits = hole_limits_mm if is_hole else shaft_limits_mm
    low, high = limits(letter=letter, grade=grade, size_mm=nominal_mm)
    is_plain = letter in {"H", "h"}
    return Limits(
        low_mm=tidy(low), high_mm=tidy(high), source="iso_286_table" if is_plain else "iso_286_deviations",
        formula=f"{letter}{grade} of {nominal_mm:g} mm", strength="published as quoted" if is_plain else "from memory",
    )  # fmt: skip


def _thread_limits(written: Written, feature: Feature, *, is_coated: bool) -> Limits | str:
    found = thread_limits(written, is_coated=is_coated)
    if isinstance(found, str):
        return found
    if (written.letter == written.letter.upper()) != feature.is_inside:
        return "a thread in a hole has a class such as 6H or 2B, one on a shaft such as 6g or 2A"
    return Limits(
        low_mm=found.low_mm, high_mm=found.high_mm, source=found.source, strength=found.strength, formula=found.formula
    )


def thread_limits(written: Written, *, is_coated: bool = False) -> ThreadLimits | str:
    """Pitch diameters of a written thread, or, in words, what the owner has to write instead.

    Classes of screws that lie below the basic profile keep that distance for a coat: a coated one may end at the basic
    profile, where its GO gauge is that of 3A or h (source keys unified_rules, iso_965_rules, from memory).
    """
    major = written.nominal_mm or 0.0
    pitch = pitch_of(written)
    if pitch is None:
        return f"write the pitch of M{major:g}, such as M{major:g}x1: it is none of the coarse series known here"
    is_unified = bool(written.thread_class)
    try:
        if is_unified:
            turns = round(MM_PER_INCH / pitch)
            low, high = unified_pitch_diameters_mm(
                major_mm=major, turns_count=turns, thread_class=written.thread_class
            )  # fmt: skip
            basic = round(basic_pitch_diameter_mm(major_mm=major, pitch_mm=pitch) / MM_PER_INCH, 4) * MM_PER_INCH
            name = f"{major / MM_PER_INCH:.4f}-{turns} {written.thread_class}"
        else:
            low, high = metric_pitch_diameters_mm(
                major_mm=major, pitch_mm=pitch, grade=written.grade, position=written.letter
            )  # fmt: skip
            basic = round(basic_pitch_diameter_mm(major_mm=major, pitch_mm=pitch), 3)
            name = f"M{major:g} x {pitch:g} {written.grade}{written.letter}"
    except OutOfRange as error:
        return f"write another thread: {error.what}, {error.value}; known are {error.limit}"
    if is_coated and written.letter in ("g", "h") and high < basic:
        high, name = basic, f"{name}, its allowance left to the coat"
    return ThreadLimits(
        major_mm=major, basic_mm=tidy(basic), low_mm=tidy(low), high_mm=tidy(high),
        source="unified_rules" if is_unified else "iso_965_rules", strength="from memory",
        formula=f"pitch diameter of {name}", is_unified=is_unified,
    )  # fmt: skip


def tapping_mm(written: Written) -> float | None:
    """The hole that a thread is cut in: major diameter less pitch; None when the pitch is unknown."""
    pitch = pitch_of(written)
    return None if pitch is None else (written.nominal_mm or 0.0) - pitch


def tidy(value_mm: float) -> float:
    """To the nanometre: sums of printed decimals come out as printed."""
    return round(value_mm, 6) + 0.0
