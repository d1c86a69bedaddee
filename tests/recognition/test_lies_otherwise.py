"""Sizes and places that come from a solid's own geometry: the same whichever way it lies, on rounds as on flats.

Every expected value is worked.
"""

from __future__ import annotations

import math

import build123d as bd
import numpy as np
import pytest
from shapes import box, solid_of

from proveout.model.features import Feature
from proveout.model.solid import Edge
from proveout.recognition.lengths import longest_way
from proveout.recognition.recognise import recognise
from proveout.recognition.rims import edge_middle_mm
from proveout.recognition.web import Web

TURNS = (0.0, 23.0, 61.0)
MIDDLE = (60.0, 60.0)
SIDE_MM, R_MM, CHORD_MM = 24.0, 20.0, 30.0


def sunk(outline: bd.Face, *, turn_deg: float) -> Feature:
    """The one recess of a block 120 x 120 x 20 into whose top the outline is sunk by 5, turned about the upright."""
    turned = outline.rotate(bd.Axis.Z, turn_deg).moved(bd.Location((*MIDDLE, 15.0)))
    tool = bd.Solid.extrude(turned, bd.Vector(0, 0, 10))
    (one,) = [f for f in recognise(solid_of((bd.Solid(box(120, 120, 20)) - tool).wrapped)) if f.kind == "pocket"]
    return one


def face(*edges: bd.Edge) -> bd.Face:
    return bd.Face(bd.Wire(edges))


@pytest.mark.parametrize("turn_deg", TURNS)
def test_a_pocket_without_a_straight_wall_keeps_its_sizes(turn_deg: float) -> None:
    """worked: two arcs of R20 over a chord of 30 are 30 long and 2 (20 - sqrt(20^2 - 15^2)) wide."""
    rise = R_MM - math.sqrt(R_MM**2 - (0.5 * CHORD_MM) ** 2)
    ends = ((-0.5 * CHORD_MM, 0.0), (0.5 * CHORD_MM, 0.0))
    lens = face(*(bd.Edge.make_three_point_arc(ends[0], (0.0, sign * rise), ends[1]) for sign in (1.0, -1.0)))
    one = sunk(lens, turn_deg=turn_deg)
    assert one.sizes_mm["length_mm"] == pytest.approx(CHORD_MM, abs=1e-6)
    assert one.sizes_mm["width_mm"] == pytest.approx(2.0 * rise, abs=1e-6)
    assert one.place_mm == pytest.approx((*MIDDLE, 20.0), abs=1e-5)


@pytest.mark.parametrize("turn_deg", TURNS)
def test_of_three_like_walls_none_decides_where_a_pocket_is(turn_deg: float) -> None:
    """worked: the boxes along the three walls are alike, and the mean of their middles is the triangle's own."""
    r = SIDE_MM / math.sqrt(3.0)
    corners = [(r * math.cos(a), r * math.sin(a)) for a in (0.3, 0.3 + math.tau / 3.0, 0.3 + 2.0 * math.tau / 3.0)]
    one = sunk(face(*bd.Polyline(corners, close=True).edges()), turn_deg=turn_deg)
    assert one.sizes_mm["length_mm"] == pytest.approx(SIDE_MM, abs=1e-6)
    assert one.sizes_mm["width_mm"] == pytest.approx(SIDE_MM * math.sqrt(3.0) / 2.0, abs=1e-6)
    assert one.place_mm == pytest.approx((*MIDDLE, 20.0), abs=1e-5)


@pytest.mark.parametrize("turn_deg", TURNS)
def test_where_no_wall_is_flat_the_longest_straight_edge_tells_the_length(turn_deg: float) -> None:
    """A round sunk aslant into a bar 4 wide: its straight edges are short, and the least box lies along its arcs."""
    bar = bd.Solid.make_box(60, 4, 20, bd.Plane((-30, -2, 0))).rotate(bd.Axis.Z, 60.0)
    trough = bd.Solid.make_cylinder(8.0, 60.0, bd.Plane((-30, 0, 20), z_dir=(1, 0, 0)))
    web = Web(solid_of((bar - trough).rotate(bd.Axis.Z, turn_deg).wrapped))
    (number,) = [n for n, region in web.regions.items() if region.kind == "cylinder"]
    way = longest_way(web, (number,), np.array([0.0, 0.0, 1.0]))
    turn = math.radians(turn_deg)
    assert abs(float(way @ np.array([math.cos(turn), math.sin(turn), 0.0]))) == pytest.approx(1.0, abs=1e-9)


def arc(*angles_deg: float) -> Edge:
    """Of radius 10 about the origin, its points at these angles."""
    angles = np.radians(angles_deg)
    points = np.column_stack([10.0 * np.cos(angles), 10.0 * np.sin(angles), 0.0 * angles])
    return Edge(
        id="arc", index=0, faces=(0, 1), kind="circle", length_mm=10.0 * abs(float(angles[-1] - angles[0])),
        convexity="smooth", turn_rad=0.0, points_mm=points, radius_mm=10.0, centre_mm=(0.0, 0.0, 0.0),
    )  # fmt: skip


@pytest.mark.parametrize("angles", [(0.0, 45.0, 90.0), (90.0, 80.0, 10.0, 0.0), (0.0, 15.0, 31.0, 77.0, 90.0)])
def test_the_middle_of_an_arc_does_not_hang_on_where_it_was_sampled(angles: tuple[float, ...]) -> None:
    """worked: of a quarter round the middle lies at R sin(45 deg) / (pi/4) from the centre, under 45 deg."""
    reach = 10.0 * math.sin(math.pi / 4.0) / (math.pi / 4.0)
    assert edge_middle_mm(arc(*angles)) == pytest.approx(np.array([1.0, 1.0, 0.0]) * reach / math.sqrt(2.0), abs=1e-9)


def test_the_middle_of_a_whole_round_is_its_centre() -> None:
    assert edge_middle_mm(arc(0.0, 100.0, 230.0, 360.0)) == pytest.approx(np.zeros(3), abs=1e-12)


def test_a_fillet_is_placed_by_its_rims() -> None:
    """worked: two edges of 60 set back by R4 on either side, and two quarter rounds at the ends."""
    block = bd.Solid(box(60, 40, 20))
    edge = next(e for e in block.edges() if e.center() == bd.Vector(30, 40, 20))
    (one,) = [f for f in recognise(solid_of(block.fillet(4.0, [edge]).wrapped)) if f.kind == "fillet"]
    quarter, inset = 4.0 * math.pi / 2.0, 4.0 * math.sin(math.pi / 4.0) / (math.pi / 4.0) / math.sqrt(2.0)
    along = (60.0 * 40.0 + 60.0 * 36.0 + 2.0 * quarter * (36.0 + inset)) / (120.0 + 2.0 * quarter)
    assert one.place_mm == pytest.approx((30.0, along, along - 20.0), abs=1e-5)
