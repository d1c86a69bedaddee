"""STEP in and out: every solid of a file with its name, and a file of our own that names nobody."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import re
from pathlib import Path
from typing import Any, NamedTuple

from OCP.collections import Sequence_TDF_Label
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from proveout.model.solid import OtherSolid, Point, ReadSolid
from proveout.quantities.errors import BadInput, Unreadable
from proveout.solids import pmi_text, step_text
from proveout.solids.measure import exact_box, is_faceted, solid_from_shape, volume_of
from proveout.solids.pmi import read_pmi
from proveout.solids.shapes import silence, sub_shapes

DEFLECTION_MM = 0.01
SMALLEST_PLAUSIBLE_MM, LARGEST_PLAUSIBLE_MM = 1.0, 2000.0
LARGE_FOR_INCHES_MM = 600.0
EDGE_TOLERANCE_LIMIT_MM = 0.01


class NamedSolid(NamedTuple):
    """A kernel solid in the frame of its file."""

    name: str
    shape: Any
    volume_mm3: float


def read_step(
    path: Path, *, solid_name: str = "", deflection_mm: float = DEFLECTION_MM, with_pmi: bool = True
) -> ReadSolid:
    """The largest solid of a STEP file, or the one named, in mm; runs in this process, so call it through intake.

    with_pmi: with the sizes and tolerances that the file ties to its faces, where it does.
    """
    silence()
    text = path.read_bytes().decode("utf-8", errors="replace")
    step_text.check_ends(text[: step_text.END_LENGTH], text[-step_text.END_LENGTH :], where=path.name)
    unit = step_text.declared_length_unit(text)
    has_pmi = with_pmi and pmi_text.writes_pmi(text)
    document = read_document(path, with_pmi=has_pmi)
    solids = solids_of(document, where=path.name, hidden=step_text.private_names(text))
    chosen = _chosen(solids, solid_name, path.name)
    warnings = []
    others = tuple(
        OtherSolid(name=other.name, low_mm=low, high_mm=high, volume_mm3=other.volume_mm3)
        for other in solids
        if other is not chosen
        for low, high in [exact_box(other.shape)]
    )
    if others:
        rest = ", ".join(f'"{other.name}"' for other in others[:8]) + (
            f" and {len(others) - 8} more" if len(others) > 8 else ""
        )
        why = "named" if solid_name else "largest"
        warnings.append(
            f'The file holds {len(solids)} solids; the {why} one, "{chosen.name}", is taken; others: {rest}.'
        )
    _refuse_faceted(chosen, path.name)
    solid = solid_from_shape(chosen.shape, name=chosen.name, unit_declared=unit, deflection_mm=deflection_mm)
    doubtful = is_unit_doubtful(solid.size_mm, unit_declared=unit)
    warnings += warnings_of(solid, unit, doubtful=doubtful)
    pmi = read_pmi(document, shape=chosen.shape, solid=solid, text=text) if has_pmi else None
    warnings += pmi.warnings() if pmi is not None else ()
    return ReadSolid(
        solid=solid, other_solids=others, warnings=tuple(warnings), unit_is_doubtful=doubtful,
        pmi=pmi,
    )  # fmt: skip


def is_unit_doubtful(size_mm: Point, *, unit_declared: str) -> bool:
    """The sides suggest another unit: none or too large for the trade, or inches that are whole half millimetres."""
    largest = max(size_mm)
    if not SMALLEST_PLAUSIBLE_MM <= largest <= LARGEST_PLAUSIBLE_MM:
        return True
    numbers = [side / 25.4 for side in size_mm]
    looks_like_mm = all(abs(2.0 * number - round(2.0 * number)) < 1e-6 for number in numbers)
    return unit_declared == "inch" and largest > LARGE_FOR_INCHES_MM and looks_like_mm


def named_solids(path: Path, *, hidden: frozenset[str] = frozenset()) -> list[NamedSolid]:
    """Every solid of the file, largest first, under distinct names; raises Unreadable when there is none."""
    return solids_of(read_document(path), where=path.name, hidden=hidden)


def read_document(path: Path, *, with_pmi: bool = False) -> Any:
    """The kernel's document of a file; with_pmi: with the sizes and tolerances that it ties to faces."""
    reader = STEPCAFControl_Reader()
    reader.SetColorMode(False)  # noqa: FBT003  the kernel takes it by position
    reader.SetLayerMode(False)  # noqa: FBT003
    reader.SetNameMode(True)  # noqa: FBT003
    reader.SetGDTMode(with_pmi)
    document = TDocStd_Document(TCollection_ExtendedString("solids"))
    is_read = reader.ReadFile(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
    if not is_read or not reader.Transfer(document):
        raise Unreadable(
            "The STEP file is broken: its entities cannot be read", where=path.name, do="export the solid again"
        )
    return document


def solids_of(document: Any, *, where: str, hidden: frozenset[str] = frozenset()) -> list[NamedSolid]:
    """Every solid of a document, largest first, under distinct names; raises Unreadable when there is none."""
    labels = Sequence_TDF_Label()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(labels)
    found: list[tuple[str, Any]] = []
    for place in range(1, labels.Length() + 1):
        _collect(labels.Value(place), TopLoc_Location(), "", found)
    if not found:
        raise Unreadable(
            "The file holds no solid, only surfaces, curves or nothing",
            where=where,
            do="join the surfaces to one closed solid and export again",
        )
    measured = [(name, shape, volume_of(shape)) for name, shape in found]
    measured.sort(key=lambda item: (-abs(item[2]), item[0], exact_box(item[1])))
    names = _distinct([_clean(name, hidden) for name, _, _ in measured])
    return [NamedSolid(name, shape, volume) for name, (_, shape, volume) in zip(names, measured, strict=True)]


def _collect(label: Any, location: Any, name: str, found: list[tuple[str, Any]]) -> None:
    """Walks an assembly down to its parts; each solid with its place and the nearest name above it."""
    tool = XCAFDoc_ShapeTool
    own = _label_name(label) or name
    if tool.IsAssembly_s(label):
        components = Sequence_TDF_Label()
        tool.GetComponents_s(label, components)
        for place in range(1, components.Length() + 1):
            component = components.Value(place)
            target = TDF_Label()
            if tool.GetReferredShape_s(component, target):
                _collect(target, location.Multiplied(tool.GetLocation_s(component)), own, found)
        return
    shape = tool.GetShape_s(label)
    if shape is None or shape.IsNull():
        return
    if not location.IsIdentity():
        shape = shape.Moved(location)
    found.extend((own, solid) for solid in sub_shapes(shape, "solid"))


def _label_name(label: Any) -> str:
    attribute = TDataStd_Name()
    if label.FindAttribute(TDataStd_Name.GetID_s(), attribute):
        return attribute.Get().ToExtString()
    return ""


def _clean(name: str, hidden: frozenset[str]) -> str:
    """A name fit to be shown: no folders, no control signs, nothing that the header says of maker or program."""
    name = re.split(r"[\\/]", name)[-1]
    name = "".join(sign for sign in name if sign.isprintable()).strip()[:60]
    lowered = name.lower()
    if not name or "open cascade" in lowered or any(word in lowered for word in hidden):
        return "solid"
    return name


def _distinct(names: list[str]) -> list[str]:
    counts: dict[str, int] = {}
    taken = set(names)
    result = []
    for name in names:
        counts[name] = counts.get(name, 0) + 1
        chosen, number = name, counts[name]
        while number > 1 and (chosen := f"{name} {number}") in taken:
            number += 1
        counts[name] = number
        taken.add(chosen)
        result.append(chosen)
    return result


def _chosen(solids: list[NamedSolid], solid_name: str, file_name: str) -> NamedSolid:
    if not solid_name:
        return solids[0]
    for solid in solids:
        if solid.name == solid_name:
            return solid
    known = ", ".join(f'"{solid.name}"' for solid in solids[:20]) + (" ..." if len(solids) > 20 else "")
    raise BadInput(
        "No solid of that name is in the file", where=file_name, value=f'"{solid_name}"', limit=f"one of {known}"
    )


def _refuse_faceted(chosen: NamedSolid, file_name: str) -> None:
    if chosen.volume_mm3 <= 0.0:
        raise Unreadable(
            "The solid encloses no volume: it is inside out or open",
            where=f"{file_name}, {chosen.name}",
            value=f"{chosen.volume_mm3:.3f} mm3",
            limit="more than 0",
            do="repair the solid in the CAD program and export again",
        )
    if is_faceted(chosen.shape):
        raise Unreadable(
            "The solid is faceted: small flat faces stand in for its curved ones, so holes and radii cannot be known",
            where=f"{file_name}, {chosen.name}",
            value=f"{len(sub_shapes(chosen.shape, 'face'))} flat faces",
            do="export the exact solid, not a mesh converted to STEP",
        )


def warnings_of(solid: Any, unit: str, *, doubtful: bool) -> list[str]:
    """One sentence per thing about a solid as read that its owner should know."""
    warnings = []
    size = " x ".join(f"{value:.6g}" for value in solid.size_mm)
    if doubtful:
        stated = f'the file declares "{unit}"' if unit else "the file declares no unit"
        warnings.append(f"The solid would measure {size} mm ({stated}): is that its true size, or is the unit wrong?")
    if solid.edge_tolerance_max_mm > EDGE_TOLERANCE_LIMIT_MM:
        warnings.append(
            f"An edge of the solid is only known to {solid.edge_tolerance_max_mm:.3f} mm"
            f" (limit {EDGE_TOLERANCE_LIMIT_MM} mm): sizes beside it are no better than that."
        )
    if not solid.is_valid:
        warnings.append("The solid does not pass the kernel's own check; sizes near its faulty faces may be wrong.")
    if not solid.mesh_is_closed:
        warnings.append("The mesh of the solid does not close: checks by volume cannot be trusted and are not shown.")
    return warnings


def write_step(shape: Any, path: Path, *, name: str) -> None:
    """Writes one shape in mm as STEP AP214; equal shapes give equal bytes, and no person, path or program is named."""
    silence()
    writer = STEPControl_Writer()
    if writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise BadInput("The shape cannot be written as STEP", where=path.name)
    if writer.Write(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise BadInput("The STEP file cannot be written", where=path.name, do="check that the folder exists")
    text = path.read_text(encoding="utf-8", errors="replace")
    path.write_text(step_text.without_origin(text, name=name), encoding="utf-8", newline="\n")
