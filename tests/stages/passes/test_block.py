"""A block with a pocket, a step, a slot and a hole, cut from above: judged on a plain height map."""

from __future__ import annotations

import math
import sys
from typing import Any

import manifold3d
import msgspec
import numpy as np
import pytest

from proveout.programs.writing.holes import pecked_hole

FLOORS = {"top": 20.0, "step": 14.0, "slot": 15.0, "pocket": 12.0}


def wanted(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Height of the finished block, written down by hand; nan where the plain map cannot judge (outside, hole)."""
    z = np.full(np.broadcast(x, y).shape, 20.0)
    z = np.where((x > 50.0), 14.0, z)
    z = np.where((x > 38.0) & (x < 45.0), 15.0, z)
    dx = np.maximum(np.abs(x - 17.0) - 7.0, 0.0)
    dy = np.maximum(np.abs(y - 20.0) - 3.0, 0.0)
    z = np.where(np.hypot(dx, dy) < 5.0, 12.0, z)
    outside = (x < 0.0) | (x > 60.0) | (y < 0.0) | (y > 40.0)
    return np.where(outside | (np.hypot(x - 20.0, y - 5.0) < 3.3), np.nan, z)


def test_nothing_of_the_part_is_cut_and_nothing_is_left_on_it(pocketed_work: Any) -> None:
    work, _ = pocketed_work
    x, y = np.meshgrid(work.x, work.y, indexing="ij")
    goal = wanted(x, y)
    near_wall = np.zeros_like(goal, dtype=bool)
    for shift in ((0.2, 0.0), (-0.2, 0.0), (0.0, 0.2), (0.0, -0.2)):
        other = wanted(x + shift[0], y + shift[1])
        near_wall |= ~(np.abs(other - goal) < 1e-9)
    judged = ~np.isnan(goal) & ~near_wall
    gap = (work.z - goal)[judged]
    assert judged.sum() > 20_000
    assert gap.min() > -0.001
    assert gap.max() < 0.001


def test_walls_stand_within_a_hundredth(pocketed: Any) -> None:
    """Columns 0.01 mm inside the part's walls stay, columns 0.01 mm outside are cut to the foot."""
    lines = {
        "step": (np.array([50.0, 20.0]), np.array([1.0, 0.0]), 20.0, 14.0),
        "slot left": (np.array([38.0, 20.0]), np.array([1.0, 0.0]), 20.0, 15.0),
        "slot right": (np.array([45.0, 20.0]), np.array([-1.0, 0.0]), 20.0, 15.0),
        "pocket front": (np.array([17.0, 12.0]), np.array([0.0, 1.0]), 20.0, 12.0),
        "pocket corner": (np.array([24.0, 23.0]) + 5.0 * math.sqrt(0.5), np.full(2, -math.sqrt(0.5)), 20.0, 12.0),
        "outside": (np.array([30.0, 0.0]), np.array([0.0, -1.0]), 20.0, -0.9),
    }
    for name, (place, out, high, low) in lines.items():
        for offset, expected in ((-0.011, high), (0.011, low)):
            x, y = place + offset * out
            tip = lowest_over(pocketed, x, y)
            if expected == high:
                assert tip >= high - 1e-6, f"{name}: cut to {tip} inside the wall"
            else:
                assert tip <= low + 1e-6, f"{name}: left at {tip} outside the wall"


def lowest_over(result: Any, x: float, y: float) -> float:
    """The lowest height of any cutter's underside over one point, by exact distances to the moves."""
    best = math.inf
    frame = result.clampings[0].tilts[0].frame
    for one in result.passes:
        tool, moves = result.cutter(one), result.moves(one)
        if tool.kind not in ("end mill", "face mill"):
            continue
        points = frame.out_of(moves.points)
        a, b = points[:-1], points[1:]
        span = b - a
        square = np.maximum((span[:, :2] ** 2).sum(axis=1), 1e-18)
        share = np.clip(((np.array([x, y]) - a[:, :2]) * span[:, :2]).sum(axis=1) / square, 0.0, 1.0)
        nearest = a + share[:, None] * span
        met = np.hypot(nearest[:, 0] - x, nearest[:, 1] - y) <= tool.diameter_mm / 2.0
        if met.any():
            best = min(best, float(np.maximum(a[met, 2], b[met, 2]).min()))
    return best


def test_rapid_moves_meet_no_metal(pocketed_work: Any) -> None:
    _, worst = pocketed_work
    assert worst <= 1e-6


def test_rapid_moves_are_vertical_or_at_the_clearance_height(pocketed: Any) -> None:
    for one in pocketed.passes:
        moves = pocketed.moves(one)
        step = np.diff(moves.points, axis=0)
        rapid = moves.feed_mm_per_s[1:] == 0.0
        level = np.hypot(step[:, 0], step[:, 1]) > 1e-9
        assert (moves.points[1:][rapid & level, 2] >= moves.points[:, 2].max() - 1e-9).all()
        assert moves.points[0, 2] == moves.points[:, 2].max()


def test_end_mills_never_plunge_into_metal(pocketed: Any, kit: Any) -> None:
    """A feed move that goes down more steeply than 3 degrees must end in air."""
    work = kit.HeightMap(pocketed.blank, pitch_mm=0.5)
    for one in pocketed.passes:
        tool, moves = pocketed.cutter(one), pocketed.moves(one)
        points = pocketed.clampings[0].tilts[0].frame.out_of(moves.points)
        radius = tool.diameter_mm / 2.0
        for k in range(1, len(points)):
            fall = points[k - 1, 2] - points[k, 2]
            level = math.hypot(*(points[k, :2] - points[k - 1, :2]))
            steep = fall > level * math.tan(math.radians(3.05)) + 0.0011
            if tool.kind == "end mill" and moves.feed_mm_per_s[k] > 0.0 and steep:
                where, inside = work.under(points[k, 0], points[k, 1], radius - 0.4)
                top = work.z[where][inside]
                assert top.size == 0 or points[k, 2] >= top.max() - 1e-6, f"{one.id} move {k}"
            work.run(points[k - 1 : k + 1], moves.feed_mm_per_s[k - 1 : k + 1], kit.outline_of(tool), radius)


def test_no_tip_goes_down_to_the_seat_or_into_the_jaws(pocketed: Any) -> None:
    clamping = pocketed.clampings[0]
    for one in pocketed.passes:
        radius = pocketed.cutter(one).diameter_mm / 2.0
        points = clamping.frame.into(clamping.tilts[0].frame.out_of(pocketed.moves(one).points))
        assert points[:, 2].min() >= 0.3 - 1e-9, one.id
        over = (points[:, 1] + radius > 0.0) | (points[:, 1] - radius < -clamping.gap_mm)
        assert not over.any() or points[over, 2].min() >= clamping.jaw_top_mm + 0.3 - 1e-6, one.id


def test_every_point_lies_on_the_machines_grid(pocketed: Any, kit: Any) -> None:
    for moves in pocketed.decision.value.moves.values():
        steps = moves.points / kit.MACHINE.resolution_mm
        assert np.abs(steps - np.rint(steps)).max() < 1e-6


def test_the_order_is_face_rough_spot_drill_floor_wall(pocketed: Any) -> None:
    kinds = pocketed.kinds()
    first = {k: kinds.index(k) for k in ("face", "rough", "spot", "peck", "finish floor", "finish wall")}
    assert first["face"] < first["rough"] < first["spot"] < first["peck"] < first["finish floor"] < first["finish wall"]


def test_a_pass_is_addressed_by_its_place(pocketed: Any) -> None:
    ids = [p.id for p in pocketed.passes]
    assert len(ids) == len(set(ids))
    for one in pocketed.passes:
        assert one.id.startswith(f"op1/t0/{one.cutter_id}/{one.kind}/")


def test_every_promised_face_has_a_pass_and_the_proof_says_so(pocketed: Any) -> None:
    assert pocketed.decision.value.not_cut == ()
    proof = next(p for p in pocketed.decision.proofs if p.id == "passes/op1/every-face")
    assert proof.verdict == "holds"
    assert proof.blocks_release


def test_the_same_part_gives_the_same_moves(pocketed: Any, kit: Any) -> None:
    again = kit.planned(
        target=pocketed.target, blank=pocketed.blank, clampings=pocketed.clampings,
        holes=(kit.hole_of("hole A", entry=(20.0, 5.0, 20.0), steps=(("cylinder", 6.6, 0.0, 20.0, "hole wall"),)),),
    )  # fmt: skip
    assert [(p.id, p.moves_digest) for p in again.passes] == [(p.id, p.moves_digest) for p in pocketed.passes]


def test_a_hole_that_no_pass_makes_is_not_tapped(pocketed: Any, kit: Any) -> None:
    """Only a smaller drill is there: the tap would go into metal."""
    hole = kit.hole_of("hole A", entry=(20.0, 5.0, 20.0), steps=(("cylinder", 6.6, 0.0, 20.0, "hole wall"),))
    small = next(c for c in kit.SHOP if c.kind == "tap")
    tap = msgspec.structs.replace(small, id="T8", diameter_mm=8.0, pitch_mm=1.25)

    def kinds(shop: tuple[Any, ...]) -> tuple[list[str], str]:
        found = kit.planned(
            target=pocketed.target, blank=pocketed.blank, clampings=pocketed.clampings, holes=(hole,),
            cutters=(*shop, tap), threads={"hole A": "M8"},
        )  # fmt: skip
        reasons = [n.reason for n in found.decision.value.not_cut if n.subject == "hole A"]
        return [p.kind for p in found.passes if p.feature == "hole A"], "".join(reasons)

    assert kinds(kit.SHOP)[0][-1] == "tap"
    laid, reason = kinds(tuple(c for c in kit.SHOP if c.id not in ("DR6.6", "EM5")))
    assert laid
    assert "tap" not in laid
    assert reason


def test_the_through_hole_is_drilled_past_the_far_side(pocketed: Any) -> None:
    """Worked: tip of 118 degrees, 6.6 mm: 3.3 / tan 59 = 1.983; plus 0.5 below z = 0, but 0.3 above the seat."""
    one = next(p for p in pocketed.passes if p.kind in ("drill", "peck"))
    low = pocketed.clampings[0].tilts[0].frame.out_of(pocketed.moves(one).points)[:, 2].min()
    assert low == pytest.approx(-(3.3 / math.tan(math.radians(59.0)) + 0.5), abs=0.001)


def test_pecks_are_those_of_a_controls_own_cycle(pocketed: Any) -> None:
    """Worked: from 1 mm above the top, at 21 in the part, 6.6 at a time: 14.4, 7.8, 1.2 and the goal, each from R."""
    (one,) = (p for p in pocketed.passes if p.kind == "peck")
    moves = pocketed.decision.value.moves[one.moves_digest]
    hole = pecked_hole("peck", moves, back_mm=0.5)
    assert hole is not None
    assert hole.peck_mm == pytest.approx(6.6)
    assert hole.bottom_row == 11
    heights = pocketed.clampings[0].tilts[0].frame.out_of(moves.points)[:, 2]
    assert heights[[1, 2, 5, 8]] == pytest.approx([21.0, 14.4, 7.8, 1.2])
    assert heights[[4, 7, 10]] == pytest.approx([14.9, 8.3, 1.7])


def test_through_holes_end_in_the_waste(pocketed: Any) -> None:
    """Worked: 0.5 past the back by its whole diameter; strip 4.5, so the tip stays 4.5 - 2.483 above the seat."""
    (proof,) = (p for p in pocketed.decision.proofs if p.id == "passes/op1/through-holes")
    assert proof.found_low == pytest.approx(0.5, abs=0.002)
    assert (proof.subject, proof.verdict, proof.blocks_release) == ("hole A", "holds", False)
    assert "of 1 holes; the deepest tip ends 2.02 mm above the seat" in proof.basis.formula


def test_planning_stops_at_its_bound_of_effort_and_says_so(kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no effort allowed nothing is laid, every promised face has its reason, and the proof is not shown."""
    monkeypatch.setattr(sys.modules["proveout.stages.passes.decide"], "EFFORT_MAX", -1)
    body = manifold3d.Manifold.cube((60.0, 40.0, 20.0)) - manifold3d.Manifold.cube((20.0, 50.0, 9.0)).translate(
        (20.0, -5.0, 12.0)
    )
    target = kit.target_of(body, kit.by_plane)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    found = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (62.0, 42.0, 21.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=42.0), gap_mm=44.0, faces=faces),),
    )  # fmt: skip
    assert found.passes == ()
    assert {f for n in found.decision.value.not_cut for f in n.face_ids} == set(faces)
    assert all("bound of effort" in n.reason for n in found.decision.value.not_cut)
    assert all(p.verdict == "not shown" for p in found.decision.proofs if p.id.endswith("every-face"))


@pytest.mark.parametrize(("crossing_mm", "foot_mm", "run_out_mm"), [(6.6, 10.0, 0.0), (8.0, 12.261, 0.5)])
def test_a_hole_that_ends_in_one_that_crosses_it_is_drilled_no_farther_than_the_part_bears(
    kit: Any, crossing_mm: float, foot_mm: float, run_out_mm: float
) -> None:
    """Worked: as wide as it the lips end on its axis; Ø8 there is 12.261 = 10 + (16 - 10.89)^0.5, wider 0.5 below."""
    import manifold3d

    bore = manifold3d.Manifold.cylinder(60.0, crossing_mm / 2.0, crossing_mm / 2.0, 96).rotate((0.0, 90.0, 0.0))
    hole = manifold3d.Manifold.cylinder(12.0, 3.3, 3.3, 96).translate((20.0, 20.0, 10.0))
    body = manifold3d.Manifold.cube((40.0, 40.0, 20.0)) - bore.translate((-5.0, 20.0, 10.0)) - hole

    def name(middle: Any, normal: Any) -> str:
        if abs(normal[2]) < 0.01 and math.hypot(middle[0] - 20.0, middle[1] - 20.0) < 3.5:
            return "hole wall"
        return "bore wall" if math.hypot(middle[1] - 20.0, middle[2] - 10.0) < 5.0 else kit.by_plane(middle, normal)

    target = kit.target_of(body, name)
    noun = kit.hole_of("hole A", entry=(20.0, 20.0, 20.0), steps=(("cylinder", 6.6, 0.0, 20.0 - foot_mm, "hole wall"),))
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=42.0)
    laid = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 42.0, 21.5)), holes=(noun,),
        clampings=(kit.clamping_of(frame, gap_mm=44.0, faces=(), holes=("hole A",)),),
    )  # fmt: skip
    (one,) = (p for p in laid.passes if p.kind in ("drill", "peck"))
    low = frame.out_of(laid.moves(one).points)[:, 2].min()
    assert low == pytest.approx(foot_mm - 3.3 / math.tan(math.radians(59.0)) - run_out_mm, abs=0.002)
