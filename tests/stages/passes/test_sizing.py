"""Holes that a drill makes too narrow are milled to their size; one that it would make too wide it never enters."""

from __future__ import annotations

from typing import Any

import manifold3d
import msgspec
import numpy as np
import pytest

from proveout.stages.passes.sizing import once_round
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track


def block_with(kit: Any, bore: Any, *, around_mm: float) -> Any:
    """30 x 30 x 15 with a bore about its middle; its faces below 4 mm from the axis are the bore and its cone."""
    body = manifold3d.Manifold.cube((30.0, 30.0, 15.0)) - bore.translate((15.0, 15.0, 0.0))

    def name(middle: Any, normal: Any) -> str:
        if np.hypot(middle[0] - 15.0, middle[1] - 15.0) < around_mm and abs(normal[2]) < 0.95:
            return "bore" if abs(normal[2]) < 0.1 else "cone"
        return kit.by_plane(middle, normal)

    return kit.target_of(body, name)


def through(kit: Any, size_mm: float, *, thread: str = "") -> Any:
    """The plan of a through hole."""
    bore = manifold3d.Manifold.cylinder(40.0, size_mm / 2.0, size_mm / 2.0, 192).translate((0.0, 0.0, -5.0))
    hole = kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=(("cylinder", size_mm, 0.0, 15.0, "bore"),))
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    return kit.planned(
        target=block_with(kit, bore, around_mm=size_mm / 2.0 + 0.1), holes=(hole,),
        blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)), threads={"h": thread} if thread else None,
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
    )  # fmt: skip


def used(result: Any) -> dict[str, str]:
    return {u.role: u.cutter_id for u in result.choice.uses if u.subjects == ("h",)}


@pytest.mark.parametrize(
    ("size_mm", "drill", "mill"),
    [(6.65, "DR6.6", "EM6"), (6.64, "DR6.6", None), (6.6, "DR6.6", None), (6.58, "DR6.6", None), (6.575, None, None)],
)
def test_a_drill_leaves_two_hundredths_at_most_and_takes_one_too_many_at_most(
    kit: Any, size_mm: float, drill: str | None, mill: str | None
) -> None:
    """Worked: 6.65 keeps 0.025 all round behind Ø6.6; 6.575 would lose 0.0125, beyond the hundredth of a gouge."""
    found = used(through(kit, size_mm))
    assert (found.get("drill"), found.get("size")) == (drill, mill)


def test_a_tapped_hole_is_not_milled_to_size(kit: Any) -> None:
    found = used(through(kit, 6.65, thread="M8"))
    assert found["drill"] == "DR6.6"
    assert "size" not in found


def test_the_mill_takes_what_the_drill_left_in_one_turn_and_never_plunges_into_metal(kit: Any) -> None:
    result = through(kit, 6.65)
    kinds = [p.kind for p in result.passes]
    assert kinds.index("drill") < kinds.index("bore")
    wall = kit.removal_of(result, above_mm=0.5, pitch_mm=0.25)["bore"]
    assert max(wall) < 0.004
    one = next(p for p in result.passes if p.kind == "bore")
    points = result.moves(one).points
    down = points[1:][np.diff(points[:, 2]) < 0.0]
    assert np.allclose(np.hypot(down[:, 0] - points[1, 0], down[:, 1] - points[1, 1]), 0.0, atol=1e-9)
    # the tip goes as low as the drill's full width: half a millimetre under the hole
    assert points[:, 2].min() == pytest.approx(result.clampings[0].frame.into([[15.0, 15.0, -0.5]])[0, 2], abs=2e-3)


