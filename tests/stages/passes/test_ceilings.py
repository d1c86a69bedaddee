"""T-slots, judged by the removal engine face by face, and by plain geometry of head and neck at every move."""

from __future__ import annotations

import itertools
import math
import re
from typing import Any

import manifold3d
import numpy as np
import pytest

from proveout.stages.passes.ceilings import levels_mm, slab

TOP, FLOOR, CEILING = 18.0, 6.0, 12.0
NECK, HEAD = 8.0, 16.0


def drawn(profile: list[tuple[float, float]], length_mm: float) -> Any:
    """A profile in y, z (counter-clockwise) drawn along x."""
    area = manifold3d.CrossSection([np.array(profile)], manifold3d.FillRule.NonZero)
    turn = np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    return manifold3d.Manifold.extrude(area, length_mm).transform(turn)


def cutter_of(kit: Any, **more: Any) -> Any:
    given: dict[str, Any] = {"flute_length_mm": 5.0, "shank_diameter_mm": 6.0, "stick_out_mm": 30.0, **more}
    return kit.cutter("TS15", "T-slot", 15.0, flutes_count=6, **given)


def planned(kit: Any, body: Any, name: Any, cutter: Any, *, end: float, wide: float) -> Any:
    target = kit.target_of(body, name)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00 0"))
    return kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (end + 2.0, wide + 2.0, TOP + 1.5)),
        clampings=(
            kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=wide + 2.0), gap_mm=wide + 4.0, faces=faces),
        ),
        cutters=(*kit.SHOP, cutter),
    )  # fmt: skip


def through_body() -> Any:
    """40 long, 30 wide: a slot 8 wide down to 6 over one 16 wide and 6 high, right through."""
    return drawn(
        [(0, 0), (30, 0), (30, TOP), (19, TOP), (19, CEILING), (23, CEILING), (23, FLOOR), (7, FLOOR), (7, CEILING),
         (11, CEILING), (11, TOP), (0, TOP)], 40.0,
    )  # fmt: skip


@pytest.fixture(scope="module")
def through(kit: Any) -> Any:
    return planned(kit, through_body(), kit.by_plane, cutter_of(kit), end=40.0, wide=30.0)


@pytest.fixture(scope="module")
def blind(kit: Any) -> Any:
    """70 x 40: the same slot closed at both ends, with a round hole of 18 at one, through which the head goes down."""

    def long(width: float, high: float) -> Any:
        line = manifold3d.CrossSection.square((40.0, 0.002)).translate((0.0, -0.001))
        round_end = line.offset(width / 2.0 - 0.001, manifold3d.JoinType.Round, 2.0, 200)
        return manifold3d.Manifold.extrude(round_end, high).translate((15.0, 20.0, FLOOR))

    hole = manifold3d.Manifold.cylinder(12.0, 9.0, 9.0, 200).translate((15.0, 20.0, FLOOR))
    body = manifold3d.Manifold.cube((70.0, 40.0, TOP)) - long(HEAD, 6.0) - long(NECK, 12.0) - hole

    def name(middle: Any, normal: Any) -> str:
        x, y = float(middle[0]) - 15.0, float(middle[1]) - 20.0
        is_outer = not (1e-6 < middle[0] < 69.999 and 1e-6 < middle[1] < 39.999)
        if abs(normal[2]) > 0.5 or is_outer:
            return kit.by_plane(middle, normal)
        if abs(math.hypot(x, y) - 9.0) < 0.03 and normal[0] * x + normal[1] * y < -8.8:
            return "hole"
        is_low = middle[2] < CEILING and math.hypot(x, y) > 9.02 and (abs(y) > 4.02 or x > 44.02)
        where = "low" if is_low else "high"
        return f"{where} {kit.by_plane(middle, normal)}" if abs(normal[0]) < 1e-9 else f"{where} round"

    return planned(kit, body, name, cutter_of(kit), end=70.0, wide=40.0)


@pytest.mark.parametrize("which", ["through", "blind"])
def test_a_t_slot_is_made_whole_and_not_into(which: str, kit: Any, request: pytest.FixtureRequest) -> None:
    """Ceilings, side walls and floor by the removal engine, which knows nothing of how the passes were laid."""
    result = request.getfixturevalue(which)
    assert result.decision.value.not_cut == ()
    (one,) = [p for p in result.passes if p.cutter_id == "TS15"]
    assert one.kind == "undercut"
    assert {"plane +0.00+0.00-1.00 -12.00", "plane +0.00+0.00+1.00 6.00"} <= set(one.face_ids)
    for face_id, (left, gouge) in kit.removal_of(result, above_mm=0.02).items():
        assert left < 0.02, face_id
        assert gouge < 0.01, face_id


