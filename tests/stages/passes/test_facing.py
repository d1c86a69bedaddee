"""Stages of facing, counted by hand."""

from __future__ import annotations

import pytest

from proveout.stages.passes.facing import ratio_of, stages_mm


def test_a_strip_goes_in_stages_and_ends_in_a_skim() -> None:
    """Worked: 4.5 mm: 4.2 in 3 stages of 1.4, then 0.3."""
    assert stages_mm(top=4.5, goal=0.0, most=1.5) == pytest.approx([3.1, 1.7, 0.3, 0.0])


def test_a_thin_top_goes_at_once() -> None:
    assert stages_mm(top=0.6, goal=0.0, most=1.5) == [0.0]


def test_a_stage_that_is_shallower_than_it_may_be_is_eased_from_there() -> None:
    """Worked: 1.5 mm go by half a diameter, so 0.6 mm by 0.2; of a cutter that may take 1 mm by 0.3."""
    assert ratio_of(1.5, whole_mm=1.5) == pytest.approx(0.5)
    assert ratio_of(0.6, whole_mm=1.5) == pytest.approx(0.2)
    assert ratio_of(0.6, whole_mm=1.0) == pytest.approx(0.3)
