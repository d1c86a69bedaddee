"""EX-102, the clamp jaw: 90 x 22 x 18 mm with a 20 degree flank, two counterbored slots and one tapped M6.

X along the jaw, Y from the vertical back (y = 0) to the flank, Z up; everything but the tapped hole opens at +Z.
The two slots sit at x = 22 and x = 67: turned end for end the jaw nearly fits, but not quite.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import build123d as bd

NAME = "EX-102"
LENGTH_MM, WIDTH_MM, HEIGHT_MM = 90.0, 22.0, 18.0
FLANK_RAD = math.radians(20.0)
SLOT_XS_MM, SLOT_Y_MM = (22.0, 67.0), 9.0
TAPPED_X_MM, TAPPED_Z_MM, TAPPED_DRILL_MM, TAPPED_DEPTH_MM = 45.5, 9.0, 5.0, 12.0


def build() -> bd.Solid:
    """The finished jaw as one solid, in mm."""
    top_y = WIDTH_MM - HEIGHT_MM * math.tan(FLANK_RAD)
    profile = bd.Polyline((0, 0, 0), (0, WIDTH_MM, 0), (0, top_y, HEIGHT_MM), (0, 0, HEIGHT_MM), close=True)
    body = bd.Solid.extrude(bd.Face(bd.Wire(profile.edges())), bd.Vector(LENGTH_MM, 0, 0))
    back_corners = [e for e in body.edges() if abs(e.length - HEIGHT_MM) < 1e-6 and abs(e.center().Y) < 1e-6]
    body = body.fillet(2.0, back_corners)
    body = body.chamfer(0.8, None, _outline(body, z_mm=HEIGHT_MM))
    body = body.chamfer(0.5, None, _outline(body, z_mm=0.0))
    tools: list[bd.Solid] = []
    for x_mm in SLOT_XS_MM:
        tools.append(_slot(x_mm, length_mm=14.0, width_mm=6.6, z_low_mm=-1.0))
        tools.append(_slot(x_mm, length_mm=18.4, width_mm=11.0, z_low_mm=HEIGHT_MM - 6.5))
    entry = bd.Plane(origin=(TAPPED_X_MM, 0, TAPPED_Z_MM), x_dir=(1, 0, 0), z_dir=(0, 1, 0))
    radius_mm = TAPPED_DRILL_MM / 2.0
    tools.append(bd.Solid.make_cylinder(radius_mm, TAPPED_DEPTH_MM, entry))
    point_mm = radius_mm / math.tan(math.radians(59.0))
    tools.append(bd.Solid.make_cone(radius_mm, 0.0, point_mm, entry.offset(TAPPED_DEPTH_MM)))
    for tool in tools:
        body = (body - tool).solid()
    return body


def _outline(body: bd.Solid, *, z_mm: float) -> list[bd.Edge]:
    return [e for e in body.edges() if abs(e.bounding_box().min.Z - z_mm) + abs(e.bounding_box().max.Z - z_mm) < 1e-4]


def _slot(x_mm: float, *, length_mm: float, width_mm: float, z_low_mm: float) -> bd.Solid:
    half, radius = (length_mm - width_mm) / 2.0, width_mm / 2.0
    y, z = SLOT_Y_MM, z_low_mm
    left, right = x_mm - half, x_mm + half
    edges = [
        bd.Line((left, y - radius, z), (right, y - radius, z)),
        bd.ThreePointArc((right, y - radius, z), (right + radius, y, z), (right, y + radius, z)),
        bd.Line((right, y + radius, z), (left, y + radius, z)),
        bd.ThreePointArc((left, y + radius, z), (left - radius, y, z), (left, y - radius, z)),
    ]
    return bd.Solid.extrude(bd.Face(bd.Wire(edges)), bd.Vector(0, 0, HEIGHT_MM + 1.0 - z))


def main(path: str | None = None) -> Path:
    """Writes the STEP file, by default to out/ beside this script; the same bytes each time."""
    from proveout.solids.step import write_step

    target = Path(path) if path else Path(__file__).parent / "out" / f"{NAME}.step"
    target.parent.mkdir(parents=True, exist_ok=True)
    write_step(build().wrapped, target, name=NAME)
    return target


if __name__ == "__main__":
    print(main(*sys.argv[1:2]))
