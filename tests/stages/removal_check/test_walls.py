"""Walls before hollows, counted by hand on blocks with pockets, and held against thin plates by differences."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from elastic import plate_bend_mm
from shapes import TOOTHED, VISE, fact
from stages.gripped import CLAMPING, PRESSURE, YIELD

from proveout.geometry.frames import Frame
from proveout.model.limits import Limits
from proveout.model.walls_left import WallsLeft
from proveout.model.work import Clamping
from proveout.removal.fields import Fields
from proveout.stages.holding.gripping import grip_of
from proveout.stages.holding.walls import PROUD_MM, wall_proofs
from proveout.stages.removal_check.walls import walls_left

HIGH = msgspec.structs.replace(CLAMPING, jaw_top_mm=16.0, patch_height_mm=fact(8.0, 8.0, 8.0, "mm"), surface="finished")
MODULUS = fact(70e3, 70e3, 70e3, "MPa")


def block(
    *pockets: tuple[tuple[float, float], tuple[float, float], tuple[float, float]], pitch_mm: float = 0.5
) -> Fields:  # fmt: skip
    """A block 80 x 40 x 20 at y -40 to 0 with boxes cut out of it, each from and to along x, y and z, y alike all over.

    Only the rays along y are cut: no others are looked at.
    """
    fields = Fields.from_box(low_mm=np.array([0.0, -40.0, 0.0]), high_mm=np.array([80.0, 0.0, 20.0]), pitch_mm=pitch_mm)
    while fields.spans[1].shape[1] < 2 * len(pockets) + 2:
        fields.grow(1)
    up, along = fields.rays_uv(1)
    z, x = (pitch_mm * (np.arange(count) + 0.5) for count in (up, along))
    for ray, (k, i) in enumerate(np.ndindex(up, along)):
        pieces = [(-40.0, 0.0)]
        for (x0, x1), (y0, y1), (z0, z1) in pockets:
            if x0 < x[i] < x1 and z0 < z[k] < z1:
                pieces = [p for a, b in pieces for p in ((a, min(b, y0)), (max(a, y1), b)) if p[1] > p[0]]
        fields.counts[1][ray] = len(pieces)
        fields.spans[1][ray] = 0.0
        fields.spans[1][ray, : len(pieces)] = np.array(pieces).reshape(-1, 2)
    return fields


def judged(left: Fields | WallsLeft, clamping: Clamping = HIGH, *, width_mm: float | None = None) -> Any:
    """Bend and yield at 17.5 kN at most on 80 x 8 mm: 27.34 MPa."""
    left = left if isinstance(left, WallsLeft) else walls_left(left, clamping, "p")
    vise = msgspec.structs.replace(VISE, preload_n=fact(15_000.0, 16_000.0, 17_500.0, "N"))
    grip = grip_of(
        clamping=clamping, vise=vise, jaws=TOOTHED, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=Limits()
    )  # fmt: skip
    return wall_proofs(grip, (left,), MODULUS, width_mm)


POCKET = ((20.0, 60.0), (-35.0, -4.0), (10.0, 21.0))
SLOT = ((-1.0, 81.0), (-35.0, -4.0), (10.0, 21.0))


def test_a_full_block_and_a_pocket_above_the_jaws_have_no_wall_that_is_pressed() -> None:
    for fields in (block(), block(((20.0, 60.0), (-35.0, -4.0), (17.0, 21.0)))):
        found = walls_left(fields, HIGH, "")
        assert (found.walls, found.is_followed) == ((), True)
        assert found.touch_mm2 == pytest.approx(80.0 * 16.0)
    bend, pull = judged(block())
    assert (bend.verdict, bend.found_high, bend.blocks_release) == ("holds", 0.0, False)
    assert (pull.verdict, pull.found_high, pull.blocks_release) == ("holds", 0.0, True)


def test_a_pocket_leaves_a_wall_at_each_jaw() -> None:
    """Worked. 4 mm stand before the fixed jaw and 5 before the other, 10 mm high, 40 long and a cell more; on both
    sides of each lie 20 x 6 mm that reach through, between the floor at 10 and the jaw tops at 16."""
    fixed, movable = walls_left(block(POCKET), HIGH, "").walls
    assert (fixed.jaw, fixed.thick_mm, movable.jaw, movable.thick_mm) == ("fixed", 4.0, "movable", 5.0)
    assert (fixed.height_mm, fixed.span_mm, fixed.up_span_mm) == (10.0, 40.5, None)
    assert fixed.beside_mm2 == pytest.approx(2.0 * 20.0 * 6.0)
    assert (fixed.up_pierced_ratio, fixed.along_pierced_ratio) == (1.0, 1.0)
    # pressed up to 6 mm above the floor: 3 6^2 / 4^2 of the pressure, and beside its edge 0.6 4 / 10
    assert fixed.standing_stress_mpa == pytest.approx(3.0 * 36.0 / 16.0 + 0.24, rel=0.01)


def test_a_slot_from_end_to_end_leaves_walls_that_only_stand() -> None:
    fixed, _ = walls_left(block(SLOT), HIGH, "").walls
    assert (fixed.height_mm, fixed.span_mm, fixed.up_span_mm, fixed.beside_mm2) == (10.0, None, None, 0.0)


def test_a_hollow_closed_all_round_leaves_a_wall_held_both_ways() -> None:
    fixed, _ = walls_left(block(((20.0, 60.0), (-35.0, -4.0), (4.0, 12.0))), HIGH, "").walls
    assert (fixed.height_mm, fixed.span_mm, fixed.up_span_mm) == (8.0, 40.5, 8.5)


def test_what_is_narrower_than_the_wall_is_thick_holds_nothing() -> None:
    """Two pockets with a rib of 3 mm between them: to walls of 4 mm it is none, to walls of 2 it is one."""
    for thick, span in ((-4.0, 43.5), (-2.0, 20.5)):
        pair = (((20.0, 40.0), (-35.0, thick), (10.0, 21.0)), ((43.0, 63.0), (-35.0, thick), (10.0, 21.0)))
        spans = [w.span_mm for w in walls_left(block(*pair), HIGH, "").walls if w.jaw == "fixed"]
        assert max(s for s in spans if s is not None) == pytest.approx(span)


def test_a_ridge_and_a_grazed_ray_are_no_walls() -> None:
    """A ridge one ray high on a floor, 0.1 mm thick, and one thin ray in a wall of 4 mm."""
    ridge = block(((-1.0, 81.0), (-39.9, -0.1), (10.0, 10.6)), ((-1.0, 81.0), (-41.0, 1.0), (10.6, 21.0)))
    assert walls_left(ridge, HIGH, "").walls == ()
    grazed = block(POCKET, ((30.0, 30.6), (-3.9, -0.1), (13.0, 13.6)))
    assert {w.thick_mm for w in walls_left(grazed, HIGH, "").walls} == {4.0, 5.0}


def test_a_short_hollow_behind_thick_metal_does_not_bend() -> None:
    """A hole 5 wide from end to end, 14 mm behind the fixed jaw: twice as thick as long it bridges, and is no wall."""
    assert walls_left(block(((-1.0, 81.0), (-19.0, -14.0), (5.0, 10.0))), HIGH, "").walls == ()
    near = walls_left(block(((-1.0, 81.0), (-9.0, -4.0), (5.0, 10.0))), HIGH, "").walls
    assert [(w.jaw, w.thick_mm, w.up_span_mm) for w in near] == [("fixed", 4.0, 5.5)]


def test_a_hole_through_a_wall_gives_its_load_to_the_strips_beside_it() -> None:
    """Worked. 10 of 40 mm are bored where it is widest: 40 / 30; upright 4 of 10: 10 / 6."""
    bored = block(POCKET, ((30.0, 40.0), (-5.0, 1.0), (12.0, 16.0)))
    fixed = next(w for w in walls_left(bored, HIGH, "").walls if w.jaw == "fixed")
    assert fixed.up_pierced_ratio == pytest.approx(40.0 / 30.0)
    assert fixed.along_pierced_ratio == pytest.approx(10.0 / 6.0)


def test_a_jaw_from_the_other_side_and_a_turned_frame_see_the_same() -> None:
    s = math.sqrt(0.5)
    turned = Frame(x=(-1.0, 0.0, 0.0), y=(0.0, -1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(80.0, -40.0, 0.0))
    swapped = walls_left(block(POCKET), msgspec.structs.replace(HIGH, frame=turned), "").walls
    assert {(w.jaw, w.thick_mm) for w in swapped} == {("fixed", 5.0), ("movable", 4.0)}
    over = Frame(x=(1.0, 0.0, 0.0), y=(0.0, -1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(0.0, -40.0, 20.0))
    # the pocket opens downwards: its walls hang from its floor, pressed from the seat up to that
    hung = next(w for w in walls_left(block(POCKET), msgspec.structs.replace(HIGH, frame=over), "").walls)
    assert (hung.thick_mm, hung.height_mm) == (5.0, 10.0)
    assert hung.standing_stress_mpa == pytest.approx(3.0 * (10.0**2 - 2.0**2) / 25.0, rel=0.05)
    askew = Frame(x=(s, s, 0.0), y=(-s, s, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
    assert not walls_left(block(POCKET), msgspec.structs.replace(HIGH, frame=askew), "").is_followed
    away = msgspec.structs.replace(HIGH, gap_mm=60.0)
    assert not walls_left(block(POCKET), away, "").is_followed


def test_a_thin_wall_of_a_slot_bends_and_yields_and_a_thick_one_does_not() -> None:
    """Worked. 27.34 MPa; pressed 6 mm of 10 high: 27.34 (3 36 / t^2 + 0.06 t): t 4 pulls 191.1, below 240; t 3 333."""
    thin = (SLOT[0], (-35.0, -3.0), SLOT[2])
    bend, pull = judged(block(SLOT))
    assert (pull.verdict, pull.found_high) == ("holds", pytest.approx(191.1, rel=0.002))
    assert (bend.verdict, bend.blocks_release) == ("not shown", False)
    assert judged(block(thin))[1].verdict == "not shown"
    assert judged(block(thin))[1].found_high == pytest.approx(333.0, rel=0.002)
    # a size on what is cut makes its bend count
    sized = judged(block(SLOT), width_mm=0.01)[0]
    assert (sized.verdict, sized.blocks_release, sized.limit) == ("not shown", True, 0.005)
    wide = judged(block(SLOT), width_mm=1.0)[0]
    assert (wide.verdict, wide.found_high) == ("holds", bend.found_high)


def test_a_flat_jaw_goes_no_farther_than_the_metal_beside_the_wall_lets_it() -> None:
    """Worked. A wall of 1 mm over 40: 0.02 + 17 500 40 / (70 000 240) = 0.0617 mm; 16 70 000 1 0.0617 / 40.5^2 = 42.1
    MPa. In a slot nothing holds the jaw off: bends by far more and yields."""
    thin = (POCKET[0], (-39.0, -1.0), POCKET[2])
    bend, pull = judged(block(thin))
    assert bend.found_high == pytest.approx(PROUD_MM + 17_500.0 * 40.0 / (70e3 * 240.0), rel=1e-4)
    assert pull.found_high == pytest.approx(42.1, rel=0.01)
    slot = judged(block((SLOT[0], (-35.0, -1.0), SLOT[2])))
    assert slot[0].found_high > 10.0 * bend.found_high
    assert slot[1].verdict == "not shown"


def test_the_bound_is_above_thin_plates_by_differences() -> None:
    """Random pockets of one or two boxes, with steps in their walls and holes through them, evenly pressed."""
    draw = np.random.default_rng(4)
    ratios = []
    for _ in range(25):
        x0, x1 = np.sort(draw.uniform(10.0, 70.0, 2))
        x0, x1 = float(x0), float(max(x1, x0 + 12.0))
        z0, closed = float(draw.uniform(2.0, 10.0)), draw.random() < 0.3
        z1 = 17.0 if closed else 21.0
        thick = float(draw.uniform(0.8, 1.6))
        pockets = [((x0, x1), (-35.0, -thick), (z0, z1))]
        if draw.random() < 0.5:
            pockets.append(((x0, (x0 + x1) / 2.0), (-35.0, -1.5 * thick), (max(1.0, z0 - 4.0), z1)))
        if draw.random() < 0.5:
            middle, up = (x0 + x1) / 2.0, (z0 + min(z1, 20.0)) / 2.0
            pockets.append(((middle - 2.0, middle + 2.0), (-5.0, 1.0), (up - 1.5, up + 1.5)))
        if draw.random() < 0.3:
            pockets[0] = ((-1.0, x1), *pockets[0][1:])
        fields = block(*pockets, pitch_mm=1.0)
        clamping = msgspec.structs.replace(HIGH, patch_height_mm=fact(16.0, 16.0, 16.0, "mm"))
        left = walls_left(fields, clamping, "p")
        # without what a flat jaw stops: a plate that is pressed evenly all over goes farther
        alone = tuple(msgspec.structs.replace(w, beside_mm2=0.0) for w in left.walls if w.jaw == "fixed")
        bend, _ = judged(msgspec.structs.replace(left, walls=alone), clamping)
        pressure = 17_500.0 / min(80.0 * 16.0, left.touch_mm2)
        up, along = fields.rays_uv(1)
        first = np.where(fields.counts[1] > 0, fields.spans[1][:, 0, 1] - fields.spans[1][:, 0, 0], 0.0)
        last = fields.spans[1][np.arange(len(first)), np.maximum(fields.counts[1] - 1, 0)]
        at_jaw = (fields.counts[1] > 0) & (np.abs(last[:, 1]) < 1e-9)
        size = np.where(at_jaw, last[:, 1] - last[:, 0], 0.0).reshape(up, along).T
        foot = (fields.counts[1] == 1).reshape(up, along).T & (first.reshape(up, along).T > 39.0)
        wall = (size > 0.0) & ~foot
        z = np.arange(up) + 0.5
        load = np.where(wall & (z[None, :] < 16.0), pressure, 0.0)
        true = plate_bend_mm(
            wall, foot, thick_mm=np.where(foot, 4.0 * thick, np.maximum(size, 1e-3)), pressure_mpa=load, cell_mm=1.0,
            elastic_mpa=70e3,
        )  # fmt: skip
        if bend.found_high is None:
            continue  # nothing is sure to hold it: nothing is claimed
        ratios.append(bend.found_high / float(true.max()))
    assert len(ratios) >= 8
    assert min(ratios) > 1.0
