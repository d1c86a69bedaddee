"""Sizes, geometric tolerances and datums that a STEP file ties to faces of its solid."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from typing import Any, NamedTuple

import msgspec
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher, Sequence_TDF_Label
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFDoc import (
    XCAFDoc_Datum,
    XCAFDoc_Dimension,
    XCAFDoc_DimTolTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_GeomTolerance,
    XCAFDoc_ShapeTool,
)

from proveout.model.pmi import DrawnDatum, DrawnKind, DrawnSize, DrawnTolerance, Pmi
from proveout.model.solid import Solid
from proveout.solids import pmi_text
from proveout.solids.faces import area_and_centroid
from proveout.solids.shapes import sub_shapes

# a face that was mended in reading is told by its area and middle
SAME_RATIO, SAME_MM = 1e-4, 1e-3
NO_LIMITS = "the file gives it no limits that could be read"
NO_VALUE = "the file gives it no value that could be read"
EXACT = "it is theoretically exact: a tolerance of place goes with it"
SIGN_LOST = "both its deviations lie on one side, and reading loses which"
# names of the standard for a size whose value the file leaves out
_NAMED: dict[str, DrawnKind] = {
    "diameter": "diameter", "radius": "radius", "linear distance": "length", "angle": "angle", "thickness": "length",
}  # fmt: skip
_KIND_WORDS = {
    "CircularityOrRoundness": "roundness", "CircularRunout": "circular runout", "TotalRunout": "total runout",
    "ProfileOfLine": "profile of a line", "ProfileOfSurface": "profile of a surface", "None": "tolerance",
}  # fmt: skip
_MATERIAL = {"M": " at most material", "L": " at least material"}
_NAME_MATERIAL = {"MaximumMaterialRequirement": " at most material", "LeastMaterialRequirement": " at least material"}


class _Tie(NamedTuple):
    """Faces by id, and how many edges, points or other shapes there are beside them."""

    face_ids: tuple[str, ...]
    others_count: int


class _Faces:
    """Ids of the faces of one solid, looked up by the kernel's own faces wherever they lie."""

    def __init__(self, shape: Any, solid: Solid) -> None:
        self._seen = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
        by_place = {face.brep_index: face.id for face in solid.faces}
        self._ids: dict[int, str] = {}
        self._all = solid.faces
        for place, face in enumerate(sub_shapes(shape, "face")):
            self._ids.setdefault(self._seen.Add(face.Located(TopLoc_Location())), by_place[place])

    def tie(self, labels: Any) -> _Tie:
        """What a list of labels points at; faces of other solids count as others."""
        ids: set[str] = set()
        others = 0
        for label in _each(labels):
            shape = XCAFDoc_ShapeTool.GetShape_s(label)
            if shape is None or shape.IsNull():
                continue
            faces = sub_shapes(shape, "face")
            found = [self._id(face) for face in faces]
            ids.update(id for id in found if id is not None)
            others += found.count(None) if faces else 1
        return _Tie(tuple(sorted(ids)), others)

    def _id(self, face: Any) -> str | None:
        """By the kernel's own face or, where reading mended it into another, by the only one of its area and middle."""
        known = self._ids.get(self._seen.FindIndex(face.Located(TopLoc_Location())))
        if known is not None:
            return known
        area, middle = area_and_centroid(face)
        near = [
            one.id
            for one in self._all
            if abs(one.area_mm2 - area) <= SAME_RATIO * area and math.dist(one.centroid_mm, middle) <= SAME_MM
        ]
        return near[0] if len(near) == 1 else None


