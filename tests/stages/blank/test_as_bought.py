"""Blanks with sides that nobody cuts: no skim, no strip, and a bar that must have the size itself."""

from __future__ import annotations

import msgspec
import pytest
from stages.blank.test_blank import bar, block, choose, proof

from proveout.model.proof import is_ready
from proveout.model.target import AsBought

SIDES = AsBought(
    sides=("-y", "+y", "-z"), low_mm=(None, 39.7, None), high_mm=(None, 40.3, None), edge_mm=1.0
)  # fmt: skip


def test_no_skim_and_no_strip_where_sides_stay() -> None:
    decision = choose(block(100.0, 40.0, 18.0), (bar("40x20", 40.0, 20.0),), grip_sides=(None,), bought=SIDES)
    blank = decision.value.choice.chosen
    assert not blank.is_ideal
    assert blank.grip_side is None
    assert (blank.low_mm[1], blank.high_mm[1]) == (0.0, 40.0)
    assert (blank.low_mm[2], blank.high_mm[2]) == (0.0, 20.0)
    assert blank.low_mm[0] < 0.0
    assert blank.high_mm[0] > 100.0
    assert is_ready(decision.proofs)


def test_a_thicker_bar_leaves_its_metal_above() -> None:
    decision = choose(block(100.0, 40.0, 18.0), (bar("40x30", 40.0, 30.0),), grip_sides=(None,), bought=SIDES)
    blank = decision.value.choice.chosen
    assert (blank.low_mm[2], blank.high_mm[2]) == (0.0, 30.0)


@pytest.mark.parametrize(("width", "fits"), [(40.0, "fits"), (40.2, "fits"), (40.4, ""), (45.0, "")])
def test_a_bar_of_another_size_is_not_taken(width: float, fits: str) -> None:
    decision = choose(block(100.0, 40.0, 18.0), (bar("b", width, 20.0),), grip_sides=(None,), bought=SIDES)
    assert decision.value.choice.chosen.is_ideal is not bool(fits)


@pytest.mark.parametrize(
    ("width", "tolerance", "verdict"), [(40.0, 0.3, "holds"), (40.0, 0.31, "not shown"), (40.2, 0.15, "not shown")]
)
def test_the_bar_at_its_worst_end_keeps_to_the_limits(width: float, tolerance: float, verdict: str) -> None:
    only = bar("b", width, 20.0, width_tolerance_mm=tolerance)
    decision = choose(block(100.0, 40.0, 18.0), (only,), grip_sides=(None,), bought=SIDES)
    told = proof(decision, "blank:b:section-width-as-bought")
    assert told.verdict == verdict
    assert told.found_high == pytest.approx(abs(width - 40.0) + tolerance)


def test_without_limits_nothing_is_shown() -> None:
    free = AsBought(sides=("-y", "+y"))
    decision = choose(block(100.0, 40.0, 18.0), (bar("b", 40.0, 30.0),), bought=free)
    assert proof(decision, "blank:b:section-width-as-bought").verdict == "not shown"
    assert not is_ready(decision.proofs)


def test_a_sawn_end_that_stays_answers_for_saw_and_lean() -> None:
    ends = AsBought(sides=("-x", "+x"), low_mm=(99.5, None, None), high_mm=(100.5, None, None))
    decision = choose(block(100.0, 40.0, 18.0), (bar("b", 45.0, 30.0),), bought=ends)
    told = proof(decision, "blank:b:length-as-bought")
    assert decision.value.choice.chosen.cut_length_mm == 100.0
    assert told.found_high == pytest.approx(0.2 + 2.0 * 0.003 * 45.0)


@pytest.mark.parametrize(
    ("radius", "edge", "verdict"), [(0.8, 0.8, "holds"), (0.8, 0.5, "not shown"), (0.8, None, "not shown")]
)
def test_the_bar_s_rounded_edge_stays_where_two_such_sides_meet(
    radius: float, edge: float | None, verdict: str
) -> None:
    sides = msgspec.structs.replace(SIDES, edge_mm=edge)
    only = bar("b", 40.0, 20.0, corner_radius_mm=radius)
    decision = choose(block(100.0, 40.0, 18.0), (only,), grip_sides=(None,), bought=sides)
    assert proof(decision, "blank:b:rounded-edge-as-bought").verdict == verdict


def test_a_skim_beside_such_a_side_takes_the_whole_rounding() -> None:
    """Of 3 mm 1 is skimmed: 2 more are needed, where two skimmed sides would ask for none."""
    low = AsBought(sides=("-z",))
    needed = {
        name: choose(block(100.0, 40.0, 18.0), (bar("b", 60.0, 40.0, corner_radius_mm=3.0),), bought=bought)
        .value.candidates[0].stack.width.needed_mm
        for name, bought in (("beside", low), ("free", AsBought()))
    }  # fmt: skip
    assert needed["beside"] - needed["free"] == pytest.approx(4.0)


@pytest.mark.parametrize(("half", "verdict"), [(0.2, "holds"), (0.15, "not shown")])
def test_sizes_that_hang_on_one_of_two_such_sides_bear_the_spread(half: float, verdict: str) -> None:
    sides = msgspec.structs.replace(SIDES, half_mm=(None, half, None))
    decision = choose(block(100.0, 40.0, 18.0), (bar("b", 40.0, 20.0),), grip_sides=(None,), bought=sides)
    assert proof(decision, "blank:b:sizes-from-sides-along-y").verdict == verdict
