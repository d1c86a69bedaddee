"""Blanks with sides that nobody cuts: no skim, no strip, and a bar that must have the size itself."""

from __future__ import annotations

import pytest
from stages.blank.test_blank import bar, block, choose, proof

from proveout.model.proof import is_ready
from proveout.model.target import AsBought

SIDES = AsBought(sides=("-y", "+y", "-z"), low_mm=(None, 39.7, None), high_mm=(None, 40.3, None))


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