@pytest.mark.parametrize("which", ["through", "blind"])
def test_it_never_rises_under_a_ceiling_and_its_neck_stays_in_the_slot(
    which: str, request: pytest.FixtureRequest
) -> None:  # fmt: skip
    """Worked: below the top the head of R7.5 goes level; up and down only outside, or within 1.5 of the hole's middle.

    The neck of R3 keeps within 1 of the slot's middle wherever metal stands beside it.
    """
    result = request.getfixturevalue(which)
    (one,) = [p for p in result.passes if p.cutter_id == "TS15"]
    points = result.clampings[0].tilts[0].frame.out_of(result.moves(one).points)
    middle, end = (15.0, 40.0) if which == "through" else (20.0, 70.0)
    low = points[:, 2] < TOP
    assert low.any()
    for a, b in itertools.pairwise(points):
        if min(a[2], b[2]) < TOP and a[2] != b[2]:
            assert np.allclose(a[:2], b[:2])
            outside = a[0] < -7.5 or a[0] > end + 7.5
            assert outside if which == "through" else math.hypot(a[0] - 15.0, a[1] - 20.0) <= 1.5
    beside = low & (points[:, 0] > -1e-6) & (points[:, 0] < end + 1e-6)
    if which == "blind":
        beside &= points[:, 0] > 24.0
    assert beside.any()
    assert (np.abs(points[beside, 1] - middle) <= 1.0 + 1e-6).all()


def test_the_slot_is_open_before_the_neck_comes(through: Any) -> None:
    kinds = [(p.kind, p.cutter_id) for p in through.passes]
    own = kinds.index(("undercut", "TS15"))
    slot = next(k for k, p in enumerate(through.passes) if "plane +0.00+1.00+0.00 11.00" in p.face_ids)
    assert slot < own
    assert all(k < own for k, (kind, _) in enumerate(kinds) if kind in ("rough", "rough corners"))


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({"flute_length_mm": 6.5}, "the head of TS15 is 6.5 mm high, the room under the face 6.000"),
        ({"shank_diameter_mm": 8.2}, r"TS15 comes under \d\d? % of the face; its neck, its way in"),
        ({"stick_out_mm": 8.0}, "TS15 comes under 0 % of the face; its neck, its way in"),
        (
            {"shank_diameter_mm": 12.0, "neck_diameter_mm": 6.0, "neck_length_mm": 4.0},
            r"TS15 comes under \d % of the face; its neck, its way in",
        ),
    ],
)
def test_a_cutter_that_does_not_come_under_leaves_the_face_and_says_why(
    more: dict[str, float], reason: str, kit: Any
) -> None:  # fmt: skip
    """A head too high, a neck as wide as no slot, a holder that meets the top: the face blocks release."""
    result = planned(kit, through_body(), kit.by_plane, cutter_of(kit, **more), end=40.0, wide=30.0)
    left = {n.subject: n.reason for n in result.decision.value.not_cut}
    assert re.match(reason, left["plane +0.00+0.00-1.00 -12.00"])
    proof = next(p for p in result.decision.proofs if p.id == "passes/op1/every-face")
    assert (proof.verdict, proof.blocks_release) == ("not shown", True)


def test_heights_of_the_tip_go_from_the_floor_to_the_ceiling() -> None:
    """Worked: a room 6 high, heads of 6, 4 and 2.5; without a floor the ceiling alone."""
    assert levels_mm(top_mm=12.0, floor_mm=6.0, head_mm=6.0) == [6.0]
    assert levels_mm(top_mm=12.0, floor_mm=6.0, head_mm=4.0) == [6.0, 8.0]
    assert levels_mm(top_mm=12.0, floor_mm=6.0, head_mm=2.5) == pytest.approx([6.0, 7.75, 9.5])
    assert levels_mm(top_mm=12.0, floor_mm=-math.inf, head_mm=4.0) == [8.0]


def test_a_slab_is_what_a_body_has_between_two_heights() -> None:
    """Worked: of the profile from 7 to 11 the two cheeks of 7 x 40 each are left, from 13 to 17 of 11 x 40."""
    assert slab(through_body(), 7.0, 11.0).area() == pytest.approx(2 * 7 * 40)
    assert slab(through_body(), 13.0, 17.0).area() == pytest.approx(2 * 11 * 40)


def test_a_groove_in_a_side_is_taken_from_outside_in_stages(kit: Any) -> None:
    """A groove 5 high and 10 deep: a head of R14 on a neck of R3, whose runs take no more than a fifth of its width."""
    body = drawn(
        [(0, 0), (30, 0), (30, 15), (0, 15), (0, 10), (10, 10), (10, 5), (0, 5)], 40.0
    )  # fmt: skip
    target = kit.target_of(body, kit.by_plane)
    wide = kit.cutter("TS28", "T-slot", 28.0, flute_length_mm=4.0, shank_diameter_mm=6.0, stick_out_mm=30.0)
    faces = tuple(f for f in target.face_ids if not f.startswith("plane +0.00+0.00-1.00 0"))
    result = kit.planned(
        target=target, blank=kit.blank_of((-2.0, -2.0, -4.5), (42.0, 32.0, 16.5)),
        clampings=(kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0), gap_mm=34.0, faces=faces),),
        cutters=(*kit.SHOP, wide),
    )  # fmt: skip
    assert result.decision.value.not_cut == ()
    (one,) = [p for p in result.passes if p.cutter_id == "TS28"]
    points = result.clampings[0].tilts[0].frame.out_of(result.moves(one).points)
    runs = sorted(
        {round(float(a[1]), 3) for a, b in itertools.pairwise(points) if abs(b[0] - a[0]) > 20.0 and a[2] < 15}
    )
    assert runs[-1] == pytest.approx(10.0 - 14.0, abs=0.002)
    assert np.diff(runs).max() <= 0.2 * 28.0 + 0.002
    assert -14.0 - 0.2 * 28.0 <= runs[0] < -4.0
    for face_id, (left, gouge) in kit.removal_of(result, above_mm=0.02).items():
        assert left < 0.02, face_id
        assert gouge < 0.01, face_id
