"""Pitch diameters of threads: metric ones of ISO 965 and unified ones of ASME B1.1."""

from __future__ import annotations

import math
from typing import Literal

from proveout.quantities.errors import OutOfRange
from proveout.quantities.unified import UNIFIED_TURNS
from proveout.quantities.units import MM_PER_INCH

# basic pitch diameter: 2 x 3/8 of the height of the sharp 60 deg profile below the major one, for each unit of pitch
PITCH_DIAMETER_RATIO = 0.375 * math.sqrt(3.0)
# diameters of ISO 965 by groups: over, up to and including, mm
GROUPS_MM: tuple[tuple[float, float], ...] = (
    (0.99, 1.4), (1.4, 2.8), (2.8, 5.6), (5.6, 11.2), (11.2, 22.4), (22.4, 45.0), (45.0, 90.0), (90.0, 180.0),
)  # fmt: skip
# tolerance of the pitch diameter, grade 6, in micrometres: by upper end of the group and pitch, inside and outside
# thread (source key iso_965_rules, from memory)
_GRADE_6_UM: dict[tuple[float, float], tuple[int, int]] = {
    (2.8, 0.4): (90, 67), (2.8, 0.45): (95, 71),
    (5.6, 0.5): (100, 75), (5.6, 0.7): (118, 90), (5.6, 0.75): (118, 90), (5.6, 0.8): (125, 95),
    (11.2, 0.75): (132, 100), (11.2, 1.0): (150, 112), (11.2, 1.25): (160, 118), (11.2, 1.5): (180, 132),
    (22.4, 1.0): (160, 118), (22.4, 1.25): (180, 132), (22.4, 1.5): (190, 140), (22.4, 1.75): (200, 150),
    (22.4, 2.0): (212, 160), (22.4, 2.5): (224, 170),
    (45.0, 1.0): (170, 125), (45.0, 1.5): (200, 150), (45.0, 2.0): (224, 170), (45.0, 3.0): (265, 200),
}  # fmt: skip
# share of the tolerance of an outside thread of grade 6
_INSIDE_SHARES = {4: 0.85, 5: 1.06, 6: 1.32, 7: 1.70, 8: 2.12}
_OUTSIDE_SHARES = {3: 0.50, 4: 0.63, 5: 0.80, 6: 1.00, 7: 1.25, 8: 1.60, 9: 2.00}
# distance of positions g and G from the basic profile, in micrometres by pitch (source key iso_965_rules, from memory)
_POSITION_UM = {
    0.5: 20, 0.7: 22, 0.75: 22, 0.8: 24, 1.0: 26, 1.25: 28, 1.5: 32, 1.75: 34, 2.0: 38, 2.5: 42, 3.0: 48,
}  # fmt: skip
R40 = (
    1.00, 1.06, 1.12, 1.18, 1.25, 1.32, 1.40, 1.50, 1.60, 1.70, 1.80, 1.90, 2.00, 2.12, 2.24, 2.36, 2.50, 2.65, 2.80,
    3.00, 3.15, 3.35, 3.55, 3.75, 4.00, 4.25, 4.50, 4.75, 5.00, 5.30, 5.60, 6.00, 6.30, 6.70, 7.10, 7.50, 8.00, 8.50,
    9.00, 9.50,
)  # fmt: skip
_UNIFIED_SHARES = {"1B": 1.95, "2B": 1.30, "3B": 0.975, "1A": 1.50, "2A": 1.00, "3A": 0.75}
# of the tolerance of 2A: how far 1A and 2A lie below the basic profile (source key unified_rules, from memory)
_ALLOWANCE_SHARES = {"1A": 0.300, "2A": 0.300, "3A": 0.0}
# places that the limits, and the tolerance that they are multiples of, are rounded to
INCH_PLACES, TOLERANCE_PLACES = 4, 6
# where the table printed (thread_limits_table) lies 0.0001 in inside the rule: 6-32 3B
_PRINTED_IN = {(0.138, 32, "3B"): 0.1204}


def basic_pitch_diameter_mm(*, major_mm: float, pitch_mm: float) -> float:
    """Pitch diameter of the basic 60 deg profile.

    Formula:  d2 = d - 0.649519 P
    Args:     major_mm: d, > 0.   pitch_mm: P, > 0 and below d.
    Returns:  mm.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    metric and unified threads of 60 deg.
    Source:   iso_965_rules, from memory.   Departs: nothing.
    Checked:  tests/published/test_thread_limits_table.py, tests/published/test_thread_rules.py
    """
    if not 0.0 < pitch_mm < major_mm < math.inf:
        raise OutOfRange("No thread has this pitch", value=f"{pitch_mm} mm on {major_mm} mm", limit="0 < P < d")
    return major_mm - PITCH_DIAMETER_RATIO * pitch_mm


