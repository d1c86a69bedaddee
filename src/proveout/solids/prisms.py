"""Boxes less upright prisms, as exact solids: blanks of jaws and the pockets in them."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS_Compound

from proveout.geometry.arc_fit import fitted
from proveout.quantities.errors import OutOfRange
from proveout.solids.shapes import silence

ARC_WITHIN_MM = 0.002
GRID_MM = 1e-4

Array = NDArray[np.float64]
Corner = tuple[float, float, float]


def boxes_less_prisms(
    boxes: Sequence[tuple[Corner, Corner]], rings: Sequence[Array], *, low_mm: float, high_mm: float
) -> Any:
    """A compound of boxes, each cut by every prism between two heights.

    Args:     boxes: lower and upper corners, mm.   rings: (n, 2) outlines seen from above, mm, each for itself: where
              they overlap both are cut away. Runs of short chords become arcs within ARC_WITHIN_MM.
    Raises:   OutOfRange for a ring that encloses nothing.
    """
    silence()
    prisms = [_prism(np.asarray(ring, dtype=np.float64), low_mm, high_mm) for ring in rings]
    builder, whole = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(whole)
    for low, high in boxes:
        body = BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Shape()
        for prism in prisms:
            body = BRepAlgoAPI_Cut(body, prism).Shape()
        builder.Add(whole, body)
    return whole


def _prism(ring: Array, low_mm: float, high_mm: float) -> Any:
    ring = _from_a_corner(ring)
    wire = BRepBuilderAPI_MakeWire()
    for start, middle, end in _pieces(ring):
        points = [gp_Pnt(float(p[0]), float(p[1]), low_mm) for p in (start, middle, end) if p is not None]
        if len(points) == 3:
            wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(*points).Value()).Edge())
        else:
            wire.Add(BRepBuilderAPI_MakeEdge(*points).Edge())
    face = BRepBuilderAPI_MakeFace(wire.Wire())
    if not face.IsDone():
        raise OutOfRange("An outline encloses nothing", value=f"{len(ring)} corners")
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0.0, 0.0, high_mm - low_mm)).Shape()


def _from_a_corner(ring: Array) -> Array:
    """The ring begun where it turns most sharply, so that no arc is divided there; its first point not repeated."""
    ring = ring[:-1] if len(ring) > 1 and np.allclose(ring[0], ring[-1]) else ring
    keep = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > GRID_MM
    ring = ring[keep]
    if len(ring) < 3:
        raise OutOfRange("An outline encloses nothing", value=f"{len(ring)} corners")
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    before /= np.linalg.norm(before, axis=1, keepdims=True)
    after /= np.linalg.norm(after, axis=1, keepdims=True)
    return np.roll(ring, -int(np.argmin((before * after).sum(axis=1))), axis=0)


def _pieces(ring: Array) -> list[tuple[Array, Array | None, Array]]:
    """Start, a point on the way (None for a straight piece) and end, round the ring."""
    # two runs, so that an outline that is one circle is no arc of a whole turn
    closed = np.vstack([ring, ring[:1]])
    half = len(closed) // 2
    out: list[tuple[Array, Array | None, Array]] = []
    for run in (closed[: half + 1], closed[half:]):
        points = np.column_stack([run, np.zeros(len(run))])
        rows, arcs = fitted(
            points, np.ones(len(run)), np.zeros(len(run), dtype=bool), grid_mm=GRID_MM, within_mm=ARC_WITHIN_MM
        )
        for k in range(1, len(rows)):
            first, last = int(rows[k - 1]), int(rows[k])
            middle = run[(first + last) // 2] if last in arcs and last - first > 1 else None
            out.append((run[first], middle, run[last]))
    return out
