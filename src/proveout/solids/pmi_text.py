"""What the text of a STEP file tells of its sizes and tolerances that the kernel's reader loses."""

from __future__ import annotations

import re
from typing import NamedTuple

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
_CLASS = re.compile(r"[A-Za-z]{1,2}\d{1,2}")
_OF_SIZE = re.compile(r"\bPLUS_MINUS_TOLERANCE\s*+\(\s*+#(\d++)\s*+,\s*+#(\d++)")
_SIZED = re.compile(r"\bDIMENSIONAL_SIZE\s*+\(\s*+#(\d++)")
_PARTS = re.compile(r"\bSHAPE_ASPECT_RELATIONSHIP\s*+\([^#]*+#(\d++)\s*+,\s*+#(\d++)")
_ITEMS = re.compile(r"\bGEOMETRIC_ITEM_SPECIFIC_USAGE\s*+\([^#]*+#(\d++)\s*+,\s*+#\d++\s*+,\s*+#(\d++)")
_SHELL = re.compile(r"\bCLOSED_SHELL\s*+\([^(]*+\(([^)]*+)\)")
_DEPTH_MAX = 8
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


class Fit(NamedTuple):
    """A class of fit, as "H7", and the places in the file's only closed shell of the faces that it is written on."""

    text: str
    places: frozenset[int]


def fits(text: str) -> tuple[Fit, ...]:
    """Classes of fit with their faces; a fit whose faces cannot be told has no places.

    The kernel loses them: it knows no fit that is written in one word, and hands the others on where nobody can read.
    """
    if "LIMITS_AND_FITS" not in text:
        return ()
    bodies: dict[str, str] = {}
    for statement in text.split(";"):
        if (found := _instance(statement)) is not None:
            bodies[found[0]] = found[1]
    size_of: dict[str, str] = {}
    for body in bodies.values():
        if (pair := _pair(_OF_SIZE, body)) is not None:
            size_of[pair[0]] = pair[1]
    parts: dict[str, list[str]] = {}
    for body in bodies.values():
        for finder in (_PARTS, _ITEMS):
            if (pair := _pair(finder, body)) is not None:
                parts.setdefault(pair[0], []).append(pair[1])
    shells = _SHELL.findall(text)
    order = (
        {number: place for place, number in enumerate(re.findall(r"#(\d++)", shells[0]))} if len(shells) == 1 else {}
    )
    out: list[Fit] = []
    for number, body in bodies.items():
        named = _FIT.search(body)
        if named is None:
            continue
        words = f"{named[1]}{named[3]}".replace(" ", "")
        sized = _SIZED.search(bodies.get(size_of.get(number, ""), ""))
        faces = _below(sized[1], parts, 0) if sized and _CLASS.fullmatch(words) else set[str]()
        out.append(Fit(words, frozenset(order[face] for face in faces if face in order)))
    return tuple(out)


def _instance(statement: str) -> tuple[str, str] | None:
    found = re.match(r"\s*+#(\d++)\s*+=", statement)
    return (found[1], statement[found.end() :]) if found else None


def _pair(finder: re.Pattern[str], body: str) -> tuple[str, str] | None:
    found = finder.search(body)
    return (found[1], found[2]) if found else None


def _below(number: str, parts: dict[str, list[str]], depth: int) -> set[str]:
    """Everything that an aspect and its parts point at."""
    own = set(parts.get(number, []))
    return own.union(*(_below(part, parts, depth + 1) for part in own)) if depth < _DEPTH_MAX else own


def _measure(text: str, number: str) -> float | None:
    statement = re.search(rf"#{number}\s*+=([^;]*+);", text)
    value = _MEASURE.search(statement[1]) if statement else None
    try:
        return None if value is None else float(value[1])
    except ValueError:
        return None
