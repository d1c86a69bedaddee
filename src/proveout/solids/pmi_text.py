"""What the text of a STEP file tells of its sizes and tolerances that the kernel's reader loses."""

from __future__ import annotations

import re

_ANY = re.compile(
    r"\b(?:DIMENSIONAL_SIZE|DIMENSIONAL_LOCATION|ANGULAR_LOCATION|ANGULAR_SIZE|DIRECTED_DIMENSIONAL_LOCATION|DATUM"
    r"|DATUM_FEATURE|\w++_TOLERANCE)\s*+\("
)
_TOLERANCE = re.compile(
    r"\b(?:POSITION|FLATNESS|CYLINDRICITY|PERPENDICULARITY|PARALLELISM|ANGULARITY|SURFACE_PROFILE|LINE_PROFILE|ROUNDNESS"
    r"|STRAIGHTNESS|SYMMETRY|CONCENTRICITY|COAXIALITY|CIRCULAR_RUNOUT|TOTAL_RUNOUT)_TOLERANCE\s*+\("
)
_SIZE = re.compile(r"\b(?:DIMENSIONAL_SIZE|ANGULAR_SIZE|DIMENSIONAL_LOCATION|ANGULAR_LOCATION)\s*+\(")
_LIMITS = re.compile(r"\bTOLERANCE_VALUE\s*+\(\s*+#(\d++)\s*+,\s*+#(\d++)\s*+\)")
_FIT = re.compile(r"\bLIMITS_AND_FITS\s*+\(\s*+'([^']*+)'\s*+,\s*+'([^']*+)'\s*+,\s*+'([^']*+)'")
_MEASURE = re.compile(r"_MEASURE\s*+\(\s*+([-+0-9.Ee]++)\s*+\)")


def writes_pmi(text: str) -> bool:
    """The file holds sizes, tolerances or datums as data, not as pictures alone."""
    return _ANY.search(text) is not None


def counts(text: str) -> tuple[int, int]:
    """How many sizes and how many geometric tolerances the file holds, whether or not the kernel takes them."""
    return len(_SIZE.findall(text)), len(_TOLERANCE.findall(text))


def one_sided(text: str) -> tuple[tuple[float, float], ...]:
    """Deviations (low, high), in the file's own unit, that lie both above or both below the size.

    The kernel hands deviations on without their sign, so that +0.1/+0.2 looks like -0.1/+0.2.
    """
    found: list[tuple[float, float]] = []
    for low, high in _LIMITS.findall(text):
        ends = [_measure(text, number) for number in (low, high)]
        if None in ends:
            continue
        first, second = sorted(end for end in ends if end is not None)
        if first > 0.0 or second < 0.0:
            found.append((first, second))
    return tuple(found)


def fits(text: str) -> tuple[str, ...]:
    """Classes of fit in words, such as "hole H7", each once, sorted."""
    return tuple(sorted({" ".join(f"{zone} {form}{grade}".split()) for form, zone, grade in _FIT.findall(text)}))


def _measure(text: str, number: str) -> float | None:
    statement = re.search(rf"#{number}\s*+=([^;]*+);", text)
    value = _MEASURE.search(statement[1]) if statement else None
    try:
        return None if value is None else float(value[1])
    except ValueError:
        return None
