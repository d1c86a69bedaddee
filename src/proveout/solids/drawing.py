"""Parallel projections with hidden lines found exactly, as plain polylines."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

from proveout.model.solid import Drawing, Point
from proveout.quantities.errors import OutOfRange
from proveout.solids.edges import polyline
from proveout.solids.shapes import shape_from_brep, silence, sub_shapes

DEFLECTION_MM = 0.02


def hidden_line_drawing(brep: bytes, *, view_direction: Point, up: Point) -> Drawing:
    """Outlines and sharp edges of a solid as seen along view_direction (viewer to part), up pointing up the page.

    The page's x axis is cross(view_direction, up); up is first made square to the view. Coordinates are mm, part
    origin at the drawing's origin. Raises OutOfRange when up is parallel to the view.
    """
    silence()
    towards = -_unit(view_direction)
    upright = np.array(up, np.float64) - towards * float(np.dot(towards, up))
    if float(np.linalg.norm(upright)) < 1e-9 or not np.isfinite(upright).all():
        raise OutOfRange(
            "The up direction of a drawing must not lie along the view", value=f"view {view_direction}, up {up}"
        )
    right = np.cross(_unit(upright), towards)
    algorithm = HLRBRep_Algo()
    algorithm.Add(shape_from_brep(brep))
    axes = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*map(float, towards)), gp_Dir(*map(float, right)))
    algorithm.Projector(HLRAlgo_Projector(axes))
    algorithm.Update()
    algorithm.Hide()
    lines = HLRBRep_HLRToShape(algorithm)
    return Drawing(
        view_direction=view_direction,
        up=up,
        visible_mm=_polylines([lines.VCompound(), lines.OutLineVCompound()]),
        hidden_mm=_polylines([lines.HCompound(), lines.OutLineHCompound()]),
    )


def _unit(values: Any) -> NDArray[np.float64]:
    vector = np.array(values, np.float64)
    length = float(np.linalg.norm(vector))
    if not np.isfinite(length) or length < 1e-12:
        raise OutOfRange("A direction of a drawing must have a length", value=f"{values}")
    return vector / length


def _polylines(compounds: list[Any]) -> tuple[NDArray[np.float64], ...]:
    """(k, 2) polylines of all edges, each once, sorted so that equal drawings are equal bytes."""
    found = []
    for compound in compounds:
        if compound is None or compound.IsNull():
            continue
        BRepLib.BuildCurves3d_s(compound)
        for edge in sub_shapes(compound, "edge"):
            curve = BRepAdaptor_Curve(edge)
            kind = "line" if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line else "other"
            points = np.round(polyline(curve, kind=kind, deflection_mm=DEFLECTION_MM)[:, :2], 6) + 0.0
            if float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()) > 1e-6:
                found.append(points if tuple(points[0]) <= tuple(points[-1]) else points[::-1].copy())
    found.sort(key=lambda points: points.ravel().tolist())
    return tuple(found)
