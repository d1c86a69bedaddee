"""The slab between the jaws at every stage of facing, and the bow after it, worked by hand."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import VISE, box, cut_box, fact, solid_of
from stages.turning_over.turned import (
    BAR,
    BLOCK,
    FIRST,
    FORCE,
    SECOND,
    clamping,
    job,
    one_pass,
    only,
    side,
    turned,
)

from proveout.geometry.frames import Frame
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce
from proveout.model.proof import Decision
from proveout.model.solid import Solid
from proveout.model.turned import Turned
from proveout.stages.turning_over.bow import bow_mm
from proveout.stages.turning_over.facings import alike

THIN = solid_of(box(80.0, 40.0, 3.0))
BACK_UP = Frame(x=(-1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(80.0, 40.0, 3.0))
# the blank of these tests is 1 mm larger all round and 4 mm more at the back: 3 + 5 = 8 mm above the seat
STAGES = Moves(
    points=np.array([
        [0.0, 0.0, 9.0], [0.0, 0.0, 5.5], [80.0, 0.0, 5.5], [80.0, 0.0, 3.3], [0.0, 0.0, 3.3], [0.0, 0.0, 3.0],
        [80.0, 0.0, 3.0], [80.0, 0.0, 9.0],
    ]),
    feed_mm_per_s=np.array([0.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 0.0]),
)  # fmt: skip


def faced(solid: Solid = THIN, frame: Frame = BACK_UP, **more: Any) -> Decision[Turned]:
    second = clamping(2, frame, jaw_top_mm=2.0)
    passes = one_pass(second, "face", side(solid, "-z"), moves=STAGES)
    return turned(passes, solid=solid, clampings=(FIRST, second), moves=(STAGES,), **more)


def test_every_stage_has_its_height_its_depth_and_what_the_jaws_leave_it() -> None:
    """Worked: 8 mm of metal above the seat; stages at 5.5, 3.3 and 3.0 take 2.5, 2.2 and 0.3; jaw tops at 2.

    I = 78 x 27 / 12 = 175.5 mm^4 at the last, pi^2 x 68 900 x 175.5 / 1600 = 74 590 N, by 60 cells 0.99977 of it;
    over 20 000 N 3.729, over 15 000 N 4.972. At 3.3 mm (1.1)^3 of it, at 5.5 mm (11/6)^3."""
    found = faced()
    (facing,) = found.value.facings
    assert [(s.height_mm, s.depth_mm, s.above_jaws_mm) for s in facing.stages] == [
        (5.5, 2.5, 3.5), (3.3, 2.2, 1.3), (3.0, 0.3, 1.0),
    ]  # fmt: skip
    assert (facing.count, [s.count for s in facing.stages]) == (3, [1, 1, 1])
    lows = [s.reserve_low or 0.0 for s in facing.stages]
    assert lows[2] == pytest.approx(3.729, abs=0.002)
    assert lows[1] == pytest.approx(3.729 * 1.331, abs=0.003)
    assert lows[0] == pytest.approx(3.729 * (11.0 / 6.0) ** 3, abs=0.02)
    assert facing.stages[2].reserve_high == pytest.approx(4.972, abs=0.003)
    proof = only(found, "slab between the jaws")
    assert (proof.verdict, proof.blocks_release, proof.limit) == ("holds", True, 2.0)
    assert proof.found_low == lows[2]


def test_stages_that_take_alike_much_off_are_counted_together() -> None:
    """Worked: from 8: 6.5 and 4.999 take 1.5 and 1.501, 3.3 takes 1.699, 3.0 the skim."""
    assert alike([6.5, 4.999, 3.3, 3.0], 8.0) == [
        ([6.5, 4.999], pytest.approx(1.501)), ([3.3], pytest.approx(1.699)), ([3.0], pytest.approx(0.3)),
    ]  # fmt: skip


def test_a_groove_along_the_jaws_weakens_the_slab() -> None:
    """Worked: 1.5 mm left over 10 mm in the middle of 40: an eighth of the stiffness there, so k2 = sqrt(8) k1, and
    k1 cot(15 k1) = k2 tan(5 k2) at 15 k1 = 0.5524: P = E I1 k1^2 = 0.2198 of the whole plate's, 0.820 times the jaw
    force, at best 1.093."""
    grooved = solid_of(cut_box(box(80.0, 40.0, 3.0), (-1.0, 15.0, 1.5), (81.0, 25.0, 4.0)))
    walls = one_pass(FIRST, "finish wall", side(grooved, "+y"), side(grooved, "-y"))
    proof = only(faced(grooved, own=(walls,)), "slab between the jaws")
    assert (proof.verdict, proof.blocks_release) == ("fails", True)
    assert proof.found_low == pytest.approx(0.820, abs=0.03)
    assert proof.found_high == pytest.approx(1.093, abs=0.04)


def test_without_a_jaw_force_that_somebody_backs_nothing_is_shown() -> None:
    guessed = msgspec.structs.replace(VISE, preload_n=msgspec.structs.replace(FORCE, source="shop-file"))
    lost = only(faced(vises=(guessed,)), "slab between the jaws")
    assert (lost.verdict, lost.found_low, lost.blocks_release) == ("not shown", None, True)
    assert "has no source" in lost.decides
    assert "modulus" not in lost.decides
    assert "modulus" in only(faced(elastic_mpa=None), "slab between the jaws").decides
    assert only(faced(elastic_mpa=None), "slab between the jaws").verdict == "not shown"
    softer = ClampForce(clamping_id="c2", ratio=0.5, torque_n_mm=None, force_n=fact(7_500.0, 8_750.0, 10_000.0, "N"))
    assert only(faced(clamp_forces=(softer,)), "slab between the jaws").found_low == pytest.approx(2 * 3.729, abs=0.003)


def test_the_first_clamping_is_faced_on_its_strip_and_asks_for_no_slab() -> None:
    assert turned(one_pass(SECOND, "finish wall", side(BLOCK, "+y"))).value.facings == ()


def test_the_bow_grows_with_the_square_of_the_length() -> None:
    """Worked: 0.06 over 120 mm at 15 mm: over 60 mm a quarter, 0.015; at the same thickness the low end too, 0.0025,
    down to 0.002."""
    half = bow_mm(bar=BAR, length_mm=60.0, thickness_mm=15.0)
    assert half is not None
    assert (half.low, half.high) == pytest.approx((0.002, 0.015))
    thick = bow_mm(bar=BAR, length_mm=60.0, thickness_mm=16.0)
    assert thick is not None
    assert (thick.low, thick.high) == pytest.approx((0.0, 0.015))
    assert bow_mm(bar=BAR, length_mm=120.1, thickness_mm=15.0) is None
    assert bow_mm(bar=BAR, length_mm=120.0, thickness_mm=14.9) is None
    assert bow_mm(bar=None, length_mm=60.0, thickness_mm=15.0) is None


def test_a_bow_that_nobody_measured_names_the_two_minutes_that_would() -> None:
    back = one_pass(SECOND, "face", side(BLOCK, "-z"))
    bare = msgspec.structs.replace(BAR, faced_bow_mm=None, faced_bow_length_mm=None, faced_bow_thickness_mm=None)
    lost = only(turned(back, bars=(bare,)), "c2:bow after facing")
    assert (lost.verdict, lost.found_high, lost.blocks_release) == ("not shown", None, False)
    assert "two minutes on one blank" in lost.decides
    assert "-T6511" in lost.decides
    stretched = job()
    stretched = msgspec.structs.replace(stretched, part=msgspec.structs.replace(stretched.part, alloy="6061-T6511"))
    assert "-T6511" not in only(turned(back, bars=(bare,), asked=stretched), "c2:bow after facing").decides


def test_a_bow_has_the_owner_s_limit_or_none() -> None:
    """Worked: 0.06 (80 / 120)^2 = 0.0267, up to 0.027; thicker than the piece measured: its low end is 0."""
    back = one_pass(SECOND, "face", side(BLOCK, "-z"))
    free = only(turned(back), "c2:bow after facing")
    assert (free.verdict, free.found_low, free.found_high, free.blocks_release) == ("not shown", 0.0, 0.027, False)
    assert "bow_max_mm" in free.decides
    kept = only(turned(back, asked=job(bow_max_mm=0.027)), "c2:bow after facing")
    assert (kept.verdict, kept.blocks_release) == ("holds", True)
    over = only(turned(back, asked=job(bow_max_mm=0.0269)), "c2:bow after facing")
    assert (over.verdict, over.blocks_release) == ("not shown", True)
