"""Inclined faces, chamfers and undercuts, judged by the removal engine face by face."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import manifold3d
import msgspec
import numpy as np
import pytest

from proveout.geometry.facets import closed_mesh
from proveout.stages.passes import contours
from proveout.stages.passes.areas import disc
from proveout.stages.passes.view import TiltView, box_body

TAN20 = math.tan(math.radians(20.0))


def prism(profile: list[tuple[float, float]], length_mm: float) -> Any:
    """A profile in y, z (counter-clockwise) drawn along x."""
    area = manifold3d.CrossSection([np.array(profile)], manifold3d.FillRule.NonZero)
    turn = np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    return manifold3d.Manifold.extrude(area, length_mm).transform(turn)


@pytest.fixture(scope="module")
def wedge(kit: Any) -> Any:
    """40 x 20 x 15: the far side leans back by 20 degrees, the near upper edge has a 45 degree chamfer of 1 mm."""
    body = prism([(0.0, 0.0), (20.0, 0.0), (20.0 - 15.0 * TAN20, 15.0), (1.0, 15.0), (0.0, 14.0)], 40.0)
    target = kit.target_of(body, kit.by_plane)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 22.0, 16.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=22.0), gap_mm=24.0, faces=faces),),
    )  # fmt: skip


def face_of(result: Any, normal: tuple[float, float, float]) -> str:
    name = "plane " + "".join(f"{v:+.2f}" for v in normal)
    return next(f for f in result.target.face_ids if f.startswith(name))


def test_every_face_of_the_wedge_comes_out_within_two_hundredths(wedge: Any, kit: Any) -> None:
    assert wedge.decision.value.not_cut == ()
    found = kit.removal_of(wedge, above_mm=0.02)
    for face_id, (left, gouge) in found.items():
        assert gouge < 0.01, face_id
        assert left < 0.02, face_id


def test_the_ball_does_the_flank_and_an_end_mill_the_strip_over_the_jaw(wedge: Any) -> None:
    flank = face_of(wedge, (0.0, 0.94, 0.34))
    by = [(p.kind, p.cutter_id) for p in wedge.passes if p.feature == flank]
    assert ("finish surface", "BM8") in by
    assert ("finish surface", "EM12") in by


def test_two_leaning_faces_take_one_change_of_cutter(kit: Any) -> None:
    """Both flanks with the ball, then the strips over both jaws with the end mill, and all comes out as it should."""
    body = prism([(0.0, 0.0), (24.0, 0.0), (24.0 - 15.0 * TAN20, 15.0), (15.0 * TAN20, 15.0)], 40.0)
    target = kit.target_of(body, kit.by_plane)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    roof = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 26.0, 16.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=26.0), gap_mm=28.0, faces=faces),),
    )  # fmt: skip
    by = [p.cutter_id for p in roof.passes if p.kind == "finish surface"]
    assert by == ["BM8", "BM8", "EM12", "EM12"]
    assert roof.decision.value.not_cut == ()
    assert all(left < 0.02 and gouge < 0.01 for left, gouge in kit.removal_of(roof, above_mm=0.02).values())


def test_two_leaning_faces_that_meet_take_one_change_of_cutter(kit: Any) -> None:
    """A block whose flanks lean over a floor: at their corner the end mill of one comes where the ball of the other."""
    inward = 14.0 - 10.0 * TAN20
    foot, top = (np.array([(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)]) for s in (14.0, inward))
    corners = np.vstack([np.column_stack([foot, np.full(4, 5.0)]), np.column_stack([top, np.full(4, 15.0)])])
    body = manifold3d.Manifold.cube((28.0, 28.0, 5.0)) + manifold3d.Manifold.hull_points(corners)
    target = kit.target_of(body, kit.by_plane)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    corner = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (30.0, 30.0, 15.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=30.0), gap_mm=32.0, faces=faces),),
    )  # fmt: skip
    by = [p.cutter_id for p in corner.passes if p.kind == "finish surface"]
    assert by == ["BM8", "BM8", "EM12", "EM12"]
    assert corner.decision.value.not_cut == ()
    assert all(left < 0.02 and gouge < 0.01 for left, gouge in kit.removal_of(corner, above_mm=0.02).values())


def test_the_chamfer_is_cut_by_the_cutter_of_its_slope(wedge: Any) -> None:
    chamfer = face_of(wedge, (0.0, -0.71, 0.71))
    assert [(p.kind, p.cutter_id) for p in wedge.passes if chamfer in p.face_ids] == [("break edge", "EB10")]


@pytest.fixture(scope="module")
def leaning(kit: Any) -> Any:
    """40 x 20 x 10 whose far side leans under by 20 degrees: wide at the top."""
    body = prism([(0.0, 0.0), (20.0 - 10.0 * TAN20, 0.0), (20.0, 10.0), (0.0, 10.0)], 40.0)
    target = kit.target_of(body, kit.by_plane)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    frame = kit.upright(low=(0.0, 0.0, -12.0), high_y=22.0)
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -12.0), (42.0, 22.0, 11.5)),
        clampings=(kit.clamping_of(frame, gap_mm=24.0, jaw_top_mm=5.0, faces=faces),),
    )  # fmt: skip


def test_a_face_that_leans_under_is_cut_by_the_cutter_of_its_angle(leaning: Any, kit: Any) -> None:
    under = face_of(leaning, (0.0, 0.94, -0.34))
    assert [(p.kind, p.cutter_id) for p in leaning.passes if under in p.face_ids] == [("undercut", "UC16")]
    left, gouge = kit.removal_of(leaning, above_mm=0.02)[under]
    assert left < 0.02
    assert gouge < 0.01


def test_a_shank_thicker_than_the_neck_that_meets_the_lip_leaves_the_face(leaning: Any, kit: Any) -> None:
    """Its head of 4 would come to the foot of the face, and 1 mm of neck over it ends far below the lip."""
    thick = {"flute_length_mm": 4.0, "shank_diameter_mm": 15.0, "neck_diameter_mm": 6.0, "neck_length_mm": 1.0}
    (slim,) = [c for c in kit.SHOP if c.kind == "undercut"]
    others = tuple(c for c in kit.SHOP if c is not slim)
    cutters = (*others, msgspec.structs.replace(slim, **thick))
    again = kit.planned(target=leaning.target, blank=leaning.blank, clampings=leaning.clampings, cutters=cutters)
    (left,) = again.decision.value.not_cut
    assert left.subject == face_of(leaning, (0.0, 0.94, -0.34))
    kept = (*others, msgspec.structs.replace(slim, **{**thick, "neck_length_mm": 12.0}))
    again = kit.planned(target=leaning.target, blank=leaning.blank, clampings=leaning.clampings, cutters=kept)
    assert again.decision.value.not_cut == ()


def test_a_lean_that_no_cutter_has_is_not_cut_and_blocks_release(leaning: Any, kit: Any) -> None:
    cutters = tuple(c for c in kit.SHOP if c.kind != "undercut")
    again = kit.planned(target=leaning.target, blank=leaning.blank, clampings=leaning.clampings, cutters=cutters)
    missing = again.decision.value.not_cut
    assert [n.subject for n in missing] == [face_of(leaning, (0.0, 0.94, -0.34))]
    proof = next(p for p in again.decision.proofs if p.id == "passes/op1/every-face")
    assert proof.verdict == "not shown"
    assert proof.blocks_release
    assert missing[0].subject in proof.decides


def test_a_face_that_looks_straight_down_is_not_cut_and_says_what_would_come_under_it(kit: Any) -> None:
    """A side with a groove 5 high, its upper face, and no T-slot cutter in the shop."""
    outline = [(0.0, 0.0), (20.0, 0.0), (20.0, 15.0), (0.0, 15.0), (0.0, 10.0), (10.0, 10.0), (10.0, 5.0), (0.0, 5.0)]
    target = kit.target_of(prism(outline, 40.0), kit.by_plane)
    (ceiling,) = (f for f in target.face_ids if f.startswith("plane +0.00+0.00-1.00 -10"))
    result = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 22.0, 16.5)),
        clampings=(
            kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=22.0), gap_mm=24.0, faces=(ceiling,)),
        ),
    )  # fmt: skip
    (left,) = result.decision.value.not_cut
    assert left.face_ids == (ceiling,)
    assert "only a T-slot cutter comes under it, and none was chosen" in left.reason
    proof = next(p for p in result.decision.proofs if p.id == "passes/op1/every-face")
    assert (proof.verdict, proof.blocks_release) == ("not shown", True)


def test_in_finished_jaws_no_cutter_comes_near_them(wedge: Any, kit: Any) -> None:
    """Below the jaw tops and 0.3 mm of air a cutter must keep its whole width between the jaws."""
    faces = wedge.clampings[0].makes_faces
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=22.0)
    clamping = kit.clamping_of(frame, gap_mm=24.0, jaw_top_mm=9.0, faces=faces, surface="finished")
    again = kit.planned(target=wedge.target, blank=wedge.blank, clampings=(clamping,))
    assert again.passes
    for one in again.passes:
        radius = again.cutter(one).diameter_mm / 2.0
        points = frame.into(clamping.tilts[0].frame.out_of(again.moves(one).points))
        if again.cutter(one).kind in ("end mill", "face mill"):
            low = points[:, 2] < 9.3 - 1e-6
            assert (points[low, 1] + radius <= 1e-6).all(), one.id
            assert (points[low, 1] - radius >= -24.0 - 1e-6).all(), one.id


@pytest.fixture(scope="module")
def rounded(kit: Any) -> Any:
    """30 x 20 x 12 whose two long upper edges are rounded by 3 mm."""
    turns = np.radians(np.linspace(0.0, 90.0, 25))
    right = [(17.0 + 3.0 * math.cos(t), 9.0 + 3.0 * math.sin(t)) for t in turns]
    left = [(20.0 - y, z) for y, z in reversed(right)]
    body = prism([(0.0, 0.0), (20.0, 0.0), *right, *left], 30.0)

    def name(middle: Any, normal: Any) -> str:
        round_one = abs(normal[0]) < 0.5 and 0.02 < normal[2] < 0.9995
        return f"round {'far' if normal[1] > 0.0 else 'near'}" if round_one else kit.by_plane(middle, normal)

    target = kit.target_of(body, name)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 22.0, 13.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=22.0), gap_mm=24.0, faces=faces),),
    )  # fmt: skip


def test_round_edges_come_out_within_two_hundredths(rounded: Any, kit: Any) -> None:
    assert rounded.decision.value.not_cut == ()
    assert ("finish surface", "BM8") in {(p.kind, p.cutter_id) for p in rounded.passes if "round far" in p.face_ids}
    found = kit.removal_of(rounded, above_mm=0.02)
    for face_id in ("round far", "round near"):
        left, gouge = found[face_id]
        assert left < 0.02, face_id
        assert gouge < 0.01, face_id


def test_a_ball_of_another_size_gets_contours_of_its_own(rounded: Any, kit: Any) -> None:
    """What is remembered of a face under one ball serves the same ball, and no other."""
    balls = tuple(
        msgspec.structs.replace(c, diameter_mm=6.0, shank_diameter_mm=6.0) if c.id == "BM8" else c for c in kit.SHOP
    )
    given = {"target": rounded.target, "blank": rounded.blank, "clampings": rounded.clampings}
    warm = kit.planned(**given, cutters=balls)
    contours.CONTOURS.clear()
    cold = kit.planned(**given, cutters=balls)
    again = kit.planned(**given)
    assert [p.moves_digest for p in warm.passes] == [p.moves_digest for p in cold.passes]
    assert [p.moves_digest for p in again.passes] == [p.moves_digest for p in rounded.passes]


def test_where_a_ball_may_not_stand_follows_the_work(rounded: Any) -> None:
    """The holder of a short ball is kept off a block of metal until the block is gone."""
    clamping, ball = rounded.clampings[0], next(c for c in rounded.cutters if c.id == "BM8")
    short = msgspec.structs.replace(ball, stick_out_mm=3.0, holder_diameter_mm=20.0, holder_length_mm=40.0)
    target = rounded.target
    body = closed_mesh(points_mm=target.vertices_mm, triangles=target.triangles)
    work = box_body(rounded.blank.low_mm, rounded.blank.high_mm)
    view = TiltView(target=target, body=body, clamping=clamping, tilt=clamping.tilts[0], work=work)
    top = float(view.work.bounding_box()[5])

    def zone() -> Any:
        return view.ball_zone(top + 1.0, top - 4.0, cutter=short, narrower_mm=0.001)

    before = zone()
    assert before.area > 0.0
    assert zone() is before
    view.cut(disc(x_mm=0.0, y_mm=0.0, radius_mm=500.0), above_mm=top - 3.0)
    assert zone().area < before.area


def test_two_tilts_make_a_face_between_them() -> None:
    """Worked: a flat of 10 by 10, a ball of R3 in lines 0.2 apart over x up to 5 and then beyond it: half, then all."""
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 10.0, 0.0], [0.0, 10.0, 0.0]])
    view = SimpleNamespace(points=points, triangles=np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32), cusp_mm=0.01)
    task: Any = SimpleNamespace(view=view, face_ids=("flat",), touched={})
    facet: Any = SimpleNamespace(index=0, rows=np.array([0, 1]))
    ball: Any = SimpleNamespace(diameter_mm=6.0)

    def lines(low: float, high: float) -> list[Any]:
        return [np.array([[x, 0.0, 3.0], [x, 10.0, 3.0]]) for x in np.arange(low, high + 1e-9, 0.2)]

    first = contours._with_earlier(task, facet, lines(0.0, 5.0), ball)
    assert first == pytest.approx(0.5, abs=0.08)
    assert contours._with_earlier(task, facet, lines(5.0, 10.0), ball) == 1.0
    assert contours._with_earlier(task, facet, [], ball) == 1.0


def test_a_job_that_allows_less_gets_lines_closer_together_and_less_between_them(wedge: Any, kit: Any) -> None:
    """Worked. Under a ball of R4 lines lie 2 sqrt(2 4 h - h^2) apart: 0.565 mm for ridges of 0.01, 0.310 for 0.003."""
    target = msgspec.structs.replace(wedge.target, cusp_mm=0.003)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00"))
    fine = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 22.0, 16.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=22.0), gap_mm=24.0, faces=faces),),
    )  # fmt: skip
    for one, cusp, apart in ((wedge, 0.01, 0.5653), (fine, 0.003, 0.3098)):
        (ridges,) = [p for p in one.decision.proofs if p.id.endswith("/ridges")]
        assert (ridges.verdict, ridges.limit, ridges.found_high) == ("holds", cusp, pytest.approx(cusp))
        balls = [p for p in one.passes if p.kind == "finish surface" and p.cutter_id == "BM8"]
        assert [p.radial_mm for p in balls] == pytest.approx([apart] * len(balls), abs=1e-4)
    flank = face_of(wedge, (0.0, 0.94, 0.34))
    for one in (wedge, fine):  # the machine moves by a micrometre
        left, _ = kit.removal_of(one, above_mm=0.02)[flank]
        assert 0.8 * one.target.cusp_mm < left < one.target.cusp_mm + 0.001
