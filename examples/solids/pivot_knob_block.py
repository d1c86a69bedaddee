"""EX-103, the pivot knob block: 40 x 40 x 32 mm with a rounded top, a blind bore 20 H8, a cross hole and one M5.

The underside lies at z = 0 and carries the bore (drawn at its nominal 20) with the tapped M5 (drawn as the drilled 4.2)
on its axis; the cross hole runs along x through the bore; the top is lofted from the square to a smaller round.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import build123d as bd

NAME = "EX-103"
SIDE_MM, HEIGHT_MM, SHOULDER_MM = 40.0, 32.0, 20.0
CORNER_RADIUS_MM, CROWN_RADIUS_MM = 6.0, 14.0
BORE_MM, BORE_DEPTH_MM = 20.0, 16.0
CROSS_MM, CROSS_Z_MM = 6.0, 9.0
TAPPED_DRILL_MM, TAPPED_DEPTH_MM = 4.2, 10.0
BREAK_MM = 0.5


def build() -> bd.Solid:
    """The finished block as one solid, in mm."""
    half = SIDE_MM / 2.0
    square = bd.Solid.make_box(SIDE_MM, SIDE_MM, SHOULDER_MM, bd.Plane((-half, -half, 0)))
    square = square.fillet(CORNER_RADIUS_MM, [e for e in square.edges() if abs(e.length - SHOULDER_MM) < 1e-6])
    block = (square + _crown()).solid()
    low = [e for e in block.edges() if e.bounding_box().max.Z < 1e-4]
    block = block.chamfer(BREAK_MM, None, low)
    bore_mm = BORE_MM / 2.0
    point_mm = TAPPED_DRILL_MM / 2.0 / math.tan(math.radians(59.0))
    tools = [
        bd.Solid.make_cylinder(bore_mm, BORE_DEPTH_MM, bd.Plane((0, 0, 0))),
        bd.Solid.make_cone(bore_mm + BREAK_MM, bore_mm, BREAK_MM, bd.Plane((0, 0, 0))),
        bd.Solid.make_cylinder(CROSS_MM / 2.0, SIDE_MM + 2.0, bd.Plane((-half - 1.0, 0, CROSS_Z_MM), z_dir=(1, 0, 0))),
        bd.Solid.make_cylinder(TAPPED_DRILL_MM / 2.0, TAPPED_DEPTH_MM, bd.Plane((0, 0, BORE_DEPTH_MM))),
        bd.Solid.make_cone(TAPPED_DRILL_MM / 2.0, 0.0, point_mm, bd.Plane((0, 0, BORE_DEPTH_MM + TAPPED_DEPTH_MM))),
    ]
    for tool in tools:
        block = (block - tool).solid()
    return block


def _crown() -> bd.Solid:
    """The rounded top: a smooth loft of three rounded squares, ever rounder."""
    rings = []
    for side_mm, radius_mm, z_mm in (
        (SIDE_MM, CORNER_RADIUS_MM, SHOULDER_MM),
        (37.0, 9.0, SHOULDER_MM + 7.0),
        (2.0 * CROWN_RADIUS_MM, 12.0, HEIGHT_MM),
    ):
        ring = bd.Wire.make_rect(side_mm, side_mm, bd.Plane((0, 0, z_mm)))
        rings.append(ring.fillet_2d(radius_mm, ring.vertices()))
    return bd.Solid.make_loft(rings, ruled=False)


def main(path: str | None = None) -> Path:
    """Writes the STEP file, by default to out/ beside this script; the same bytes each time."""
    from proveout.solids.step import write_step

    target = Path(path) if path else Path(__file__).parent / "out" / f"{NAME}.step"
    target.parent.mkdir(parents=True, exist_ok=True)
    write_step(build().wrapped, target, name=NAME)
    return target


if __name__ == "__main__":
    print(main(*sys.argv[1:2]))
