"""The pocket in soft jaws: outline, bite, slug, stop, open end, reliefs, cutter and what is claimed of it."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
import shapely
from jaw_parts import (
    BLOCK,
    HIGH_MM,
    JAWS,
    block,
    body_box,
    clamping,
    of_block,
    planned,
    round_work,
    shaped,
    target_from,
)
from shapes import CUTTERS, MILL

from proveout.model.choice import CutterChoice
from proveout.model.jaw_form import JawForm
from proveout.model.limits import Limits
from proveout.model.proof import is_ready
from proveout.model.run import Run
from proveout.model.work import Blank, Survey
from proveout.stages.passes import decide
from proveout.stages.passes.areas import area_of, shape_of
from proveout.stages.passes.jaw_outline import formed_jaws, outline_of
from proveout.stages.passes.jaw_proofs import form_proofs
from proveout.stages.passes.jaw_reliefs import reliefs_of
from proveout.stages.passes.view import TiltView


def found(form: JawForm, slug: str) -> tuple[str, float | None]:
    (proof,) = [p for p in form_proofs(form) if p.id.endswith(f":{slug}")]
    return proof.verdict, proof.found_low


def test_a_block_is_let_three_millimetres_into_each_jaw() -> None:
    form = shaped(block(), BLOCK)
    # worked: a quarter of the gap of 20 is 5, more than 3; slug 20 - 2 x 3; jaws 125 long about the middle at 30
    assert (form.bite_mm, form.slug_width_mm, form.depth_mm, form.below_mm) == (3.0, 14.0, 10.0, 30.0)
    assert (form.low_mm, form.high_mm) == (-32.5, 92.5)
    assert (form.contact_mm, form.length_mm) == (60.0, 60.0)


def test_narrow_work_leaves_half_of_its_gap_to_the_slug() -> None:
    """A bite of 3 into both sides of work 6 wide would leave no slug."""
    held = clamping(length_mm=40.0, gap_mm=6.0, patch_mm=39.0)
    work = body_box((0.0, -6.0, 0.0), (40.0, 0.0, HIGH_MM))
    assert formed_jaws(outline_of(work=work, target=work, clamping=held), held).bite_mm == 1.5


def test_the_end_away_from_the_stop_is_open() -> None:
    """Work a hundredth too long would stand on the jaws instead of in them."""
    form = shaped(block(), BLOCK)
    assert form.stop == "the left end wall of the pocket"
    low_x, low_y, high_x, high_y = area_of([np.array(r) for r in form.outline_mm]).bounds()
    assert (low_x, low_y, high_x, high_y) == pytest.approx((0.0, -20.0, 60.5, 0.0), abs=1e-6)


def test_opening_goes_to_the_right_alone() -> None:
    """The two rings of work on two feet are opened each by itself."""
    work = block() - body_box((20.0, -30.0, -1.0), (40.0, 10.0, 15.0))
    form = shaped(work, BLOCK)
    area = shape_of(area_of([np.array(r) for r in form.outline_mm]))
    # worked: two feet of 20 x 20 and half a millimetre more of each
    assert area.area == pytest.approx(2.0 * 20.5 * 20.0, abs=1e-3)


def test_corners_of_a_block_are_passed_by_the_smallest_cutter() -> None:
    form = shaped(block(), BLOCK)
    # worked, Ø4: the axis fits the corner at 2, 2 from its walls, 2.8284 from the corner; it goes on until that is
    # 1.9 away, 0.9284 along the diagonal, to 2 - 0.9284 / 1.41421 = 1.3435; and 2 - 1.3435 = 0.6565 beyond the wall
    assert form.cutter_id == "mill 4"
    assert len(form.reliefs) == 4
    assert form.reliefs[1].from_mm == pytest.approx((2.0, -2.0), abs=1e-3)
    assert form.reliefs[1].to_mm == pytest.approx((1.3435, -1.3435), abs=1e-3)
    assert [r.beyond_mm for r in form.reliefs] == pytest.approx([0.6565] * 4, abs=1e-3)
    # worked: 25 thick, less 3 of bite and 0.6565
    assert found(form, "wall") == ("holds", pytest.approx(21.3435, abs=1e-3))


def test_a_relief_passes_the_corner_of_the_work() -> None:
    """The corner itself must lie inside what the cutter takes, by a tenth."""
    reliefs = shaped(block(), BLOCK).reliefs
    assert len(reliefs) == 4
    for relief in reliefs:
        corners = [(x, y) for x in (0.0, 60.5) for y in (0.0, -20.0)]
        nearest = min(math.dist(corner, relief.to_mm) for corner in corners)
        assert nearest == pytest.approx(1.9, abs=1e-3)


def test_a_corner_in_the_gap_needs_no_relief() -> None:
    """Between the jaws there is no metal that could touch."""
    outline = area_of([np.array([[0.0, -20.0], [60.0, -20.0], [60.0, 0.0], [0.0, 0.0]])])
    between = shapely.box(-30.0, -3.0, 90.0, 20.0)
    reliefs = reliefs_of(outline=outline, jaws=between, radius_mm=2.0)
    assert reliefs is not None
    assert all(r.to_mm[1] > -3.0 for r in reliefs)
    assert len(reliefs) == 2


def test_what_is_narrower_than_the_cutter_is_no_corner() -> None:
    tab = area_of([np.array([[0.0, -20.0], [60.0, -20.0], [60.0, 0.0], [0.0, 0.0]])]) + area_of(
        [np.array([[28.0, -1.0], [32.0, -1.0], [32.0, 10.0], [28.0, 10.0]])]
    )
    jaws = shapely.box(-30.0, -3.0, 90.0, 20.0)
    assert reliefs_of(outline=tab, jaws=jaws, radius_mm=3.0) is None
    assert reliefs_of(outline=tab, jaws=jaws, radius_mm=1.5) is not None


def test_a_round_takes_the_largest_cutter_and_no_relief() -> None:
    form = shaped(round_work(40.0), clamping(length_mm=40.0, gap_mm=40.0, patch_mm=20.0))
    # worked: at 3 mm in, the chord of a circle of 20 is 2 sqrt(40 x 3 - 9) = 21.07, over the 20 that count
    assert (form.bite_mm, form.slug_width_mm) == (3.0, 34.0)
    assert (form.cutter_id, form.reliefs, form.stop) == ("mill 12", (), "")


def test_a_large_round_is_let_in_until_the_length_that_counts_touches() -> None:
    held = clamping(length_mm=60.0, gap_mm=60.0, patch_mm=30.0)
    work = round_work(60.0)
    # worked: 2 sqrt(60 e - e²) = 30 at e = 30 - sqrt(900 - 225) = 4.019, and the next tenth is 4.1
    assert formed_jaws(outline_of(work=work, target=work, clamping=held), held).bite_mm == 4.1


def test_metal_left_on_the_work_widens_the_outline() -> None:
    """What an earlier clamping left within the jaws must have its place in the pocket; what lies above need not."""
    left = body_box((10.0, -1.0, 4.0), (20.0, 2.0, 8.0)) + body_box((30.0, -1.0, 12.0), (40.0, 2.0, 20.0))
    rings = outline_of(work=block() + left, target=block(), clamping=BLOCK)
    area = shape_of(area_of(rings))
    # worked: 60 x 20 and 10 x 2
    assert area.area == pytest.approx(1220.0, abs=0.1)
    assert area.bounds[3] == pytest.approx(2.0, abs=1e-3)


def test_blur_of_the_believed_work_is_not_taken_for_metal() -> None:
    grown = body_box((-0.01, -20.01, 0.0), (60.01, 0.01, HIGH_MM))
    rings = outline_of(work=grown, target=block(), clamping=BLOCK)
    assert shape_of(area_of(rings)).bounds == pytest.approx((0.0, -20.0, 60.0, 0.0), abs=1e-6)


def test_without_a_size_of_the_jaws_nothing_is_shown_and_nothing_blocked() -> None:
    decided = planned(block(), BLOCK, jaws=msgspec.structs.replace(JAWS, blank_height_mm=None))
    assert decided.value.forms == ()
    (proof,) = decided.proofs
    assert (proof.verdict, proof.blocks_release) == ("not shown", False)
    assert "blank_height_mm" in proof.decides
    assert "blank_thickness_mm" not in proof.decides


def test_thin_and_low_jaws_fail() -> None:
    thin = shaped(block(), BLOCK, jaws=msgspec.structs.replace(JAWS, blank_thickness_mm=8.6))
    # worked: 8.6 - 3 - 0.6565 = 4.94, under 5
    assert found(thin, "wall") == ("fails", pytest.approx(4.9435, abs=1e-3))
    low = shaped(block(), BLOCK, jaws=msgspec.structs.replace(JAWS, blank_height_mm=16.9))
    # worked: 16.9 - 10 - 1 = 5.9, under 6
    assert found(low, "slug") == ("fails", pytest.approx(5.9, abs=1e-6))


def test_the_wall_at_an_end_of_the_jaws_counts() -> None:
    held = msgspec.structs.replace(BLOCK, jaw_middle_mm=60.0)
    # worked: the jaws begin at 60 - 62.5 = -2.5; the relief takes 0.6565 of the 2.5 beside the pocket
    assert found(shaped(block(), held), "wall") == ("fails", pytest.approx(1.8435, abs=1e-3))


def test_a_cutter_too_short_for_the_pocket_is_not_taken() -> None:
    held = msgspec.structs.replace(BLOCK, jaw_top_mm=15.0)
    # worked: mill 4 has flutes of 14, mill 6 of 18
    assert shaped(block(), held).cutter_id == "mill 6"
    low = msgspec.structs.replace(BLOCK, jaw_top_mm=27.0)
    decided = planned(block(), low)
    (form,) = decided.value.forms
    assert (form.passes, form.seconds) == ((), None)
    assert found(form, "reach") == ("fails", 0.0)
    assert not is_ready(decided.proofs)


def test_a_holder_that_would_stand_on_the_jaws_is_not_taken() -> None:
    held = msgspec.structs.replace(BLOCK, jaw_top_mm=13.8)
    short = tuple(msgspec.structs.replace(c, stick_out_mm=14.0) if c.id == "mill 4" else c for c in CUTTERS)
    # worked: 13.8 and half a millimetre of air is more than 14
    assert shaped(block(), held).cutter_id == "mill 4"
    assert shaped(block(), held, cutters=short).cutter_id == "mill 6"


def test_work_that_stands_on_a_corner_is_said_to() -> None:
    """The step carries only what touches it: here a foot of 6 of the 60."""
    work = block() - body_box((6.0, -30.0, -1.0), (70.0, 10.0, 2.0))
    form = shaped(work, BLOCK)
    assert found(form, "step") == ("fails", pytest.approx(0.1, abs=1e-3))
    assert [p.blocks_release for p in form_proofs(form) if p.id.endswith(":step")] == [False]


def test_other_passes_keep_off_jaws_that_reach_over_the_work() -> None:
    """Beside the work the cut jaws come three millimetres nearer than the work's own faces."""
    target = target_from(block())
    held = outline_of(work=block(), target=block(), clamping=BLOCK)
    tilt = BLOCK.tilts[0]
    mill = next(c for c in CUTTERS if c.id == "mill 4")

    def kept_off(y_mm: float, *, is_formed: bool) -> bool:
        formed = formed_jaws(held, BLOCK) if is_formed else None
        view = TiltView(target=target, body=block(), clamping=BLOCK, tilt=tilt, work=block(), formed=formed)
        area = shape_of(view.held_off(5.0, cutter=mill, radius_mm=2.0))
        return bool(area.contains(shapely.Point(-20.0, y_mm)))

    # worked: radius 2 and air 0.3 before faces at -3 and at 0
    assert kept_off(-5.0, is_formed=True)
    assert not kept_off(-5.5, is_formed=True)
    assert not kept_off(-5.0, is_formed=False)