def read_pmi(document: Any, *, shape: Any, solid: Solid, text: str) -> Pmi:
    """All that the read document ties to faces of one of its solids.

    shape: the kernel solid that `solid` was measured from, in the frame of its file.   text: of the STEP file.
    """
    faces = _Faces(shape, solid)
    tool = XCAFDoc_DocumentTool.DimTolTool_s(document.Main())
    sided = pmi_text.one_sided(text)
    sizes: list[DrawnSize] = []
    pictures = 0
    for label in _listed(tool.GetDimensionLabels):
        thing = XCAFDoc_Dimension.Set_s(label).GetObject()
        if _kind_name(thing.GetType()) in ("DimensionPresentation", "CommonLabel"):
            pictures += 1
        else:
            sizes.append(_size(thing, *_ends(label, faces), sided=sided))
    tolerances = tuple(_tolerance(label, faces) for label in _listed(tool.GetGeomToleranceLabels))
    sizes_count, tolerances_count = pmi_text.counts(text)
    sizes, untied = _with_fits(sizes, pmi_text.fits(text), solid)
    return Pmi(
        sizes=tuple(sizes), tolerances=tolerances, datums=_datums(tool, faces), pictures_count=pictures,
        fits=untied,
        lost_sizes_count=max(0, sizes_count - len(sizes)),
        lost_tolerances_count=max(0, tolerances_count - len(tolerances)),
    )  # fmt: skip


def _with_fits(
    sizes: list[DrawnSize], fits: tuple[pmi_text.Fit, ...], solid: Solid
) -> tuple[list[DrawnSize], tuple[str, ...]]:
    """The sizes with the fits that stand on their faces, and the classes of fit that stand on no size, each once."""
    by_place = {face.brep_index: face.id for face in solid.faces}
    out, untied = list(sizes), list[str]()
    for fit in fits:
        ids = tuple(sorted(by_place[place] for place in fit.places if place in by_place))
        at = next((i for i, one in enumerate(out) if ids and one.lack == NO_LIMITS and one.face_ids == ids), None)
        if at is None:
            untied.append(fit.text)
        else:
            nominal = float(out[at].text)
            out[at] = msgspec.structs.replace(
                out[at], text=f"{out[at].text} {fit.text}", nominal_mm=_tidy(nominal), lack=""
            )
    return out, tuple(sorted(set(untied)))


def _each(labels: Any) -> list[Any]:
    return [labels.Value(place) for place in range(1, labels.Length() + 1)]


def _listed(fill: Any) -> list[Any]:
    labels = Sequence_TDF_Label()
    fill(labels)
    return _each(labels)


def _kind_name(value: Any) -> str:
    """The end of an enumerated name: "Size_Diameter" of XCAFDimTolObjects_DimensionType_Size_Diameter."""
    return str(value).rsplit("Type_", 1)[-1]


def _modifiers(thing: Any) -> set[str]:
    return {str(one).rsplit("Modif_", 1)[-1] for one in _each(thing.GetModifiers())}


def _name(thing: Any) -> str:
    name = thing.GetSemanticName()
    return name.ToCString().strip().lower() if name is not None else ""


def _ends(label: Any, faces: _Faces) -> tuple[_Tie, _Tie]:
    first, second = Sequence_TDF_Label(), Sequence_TDF_Label()
    XCAFDoc_DimTolTool.GetRefShapeLabel_s(label, first, second)
    return faces.tie(first), faces.tie(second)


def _size(thing: Any, first: _Tie, second: _Tie, *, sided: tuple[tuple[float, float], ...]) -> DrawnSize:
    kind = _size_kind(_kind_name(thing.GetType()), _name(thing))
    values = thing.GetValues()
    nominal = None if values is None or not values.Length() else values.Value(values.Lower())
    low, high, lack = None, None, ""
    if nominal is None:
        lack = NO_VALUE
    elif thing.IsDimWithRange():
        low, high = thing.GetLowerBound(), thing.GetUpperBound()
        # the kernel takes a size with both deviations below it for one with two limits, and mixes the two up
        lack = SIGN_LOST if low >= high else ""
        nominal = nominal if lack else 0.5 * (low + high)
    elif thing.IsDimWithPlusMinusTolerance():
        below, above = abs(thing.GetLowerTolValue()), abs(thing.GetUpperTolValue())
        low, high = nominal - below, nominal + above
        lack = SIGN_LOST if _is_one_sided(below, above, sided) else ""
    else:
        exact = any("theoretical" in thing.GetDescription(k).ToCString() for k in range(thing.NbDescriptions()))
        lack = EXACT if exact else NO_LIMITS
    text = "" if nominal is None else _size_text(kind, nominal, low, high, is_signed=not lack)
    is_length = kind != "angle" and not lack
    return DrawnSize(
        kind=kind, text=text, lack=lack, face_ids=first.face_ids, other_ids=second.face_ids,
        nominal_mm=_tidy(nominal) if is_length else None, low_mm=_tidy(low) if is_length else None,
        high_mm=_tidy(high) if is_length else None, edges_count=first.others_count + second.others_count,
    )  # fmt: skip


