"""The fewest clampings that reach everything, laid on the blank so that frames and jaws are where they should be."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, get_args

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, LOAD, MILL, SMOOTH, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of

from proveout.model.choice_of_clampings import ClampingChoice
from proveout.model.fact import Strength
from proveout.model.job import Pin
from proveout.model.limits import Limits
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Jaws
from proveout.model.solid import Solid
from proveout.model.work import Blank
from proveout.quantities.errors import BadInput
from proveout.stages import clampings, cutters, passes, survey

PLATE = (60.0, 40.0, 20.0)


def chosen(
    solid: Solid, *, jaws: tuple[Jaws, ...] = (TOOTHED, SOFT), pins: tuple[Pin, ...] = ()
) -> Decision[ClampingChoice]:
    seen = survey.decide(solid=solid, run=Run()).value
    return clampings.decide(
        solid=solid, target=target_of(solid), survey=seen, machines=(MILL,), vises=(VISE,), jaws=jaws, cutters=CUTTERS,
        quantity=50, load_s=LOAD, pins=pins, run=Run(),
    )  # fmt: skip


def plate() -> Any:
    """Five sides free from above, a pocket, a through hole."""
    shape = cut_box(box(*PLATE), (10, 10, 12), (40, 30, 21))
    return drilled(shape, at=(50, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)


def the_blank() -> Blank:
    """1 mm on every side, a strip of 4.5 mm below."""
    return Blank(
        bar_id="none", length_axis=0, low_mm=(-1.0, -1.0, -4.5), high_mm=(61.0, 41.0, 21.0), cut_length_mm=62.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=0.1,
    )  # fmt: skip


def test_a_plate_with_a_pocket_needs_two_clampings_open_side_up_first() -> None:
    best = chosen(solid_of(plate())).value.sequences[0]
    assert [h.up for h in best.holds] == [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]
    assert best.unreached == ()


def test_a_hole_in_a_side_costs_a_third_clamping_on_a_three_axis_mill() -> None:
    shape = drilled(plate(), at=(30, 0, 6), along=(0, 1, 0), dia=5, deep=9)
    best = chosen(solid_of(shape)).value.sequences[0]
    assert [h.up for h in best.holds] == [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)]
    assert len(best.holds[2].makes_holes) == 1


def test_a_hole_that_no_cutter_fits_is_a_failing_proof_that_names_it() -> None:
    shape = drilled(plate(), at=(50, 8, 21), along=(0, 0, -1), dia=3.0, deep=12)
    decision = chosen(solid_of(shape))
    proof = decision.proofs[0]
    assert proof.verdict == "fails"
    assert proof.blocks_release
    assert "cylinder in d3.000" in proof.subject


def test_a_cavity_reached_from_nowhere_fails() -> None:
    shape = cut_box(box(*PLATE), (20, 10, 8), (40, 30, 14))
    assert chosen(solid_of(shape)).proofs[0].verdict == "fails"


def test_a_pinned_way_up_is_kept_and_an_unknown_pin_is_refused_with_the_choices() -> None:
    solid = solid_of(plate())
    best = chosen(solid, pins=(Pin(quantity="up", value="-z"),)).value.sequences[0]
    assert best.holds[0].up == (0.0, 0.0, -1.0)
    with pytest.raises(BadInput, match=r"pinned machine is not in the shop.*mill"):
        chosen(solid, pins=(Pin(quantity="machine", value="no such"),))


def test_frames_put_zero_at_stop_fixed_jaw_and_seat() -> None:
    solid = solid_of(plate())
    sequence = chosen(solid).value.sequences[0]
    laid = clampings.place(
        sequence=sequence, blank=the_blank(), target=target_of(solid), machines=(MILL,), vises=(VISE,),
        jaws=(TOOTHED, SOFT), bars=(),
    )  # fmt: skip
    first, second = laid.value.clampings
    corners = first.frame.into(np.array([the_blank().low_mm, the_blank().high_mm]))
    assert corners.min(axis=0) == pytest.approx((0.0, -42.0, 0.0))
    assert corners.max(axis=0) == pytest.approx((62.0, 0.0, 25.5))
    assert (first.jaw_top_mm, first.gap_mm, first.jaw_middle_mm) == (3.0, 42.0, 31.0)
    # worked: 3 mm of jaw less 0.5 mm of burr; 62 mm of blank less 1 mm of burr at each end
    assert first.patch_height_mm.low == pytest.approx(2.5)
    assert first.patch_length_mm.low == pytest.approx(60.0)
    turned = second.frame.into(solid.vertices_mm)
    assert turned.min(axis=0)[2] == pytest.approx(0.0)
    assert turned.max(axis=0)[1] == pytest.approx(0.0)
    assert second.gap_mm == pytest.approx(min(second.gap_mm, 60.0))
    assert not second.needs_form
    assert all(p.verdict == "holds" for p in laid.proofs if p.blocks_release)


def test_a_third_clamping_holds_what_the_first_two_finished_and_drills_the_side() -> None:
    """From the bar to the last hole: top and outside, then the back, then a side hole between two finished faces."""
    shape = drilled(box(*PLATE), at=(50, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)
    solid = solid_of(drilled(shape, at=(30, 0, 6), along=(0, 1, 0), dia=5, deep=9))
    seen, target = survey.decide(solid=solid, run=Run()).value, target_of(solid)
    laid = clampings.place(
        sequence=chosen(solid).value.sequences[0], blank=the_blank(), target=target, machines=(MILL,), vises=(VISE,),
        jaws=(TOOTHED, SOFT), bars=(),
    )  # fmt: skip
    assert all(p.verdict == "holds" for p in laid.proofs if p.blocks_release)
    _, second, third = laid.value.clampings
    assert (third.number, third.frame.z, third.gap_mm) == (3, (0.0, -1.0, 0.0), 20.0)
    assert set(third.grip_faces) == {*solid.faces_on("+z"), *solid.faces_on("-z")}
    assert set(second.makes_faces) == set(solid.faces_on("-z"))
    stands = third.frame.into(solid.vertices_mm)
    assert [float(v) for v in (*stands.min(axis=0), *stands.max(axis=0))] == pytest.approx([0, -20, 0, 60, 0, 40])
    choice = cutters.decide(survey=seen, clampings=laid.value.clampings, target=target, cutters=CUTTERS).value
    cut = passes.decide(
        target=target, survey=seen, blank=the_blank(), clampings=laid.value.clampings, choice=choice, cutters=CUTTERS,
        machines={"mill": MILL}, limits=Limits(), pressure_mpa=None, exponent_ratio=0.25, run=Run(),
    )  # fmt: skip
    assert cut.value.not_cut == ()
    kinds = {c.number: {p.kind for p in cut.value.passes if p.clamping_id == c.id} for c in laid.value.clampings}
    assert kinds[2] == {"face"}
    assert kinds[3] == {"bore"}
    made = {face for one in cut.value.passes for face in one.face_ids}
    assert made == {face.id for face in solid.faces}


def test_smooth_jaws_on_the_raw_bar_are_not_let_through() -> None:
    solid = solid_of(plate())
    pinned = (Pin(quantity="jaws", value="smooth"),)
    sequence = chosen(solid, jaws=(SMOOTH, TOOTHED, SOFT), pins=pinned).value.sequences[0]
    laid = clampings.place(
        sequence=sequence, blank=the_blank(), target=target_of(solid), machines=(MILL,), vises=(VISE,),
        jaws=(SMOOTH, TOOTHED, SOFT), bars=(),
    )  # fmt: skip
    failing = [p for p in laid.proofs if p.blocks_release and p.verdict != "holds"]
    assert [p.id for p in failing] == ["clampings:c1-z+:jaws suit"]


def test_a_vise_that_opens_too_little_leaves_no_sequence() -> None:
    solid = solid_of(plate())
    narrow = msgspec.structs.replace(VISE, opening_max_mm=30.0)
    seen = survey.decide(solid=solid, run=Run()).value
    decision = clampings.decide(
        solid=solid, target=target_of(solid), survey=seen, machines=(MILL,), vises=(narrow,), jaws=(TOOTHED, SOFT),
        cutters=CUTTERS, quantity=50, load_s=LOAD, pins=(), run=Run(),
    )  # fmt: skip
    ups = {s.holds[0].up for s in decision.value.sequences}
    assert (0.0, 0.0, 1.0) not in ups


def test_every_fact_and_proof_claims_no_more_than_its_source(root: Path) -> None:
    """Sources are those of docs/sources.toml, and none is leant on for a higher strength than it gives."""
    sources = tomllib.loads((root / "docs" / "sources.toml").read_text(encoding="utf-8"))
    order = list(get_args(Strength))
    solid = solid_of(plate())
    laid = clampings.place(
        sequence=chosen(solid).value.sequences[0], blank=the_blank(), target=target_of(solid), machines=(MILL,),
        vises=(VISE,), jaws=(TOOTHED, SOFT), bars=(),
    )  # fmt: skip
    facts = [f for c in laid.value.clampings for f in (c.patch_length_mm, c.patch_height_mm)]
    assert {p.basis.source for p in laid.proofs} | {f.source for f in facts} <= set(sources)
    assert all(order.index(f.strength) >= order.index(sources[f.source]["strength"]) for f in facts)