def test_roughing_comes_first_and_every_pass_is_named_after_the_pocket() -> None:
    (form,) = of_block().value.forms
    kinds = [one.kind for one in form.passes]
    assert kinds[0] == "rough"
    assert kinds[-1] == "finish wall"
    assert all(one.id.startswith("c2-z--jaws/a0-c0/") and one.clamping_id == "c2-z--jaws" for one in form.passes)
    assert set(of_block().value.moves) == {one.moves_digest for one in form.passes}


def test_the_plan_of_passes_tells_the_outline_of_work_in_cut_jaws() -> None:
    """Of the believed work as the earlier clampings leave it: here a blank with five millimetres more at the right."""
    blank = Blank(
        bar_id="none", length_axis=0, low_mm=(0.0, -20.0, 0.0), high_mm=(65.0, 0.0, HIGH_MM), cut_length_mm=65.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=0.1,
    )  # fmt: skip
    flat = msgspec.structs.replace(BLOCK, id="c3-y-", number=3, needs_form=False)
    made = decide(
        target=target_from(block()), survey=Survey(faces=(), holes=(), directions=(), access=(), unreached=()),
        blank=blank, clampings=(BLOCK, flat), choice=CutterChoice(uses=(), tilt_of={}, without=()), cutters=CUTTERS,
        machines={"mill": MILL}, limits=Limits(), run=Run(),
    )  # fmt: skip
    assert set(made.value.outlines) == {BLOCK.id}
    assert shape_of(area_of(made.value.outlines[BLOCK.id])).bounds == pytest.approx((0.0, -20.0, 65.0, 0.0), abs=1e-6)
