"""Limits of size: ISO 286 grades with holes H and shafts h, and ISO 2768-1 linear classes f and m."""

from __future__ import annotations

import math
from typing import Literal

from proveout.quantities.errors import OutOfRange

Grade = Literal[6, 7, 8, 9, 10, 11, 12, 13, 14]
GeneralClass = Literal["f", "m"]

MM_PER_UM = 0.001

# upper end of each size step in mm, then IT6..IT14 in micrometres (source key iso_286_table)
_GRADES_UM: tuple[tuple[float, tuple[int, ...]], ...] = (
    (3.0, (6, 10, 14, 25, 40, 60, 100, 140, 250)),
    (6.0, (8, 12, 18, 30, 48, 75, 120, 180, 300)),
    (10.0, (9, 15, 22, 36, 58, 90, 150, 220, 360)),
    (18.0, (11, 18, 27, 43, 70, 110, 180, 270, 430)),
    (30.0, (13, 21, 33, 52, 84, 130, 210, 330, 520)),
    (50.0, (16, 25, 39, 62, 100, 160, 250, 390, 620)),
    (80.0, (19, 30, 46, 74, 120, 190, 300, 460, 740)),
    (120.0, (22, 35, 54, 87, 140, 220, 350, 540, 870)),
    (180.0, (25, 40, 63, 100, 160, 250, 400, 630, 1000)),
    (250.0, (29, 46, 72, 115, 185, 290, 460, 720, 1150)),
    (315.0, (32, 52, 81, 130, 210, 320, 520, 810, 1300)),
)

# upper end of each size step in mm, then the deviation in mm; None where the standard gives none (iso_2768_table)
GENERAL_STEPS_MM: tuple[float, ...] = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_GENERAL_MM: dict[str, tuple[float | None, ...]] = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
}
GENERAL_LOWEST_MM = 0.5


def grade_mm(*, grade: int, size_mm: float) -> float:
    """Width of an ISO 286 tolerance grade.

    Formula:  table by size step ("over, up to and including")
    Args:     grade: 6..14.   size_mm: nominal size, above 0 and at most 315.
    Returns:  mm.
    Raises:   OutOfRange for another grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_table, as quoted.   Departs: nothing.
    Checked:  tests/published/test_iso_286_table.py
    """
    if grade not in range(6, 15):
        raise OutOfRange("Tolerance grade is not in the table", value=f"IT{grade}", limit="IT6 to IT14")
    if not (math.isfinite(size_mm) and 0.0 < size_mm <= _GRADES_UM[-1][0]):
        raise OutOfRange("Size is not in the ISO 286 table", value=f"{size_mm} mm", limit="above 0, at most 315 mm")
    for top_mm, row_um in _GRADES_UM:
        if size_mm <= top_mm:
            return row_um[grade - 6] * MM_PER_UM
    raise AssertionError("unreachable: size was checked against the last step")


def hole_h_limits_mm(*, size_mm: float, grade: int) -> tuple[float, float]:
    """Limits of a hole of tolerance class H.

    Formula:  low = size, high = size + IT
    Args:     size_mm: nominal, above 0 and at most 315.   grade: 6..14.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another grade or size.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_table, as quoted.   Departs: nothing.
    Checked:  tests/published/test_iso_286_table.py
    """
    return size_mm, size_mm + grade_mm(grade=grade, size_mm=size_mm)


def shaft_h_limits_mm(*, size_mm: float, grade: int) -> tuple[float, float]:
    """Limits of a shaft of tolerance class h.

    Formula:  low = size - IT, high = size
    Args:     size_mm: nominal, above 0 and at most 315.   grade: 6..14.
    Returns:  (low, high) in mm.
    Raises:   OutOfRange for another grade or size.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_table, as quoted.   Departs: nothing.
    Checked:  tests/published/test_iso_286_table.py
    """
    return size_mm - grade_mm(grade=grade, size_mm=size_mm), size_mm


def general_deviation_mm(*, size_mm: float, general_class: str) -> float:
    """Permitted deviation, plus and minus, of a linear size without its own tolerance.

    Formula:  table by size step ("over, up to and including")
    Args:     size_mm: nominal, 0.5..2000 for f, 0.5..4000 for m.   general_class: "f" or "m".
    Returns:  mm, to be taken plus and minus.
    Raises:   OutOfRange for another class or size; the coarse rows are refused because the copy seen is in doubt.
    Valid:    linear sizes from 0.5 mm; below that the drawing must carry its own tolerance.
    Source:   iso_2768_table, Table 1, as quoted.   Departs: classes c and v are left out.
    Checked:  tests/published/test_iso_2768_table.py
    """
    if general_class not in _GENERAL_MM:
        raise OutOfRange("General tolerance class is not in the table", value=general_class, limit='"f" or "m"')
    if math.isfinite(size_mm) and size_mm >= GENERAL_LOWEST_MM:
        for top_mm, deviation_mm in zip(GENERAL_STEPS_MM, _GENERAL_MM[general_class], strict=True):
            if size_mm <= top_mm and deviation_mm is not None:
                return deviation_mm
    raise OutOfRange(
        "Size has no general tolerance in this class",
        value=f"{size_mm} mm, class {general_class}",
        limit="0.5 to 2000 mm for f, 0.5 to 4000 mm for m",
        do="give the size its own tolerance",
    )
