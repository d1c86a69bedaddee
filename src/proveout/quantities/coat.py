"""Sizes to machine to, so that the coated size comes out within its limits."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange
from proveout.quantities.units import MM_PER_INCH, S_PER_MIN

CoatedSize = Literal[
    "shaft", "bore", "external thread", "internal thread", "one face", "one inside face", "step of two coated faces"
]  # fmt: skip
STEP: CoatedSize = "step of two coated faces"

# change of the size for each unit of build-up per surface: a diameter has two surfaces; the pitch diameter of a 60 deg
# thread moves 1 / sin 30 deg = 2 times as far as its flanks, on either side
GROWTH_BY_SIZE: dict[str, float] = {
    "shaft": 2.0,
    "bore": -2.0,
    "external thread": 4.0,
    "internal thread": -4.0,
    "one face": 1.0,
    "one inside face": -1.0,
}


class SizeWindow(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Sizes from low_mm to high_mm; empty when low_mm > high_mm, and then width_mm is below 0 by what is missing."""

    low_mm: float
    high_mm: float

    @property
    def width_mm(self) -> float:
        """Signed width."""
        return self.high_mm - self.low_mm

    @property
    def is_empty(self) -> bool:
        """True when no size fits."""
        return self.low_mm > self.high_mm

    @property
    def middle_mm(self) -> float:
        """Middle of the window, also of an empty one."""
        return 0.5 * (self.low_mm + self.high_mm)


def build_up_mm(
    *,
    thickness_low_mm: float,
    thickness_high_mm: float,
    share_low_ratio: float,
    share_high_ratio: float,
    etch_low_mm: float = 0.0,
    etch_high_mm: float = 0.0,
) -> tuple[float, float]:
    """Least and most growth of one surface by a coat, less what the etch before it takes off.

    Formula:  b = t s - e: low with the least t and s and the most e, high the other way round
    Args:     thickness_low_mm: t, >= 0.   thickness_high_mm: at least thickness_low_mm.   share_low_ratio: s, share of
              the thickness that builds up, 0..1 (1 for plating, about 0.5 for hard coat).   share_high_ratio: at least
              share_low_ratio, at most 1.   etch_low_mm: e, metal that goes before the coat, >= 0.   etch_high_mm: at
              least etch_low_mm.
    Returns:  (low, high) in mm; below 0 where the etch takes more than the coat brings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    coat of even thickness; racks, edges and deep bores differ and are not covered.
    Source:   hard_coat_guide item 3, seen directly.   Departs: the etch is our own addition, a plain sum.
    Checked:  tests/published/test_hard_coat_guide.py, tests/laws/test_coat_windows.py
    """
    zero_or_more(thickness_low_mm=thickness_low_mm, thickness_high_mm=thickness_high_mm)
    zero_or_more(etch_low_mm=etch_low_mm, etch_high_mm=etch_high_mm)
    between(low=0.0, high=1.0, share_low_ratio=share_low_ratio, share_high_ratio=share_high_ratio)
    if thickness_low_mm > thickness_high_mm or share_low_ratio > share_high_ratio or etch_low_mm > etch_high_mm:
        raise OutOfRange(
            "The ends of a coat interval are swapped",
            value=f"t {thickness_low_mm}..{thickness_high_mm} mm, s {share_low_ratio}..{share_high_ratio}, "
            f"e {etch_low_mm}..{etch_high_mm} mm",
        )
    return thickness_low_mm * share_low_ratio - etch_high_mm, thickness_high_mm * share_high_ratio - etch_low_mm


def size_growth_mm(*, size: CoatedSize, build_low_mm: float, build_high_mm: float) -> tuple[float, float]:
    """Least and most change of a size, for the least and most growth of one surface.

    Formula:  g = c b, c = +2 shaft, -2 bore, +4 and -4 pitch diameter of an outside and inside 60 deg thread, +1 and
              -1 an outside and inside length with one coated end; of a step between two coated faces that look the
              same way b - b, each anywhere in its interval
    Args:     size: what kind of size.   build_low_mm: b, least growth of a surface.   build_high_mm: at least
              build_low_mm.
    Returns:  (low, high) in mm, negative where the size gets smaller.
    Raises:   OutOfRange for another kind, or swapped ends.
    Valid:    as build_up_mm.
    Source:   hard_coat_guide worked examples, seen directly; thread_plating_note p. 1173 for threads, seen directly.
              Departs: steps are our own sum, at their worst corners.
    Checked:  tests/published/test_hard_coat_guide.py, tests/laws/test_coat_windows.py
    """
    if build_low_mm > build_high_mm:
        raise OutOfRange("The ends of a build-up are swapped", value=f"{build_low_mm}..{build_high_mm} mm")
    if size == STEP:
        return build_low_mm - build_high_mm, build_high_mm - build_low_mm
    if size not in GROWTH_BY_SIZE:
        raise OutOfRange("Unknown kind of coated size", value=str(size), limit=", ".join((*GROWTH_BY_SIZE, STEP)))
    factor = GROWTH_BY_SIZE[size]
    low, high = sorted((factor * build_low_mm, factor * build_high_mm))
    return low, high


