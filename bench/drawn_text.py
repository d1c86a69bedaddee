"""What a STEP file writes about its faces, by its text alone: sizes, tolerances and datums, for comparing with ours."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from part21 import Instance, Ref, Typed, instances

SIZES = ("DIMENSIONAL_SIZE", "ANGULAR_SIZE", "DIMENSIONAL_SIZE_WITH_PATH", "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE")
PLACES = (
    "DIMENSIONAL_LOCATION", "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION", "DIMENSIONAL_LOCATION_WITH_PATH",
)  # fmt: skip
TOLERANCES = {
    "POSITION_TOLERANCE": "position", "FLATNESS_TOLERANCE": "flatness", "CYLINDRICITY_TOLERANCE": "cylindricity",
    "PERPENDICULARITY_TOLERANCE": "perpendicularity", "PARALLELISM_TOLERANCE": "parallelism",
    "ANGULARITY_TOLERANCE": "angularity", "SURFACE_PROFILE_TOLERANCE": "profile of a surface",
    "LINE_PROFILE_TOLERANCE": "profile of a line", "ROUNDNESS_TOLERANCE": "roundness",
    "STRAIGHTNESS_TOLERANCE": "straightness", "SYMMETRY_TOLERANCE": "symmetry",
    "CONCENTRICITY_TOLERANCE": "concentricity", "COAXIALITY_TOLERANCE": "coaxiality",
    "CIRCULAR_RUNOUT_TOLERANCE": "circular runout", "TOTAL_RUNOUT_TOLERANCE": "total runout",
}  # fmt: skip
TARGETS = ("DATUM_TARGET", "PLACED_DATUM_TARGET_FEATURE")
DEPTH_MAX = 8


@dataclass(frozen=True)
class TextSize:
    """One size: deviations and limits in mm (degrees of an angle), None where the file writes none."""

    is_place: bool
    name: str
    nominal: float | None
    low: float | None
    high: float | None
    fit: str
    faces_count: int


@dataclass(frozen=True)
class TextTolerance:
    """One geometric tolerance."""

    kind: str
    value_mm: float
    datums_count: int
    faces_count: int


@dataclass(frozen=True)
class Text:
    """All that one file writes."""

    sizes: tuple[TextSize, ...]
    tolerances: tuple[TextTolerance, ...]
    datums: tuple[str, ...]
    targets_count: int


class _File:
    """The instances of a file, and which of them point at a shape aspect."""

    def __init__(self, path: Path) -> None:
        self.all = instances(path)
        self.solid_faces: set[int] = set()
        self._parts: dict[int, list[int]] = defaultdict(list)
        self._items: dict[int, list[int]] = defaultdict(list)
        for one in self.all.values():
            relation = one.any("SHAPE_ASPECT_RELATIONSHIP", "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP")
            if relation is not None:
                self._parts[relation[2]].append(relation[3])
            self.solid_faces.update(_refs((one.any("CLOSED_SHELL") or ("", ()))[1]))
            usage = one.any("GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE")
            if usage is not None:
                self._items[usage[2]].extend(_refs(usage[4]))

    def having(self, *names: str) -> list[Instance]:
        return [one for one in self.all.values() if one.any(*names) is not None]

    def faces(self, aspect: int, depth: int = 0) -> set[int]:
        """Faces of closed shells that an aspect and its parts are; files hold loose faces for drawing as well."""
        own = self.solid_faces & set(self._items.get(aspect, []))
        if depth < DEPTH_MAX:
            for part in self._parts.get(aspect, []):
                own |= self.faces(part, depth + 1)
        return own

    def measure(self, number: int) -> float:
        """A measure in mm, or in degrees."""
        record = self.all[number].any("MEASURE_WITH_UNIT", "LENGTH_MEASURE_WITH_UNIT", "PLANE_ANGLE_MEASURE_WITH_UNIT")
        if not record:
            record = self.all[number].any("MEASURE_REPRESENTATION_ITEM")
            record = record[1:] if record else None
        assert record, f"#{number} is no measure"
        value, unit = record[0], record[1]
        number_of = value.values[0] if isinstance(value, Typed) else value
        return number_of * self._scale(unit) if isinstance(value, Typed) and "ANGLE" not in value.name else number_of

    def _scale(self, unit: int) -> float:
        """Millimetres in a length unit."""
        one = self.all[unit]
        based = one.any("CONVERSION_BASED_UNIT")
        if based is not None:
            return self.measure(based[1])
        si = one.any("SI_UNIT")
        assert si is not None, f"#{unit} is no unit"
        return {".MILLI.": 1.0, ".CENTI.": 10.0, ".MICRO.": 1e-3, None: 1000.0}[si[-2]]


def text_of(path: Path) -> Text:
    """All that the file writes in a form that a program can read."""
    file = _File(path)
    values = {record[0]: record[1] for one in file.all.values()
              if (record := one.any("DIMENSIONAL_CHARACTERISTIC_REPRESENTATION"))}  # fmt: skip
    ranges = {record[1]: record[0] for one in file.all.values() if (record := one.any("PLUS_MINUS_TOLERANCE"))}
    sizes = tuple(_size(file, one, values.get(one.number), ranges.get(one.number))
                  for one in file.having(*SIZES, *PLACES))  # fmt: skip
    tolerances = tuple(_tolerance(file, one) for one in file.having("GEOMETRIC_TOLERANCE", *TOLERANCES))
    letters = sorted({str(record[4]) for one in file.having("DATUM") if (record := one.records["DATUM"])})
    return Text(sizes, tolerances, tuple(letters), len(file.having(*TARGETS)))


def _refs(value: Any) -> list[int]:
    if isinstance(value, Ref):
        return [int(value)]
    if isinstance(value, Typed):
        return _refs(value.values)
    return [number for one in value for number in _refs(one)] if isinstance(value, tuple) else []


def _size(file: _File, one: Instance, shown: int | None, limits: int | None) -> TextSize:
    place = one.any(*PLACES, "SHAPE_ASPECT_RELATIONSHIP")
    is_place = one.any(*PLACES) is not None
    record = one.any(*SIZES) if not is_place else place
    assert record is not None
    if is_place:
        name, aspects = str(record[0]), list(record[2:4])
    else:
        name, aspects = str(record[1]), [record[0]]
    nominal = low = high = None
    shown_record = file.all[shown].any("SHAPE_DIMENSION_REPRESENTATION") if shown else None
    for item in _refs(shown_record[1]) if shown_record else []:
        held = file.all[item]
        called = held.any("REPRESENTATION_ITEM")
        named = called or next((record for record in held.records.values() if record), ("",))
        label = str(named[0])
        if held.any("MEASURE_WITH_UNIT", "LENGTH_MEASURE_WITH_UNIT", "MEASURE_REPRESENTATION_ITEM") is None:
            continue
        value = file.measure(item)
        if label == "upper limit":
            high = value
        elif label == "lower limit":
            low = value
        elif nominal is None:
            nominal = value
    fit = ""
    if limits is not None:
        ends = file.all[limits].any("TOLERANCE_VALUE")
        if ends is not None and nominal is not None:
            low, high = nominal + file.measure(ends[0]), nominal + file.measure(ends[1])
        named = file.all[limits].any("LIMITS_AND_FITS")
        fit = f"{named[0]}{named[2]}" if named else ""
    faces = set().union(*(file.faces(aspect) for aspect in aspects))
    return TextSize(is_place, name, nominal, low, high, fit, len(faces))


def _tolerance(file: _File, one: Instance) -> TextTolerance:
    kind = next((words for name, words in TOLERANCES.items() if name in one.records), "")
    record = one.any("GEOMETRIC_TOLERANCE") or one.any(*TOLERANCES)
    assert record, f"#{one.number} is no tolerance"
    value, aspect = record[2], record[3]
    reference = one.any("GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE")
    systems = _refs(reference[0] if reference else record[4] if len(record) > 4 else ())
    datums = sum(
        _datums(file, item) for system in systems for item in _refs((file.all[system].any("DATUM_SYSTEM") or ((),))[-1])
    )
    return TextTolerance(kind, file.measure(value) if value else 0.0, datums, len(file.faces(aspect)))


def _datums(file: _File, compartment: int) -> int:
    """Datums that one compartment of a reference names: one, or several in common."""
    record = file.all[compartment].any(
        "DATUM_REFERENCE_COMPARTMENT", "DATUM_REFERENCE_ELEMENT", "GENERAL_DATUM_REFERENCE"
    )
    if record is None:
        return 0
    base = record[4] if len(record) > 4 else None
    if isinstance(base, Ref):
        return 1
    return sum(_datums(file, item) if "DATUM" not in file.all[item].records else 1 for item in _refs(base))
