"""Limits of size: ISO 286 grades with holes H and shafts h, and the classes f, m, c and v of ISO 2768-1."""

from __future__ import annotations

import math
from typing import Literal

from proveout.quantities.errors import OutOfRange

Grade = Literal[5, 6, 7, 8, 9, 10, 11, 12, 13, 14]
GeneralClass = Literal["f", "m", "c", "v"]

MM_PER_UM = 0.001

# upper end of each size step in mm, then IT5..IT14 in micrometres (source key iso_286_table)
_GRADES_UM: tuple[tuple[float, tuple[int, ...]], ...] = (
    (3.0, (4, 6, 10, 14, 25, 40, 60, 100, 140, 250)),
    (6.0, (5, 8, 12, 18, 30, 48, 75, 120, 180, 300)),
    (10.0, (6, 9, 15, 22, 36, 58, 90, 150, 220, 360)),
    (18.0, (8, 11, 18, 27, 43, 70, 110, 180, 270, 430)),
    (30.0, (9, 13, 21, 33, 52, 84, 130, 210, 330, 520)),
    (50.0, (11, 16, 25, 39, 62, 100, 160, 250, 390, 620)),
    (80.0, (13, 19, 30, 46, 74, 120, 190, 300, 460, 740)),
    (120.0, (15, 22, 35, 54, 87, 140, 220, 350, 540, 870)),
    (180.0, (18, 25, 40, 63, 100, 160, 250, 400, 630, 1000)),
    (250.0, (20, 29, 46, 72, 115, 185, 290, 460, 720, 1150)),
    (315.0, (23, 32, 52, 81, 130, 210, 320, 520, 810, 1300)),
)

# upper end of each size step in mm, then the deviation in mm; None where the standard gives none (iso_2768_table)
GENERAL_STEPS_MM: tuple[float, ...] = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_GENERAL_MM: dict[str, tuple[float | None, ...]] = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
CLASSES = "f, m, c or v"
GENERAL_LOWEST_MM = 0.5


def grade_mm(*, grade: int, size_mm: float) -> float:
    """Width of an ISO 286 tolerance grade.

    Formula:  table by size step ("over, up to and including")
    Args:     grade: 5..14.   size_mm: nominal size, above 0 and at most 315.
    Returns:  mm.
    Raises:   OutOfRange for another grade or size; we do not extrapolate.
    Valid:    0 < size <= 315 mm.
    Source:   iso_286_table, as quoted.   Departs: nothing.
    Checked:  tests/published/test_iso_286_table.py
    """
    if grade not in range(5, 15):
        raise OutOfRange("Tolerance grade is not in the table", value=f"IT{grade}", limit="IT5 to IT14")
    if not (math.isfinite(size_mm) and 0.0 < size_mm <= _GRADES_UM[-1][0]):
        raise OutOfRange("Size is not in the ISO 286 table", value=f"{size_mm} mm", limit="above 0, at most 315 mm")
    for top_mm, row_um in _GRADES_UM:
        if size_mm <= top_mm:
            return row_um[grade - 5] * MM_PER_UM
    raise AssertionError("unreachable: size was checked against the last step")


