"""Small doors into the kernel: quiet messages, sub-shapes in order, bytes of a shape and back."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import io
from typing import Any

from OCP.BinTools import BinTools, BinTools_FormatVersion
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.Message import Message, Message_Gravity
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS, TopoDS_Shape

_KINDS = {
    "solid": (TopAbs_ShapeEnum.TopAbs_SOLID, TopoDS.Solid),
    "shell": (TopAbs_ShapeEnum.TopAbs_SHELL, TopoDS.Shell),
    "face": (TopAbs_ShapeEnum.TopAbs_FACE, TopoDS.Face),
    "edge": (TopAbs_ShapeEnum.TopAbs_EDGE, TopoDS.Edge),
    "vertex": (TopAbs_ShapeEnum.TopAbs_VERTEX, TopoDS.Vertex),
}


def silence() -> None:
    """Stops the kernel from writing its own messages."""
    messenger = Message.DefaultMessenger_s()
    for printer in list(messenger.Printers()):
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
        messenger.RemovePrinter(printer)


def shape_map(shape: TopoDS_Shape, kind: str) -> Any:
    """The kernel's ordered set of the sub-shapes of one kind (faces, edges, ...), 1-based."""
    found = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(shape, _KINDS[kind][0], found)
    return found


def sub_shapes(shape: TopoDS_Shape, kind: str) -> list[Any]:
    """Each sub-shape of one kind once, in the kernel's order."""
    found = shape_map(shape, kind)
    cast = _KINDS[kind][1]
    return [cast(found.FindKey(place)) for place in range(1, found.Extent() + 1)]


def brep_from_shape(shape: TopoDS_Shape) -> bytes:
    """The exact shape, without any mesh, in the kernel's binary form."""
    stream = io.BytesIO()
    version = BinTools_FormatVersion.BinTools_FormatVersion_CURRENT
    BinTools.Write_s(shape, stream, False, False, version)  # noqa: FBT003  the kernel takes them by position
    return stream.getvalue()


def shape_from_brep(brep: bytes) -> TopoDS_Shape:
    """The shape that brep_from_shape wrote."""
    shape = TopoDS_Shape()
    BinTools.Read_s(shape, io.BytesIO(brep))
    return shape
