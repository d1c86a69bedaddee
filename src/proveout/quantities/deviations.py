"""Tolerance classes of ISO 286: shafts a to h, js, k to u, x and z, holes A to H, JS, K to U, X and Z."""

from __future__ import annotations

from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import MM_PER_UM, grade_mm

# upper end of each size step in mm, from that of the step before it
STEPS_MM: tuple[float, ...] = (3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0, 180.0, 250.0, 315.0)
# the finer steps of letters far from the size
FINE_STEPS_MM: tuple[float, ...] = (
    3.0, 6.0, 10.0, 14.0, 18.0, 24.0, 30.0, 40.0, 50.0, 65.0, 80.0, 100.0, 120.0, 140.0, 160.0, 180.0, 200.0, 225.0,
    250.0, 280.0, 315.0,
)  # fmt: skip
# distance of the nearer limit from the size, in micrometres: of a to h below it, of k to z above it (source key
# iso_286_deviations, from memory; the test holds all but k and p against the formulas of the standard)
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
# the same by the finer steps; None where the standard has no such class
_FAR_SHAFTS_UM: dict[str, tuple[int | None, ...]] = {
    "a": (270, 270, 280, 290, 290, 300, 300, 310, 320, 340, 360, 380, 410, 460, 520, 580, 660, 740, 820, 920, 1050),
    "b": (140, 140, 150, 150, 150, 160, 160, 170, 180, 190, 200, 220, 240, 260, 280, 310, 340, 380, 420, 480, 540),
    "c": (60, 70, 80, 95, 95, 110, 110, 120, 130, 140, 150, 170, 180, 200, 210, 230, 240, 260, 280, 300, 330),
    "r": (10, 15, 19, 23, 23, 28, 28, 34, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98),
    "s": (14, 19, 23, 28, 28, 35, 35, 43, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170),
    "t": (
        None, None, None, None, None, None, 41, 48, 54, 66, 75, 91, 104, 122, 134, 146, 166, 180, 196, 218, 240,
    ),
    "u": (18, 23, 28, 33, 33, 41, 48, 60, 70, 87, 102, 124, 144, 170, 190, 210, 236, 258, 284, 315, 350),
    "x": (20, 28, 34, 40, 45, 54, 64, 80, 97, 122, 146, 178, 210, 248, 280, 310, 350, 385, 425, 475, 525),
    "z": (26, 35, 42, 50, 60, 73, 88, 112, 136, 172, 210, 258, 310, 365, 415, 465, 520, 575, 640, 710, 790),
}  # fmt: skip
BELOW = ("a", "b", "c", "d", "e", "f", "g", "h")
ABOVE = ("k", "m", "n", "p", "r", "s", "t", "u", "x", "z")
# of these the holes follow the rule of P: the finer grade's difference counts up to IT7
_FAR_ABOVE = ("p", "r", "s", "t", "u", "x", "z")
LETTERS = (*BELOW, "js", *ABOVE)
# the one hole that the standard sets apart from its own rule
_M6_APART = (250.0, 315.0, -9)
LEAST_A_B_MM = 1.0


def _row(letter: str, size_mm: float) -> float:
    is_far = letter in _FAR_SHAFTS_UM
    steps = FINE_STEPS_MM if is_far else STEPS_MM
    place = next(place for place, top_mm in enumerate(steps) if size_mm <= top_mm)
    if letter in ("a", "b") and size_mm <= LEAST_A_B_MM:
        raise OutOfRange(
            "The table has no class of this letter for sizes so small", value=f"{size_mm:g} mm", limit="above 1 mm"
        )
    found = (_FAR_SHAFTS_UM if is_far else _SHAFTS_UM)[letter][place]
    if found is None:
        raise OutOfRange(
            "The table has no class of this letter for sizes so small", value=f"{size_mm:g} mm", limit="above 24 mm"
        )
    return found * MM_PER_UM


def shaft_limits_mm(*, letter: str, grade: int, size_mm: float) -> tuple[float, float]:
    """Limits of a shaft of a tolerance class.

    Formula:  a to h: high = size - a, low = high - IT; js: size -+ IT/2; k to z: low = size + a, high = low + IT
              (a from the table by size step; 0 of k beyond IT7)
    Args:     letter: a to h, js, k, m, n, p, r, s, t, u, x or z.   grade: 5..14.   size_mm: nominal, above
              0 and at most 315.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another letter, grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm; a and b above 1 mm, t above 24 mm.
    Source:   iso_286_deviations, from memory; iso_286_page, as quoted, for a, b and c above 180 mm.
              Departs: cd, ef, fg, j, v, y, za, zb and zc are left out.
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

    Formula:  A to H: low = size + a, high = low + IT; JS: size -+ IT/2; K, M, N to IT8 and P to Z to IT7: high = size -
              a + (IT of this grade - IT of the next finer one), the bracket 0 up to 3 mm; M beyond IT8 and P to Z
              beyond IT7: high = size - a; N beyond IT8: high = size, up to 3 mm size - a; low = high - IT   (a of the
              shaft)
    Args:     letter: A to H, JS, K, M, N, P, R, S, T, U, X or Z.   grade: 5..14; 6..8 of K, 6..14 from M on.   size_mm:
              nominal, above 0 and at most 315.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another letter, grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm; A and B above 1 mm, T above 24 mm.
    Source:   iso_286_deviations, from memory; iso_286_page, as quoted, for A, B and C above 180 mm.
              Departs: K to Z of IT5 are left out, for want of IT4.
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
    """Distance of the upper limit of a hole K to Z from its size, below 0 where it lies below."""
    if grade < 6 or (small == "k" and grade > 8):
        raise OutOfRange(
            "This tolerance class is not in the table", value=f"{small.upper()}{grade}", limit="K6 to K8, M6 to Z6 up"
        )
    is_small, finest = size_mm <= STEPS_MM[0], 7 if small in _FAR_ABOVE else 8
    if grade > finest:
        return 0.0 if small == "n" and not is_small else -_row(small, size_mm)
    if small == "m" and grade == 6 and _M6_APART[0] < size_mm <= _M6_APART[1]:
        return _M6_APART[2] * MM_PER_UM
    finer = 0.0 if is_small else grade_mm(grade=grade, size_mm=size_mm) - grade_mm(grade=grade - 1, size_mm=size_mm)
    return finer - _row(small, size_mm)
