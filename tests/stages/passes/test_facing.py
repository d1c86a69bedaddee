"""Stages of facing, counted by hand."""

from __future__ import annotations

import itertools

import pytest

from proveout.stages.passes.facing import ratio_of, stages_mm


def test_a_strip_goes_in_stages_and_ends_in_a_skim() -> None:
    """Worked: 4.5 mm: 4.2 in 3 stages of 1.4, then 0.3."""
    assert stages_mm(top=4.5, goal=0.0, most=1.5) == pytest.approx([3.1, 1.7, 0.3, 0.0])


def test_a_thin_top_goes_at_once() -> None:
    assert stages_mm(top=0.6, goal=0.0, most=1.5) == [0.0]


def test_a_thin_top_goes_no_deeper_at_once_than_it_may() -> None:
    """Worked: of 0.5 mm, 0.2 and the skim where 0.4 may go at once; where 0.15 may, 0.35 in 3 stages, then 0.15."""
    assert stages_mm(top=0.5, goal=0.0, most=0.4) == pytest.approx([0.3, 0.0])
    assert stages_mm(top=0.5, goal=0.0, most=0.15) == pytest.approx([0.5 - 0.35 / 3.0, 0.5 - 0.7 / 3.0, 0.15, 0.0])


@pytest.mark.parametrize("depth", [0.02, 0.3, 0.45, 0.6, 0.61, 1.9, 4.5])
@pytest.mark.parametrize("most", [0.09, 0.29, 0.3, 0.31, 0.59, 0.6, 1.5])
def test_no_stage_is_deeper_than_is_told(depth: float, most: float) -> None:
    heights = [depth, *stages_mm(top=depth, goal=0.0, most=most)]
    assert heights[-1] == 0.0
    assert all(0.0 < a - b <= min(most, depth) + 1e-9 for a, b in itertools.pairwise(heights))


def test_a_stage_that_is_shallower_than_it_may_be_is_eased_from_there() -> None:
    """Worked: 1.5 mm go by half a diameter, so 0.6 mm by 0.2; of a cutter that may take 1 mm by 0.3."""
    assert ratio_of(1.5, whole_mm=1.5) == pytest.approx(0.5)
    assert ratio_of(0.6, whole_mm=1.5) == pytest.approx(0.2)
    assert ratio_of(0.6, whole_mm=1.0) == pytest.approx(0.3)
