"""The shortest way between two faces of the exact solid."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

from OCP.BRepExtrema import BRepExtrema_DistShapeShape

from proveout.model.solid import Point
from proveout.quantities.errors import OutOfRange
from proveout.solids.shapes import shape_from_brep, silence, sub_shapes


def nearest_points(brep: bytes, *, one: int, other: int) -> tuple[float, Point, Point]:
    """How far two faces are apart, mm, and a point of each where they are nearest.

    one, other: the faces' places in the solid's binary form.   0 for faces that touch, and for one face twice.
    Raises:   OutOfRange when there is no such face, or the kernel finds no distance.
    """
    silence()
    faces = sub_shapes(shape_from_brep(brep), "face")
    for place in (one, other):
        if not 0 <= place < len(faces):
            raise OutOfRange("The solid has no such face", value=str(place), limit=f"0 to {len(faces) - 1}")
    if one == other:
        return 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    found = BRepExtrema_DistShapeShape(faces[one], faces[other])
    if not found.IsDone() or found.NbSolution() < 1:
        raise OutOfRange("The kernel finds no distance between these faces", value=f"{one} and {other}")
    first, second = found.PointOnShape1(1), found.PointOnShape2(1)
    return (
        float(found.Value()), (first.X(), first.Y(), first.Z()), (second.X(), second.Y(), second.Z())
    )  # fmt: skip
