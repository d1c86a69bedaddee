"""Tolerance classes of ISO 286: shafts d to h, js, k, m, n and p, holes D to H, JS, K, M, N and P."""

from __future__ import annotations

from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import MM_PER_UM, grade_mm

# upper end of each size step in mm, from that of the step before it
STEPS_MM: tuple[float, ...] = (3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0, 180.0, 250.0, 315.0)
# distance of the nearer limit from the size, in micrometres: of d to h below it, of k to p above it (source key
# iso_286_deviations, from memory; the test holds d to g and n against the formulas of the standard)
_SHAFTS_UM: dict[str, tuple[int, ...]] = {
    "d": (20, 30, 40, 50, 65, 80, 100, 120, 145, 170, 190),
    "e": (14, 20, 25, 32, 40, 50, 60, 72, 85, 100, 110),
    "f": (6, 10, 13, 16, 20, 25, 30, 36, 43, 50, 56),
    "g": (2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 17),
    "h": (0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0),
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56),
}
BELOW = ("d", "e", "f", "g", "h")
ABOVE = ("k", "m", "n", "p")
LETTERS = (*BELOW, "js", *ABOVE)
# the one hole that the standard sets apart from its own rule
_M6_APART = (250.0, 315.0, -9)


def _row(letter: str, size_mm: float) -> float:
    place = next(place for place, top_mm in enumerate(STEPS_MM) if size_mm <= top_mm)
    return _SHAFTS_UM[letter][place] * MM_PER_UM


def shaft_limits_mm(*, letter: str, grade: int, size_mm: float) -> tuple[float, float]:
    """Limits of a shaft of a tolerance class.

    Formula:  d to h: high = size - a, low = high - IT; js: size -+ IT/2; k to p: low = size + a, high = low + IT
              (a from the table by size step; 0 of k beyond IT7)
    Args:     letter: d, e, f, g, h, js, k, m, n or p.   grade: 5..14.   size_mm: nominal, above 0 and at most 315.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another letter, grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_deviations, from memory.   Departs: nothing.
    Checked:  tests/published/test_iso_286_deviations.py
    """
    width = grade_mm(grade=grade, size_mm=size_mm)
    if letter == "js":
        return size_mm - 0.5 * width, size_mm + 0.5 * width
    if letter in BELOW:
        high = size_mm - _row(letter, size_mm)
        return high - width, high
    if letter in ABOVE:
        low = size_mm + (0.0 if letter == "k" and grade > 7 else _row(letter, size_mm))
        return low, low + width
    raise OutOfRange("This letter of a shaft is not in the table", value=letter, limit=", ".join(LETTERS))


def hole_limits_mm(*, letter: str, grade: int, size_mm: float) -> tuple[float, float]:
    """Limits of a hole of a tolerance class.

    Formula:  D to H: low = size + a, high = low + IT; JS: size -+ IT/2; K, M, N to IT8 and P to IT7: high = size - a +
              (IT of this grade - IT of the next finer one), the bracket 0 up to 3 mm; M beyond IT8 and P beyond IT7:
              high = size - a; N beyond IT8: high = size, up to 3 mm size - a; low = high - IT   (a of the shaft)
    Args:     letter: D, E, F, G, H, JS, K, M, N or P.   grade: 5..14; 6..8 of K, 6..14 of M, N and P.   size_mm:
              nominal, above 0 and at most 315.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another letter, grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_deviations, from memory.   Departs: K, M, N and P of IT5 are left out, for want of IT4.
    Checked:  tests/published/test_iso_286_deviations.py
    """
    width = grade_mm(grade=grade, size_mm=size_mm)
    small = letter.lower()
    if letter == "JS":
        return size_mm - 0.5 * width, size_mm + 0.5 * width
    if letter != letter.upper() or small not in (*BELOW, *ABOVE):
        raise OutOfRange(
            "This letter of a hole is not in the table", value=letter, limit=", ".join(one.upper() for one in LETTERS)
        )
    if small in BELOW:
        low = size_mm + _row(small, size_mm)
        return low, low + width
    high = size_mm + _upper_mm(small, grade, size_mm)
    return high - width, high


def _upper_mm(small: str, grade: int, size_mm: float) -> float:
    """Distance of the upper limit of a hole K, M, N or P from its size, below 0 where it lies below."""
    if grade < 6 or (small == "k" and grade > 8):
        raise OutOfRange(
            "This tolerance class is not in the table", value=f"{small.upper()}{grade}", limit="K6 to K8, M6, N6, P6 up"
        )
    is_small, finest = size_mm <= STEPS_MM[0], 7 if small == "p" else 8
    if grade > finest:
        return 0.0 if small == "n" and not is_small else -_row(small, size_mm)
    if small == "m" and grade == 6 and _M6_APART[0] < size_mm <= _M6_APART[1]:
        return _M6_APART[2] * MM_PER_UM
    finer = 0.0 if is_small else grade_mm(grade=grade, size_mm=size_mm) - grade_mm(grade=grade - 1, size_mm=size_mm)
    return finer - _row(small, size_mm)
