"""Sizes to machine to, so that the coated size comes out within its limits."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.quantities.bounds import between, zero_or_more
from proveout.quantities.errors import OutOfRange

CoatedSize = Literal["shaft", "bore", "external thread", "internal thread", "one face"]

# change of the size for each unit of build-up per surface: a diameter has two surfaces; the pitch diameter of a 60 deg
# thread moves 1 / sin 30 deg = 2 times as far as its flanks, on either side
GROWTH_BY_SIZE: dict[str, float] = {
    "shaft": 2.0,
    "bore": -2.0,
    "external thread": 4.0,
    "internal thread": -4.0,
    "one face": 1.0,
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
    *, thickness_low_mm: float, thickness_high_mm: float, share_low_ratio: float, share_high_ratio: float
) -> tuple[float, float]:
    """Least and most growth of one surface by a coat.

    Formula:  b = t s at the low corner and at the high corner
    Args:     thickness_low_mm: t, >= 0.   thickness_high_mm: at least thickness_low_mm.   share_low_ratio: s, share of
              the thickness that builds up, 0..1 (1 for plating, about 0.5 for hard coat).   share_high_ratio: at least
              share_low_ratio, at most 1.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    coat of even thickness; racks, edges and deep bores differ and are not covered.
    Source:   hard_coat_guide item 3, seen directly.   Departs: nothing.
    Checked:  tests/published/test_hard_coat_guide.py
    """
    zero_or_more(thickness_low_mm=thickness_low_mm, thickness_high_mm=thickness_high_mm)
    between(low=0.0, high=1.0, share_low_ratio=share_low_ratio, share_high_ratio=share_high_ratio)
    if thickness_low_mm > thickness_high_mm or share_low_ratio > share_high_ratio:
        raise OutOfRange(
            "The ends of a coat interval are swapped",
            value=f"t {thickness_low_mm}..{thickness_high_mm} mm, s {share_low_ratio}..{share_high_ratio}",
        )
    return thickness_low_mm * share_low_ratio, thickness_high_mm * share_high_ratio


def before_coat_window(
    *,
    size: CoatedSize,
    finished_low_mm: float,
    finished_high_mm: float,
    thickness_low_mm: float,
    thickness_high_mm: float,
    share_low_ratio: float,
    share_high_ratio: float,
) -> SizeWindow:
    """Sizes before the coat that stay within the finished limits whatever coat comes, within its interval.

    Formula:  growth g = c b, c = +2 shaft, -2 bore, +4 and -4 pitch diameter of an outside and inside 60 deg thread,
              +1 a length with one coated end; low = finished_low - min g, high = finished_high - max g
    Args:     size: what kind of size.   finished_low_mm: lower limit after the coat.   finished_high_mm: upper limit
              after the coat, at least the lower.   thickness_low_mm: >= 0.   thickness_high_mm: at least
              thickness_low_mm.   share_low_ratio: 0..1.   share_high_ratio: at least share_low_ratio, at most 1.
    Returns:  the window in mm; an empty one has low above high, and its width is the signed shortage.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    even coat on every surface concerned; a masked surface has thickness 0.
    Source:   hard_coat_guide worked examples, seen directly; thread_plating_note p. 1173 for threads, seen directly.
              Departs: nothing.
    Checked:  tests/published/test_hard_coat_guide.py, tests/published/test_thread_plating_note.py
    """
    if finished_low_mm > finished_high_mm:
        raise OutOfRange("Finished limits are swapped", value=f"{finished_low_mm}..{finished_high_mm} mm")
    if size not in GROWTH_BY_SIZE:
        raise OutOfRange("Unknown kind of coated size", value=str(size), limit=", ".join(GROWTH_BY_SIZE))
    build_low_mm, build_high_mm = build_up_mm(
        thickness_low_mm=thickness_low_mm,
        thickness_high_mm=thickness_high_mm,
        share_low_ratio=share_low_ratio,
        share_high_ratio=share_high_ratio,
    )
    factor = GROWTH_BY_SIZE[size]
    growth_low_mm, growth_high_mm = sorted((factor * build_low_mm, factor * build_high_mm))
    return SizeWindow(low_mm=finished_low_mm - growth_low_mm, high_mm=finished_high_mm - growth_high_mm)