def metric_pitch_tolerance_mm(
    *, major_mm: float, pitch_mm: float, grade: int, side: Literal["inside", "outside"]
) -> float:
    """Tolerance of the pitch diameter of a metric thread.

    Formula:  grade 6 from the table; else T = share x 90 P^0.4 d^0.1 micrometres, rounded down to the next of R40 (d
              geometric mean of its group of diameters)
    Args:     major_mm: d, 0.99..180, the lower end left out.   pitch_mm: P, 0.2..6.   grade: 4..8 inside, 3..9
              outside.   side: of a nut's or of a screw's thread.
    Returns:  mm; rounded down, so that it is never wider than the standard's own where that was compared.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    threads of normal length of engagement.
    Source:   iso_965_rules, from memory.   Departs: the standard rounds to the nearest, or up where its rows run so.
    Checked:  tests/published/test_thread_rules.py
    """
    is_inside = side == "inside"
    shares = _INSIDE_SHARES if is_inside else _OUTSIDE_SHARES
    group = next((g for g in GROUPS_MM if g[0] < major_mm <= g[1]), None)
    if group is None or not 0.2 <= pitch_mm <= 6.0 or grade not in shares:
        raise OutOfRange(
            "This metric thread is not in the rules", value=f"M{major_mm:g} x {pitch_mm:g}, grade {grade}",
            limit=f"M1 to M180, pitch 0.2 to 6, grades {min(shares)} to {max(shares)}",
        )  # fmt: skip
    printed = _GRADE_6_UM.get((group[1], pitch_mm))
    if grade == 6 and printed is not None:
        return printed[0 if is_inside else 1] / 1000.0
    return _down_to_r40(shares[grade] * 90.0 * pitch_mm**0.4 * math.sqrt(group[0] * group[1]) ** 0.1) / 1000.0


def _down_to_r40(value: float) -> float:
    power = 10.0 ** math.floor(math.log10(value))
    return max(step for step in R40 if step * power <= value * (1.0 + 1e-12)) * power


def metric_pitch_diameters_mm(*, major_mm: float, pitch_mm: float, grade: int, position: str) -> tuple[float, float]:
    """Limits of the pitch diameter of a metric thread.

    Formula:  H: low = d2, G: low = d2 + A, high = low + T; h: high = d2, g: high = d2 - A, low = high - T   (d2 basic
              pitch diameter to the micrometre, A distance of the position, T tolerance)
    Args:     major_mm: d.   pitch_mm: P.   grade: 4..8 of H and G, 3..9 of h and g.   position: H, G, h or g.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another thread, grade or position.
    Valid:    as metric_pitch_tolerance_mm; G and g for the pitches of the table.
    Source:   iso_965_rules, from memory; iso_965_table for M5, M6 and M8 of 6H.   Departs: nothing.
    Checked:  tests/published/test_thread_rules.py
    """
    if position not in ("H", "G", "h", "g"):
        raise OutOfRange("This position of a thread is not known here", value=position, limit="H, G, h, g")
    basic = round(basic_pitch_diameter_mm(major_mm=major_mm, pitch_mm=pitch_mm), 3)
    inside = position.isupper()
    width = metric_pitch_tolerance_mm(
        major_mm=major_mm, pitch_mm=pitch_mm, grade=grade, side="inside" if inside else "outside"
    )
    off = 0.0
    if position in ("G", "g"):
        if pitch_mm not in _POSITION_UM:
            raise OutOfRange(
                "The position of this pitch is not in the table", value=f"{position} of {pitch_mm:g} mm",
                limit=", ".join(f"{p:g}" for p in _POSITION_UM),
            )  # fmt: skip
        off = _POSITION_UM[pitch_mm] / 1000.0
    return (basic + off, basic + off + width) if inside else (basic - off - width, basic - off)


def unified_pitch_diameters_mm(*, major_mm: float, turns_count: int, thread_class: str) -> tuple[float, float]:
    """Limits of the pitch diameter of a unified thread, coarse or fine, without a coat.

    Formula:  inside: low = E, high = E + k T; outside: high = E - a T, low = high - k T; E = D - 0.649519 p;
              T = 0.0015 D^(1/3) + 0.0015 D^(1/2) + 0.015 p^(2/3); all in inches, T rounded to 0.000001 in, each term to
              0.0001 in   (p pitch, D major diameter and length of engagement; k 1.95 of 1B, 1.30 of 2B, 0.975 of 3B,
              1.5 of 1A, 1 of 2A, 0.75 of 3A; a the allowance, 0.3 of 1A and 2A, 0 of 3A)
    Args:     major_mm: D, that of a size from No. 0 to 1 in.   turns_count: turns an inch, coarse or fine.
              thread_class: 1B, 2B, 3B, 1A, 2A or 3A.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another thread or class.
    Valid:    UNC and UNF up to 1 in, engaged over one diameter.
    Source:   unified_rules, from memory; thread_limits_table p. 286, seen directly, for ten inside threads;
              unified_page, as quoted, for eleven outside ones.
              Departs: 6-32 3B as printed, 0.0001 in inside the rule.
    Checked:  tests/published/test_thread_limits_table.py
    """
    size = next((inch for inch in UNIFIED_TURNS if abs(inch * MM_PER_INCH - major_mm) < 1e-6), None)
    if size is None or turns_count not in UNIFIED_TURNS[size].main or thread_class not in _UNIFIED_SHARES:
        raise OutOfRange(
            "This unified thread is not in the rules",
            value=f"{major_mm / MM_PER_INCH:.4f}-{turns_count} {thread_class}",
            limit="UNC and UNF from No. 0 to 1 in, classes 1B, 2B, 3B, 1A, 2A, 3A",
        )
    pitch = 1.0 / turns_count
    basic = basic_pitch_diameter_mm(major_mm=size, pitch_mm=pitch)
    wide: float = round(
        0.0015 * size ** (1.0 / 3.0) + 0.0015 * math.sqrt(size) + 0.015 * pitch ** (2.0 / 3.0), TOLERANCE_PLACES
    )
    low = round(basic, INCH_PLACES)
    width = round(_UNIFIED_SHARES[thread_class] * wide, INCH_PLACES)
    if thread_class in _ALLOWANCE_SHARES:
        top = low - round(_ALLOWANCE_SHARES[thread_class] * wide, INCH_PLACES)
        return (top - width) * MM_PER_INCH, top * MM_PER_INCH
    high = low + width
    return low * MM_PER_INCH, _PRINTED_IN.get((size, turns_count, thread_class), high) * MM_PER_INCH
