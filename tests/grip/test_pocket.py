"""A pocket in soft jaws takes what goes down to its step, and refuses what is longer."""

from __future__ import annotations

import itertools

import msgspec
import numpy as np
from jaw_parts import BLOCK

from proveout.grip.pocket import in_pocket
from proveout.grip.seating import Body, Vise, seated_poses
from proveout.model.jaw_form import JawForm

RING = ((0.0, -20.0), (60.5, -20.0), (60.5, 0.0), (0.0, 0.0))
FORM = JawForm(
    clamping_id=BLOCK.id, clamping=msgspec.structs.replace(BLOCK, needs_form=False), thickness_mm=25.0,
    slug_width_mm=14.0, slug_below_mm=1.0, bite_mm=3.0, depth_mm=10.0, below_mm=30.0, low_mm=-32.5, high_mm=92.5,
    outline_mm=(RING,), stop="the left end wall", contact_mm=60.0, length_mm=60.0, cutter_id="", cutter_radius_mm=0.0,
    reliefs=(), passes=(),
)  # fmt: skip
VISE = Vise(top_mm=10.0, opening_mm=100.0, low_mm=-1.0, high_mm=92.5, stop_mm=0.0)


def block(x: float, y: float, z: float) -> Body:
    """A block with points of its surface half a millimetre apart along its sides."""
    corners = np.array(list(itertools.product((0.0, x), (0.0, y), (0.0, z))))
    along = np.arange(0.0, x, 0.5)
    sides = [np.column_stack([along, np.full(len(along), b), np.zeros(len(along))]) for b in (0.0, y)]
    points = np.vstack([corners, *sides])
    return Body(points_mm=points, edges=np.zeros((0, 2), dtype=np.int64), middle_mm=corners.mean(axis=0))


def fits(x: float, y: float, z: float) -> set[float]:
    """Lengths along the jaws of the poses that go in with z up."""
    body = block(x, y, z)
    poses = [p for p in seated_poses(body, VISE) if abs(p.turn[2][2]) > 0.9]
    found = in_pocket(poses, body, FORM, home_mm=np.zeros(3))
    return {round(float(np.ptp(body.points_mm @ np.array(p.turn[0]))), 6) for p in found}


def test_a_pocket_takes_the_work_that_it_was_cut_to() -> None:
    """60 x 20 goes in along the jaws; across them it is 20 long and 60 wide, and the moving jaw makes room (worked)."""
    assert 60.0 in fits(60.0, 20.0, 30.0)


def test_a_pocket_refuses_work_that_is_longer() -> None:
    """70 mm does not go between end walls 60.5 mm apart (worked)."""
    assert 70.0 not in fits(70.0, 20.0, 30.0)


def test_a_pocket_takes_narrower_work() -> None:
    assert 60.0 in fits(60.0, 17.0, 30.0)