@pytest.mark.parametrize("own_drill", [False, True])
def test_a_blind_hole_under_a_coat_is_drilled_down_to_the_targets_cone(kit: Any, *, own_drill: bool) -> None:
    """The solid's hole is Ø5; before the coat its wall and its cone lie 0.0225 deeper, along their normals.

    A drill of the size before the coat has the longer point: it must not go deeper for that.
    """
    offset, half = 0.0225, np.radians(59.0)
    foot = 7.0
    apex = foot - 2.5 / np.tan(half) - offset / np.sin(half)
    wide = 2.5 + offset
    low = apex + wide / np.tan(half)
    bore = manifold3d.Manifold.cylinder(20.0 - low, wide, wide, 192).translate((0.0, 0.0, low))
    bore += manifold3d.Manifold.cylinder(low - apex, 0.0, wide, 192).translate((0.0, 0.0, apex))
    target = block_with(kit, bore, around_mm=wide + 0.1)
    offsets = np.array([offset if f in ("bore", "cone") else 0.0 for f in target.face_ids])
    steps = (("cylinder", 5.0, 0.0, 15.0 - foot, "bore"), ("cone", 5.0, 15.0 - foot, 15.0 - foot + 1.5, "cone"))
    hole = kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=steps, through=False, bottom="cone")
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    mill = kit.drill(5.045) if own_drill else kit.cutter("EM4", "end mill", 4.0, flute_length_mm=20.0)
    result = kit.planned(
        target=msgspec.structs.replace(target, face_offset_mm=offsets), holes=(hole,), cutters=(*kit.SHOP, mill),
        blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
    )  # fmt: skip
    assert used(result).get("size") == (None if own_drill else "EM4")
    made = kit.removal_of(msgspec.structs.replace(result, target=target), above_mm=0.5, pitch_mm=0.25)
    # drilled as deep as the solid says, the whole cone would keep 0.0225; so, the mill's flat end leaves a ring
    for face in ("bore", "cone"):
        assert max(made[face]) < (0.005 if own_drill else 0.02)


def test_once_round_ends_in_the_middle_and_passes_its_start() -> None:
    track = Track(resolution_mm=1e-4, clear_mm=20.0)
    track.enter(x_mm=3.0, y_mm=4.0, z_mm=11.0, feed_mm_per_s=10.0, from_mm=11.0)
    speeds = Speeds(
        speed_rad_per_s=1.0, tooth_feed_mm=0.1, feed_mm_per_s=8.0, ramp_mm_per_s=4.0, plunge_mm_per_s=2.0,
        air_mm_per_s=30.0, slot_mm_per_s=4.8,
    )  # fmt: skip
    once_round(track, speeds, seat_mm=(3.0, 4.0), to_mm=2.0, swing_mm=0.5)
    points = track.moves().straight(within_mm=1e-5).points
    low = points[points[:, 2] == 2.0]
    away = np.hypot(low[:, 0] - 3.0, low[:, 1] - 4.0)
    assert away[0] == away[-1] == 0.0
    on = np.flatnonzero(away > 0.4999)
    assert (np.diff(away[: on[0]]) > 0.0).all()
    np.testing.assert_allclose(away[on[0] : on[-1] + 1], 0.5, atol=1.5e-4)
    turned = np.unwrap(np.arctan2(low[on][:, 1] - 4.0, low[on][:, 0] - 3.0))
    assert turned[-1] - turned[0] > 2.0 * np.pi + 0.1


def test_a_cone_at_the_bottom_of_a_milled_hole_is_not_said_to_be_made(kit: Any) -> None:
    """Ø7 has no drill: Ø5 goes round down to the cone, whose metal a flat end leaves standing."""
    half = np.radians(59.0)
    bore = manifold3d.Manifold.cylinder(13.0, 3.5, 3.5, 192).translate((0.0, 0.0, 7.0))
    tall = 3.5 / np.tan(half)
    bore += manifold3d.Manifold.cylinder(tall, 0.0, 3.5, 192).translate((0.0, 0.0, 7.0 - tall))
    steps = (("cylinder", 7.0, 0.0, 8.0, "bore"), ("cone", 7.0, 8.0, 8.0 + tall, "cone"))
    hole = kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=steps, through=False, bottom="cone")
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    result = kit.planned(
        target=block_with(kit, bore, around_mm=3.6), holes=(hole,),
        blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
    )  # fmt: skip
    assert next(p for p in result.passes if p.kind == "counterbore").face_ids == ("bore",)
    assert [n.face_ids for n in result.decision.value.not_cut] == [("cone",)]


