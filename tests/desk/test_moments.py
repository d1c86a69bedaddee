"""The metal at any moment of a plan whose passes are counted by hand."""

from __future__ import annotations

import math
from pathlib import Path

import msgspec
import numpy as np
import pytest
import worked_home

from proveout.jobs.minutes import nearest_limits, strip_of, weakest_of
from proveout.jobs.moments import Moments, display_pitch_mm
from proveout.jobs.store import Store
from proveout.jobs.work_scene import stands_of
from proveout.model.proof import Basis, MoveAt, prove
from proveout.quantities.errors import BadInput
from proveout.sheets.minutes_strip import block_words, strip_svg

BLANK_MM3 = 60.0 * 40.0 * 20.0
FIRST_MM3, SECOND_MM3 = 60.0 * 12.0 * 3.0, 60.0 * 12.0 * 3.0
LAST_MM3 = 12.0 * 40.0 * 5.0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return worked_home.write_result(tmp_path_factory.mktemp("result") / "block")


def moments(folder: Path, store: Store) -> Moments:
    return Moments(plan=worked_home.plan(), shop=worked_home.shop(), folder=folder, store=store)


def test_metal_at_the_end_of_each_pass_is_what_the_passes_before_it_leave(folder: Path) -> None:
    """worked: slots of 60 x 12 x 3 mm twice; the last is a slot of 12 x 40 x 5 mm from below."""
    found = moments(folder, Store(None))
    assert found.metal(index=-1).volume_mm3 == pytest.approx(BLANK_MM3)
    wanted = BLANK_MM3
    for index, taken in enumerate((FIRST_MM3, SECOND_MM3)):
        wanted -= taken
        assert found.metal(index=index).volume_mm3 == pytest.approx(wanted, rel=0.002)
    drilled = found.metal(index=2).volume_mm3
    assert 0.0 < wanted - drilled < 6.0 * 40.0
    assert found.metal(index=3).volume_mm3 == pytest.approx(drilled - LAST_MM3, rel=0.002)


def test_half_of_a_pass_has_cut_half_of_its_way(folder: Path) -> None:
    """worked: the feed of 100 mm takes 5 s; the tip stands where its last whole millimetre ended, the metal with it."""
    found = moments(folder, Store(None))
    whole = found.metal(index=0)
    assert whole.place is not None
    total_s = whole.place.at_s
    half = found.metal(index=0, share=2.5 / total_s)
    assert half.place is not None
    assert half.place.tip_mm[0] == pytest.approx(30.0, abs=1.01)
    assert half.place.move == 1
    assert half.place.axis == pytest.approx((0.0, 0.0, 1.0))
    reached = half.place.tip_mm[0]
    taken = 3.0 * (12.0 * reached + 0.5 * math.pi * 6.0**2)  # the slot to the tip, and half a round before it
    assert BLANK_MM3 - half.volume_mm3 == pytest.approx(taken, rel=0.02)


def test_a_moment_told_by_a_move_is_where_that_move_ends(folder: Path) -> None:
    found = moments(folder, Store(None))
    share = found.share_of_move(1, 1)
    place = found.metal(index=1, share=share).place
    assert place is not None
    assert place.tip_mm[0] == pytest.approx(80.0, abs=1e-6)
    assert found.share_of_move(1, 2) == 1.0


def test_what_was_worked_out_is_taken_from_the_store_and_is_the_same(folder: Path, tmp_path: Path) -> None:
    first, second = (moments(folder, store) for store in (Store(tmp_path), Store(tmp_path)))
    made = first.metal(index=3)
    store = second._store
    again = second.metal(index=3)
    assert store.hits == ["metal at a moment"]
    assert (again.triangles == made.triangles).all()
    assert (again.vertices_mm == made.vertices_mm).all()
    assert again.place == made.place


def test_any_order_of_asking_gives_the_same_metal(folder: Path) -> None:
    forward, back = moments(folder, Store(None)), moments(folder, Store(None))
    ahead = [forward.metal(index=n).volume_mm3 for n in range(4)]
    assert [back.metal(index=n).volume_mm3 for n in (3, 1, 2, 0)] == [ahead[n] for n in (3, 1, 2, 0)]


@pytest.mark.parametrize(("index", "share"), [(4, 1.0), (-2, 1.0), (0, 1.5), (0, float("nan"))])
def test_a_moment_that_the_plan_does_not_have_is_refused(folder: Path, index: int, share: float) -> None:
    with pytest.raises(BadInput):
        moments(folder, Store(None)).metal(index=index, share=share)


def test_the_way_of_the_tip_is_told_in_the_clampings_frame(folder: Path) -> None:
    points, rapid = moments(folder, Store(None)).way(3)
    assert points == pytest.approx(np.array([[30.0, -60.0, 15.0], [30.0, 20.0, 15.0], [30.0, 20.0, 40.0]]))
    assert rapid.tolist() == [False, True]