def _size_kind(name: str, called: str) -> DrawnKind:
    if name in ("Size_Diameter", "Size_Radius"):
        return "diameter" if name == "Size_Diameter" else "radius"
    if name.startswith("Location_LinearDistance") or name == "Size_Thickness":
        return "length"
    if name in ("Location_Angular", "Size_Angular"):
        return "angle"
    return _NAMED.get(called, "other")


def _is_one_sided(below: float, above: float, sided: tuple[tuple[float, float], ...]) -> bool:
    """The amounts stand to each other as those of some pair of the file that lies on one side, whatever its unit."""
    for pair in sided:
        small, large = sorted(abs(end) for end in pair)
        if abs(min(below, above) * large - max(below, above) * small) <= 1e-9 * max(below, above) * large:
            return True
    return False


def _size_text(kind: DrawnKind, nominal: float, low: float | None, high: float | None, *, is_signed: bool) -> str:
    degree = "°" if kind == "angle" else ""
    text = f"{_plain(nominal)}{degree}"
    if low is None or high is None or not is_signed:
        return text
    down, up = _plain(low - nominal), _plain(high - nominal)
    if down == f"-{up}":
        return f"{text} ±{up}{degree}"
    return f"{text} {_signed(up)}{degree}/{_signed(down)}{degree}"


def _plain(value: float) -> str:
    """To the nanometre, without noughts at the end and without a minus before nought."""
    return f"{round(value, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def _tidy(value: float | None) -> float | None:
    return None if value is None else round(value, 9) + 0.0


def _tolerance(label: Any, faces: _Faces) -> DrawnTolerance:
    thing = XCAFDoc_GeomTolerance.Set_s(label).GetObject()
    raw = _kind_name(thing.GetType())
    kind = _KIND_WORDS.get(raw, raw.lower())
    first, second = _ends(label, faces)
    zone = {"Diameter": "Ø", "SphericalDiameter": "SØ"}.get(str(thing.GetTypeOfValue()).rsplit("_", 1)[-1], "")
    value = _tidy(thing.GetValue()) or 0.0
    material = _MATERIAL.get(str(thing.GetMaterialRequirementModifier()).rsplit("_", 1)[-1], "")
    around = ", all around" if "All_Around" in _modifiers(thing) else ""
    labels = Sequence_TDF_Label()
    XCAFDoc_DimTolTool.GetDatumWithObjectOfTolerLabels_s(label, labels)
    datums = tuple(_datum_words(XCAFDoc_Datum.Set_s(one).GetObject()) for one in _each(labels))
    to = f" to {', '.join(datums)}" if datums else ""
    return DrawnTolerance(
        kind=kind, text=f"{kind} {zone}{_plain(value)}{material}{to}{around}", value_mm=value, datums=datums,
        face_ids=tuple(sorted({*first.face_ids, *second.face_ids})),
        edges_count=first.others_count + second.others_count,
    )  # fmt: skip


def _letter(thing: Any) -> str:
    name = thing.GetName()
    return name.ToCString() if name is not None else ""


def _datum_words(thing: Any) -> str:
    modifiers = _modifiers(thing)
    return _letter(thing) + "".join(words for key, words in _NAME_MATERIAL.items() if key in modifiers)


def _datums(tool: Any, faces: _Faces) -> tuple[DrawnDatum, ...]:
    """Each letter once: the kernel hands on one label a use."""
    ties: dict[str, set[str]] = {}
    targets: set[str] = set()
    for label in _listed(tool.GetDatumLabels):
        thing = XCAFDoc_Datum.Set_s(label).GetObject()
        letter = _letter(thing)
        first, second = _ends(label, faces)
        ties.setdefault(letter, set()).update(first.face_ids, second.face_ids)
        if thing.IsDatumTarget():
            targets.add(letter)
    return tuple(
        DrawnDatum(letter=letter, face_ids=tuple(sorted(ids)), is_target=letter in targets)
        for letter, ids in sorted(ties.items())
    )