def before_coat_window(
    *,
    size: CoatedSize,
    finished_low_mm: float,
    finished_high_mm: float,
    thickness_low_mm: float,
    thickness_high_mm: float,
    share_low_ratio: float,
    share_high_ratio: float,
    etch_low_mm: float = 0.0,
    etch_high_mm: float = 0.0,
) -> SizeWindow:
    """Sizes before the coat that stay within the finished limits whatever coat comes, within its interval.

    Formula:  low = finished_low - least growth of the size, high = finished_high - most growth   (growth of the size
              from that of its surfaces: +2, -2, +4, -4, +1, -1 times t s - e, or the difference of two)
    Args:     size: what kind of size.   finished_low_mm: lower limit after the coat.   finished_high_mm: upper limit
              after the coat, at least the lower.   thickness_low_mm: t, >= 0.   thickness_high_mm: at least
              thickness_low_mm.   share_low_ratio: s, 0..1.   share_high_ratio: at least share_low_ratio, at most 1.
              etch_low_mm: e, >= 0.   etch_high_mm: at least etch_low_mm.
    Returns:  the window in mm; an empty one has low above high, and its width is the signed shortage.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    even coat on every surface concerned; a masked surface has thickness 0.
    Source:   hard_coat_guide worked examples, seen directly; thread_plating_note p. 1173 for threads, seen directly.
              Departs: etch and steps are our own sums.
    Checked:  tests/published/test_hard_coat_guide.py, tests/published/test_thread_plating_note.py,
              tests/laws/test_coat_windows.py
    """
    if finished_low_mm > finished_high_mm:
        raise OutOfRange("Finished limits are swapped", value=f"{finished_low_mm}..{finished_high_mm} mm")
    build_low_mm, build_high_mm = build_up_mm(
        thickness_low_mm=thickness_low_mm,
        thickness_high_mm=thickness_high_mm,
        share_low_ratio=share_low_ratio,
        share_high_ratio=share_high_ratio,
        etch_low_mm=etch_low_mm,
        etch_high_mm=etch_high_mm,
    )
    growth_low_mm, growth_high_mm = size_growth_mm(size=size, build_low_mm=build_low_mm, build_high_mm=build_high_mm)
    return SizeWindow(low_mm=finished_low_mm - growth_low_mm, high_mm=finished_high_mm - growth_high_mm)


def etch_room_mm(*, window_width_mm: float, held_width_mm: float, surfaces_ratio: float) -> float:
    """How widely the etch of a surface may vary before a window is too narrow to be held.

    Formula:  e = (W - w) / c, at least 0   (W width of the window, w narrowest that is held, c surfaces in the size)
    Args:     window_width_mm: W.   held_width_mm: w, >= 0.   surfaces_ratio: c, > 0: 1, 2, or 4 of a pitch diameter.
    Returns:  mm, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as build_up_mm.
    Source:   hard_coat_guide item 3, seen directly.   Departs: solved for the etch, our own sum.
    Checked:  tests/laws/test_coat_windows.py
    """
    zero_or_more(held_width_mm=held_width_mm)
    above_zero(surfaces_ratio=surfaces_ratio)
    return max(0.0, (window_width_mm - held_width_mm) / surfaces_ratio)


def coat_spread_ratio(
    *,
    allowed_mm: float,
    thickness_mm: float,
    share_low_ratio: float,
    share_high_ratio: float,
    surfaces_ratio: float,
) -> float:
    """Share by which a coat's thickness may vary, plus and minus, so that a size spreads by no more than allowed.

    Formula:  c t ((1 + x) s_high - (1 - x) s_low) = a, hence x = (a / (c t) - (s_high - s_low)) / (s_high + s_low)
    Args:     allowed_mm: a, how far the size may spread.   thickness_mm: t, nominal, > 0.   share_low_ratio: 0..1.
              share_high_ratio: at least share_low_ratio, at most 1, > 0.   surfaces_ratio: c, > 0.
    Returns:  0.2 for plus and minus 20 %; below 0 where the share that builds up alone spreads it farther.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as build_up_mm.
    Source:   hard_coat_guide item 3, seen directly.   Departs: solved for the thickness, our own sum.
    Checked:  tests/laws/test_coat_windows.py
    """
    between(low=0.0, high=1.0, share_low_ratio=share_low_ratio, share_high_ratio=share_high_ratio)
    above_zero(thickness_mm=thickness_mm, surfaces_ratio=surfaces_ratio, share_high_ratio=share_high_ratio)
    if share_low_ratio > share_high_ratio:
        raise OutOfRange("The ends of a share are swapped", value=f"{share_low_ratio}..{share_high_ratio}")
    wide = allowed_mm / (surfaces_ratio * thickness_mm) - (share_high_ratio - share_low_ratio)
    return wide / (share_high_ratio + share_low_ratio)


