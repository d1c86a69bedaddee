"""What the replay measures of every move, counted by hand on a small block."""

from __future__ import annotations

import numpy as np
import pytest
from shapes import CUTTERS, cutter
from stages.removal_check.test_removal_check import BLANK, CLAMPING, TIP_UP, planned

from proveout.model.move_cuts import MoveCuts
from proveout.model.work import PassKind
from proveout.quantities.errors import OutOfRange
from proveout.removal.fields import Fields
from proveout.stages.removal_check.moves import windows
from proveout.stages.removal_check.replay import replay_moves

NAME = "p"
BY_ID = {c.id: c for c in (*CUTTERS, cutter("tap M6", "tap", 6.0, 20.0, 40.0, pitch_mm=1.0))}
# a block of 30 x 20 x 11; down from its top at the middle, along a slot 2 mm deep, then out over the end in the air
PLUNGE_AND_SLOT = [
    (10.0, 10.0, 30.0, 0.0), (10.0, 10.0, 11.0, 0.0), (10.0, 10.0, 9.0, 3.0), (20.0, 10.0, 9.0, 20.0),
    (50.0, 10.0, 9.0, 20.0), (60.0, 10.0, 9.0, 20.0),
]  # fmt: skip


def measured(kind: PassKind, tool: str, path: list[tuple[float, float, float, float]]) -> MoveCuts:
    plan = planned([(kind, tool, path)])
    fields = Fields.from_box(low_mm=np.array(BLANK.low_mm), high_mm=np.array(BLANK.high_mm), pitch_mm=0.25)
    one = plan.passes[0]
    assert CLAMPING.tilts[0].frame == TIP_UP
    return replay_moves(fields, one=one, moves=plan.moves[one.moves_digest], frame=TIP_UP, cutter=BY_ID[tool])[2]


def test_a_plunge_and_a_slot_are_told_apart() -> None:
    """Worked. Down: 36 pi of disc, 2 mm of way. Along: 12 wide and 2 deep is 24 mm2."""
    found = measured("rough", "mill 12", PLUNGE_AND_SLOT)
    assert found.rows.tolist() == [2, 3, 4]
    disc = 36.0 * np.pi
    assert found.removed_mm3[0] == pytest.approx(2.0 * disc, rel=0.02)
    assert found.plunge_mm2[0] == pytest.approx(disc, rel=0.03)
    assert found.section_mm2[0] == 0.0
    assert found.section_mm2[1:] == pytest.approx([24.0, 24.0], rel=0.03)
    assert found.plunge_mm2[1:].tolist() == [0.0, 0.0]
    assert found.length_mm.tolist() == [2.0, 10.0, 30.0]
    assert (found.low_mm.tolist(), found.high_mm.tolist()) == ([9.0, 9.0, 9.0], [11.0, 9.0, 9.0])


def test_no_metal_stands_deeper_than_is_said() -> None:
    """The top lies at 11: 2 mm above a tip at 9, whatever was cut before within the pass; 5 above one at 6."""
    found = measured("rough", "mill 12", PLUNGE_AND_SLOT)
    assert found.deep_mm == pytest.approx([2.0, 2.0, 2.0], abs=1e-6)
    deeper = measured("rough", "mill 12", [(-20.0, 5.0, 6.0, 0.0), (0.0, 5.0, 6.0, 20.0), (15.0, 5.0, 8.0, 20.0)])
    assert deeper.deep_mm == pytest.approx([5.0, 5.0], abs=1e-6)


def test_a_short_move_has_the_section_of_the_stretch_it_lies_in() -> None:
    """Ten moves of 0.2 mm inside a slot see 24 mm2 as the long ones do, not the noise of single rays."""
    path = [
        (-20.0, 10.0, 9.0, 0.0),
        (10.0, 10.0, 9.0, 20.0),
        *((10.0 + 0.2 * i, 10.0, 9.0, 20.0) for i in range(1, 11)),
    ]
    assert measured("rough", "mill 12", path).section_mm2[1:] == pytest.approx(np.full(10, 24.0), rel=0.04)


def test_a_move_in_air_is_no_move_of_these() -> None:
    assert len(measured("rough", "mill 12", [(0.0, 0.0, 20.0, 0.0), (9.0, 9.0, 12.0, 20.0)]).rows) == 0


def test_what_a_thread_takes_is_not_measured() -> None:
    found = measured("tap", "tap M6", [(10.0, 10.0, 12.0, 0.0), (10.0, 10.0, 5.0, 5.0)])
    assert found.rows.tolist() == [1]
    assert np.isnan(found.section_mm2).all()


def test_every_leg_takes_the_largest_of_the_stretches_that_hold_it() -> None:
    """Against trying them all; sections are volumes over lengths of at least the window."""
    draw = np.random.default_rng(3)
    for _ in range(30):
        lengths = draw.exponential(0.7, 25)
        removed = draw.exponential(5.0, 25) * (draw.random(25) > 0.3)
        found = windows(removed, lengths, window_mm=1.5)
        plain = [
            max(s for f, e, s in zip(found.first, found.last, found.sections_mm2, strict=True) if f <= leg < e)
            for leg in range(25)
        ]
        assert found.of_each_leg_mm2() == pytest.approx(plain)
        ends = list(zip(found.first, found.last, strict=True))
        spans = [(float(lengths[f:e].sum()), float(removed[f:e].sum())) for f, e in ends]
        assert all(run >= 1.5 - 1e-5 for run, _ in spans)
        assert found.sections_mm2 == pytest.approx([volume / run for run, volume in spans])


def test_arrays_of_different_length_are_refused() -> None:
    one, two = np.zeros(1), np.zeros(2)
    with pytest.raises(OutOfRange):
        MoveCuts(
            pass_id=NAME, rows=np.zeros(1, dtype=np.int64), removed_mm3=two, length_mm=one, section_mm2=one,
            plunge_mm2=one, deep_mm=one, low_mm=one, high_mm=one,
        )  # fmt: skip