def test_the_pitch_of_a_picture_goes_with_the_size_of_the_blank() -> None:
    """worked: 225 cells along; no finer than 0.3; of 500 x 400 x 100 mm the volume decides: cube root of 1 mm3."""
    assert display_pitch_mm(np.array([112.5, 50.0, 30.0])) == 0.5
    assert display_pitch_mm(np.array([20.0, 20.0, 20.0])) == 0.3
    assert display_pitch_mm(np.array([500.0, 400.0, 100.0])) == 1.0


def test_the_operator_looks_from_the_declared_door_side_in_every_clamping() -> None:
    """The door is at -y of the machine, whose directions are those of a clamping's frame; its z is up."""
    shop, plan = worked_home.shop(), worked_home.plan()
    axis, sign = "xyz".index(shop.door_side[1]), -1.0 if shop.door_side[0] == "-" else 1.0
    stands = stands_of(plan, shop)
    assert [stand.number for stand in stands] == [1, 2]
    for stand in stands:
        level = np.array([stand.eye[0], stand.eye[1], 0.0])
        wanted = np.zeros(3)
        wanted[axis] = sign
        assert level / np.linalg.norm(level) == pytest.approx(wanted, abs=1e-9)
        assert stand.eye[2] > 0.0
        assert stand.up[2] > 0.0


def test_nothing_is_drawn_that_the_shop_does_not_describe() -> None:
    stand = stands_of(worked_home.plan(), worked_home.shop())[0]
    names = {body.name for body in stand.obstacles}
    assert "table" not in names
    assert {"the table", "the spindle's head"} <= set(stand.lacking)
    assert all(bodies.head == () for bodies in stand.cutters.values())


def test_minutes_run_on_from_pass_to_pass_and_what_is_no_pass_stands_behind() -> None:
    strip = strip_of(worked_home.plan(), worked_home.shop())
    assert [block.start_s for block in strip.blocks] == [0.0, 30.0, 90.0, 130.0]
    assert [(one.start_s, one.seconds) for one in strip.stretches] == [(100.0, 30.0)]
    assert strip.total_s == 180.0


def test_the_nearest_limit_is_that_with_the_least_margin_and_its_move() -> None:
    plan = worked_home.plan()
    weak = nearest_limits(plan)
    one, two, three = (weak[plan.passes[n].id] for n in range(3))
    assert (one.margin, one.what, one.not_shown_count) == (pytest.approx(0.5), "grip", 1)
    assert (two.margin, two.move) == (pytest.approx(0.05), 1)
    assert three.margin is None
    # of a vise of which 1.2 times is asked, 1.5 leave a quarter
    asked = msgspec.structs.replace(plan.pass_limits[0], reserve_asked_ratio=1.2)
    careful = nearest_limits(msgspec.structs.replace(plan, pass_limits=(asked, *plan.pass_limits[1:])))
    assert careful[plan.passes[0].id].margin == pytest.approx(0.25)
    weakest = weakest_of(plan)
    assert weakest is not None
    assert (weakest.index, weakest.weak.move) == (1, 1)


def test_a_pass_that_strikes_a_jaw_is_the_weakest_at_the_move_that_strikes() -> None:
    """Its proof begins with the pass and goes on with what is met; one strike over none is a margin of -1."""
    plan = worked_home.plan()
    one = plan.passes[2].id
    struck = prove(
        id="removal check:jaws", stage="removal check", subject=f"{one}: fixed jaw met 0.50 mm deep at move 7",
        claim="no cutter, shank or holder meets a jaw or the seat", sense="at most", found_low=1.0, found_high=1.0,
        limit=0.0, unit="strikes", blocks_release=True,
        basis=Basis(formula="", source="own-algorithm", move=MoveAt(pass_id=one, row=7)),
    )  # fmt: skip
    found = weakest_of(msgspec.structs.replace(plan, proofs=(*plan.proofs, struck)))
    assert found is not None
    assert (found.index, found.weak.margin, found.weak.move) == (2, pytest.approx(-1.0), 7)


def test_the_strip_is_to_scale_and_needs_no_style_of_its_own() -> None:
    """worked: 180 s on 1600 units: pass 2 begins at 266.67 and is 533.33 wide."""
    strip = strip_of(worked_home.plan(), worked_home.shop())
    svg = strip_svg(strip, address="/parts/block/work", chosen=1)
    assert 'x="266.67" y="138" width="533.33" height="40" class="block chosen"' in svg
    assert "style" not in svg
    assert svg.count("<a ") == 4
    assert block_words(strip.blocks[2]).endswith("minute 1:30 to 1:40; no margin known")
