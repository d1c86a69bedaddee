"""Small solids with answers that can be worked by hand, made with the kernel."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from typing import Any

import pytest

PLATE_MM = (40.0, 30.0, 10.0)
HOLE_RADIUS_MM, HOLE_AT_MM = 4.0, (12.0, 15.0)
PLATE_VOLUME_MM3 = 40.0 * 30.0 * 10.0 - math.pi * 4.0**2 * 10.0


@pytest.fixture
def plate_with_hole() -> Any:
    """A 40 x 30 x 10 plate at the origin with one through hole of radius 4 at (12, 15)."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    box = BRepPrimAPI_MakeBox(*PLATE_MM).Solid()
    axis = gp_Ax2(gp_Pnt(*HOLE_AT_MM, -1.0), gp_Dir(0, 0, 1))
    cut = BRepAlgoAPI_Cut(box, BRepPrimAPI_MakeCylinder(axis, HOLE_RADIUS_MM, 12.0).Shape()).Shape()
    from proveout.solids.shapes import sub_shapes

    return sub_shapes(cut, "solid")[0]
