"""EX-101, the table clamp body: 110 x 90 x 25 mm with a 20 degree undercut flank, cut from five sides.

X along the flank, Y from the flank (y = 0 at its top) to the back, Z up. From above: a
clearance pocket with R4 corners and four counterbored M6 holes. From below: two tapped M6 (drawn as the drilled 5.0).
From one end, tilted two ways: the lock screw's blind hole with its spot-faced entry. The flank leans in below a short
upright land, so it cannot be seen from above.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import build123d as bd

NAME = "EX-101"
LENGTH_MM, WIDTH_MM, HEIGHT_MM = 110.0, 90.0, 25.0
FLANK_RAD, LAND_MM = math.radians(20.0), 3.0
EDGE_RADIUS_MM, CORNER_RADIUS_MM = 0.8, 6.0
POCKET_X_MM, POCKET_Y_MM, POCKET_DEPTH_MM, POCKET_RADIUS_MM = (30.0, 80.0), (26.0, 62.0), 12.0, 4.0
SCREW_PLACES_MM = ((14.0, 32.0), (96.0, 32.0), (14.0, 76.0), (96.0, 76.0))
SCREW_HOLE_MM, COUNTERBORE_MM, COUNTERBORE_DEPTH_MM = 6.6, 11.0, 6.5
TAPPED_PLACES_MM, TAPPED_DRILL_MM, TAPPED_DEPTH_MM = ((38.0, 76.0), (72.0, 76.0)), 5.0, 14.0
LOCK_ENTRY_MM = (110.0, 54.0, 12.5)
LOCK_TURN_RAD, LOCK_DIP_RAD = math.radians(25.0), math.radians(15.0)
LOCK_DRILL_MM, LOCK_DEPTH_MM, SPOT_FACE_MM = 5.0, 18.0, 12.0


def build() -> bd.Solid:
    """The finished body as one solid, in mm."""
    lean_mm = (HEIGHT_MM - LAND_MM) * math.tan(FLANK_RAD)
    profile = bd.Polyline(
        (0, 0, HEIGHT_MM),
        (0, 0, HEIGHT_MM - LAND_MM),
        (0, lean_mm, 0),
        (0, WIDTH_MM, 0),
        (0, WIDTH_MM, HEIGHT_MM),
        close=True,
    )
    body = bd.Solid.extrude(bd.Face(bd.Wire(profile.edges())), bd.Vector(LENGTH_MM, 0, 0))
    back = [e for e in body.edges() if abs(e.length - HEIGHT_MM) < 1e-6 and abs(e.center().Y - WIDTH_MM) < 1e-6]
    body = body.fillet(CORNER_RADIUS_MM, back)
    ends = [e for e in body.edges() if abs(e.center().X % LENGTH_MM) < 1e-6 and e.center().Y < 10.0 and e.length < 30.0]
    body = body.fillet(EDGE_RADIUS_MM, [*_edges_at(body, z_mm=HEIGHT_MM), *_edges_at(body, z_mm=0.0), *ends])
    for tool in _tools():
        body = (body - tool).solid()
    return body


def _edges_at(body: bd.Solid, *, z_mm: float) -> list[bd.Edge]:
    found = []
    for edge in body.edges():
        box = edge.bounding_box()
        if abs(box.min.Z - z_mm) + abs(box.max.Z - z_mm) < 1e-4:
            found.append(edge)
    return found


def _tools() -> list[bd.Solid]:
    tools = [_pocket()]
    for x_mm, y_mm in SCREW_PLACES_MM:
        tools.append(_cylinder((x_mm, y_mm, -1.0), (0, 0, 1), diameter_mm=SCREW_HOLE_MM, length_mm=HEIGHT_MM + 2.0))
        floor = (x_mm, y_mm, HEIGHT_MM - COUNTERBORE_DEPTH_MM)
        tools.append(_cylinder(floor, (0, 0, 1), diameter_mm=COUNTERBORE_MM, length_mm=COUNTERBORE_DEPTH_MM + 1.0))
    for x_mm, y_mm in TAPPED_PLACES_MM:
        tools += _drilled((x_mm, y_mm, 0.0), (0, 0, 1), diameter_mm=TAPPED_DRILL_MM, depth_mm=TAPPED_DEPTH_MM)
    # the lock screw goes in from the +X end, turned towards +Y and dipping: neither angle is a right one
    inward = (
        -math.cos(LOCK_DIP_RAD) * math.cos(LOCK_TURN_RAD),
        math.cos(LOCK_DIP_RAD) * math.sin(LOCK_TURN_RAD),
        -math.sin(LOCK_DIP_RAD),
    )
    seat_mm = SPOT_FACE_MM / 2.0 * math.sqrt(1.0 - inward[0] ** 2) / abs(inward[0]) + 0.4
    seat = tuple(a + seat_mm * b for a, b in zip(LOCK_ENTRY_MM, inward, strict=True))
    outward = tuple(-b for b in inward)
    tools.append(_cylinder(seat, outward, diameter_mm=SPOT_FACE_MM, length_mm=12.0))
    tools += _drilled(seat, inward, diameter_mm=LOCK_DRILL_MM, depth_mm=LOCK_DEPTH_MM)
    return tools


def _pocket() -> bd.Solid:
    (x0, x1), (y0, y1) = POCKET_X_MM, POCKET_Y_MM
    z = HEIGHT_MM - POCKET_DEPTH_MM
    outline = bd.Polyline((x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z), close=True)
    block = bd.Solid.extrude(bd.Face(bd.Wire(outline.edges())), bd.Vector(0, 0, POCKET_DEPTH_MM + 1.0))
    return block.fillet(POCKET_RADIUS_MM, [e for e in block.edges() if abs(e.length - POCKET_DEPTH_MM - 1.0) < 1e-6])


def _cylinder(start: tuple, along: tuple, *, diameter_mm: float, length_mm: float) -> bd.Solid:
    return bd.Solid.make_cylinder(diameter_mm / 2.0, length_mm, bd.Plane(origin=start, z_dir=along))


def _drilled(start: tuple, along: tuple, *, diameter_mm: float, depth_mm: float) -> list[bd.Solid]:
    """A blind hole as a drill leaves it, with its 118 degree bottom."""
    plane, radius_mm = bd.Plane(origin=start, z_dir=along), diameter_mm / 2.0
    point_mm = radius_mm / math.tan(math.radians(59.0))
    return [
        bd.Solid.make_cylinder(radius_mm, depth_mm, plane),
        bd.Solid.make_cone(radius_mm, 0.0, point_mm, plane.offset(depth_mm)),
    ]


def main(path: str | None = None) -> Path:
    """Writes the STEP file, by default to out/ beside this script; the same bytes each time."""
    from proveout.solids.step import write_step

    target = Path(path) if path else Path(__file__).parent / "out" / f"{NAME}.step"
    target.parent.mkdir(parents=True, exist_ok=True)
    write_step(build().wrapped, target, name=NAME)
    return target


if __name__ == "__main__":
    print(main(*sys.argv[1:2]))
