"""Boxes less prisms, by volumes and kinds of face that can be counted by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solids.measure import volume_of
from proveout.solids.prisms import boxes_less_prisms
from proveout.solids.step import read_step, write_step

BLOCK = ((0.0, 0.0, -2.0), (60.0, 25.0, 10.0))
TURN = np.linspace(0.0, 2.0 * math.pi, 201)[:-1]
ROUND = np.column_stack([20.0 + 8.0 * np.cos(TURN), 12.0 + 8.0 * np.sin(TURN)])
SQUARE = np.array([(40.0, 5.0), (50.0, 5.0), (50.0, 15.0), (40.0, 15.0)])


def test_a_square_and_a_round_are_taken_to_their_depth() -> None:
    """Worked: 60 x 25 x 12 less 10 x 10 x 10 and pi 8^2 10; the round is one arc and no polygon."""
    body = boxes_less_prisms([BLOCK], [ROUND, SQUARE], low_mm=0.0, high_mm=11.0)
    assert volume_of(body) == pytest.approx(18000.0 - 1000.0 - math.pi * 640.0, abs=0.5)
    # a polygon of 200 corners has 0.33 mm3 less for each mm of depth: chords would leave 3.3 more
    assert volume_of(body) < 18000.0 - 1000.0 - math.pi * 640.0 + 1.0


def test_prisms_that_overlap_are_both_taken_and_every_box_is_cut() -> None:
    """Worked: two squares of 10 that share 5 x 10 take 15 x 10 x 10 of either of two blocks they both reach."""
    wide = np.array([(10.0, -30.0), (20.0, -30.0), (20.0, 30.0), (10.0, 30.0)])
    aside = wide + np.array([5.0, 0.0])
    blocks = [BLOCK, ((0.0, -40.0, -2.0), (60.0, -15.0, 10.0))]
    body = boxes_less_prisms(blocks, [wide, aside], low_mm=0.0, high_mm=11.0)
    assert volume_of(body) == pytest.approx(36000.0 - 15.0 * 25.0 * 10.0 - 15.0 * 15.0 * 10.0)


def test_the_step_file_reads_back_with_round_faces(tmp_path: Path) -> None:
    path = tmp_path / "jaws.step"
    write_step(boxes_less_prisms([BLOCK], [ROUND], low_mm=0.0, high_mm=11.0), path, name="jaws")
    solid = read_step(path).solid
    assert solid.is_valid
    rounds = [f.surface for f in solid.faces if f.surface.kind == "cylinder"]
    assert [round(r.radius_mm, 3) for r in rounds] == [8.0] * len(rounds)
    assert len(solid.faces) == 7 + len(rounds)


@pytest.mark.parametrize("ring", [np.array([(0.0, 0.0), (1.0, 0.0)]), np.zeros((5, 2))])
def test_an_outline_that_encloses_nothing_is_refused(ring: np.ndarray) -> None:
    with pytest.raises(OutOfRange, match="encloses nothing"):
        boxes_less_prisms([BLOCK], [ring], low_mm=0.0, high_mm=11.0)