@pytest.mark.parametrize(("step_mm", "spots"), [(12.0, 0), (6.0, 1)])
def test_a_spots_cone_must_not_cut_the_higher_half_of_a_mouth(kit: Any, step_mm: float, spots: int) -> None:
    """A step 2 mm deep ends `step_mm` from the edge; the hole's axis at 12 has its mouth half on the step, half above.

    Worked: Ø10 spots Ø5 1.5 mm deep or more, so that 2 mm over the lower half its cone is Ø7: it would cut above.
    """
    bore = manifold3d.Manifold.cylinder(40.0, 2.5, 2.5, 192).translate((12.0, 15.0, -5.0))
    step = manifold3d.Manifold.cube((40.0, 32.0, 5.0)).translate((step_mm, -1.0, 13.0))
    body = manifold3d.Manifold.cube((30.0, 30.0, 15.0)) - bore - step

    def name(middle: Any, normal: Any) -> str:
        near = np.hypot(middle[0] - 12.0, middle[1] - 15.0) < 2.6 and abs(normal[2]) < 0.5
        return "bore" if near else kit.by_plane(middle, normal)

    top = 15.0 if step_mm > 9.0 else 13.0
    steps = (("cylinder", 5.0, 0.0, top, "bore"),)
    hole = kit.hole_of("h", entry=(12.0, 15.0, top), steps=steps)
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    result = kit.planned(
        target=kit.target_of(body, name), holes=(hole,), blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 13.00",), holes=("h",)),),
    )  # fmt: skip
    assert result.kinds().count("spot") == spots
    gouges = kit.removal_of(result, above_mm=0.5, pitch_mm=0.25)
    assert max(gouge for _, gouge in gouges.values()) < 0.01


def test_a_mouth_is_broken_to_its_size_by_the_blunt_end_of_the_real_cutter(kit: Any) -> None:
    """Worked: Ø6.6 broken by 0.5: EB10 is 1 mm wide at its tip and stands min(0.5, 3.3 - 0.5 - 0.2) = 0.5 below the
    cone's foot, where its flank is 0.5 + 0.5 off its axis: the axis swings 3.3 - 1.0 = 2.3 round the hole's."""
    bore = manifold3d.Manifold.cylinder(40.0, 3.3, 3.3, 192).translate((15.0, 15.0, -5.0))
    bore += manifold3d.Manifold.cylinder(0.5, 3.3, 3.8, 192).translate((15.0, 15.0, 14.5))
    bore += manifold3d.Manifold.cylinder(1.0, 3.8, 3.8, 192).translate((15.0, 15.0, 15.0))
    body = manifold3d.Manifold.cube((30.0, 30.0, 15.0)) - bore

    def name(middle: Any, normal: Any) -> str:
        if np.hypot(middle[0] - 15.0, middle[1] - 15.0) > 3.9 or abs(normal[2]) > 0.9:
            return kit.by_plane(middle, normal)
        return "bore" if abs(normal[2]) < 0.5 else "mouth"

    steps = (("cone", 7.6, 0.0, 0.5, "mouth"), ("cylinder", 6.6, 0.5, 15.0, "bore"))
    frame = kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0)
    result = kit.planned(
        target=kit.target_of(body, name), holes=(kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=steps),),
        blank=kit.blank_of((-2.0, -2.0, -4.5), (32.0, 32.0, 16.0)),
        clampings=(kit.clamping_of(frame, gap_mm=34.0, faces=("plane +0.00+0.00+1.00 15.00",), holes=("h",)),),
    )  # fmt: skip
    (one,) = (p for p in result.passes if p.kind == "break edge")
    assert (one.cutter_id, one.feature, one.face_ids) == ("EB10", "h mouth", ("mouth",))
    tips = frame.out_of(result.moves(one).points) - np.array([15.0, 15.0, 0.0])
    low = tips[:, 2] < 14.0 + 1e-6
    assert tips[low, 2].min() == pytest.approx(14.0, abs=0.001)
    assert np.hypot(tips[low, 0], tips[low, 1]).max() == pytest.approx(2.3, abs=0.002)
    left, gouge = kit.removal_of(result, above_mm=0.5, pitch_mm=0.2)["mouth"]
    assert left < 0.02
    assert gouge < 0.01
    assert result.decision.value.not_cut == ()
