"""A shape turned by an odd angle, moved, its faces put in another order, and taken through a STEP file."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from proveout.model.features import Feature
from proveout.model.solid import Solid

AXIS, ANGLE_RAD, SHIFT_MM = (0.36, 0.48, 0.8), math.radians(37.3), (11.3, -7.7, 5.9)
NEAR_MM = 2e-3
SAME_WAY = 1e-4
"""Sine of the angle between two directions that count as one; that of a round is taken off its mesh."""


def turned(point: Any, *, is_direction: bool = False) -> Any:
    """Rodrigues' formula for the same turn, and the shift."""
    p, k = np.asarray(point, dtype=float), np.array(AXIS)
    c, s = math.cos(ANGLE_RAD), math.sin(ANGLE_RAD)
    out = p * c + np.cross(k, p) * s + k * float(k @ p) * (1.0 - c)
    return out if is_direction else out + np.array(SHIFT_MM)


def reread(path: Path, out: Path) -> Solid:
    """The solid of a STEP file, turned, its faces in reverse order, written and read again."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
    from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid

    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import named_solids, read_step, write_step

    shape = named_solids(path)[0].shape
    turn, shift = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(*AXIS)), ANGLE_RAD)
    shift.SetTranslation(gp_Vec(*SHIFT_MM))
    moved = BRepBuilderAPI_Transform(shape, shift.Multiplied(turn), True).Shape()  # noqa: FBT003
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in reversed(sub_shapes(moved, "face")):
        builder.Add(shell, face)
    shell.Closed(True)  # noqa: FBT003
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    write_step(solid, out, name="moved")
    return read_step(out).solid


def unmatched(before: tuple[Feature, ...], after: tuple[Feature, ...]) -> list[str]:
    """Features of either that have no partner of the same kind, form, sizes, place and direction in the other."""
    left = list(after)
    faults = []
    for one in before:
        partner = next((other for other in left if _is_partner(one, other)), None)
        if partner is None:
            faults.append(f"lost: {one.id}")
        else:
            left.remove(partner)
    return faults + [f"new: {other.id}" for other in left]


def _is_partner(one: Feature, other: Feature) -> bool:
    if (one.kind, one.form, set(one.sizes_mm)) != (other.kind, other.form, set(other.sizes_mm)):
        return False
    if len(one.face_ids) != len(other.face_ids) or abs(one.angle_rad - other.angle_rad) > 1e-6:
        return False
    if any(abs(one.sizes_mm[key] - other.sizes_mm[key]) > 1e-5 for key in one.sizes_mm):
        return False
    off = float(np.linalg.norm(turned(one.opens, is_direction=True) - np.array(other.opens)))
    if one.form == "through":  # either way may be named
        off = min(off, float(np.linalg.norm(turned(one.opens, is_direction=True) + np.array(other.opens))))
    if off > SAME_WAY:
        return False
    places = [np.array(other.place_mm)]
    if one.form == "through" and one.kind == "hole":  # either mouth may be named
        places.append(places[0] - np.array(other.opens) * other.sizes_mm["depth_mm"])
    return any(float(np.linalg.norm(turned(one.place_mm) - place)) < NEAR_MM for place in places)
