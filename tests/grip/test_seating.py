"""Poses that seat: counted by hand on blocks and prisms."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proveout.grip.seating import Body, Vise, closing_angles, seated_poses, standing_normals


def prism(ring: list[tuple[float, float]], high: float) -> Body:
    """An upright prism about a convex ring, with its edges."""
    count = len(ring)
    points = np.array([(x, y, z) for z in (0.0, high) for x, y in ring])
    edges = [(k, (k + 1) % count) for k in range(count)]
    edges += [(a + count, b + count) for a, b in edges] + [(k, k + count) for k in range(count)]
    return Body(points_mm=points, edges=np.array(edges, dtype=np.int64), middle_mm=points.mean(axis=0))


def block(x: float, y: float, z: float) -> Body:
    return prism([(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)], z)


def vise(opening_mm: float = 100.0, *, stop_mm: float | None = 0.0, left_mm: float = 1.0) -> Vise:
    """Jaws that begin right of the stop, so that nothing can lie on its far side, unless told otherwise."""
    return Vise(top_mm=3.0, opening_mm=opening_mm, low_mm=left_mm, high_mm=90.0, stop_mm=stop_mm)


def test_a_block_seats_in_all_its_24_poses() -> None:
    """Six sides down, four ways round each (worked: 6 x 4)."""
    poses = seated_poses(block(60.0, 40.0, 30.0), vise())
    assert len(poses) == 24
    assert sorted({p.gap_mm for p in poses}) == [30.0, 40.0, 60.0]


def test_a_narrow_vise_takes_only_what_goes_between_its_jaws() -> None:
    """Worked: of the gaps 30, 40 and 60 mm, eight poses each, two go between jaws that open 45 mm."""
    assert len(seated_poses(block(60.0, 40.0, 30.0), vise(45.0))) == 16
    assert len(seated_poses(block(60.0, 40.0, 30.0), vise(29.0))) == 0


def test_every_pose_stands_on_the_seat_at_the_fixed_jaw_and_at_the_stop() -> None:
    body = block(60.0, 40.0, 30.0)
    for pose in seated_poses(body, vise()):
        points = body.points_mm @ np.array(pose.turn).T + np.array(pose.shift_mm)
        assert points[:, 2].min() == pytest.approx(0.0, abs=1e-9)
        assert points[:, 1].max() == pytest.approx(0.0, abs=1e-9)
        assert points[:, 0].min() == pytest.approx(0.0, abs=1e-9)
        assert points[:, 1].min() == pytest.approx(-pose.gap_mm, abs=1e-5)


def test_work_lies_on_the_far_side_of_the_stop_where_the_jaws_reach_under_its_middle() -> None:
    """Worked: with 25 mm of jaw beyond the stop the sixteen poses with 30 or 40 mm along the jaws hold there too."""
    assert len(seated_poses(block(60.0, 40.0, 30.0), vise(left_mm=-25.0))) == 24 + 16


def test_without_a_stop_work_slides_as_far_as_its_middle_stays_between_the_jaws() -> None:
    for pose in seated_poses(block(60.0, 40.0, 30.0), vise(stop_mm=None)):
        low, high = pose.slide_mm
        assert high - low == pytest.approx(89.0)


def test_a_wedge_rests_on_its_sides_but_not_on_a_corner() -> None:
    """Jaws close on a right-angled triangle with a side flush and the corner across from it (worked: 3 sides x 2)."""
    ring = np.array([(0.0, 0.0), (40.0, 0.0), (0.0, 30.0)])
    found = closing_angles(ring)
    assert len(found) == 6
    assert sorted({round(gap, 6) for _, gap in found}) == [24.0, 30.0, 40.0]


def test_a_side_with_nothing_across_from_it_is_no_rest() -> None:
    """A slanted strip: its short ends have the far corner beside them, and jaws would turn it on (worked)."""
    ring = np.array([(0.0, 0.0), (10.0, 0.0), (50.0, 30.0), (40.0, 30.0)])
    gaps = {round(gap, 3) for _, gap in closing_angles(ring)}
    assert gaps == {6.0}


def test_a_block_does_not_stand_on_a_chamfer() -> None:
    """A chamfer of 2 mm is narrower than what a hand holds it on (worked: the six sides alone)."""
    corners = [np.array(c) for c in itertools.product((0.0, 60.0), (0.0, 40.0), (0.0, 30.0))]
    points = [c + shift for c in corners if c[0] < 1 and c[2] < 1 for shift in ((2.0, 0.0, 0.0), (0.0, 0.0, 2.0))]
    points += [c for c in corners if not (c[0] < 1 and c[2] < 1)]
    body = Body(
        points_mm=np.array(points, dtype=np.float64), edges=np.zeros((0, 2), dtype=np.int64),
        middle_mm=np.array([30.0, 20.0, 15.0]),
    )  # fmt: skip
    assert len(standing_normals(body)) == 6


def test_a_round_lies_anyhow_in_jaws_cut_to_it_and_nowhere_in_flat_ones() -> None:
    """No side of the ring is as long as a flush one: flat jaws find no rest, and any turn is one in a round pocket."""
    turns = np.linspace(0.0, 2.0 * np.pi, 96, endpoint=False)
    body = prism([(20.0 * float(np.cos(t)), 20.0 * float(np.sin(t))) for t in turns], 10.0)
    flat, formed = (
        [p for p in seated_poses(body, vise(), is_formed=is_formed) if p.turn[2][2] > 0.5]
        for is_formed in (False, True)
    )
    assert flat == []
    angles = {round(float(np.degrees(np.arctan2(p.turn[1][0], p.turn[0][0]))) % 360.0, 3) for p in formed}
    assert {0.0, 120.0, 90.0, 72.0, 60.0, 37.0, 3.0} <= angles