def hole_h_limits_mm(*, size_mm: float, grade: int) -> tuple[float, float]:
    """Limits of a hole of tolerance class H.

    Formula:  low = size, high = size + IT
    Args:     size_mm: nominal, above 0 and at most 315.   grade: 5..14.
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
    Args:     size_mm: nominal, above 0 and at most 315.   grade: 5..14.
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
    Args:     size_mm: nominal, 0.5..2000 for f, 0.5..4000 for m and c, above 3 to 4000 for v.   general_class: f, m, c
              or v.
    Returns:  mm, to be taken plus and minus.
    Raises:   OutOfRange for another class or size.
    Valid:    linear sizes from 0.5 mm; below that the drawing must carry its own tolerance.
    Source:   iso_2768_table, Table 1, as quoted, for f and m; iso_2768_page, as quoted, for c and v.
              Departs: the first copy has 0.15 and 0.2 for c up to 6 mm; two others and this page have 0.2 and 0.3.
    Checked:  tests/published/test_iso_2768_table.py
    """
    if general_class not in _GENERAL_MM:
        raise OutOfRange("General tolerance class is not in the table", value=general_class, limit=CLASSES)
    if math.isfinite(size_mm) and size_mm >= GENERAL_LOWEST_MM:
        own = (
            deviation_mm
            for top_mm, deviation_mm in zip(GENERAL_STEPS_MM, _GENERAL_MM[general_class], strict=True)
            if size_mm <= top_mm
        )
        if (found_mm := next(own, None)) is not None:
            return found_mm
    raise OutOfRange(
        "Size has no general tolerance in this class",
        value=f"{size_mm} mm, class {general_class}",
        limit="0.5 to 2000 mm for f, 0.5 to 4000 mm for m and c, above 3 to 4000 mm for v",
        do="give the size its own tolerance",
    )


# of external radii and chamfer heights: upper end of the step in mm, deviation in mm of f and m, and of c and v; of
# angles: upper end of the shorter leg in mm, deviation in minutes of f and m, of c, of v (source key iso_2768_page)
_RADII_MM = ((3.0, 0.2, 0.4), (6.0, 0.5, 1.0), (math.inf, 1.0, 2.0))
_ANGLES_MINUTES = (
    (10.0, 60.0, 90.0, 180.0), (50.0, 30.0, 60.0, 120.0), (120.0, 20.0, 30.0, 60.0), (400.0, 10.0, 15.0, 30.0),
    (math.inf, 5.0, 10.0, 20.0),
)  # fmt: skip
_RADII_PLACE = {"f": 1, "m": 1, "c": 2, "v": 2}
_ANGLES_PLACE = {"f": 1, "m": 1, "c": 2, "v": 3}


def general_radius_deviation_mm(*, radius_mm: float, general_class: str) -> float:
    """Permitted deviation, plus and minus, of a radius or a chamfer's height without its own tolerance.

    Formula:  table by size step ("over, up to and including")
    Args:     radius_mm: nominal, >= 0.5.   general_class: f, m, c or v.
    Returns:  mm, to be taken plus and minus.
    Raises:   OutOfRange for another class or size.
    Valid:    external radii and chamfers from 0.5 mm.
    Source:   iso_2768_page, Table 2, as quoted.   Departs: used of inside radii too.
    Checked:  tests/published/test_iso_2768_table.py
    """
    if general_class not in _RADII_PLACE:
        raise OutOfRange("General tolerance class is not in the table", value=general_class, limit=CLASSES)
    if not (math.isfinite(radius_mm) and radius_mm >= GENERAL_LOWEST_MM):
        raise OutOfRange("Radius has no general tolerance", value=f"{radius_mm} mm", limit="0.5 mm or more")
    return next(row[_RADII_PLACE[general_class]] for row in _RADII_MM if radius_mm <= row[0])


def general_angle_deviation_rad(*, leg_mm: float, general_class: str) -> float:
    """Permitted deviation, plus and minus, of an angle without its own tolerance.

    Formula:  table by the length of the shorter leg ("over, up to and including")
    Args:     leg_mm: length of the shorter leg, > 0.   general_class: f, m, c or v.
    Returns:  rad, to be taken plus and minus.
    Raises:   OutOfRange for another class or length.
    Valid:    angles of any size.
    Source:   iso_2768_page, Table 3, as quoted.   Departs: nothing.
    Checked:  tests/published/test_iso_2768_table.py
    """
    if general_class not in _ANGLES_PLACE:
        raise OutOfRange("General tolerance class is not in the table", value=general_class, limit=CLASSES)
    if not (math.isfinite(leg_mm) and leg_mm > 0.0):
        raise OutOfRange("An angle has a leg", value=f"{leg_mm} mm", limit="above 0")
    minutes = next(row[_ANGLES_PLACE[general_class]] for row in _ANGLES_MINUTES if leg_mm <= row[0])
    return math.radians(minutes / 60.0)