def clearance_mm(
    *, around_low_mm: float, around_high_mm: float, inside_low_mm: float, inside_high_mm: float
) -> tuple[float, float]:
    """Least and most clearance between a size that goes around and one inside, below 0 where they interfere.

    Formula:  low = A_low - B_high, high = A_high - B_low   (A the hole or slot, B what goes into it)
    Args:     around_low_mm: A, least.   around_high_mm: at least around_low_mm.   inside_low_mm: B, least.
              inside_high_mm: at least inside_low_mm.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange where ends are swapped.
    Valid:    any sizes; both at their worst, whether or not they can be so in one lot.
    Source:   iso_286_table, from memory of its terms.   Departs: nothing.
    Checked:  tests/published/test_iso_286_table.py
    """
    if around_low_mm > around_high_mm or inside_low_mm > inside_high_mm:
        raise OutOfRange(
            "The ends of a size are swapped",
            value=f"{around_low_mm}..{around_high_mm}, {inside_low_mm}..{inside_high_mm} mm",
        )
    return around_low_mm - inside_high_mm, around_high_mm - inside_low_mm


def gap_after_coat_mm(
    *,
    gap_low_mm: float,
    gap_high_mm: float,
    one_low_mm: float,
    one_high_mm: float,
    other_low_mm: float,
    other_high_mm: float,
) -> tuple[float, float]:
    """Least and most gap between two faces, once each stands off its drawn place by its coat.

    Formula:  low = G_low - a_high - b_high, high = G_high - a_low - b_low   (G gap as drawn, a and b how far each face
              stands off its drawn place, outward)
    Args:     gap_low_mm: G, least.   gap_high_mm: at least gap_low_mm.   one_low_mm: a, least.   one_high_mm: at least
              one_low_mm.   other_low_mm: b, least.   other_high_mm: at least other_low_mm.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange where ends are swapped.
    Valid:    flat faces that face each other.
    Source:   hard_coat_guide item 3, seen directly.   Departs: two faces in place of one, our own sum.
    Checked:  tests/stages/fits/test_fits.py
    """
    if gap_low_mm > gap_high_mm or one_low_mm > one_high_mm or other_low_mm > other_high_mm:
        raise OutOfRange("The ends of a gap are swapped", value=f"{gap_low_mm}..{gap_high_mm} mm")
    return gap_low_mm - one_high_mm - other_high_mm, gap_high_mm - one_low_mm - other_low_mm


def bath_time_s(*, thickness_mm: float, current_density_a_per_mm2: float) -> float:
    """About how long a sulphuric coat of a thickness grows, to hold a finisher's promise or bill against.

    Formula:  minutes = 720 t / j   (t thickness in thousandths of an inch, j amperes a square foot)
    Args:     thickness_mm: t, >= 0.   current_density_a_per_mm2: j, > 0.
    Returns:  s, without ramp, etch, rinse and seal.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    order of magnitude only: sulphuric coats near 20 deg C; hard coat is made colder and with other yields.
              No recipe of a bath: coats are a finisher's work.
    Source:   rule_of_720, as quoted.   Departs: nothing.
    Checked:  tests/published/test_rule_of_720.py
    """
    zero_or_more(thickness_mm=thickness_mm)
    above_zero(current_density_a_per_mm2=current_density_a_per_mm2)
    thousandths = thickness_mm / (MM_PER_INCH / 1000.0)
    amperes_per_ft2 = current_density_a_per_mm2 * (12.0 * MM_PER_INCH) ** 2
    return 720.0 * thousandths / amperes_per_ft2 * S_PER_MIN


def bath_current_a(*, coated_area_mm2: float, current_density_a_per_mm2: float) -> float:
    """Amperes that a load takes, so that pieces of a shade can be shared out among a finisher's loads.

    Formula:  I = A j   (A all coated area of the load, holes and threads in it, j amperes an area)
    Args:     coated_area_mm2: A, >= 0.   current_density_a_per_mm2: j, > 0.
    Returns:  A.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as bath_time_s; racks draw current too.
    Source:   rule_of_720, as quoted.   Departs: nothing.
    Checked:  tests/published/test_rule_of_720.py
    """
    zero_or_more(coated_area_mm2=coated_area_mm2)
    above_zero(current_density_a_per_mm2=current_density_a_per_mm2)
    return coated_area_mm2 * current_density_a_per_mm2
