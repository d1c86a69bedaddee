"""Arcs in a replay: divided, measured and taken out as arcs, at any tilt."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapes import cutter

from proveout.geometry.frames import Frame
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.moves import Moves
from proveout.model.work import Pass, PassCut
from proveout.removal.fields import Fields
from proveout.stages.removal_check.legs import legs_of
from proveout.stages.removal_check.replay import replay_pass

UPRIGHT = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(15.0, 15.0, 10.0))
SIDEWAYS = Frame(x=(0.0, 1.0, 0.0), y=(0.0, 0.0, 1.0), z=(1.0, 0.0, 0.0), origin_mm=(30.0, 15.0, 5.0))
MILL = cutter("mill 6", "end mill", 6.0, 20.0, 40.0)
# z as the tilt's own: a whole turn of radius 4 down by 1, a whole level turn, half a level turn back to the right
ARCS = Moves(
    points=np.array([[4.0, 0.0, 5.0], [4.0, 0.0, 0.0], [4.0, 0.0, -1.0], [4.0, 0.0, -1.0], [-4.0, 0.0, -1.0]]),
    feed_mm_per_s=np.array([0.0, 0.0, 5.0, 9.0, 9.0]),
    arcs=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, -4.0, 0.0], [1.0, -4.0, 0.0], [-1.0, -4.0, 0.0]]),
)


def replayed(moves: Moves, frame: Frame) -> tuple[PassCut, Fields]:
    fields = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([30.0, 30.0, 10.0]), pitch_mm=0.1)
    one = Pass(
        id="c1/t1/mill 6/bore/0", kind="bore", clamping_id="c1", tilt_id="t1", cutter_id="mill 6", feature="",
        face_ids=(), speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest,
        moves_count=len(moves.points), cut_length_mm=10.0,
    )  # fmt: skip
    return replay_pass(fields, one=one, moves=moves, frame=frame, cutter=MILL)[0], fields


@pytest.mark.parametrize("frame", [UPRIGHT, SIDEWAYS])
def test_a_helix_and_its_level_turn_leave_a_ring_groove(frame: Frame) -> None:
    """Worked: between radii 1 and 7 and 1 deep, pi (49 - 1) = 150.80 mm3.

    Sideways the block is 10 mm thick: of the disc of 7 the strip within 5 mm, 2 (5 sqrt 24 + 49 asin 5/7), less pi.
    """
    found, fields = replayed(ARCS, frame)
    strip = 2.0 * (5.0 * math.sqrt(24.0) + 49.0 * math.asin(5.0 / 7.0)) - math.pi
    whole = math.pi * 48.0 if frame is UPRIGHT else strip
    assert found.removed_mm3 == pytest.approx(whole, rel=1e-3)
    assert float(np.median(fields.volume_mm3())) == pytest.approx(30.0 * 30.0 * 10.0 - whole, rel=2e-5)
    chords, _ = replayed(ARCS.straight(within_mm=2e-4), frame)
    assert found.removed_mm3 == pytest.approx(chords.removed_mm3, rel=5e-4)
    assert found.section_max_mm2 == pytest.approx(chords.section_max_mm2, rel=0.03)
    assert found.rapid_mm == chords.rapid_mm == 0.0


def test_legs_keep_to_the_arc_and_to_their_length() -> None:
    legs = legs_of(ARCS, UPRIGHT, most_mm=1.5)
    bent = legs.turns_rad != 0.0
    assert legs.lengths_mm[bent].max() <= 1.5
    assert legs.lengths_mm.sum() == pytest.approx(ARCS.lengths_mm.sum())
    assert np.hypot(*legs.ends_mm[bent, :2].T) == pytest.approx(4.0)
    assert (np.abs(legs.starts_mm[1:] - legs.ends_mm[:-1]) < 1e-12).all()
    assert legs.turns_rad.sum() == pytest.approx(2.0 * math.pi + 2.0 * math.pi - math.pi)
    starts, ends, owner = legs.chords()
    assert (np.diff(owner) >= 0).all()
    assert np.abs(starts[1:] - ends[:-1]).max() < 1e-9
    middles = (starts + ends)[bent[owner]] / 2.0 - np.array(UPRIGHT.origin_mm)
    assert 4.0 - np.hypot(middles[:, 0], middles[:, 1]).min() < 0.0021


def test_a_shank_that_meets_metal_along_an_arc_is_seen() -> None:
    """The flutes end 1 mm above the tip: on the second, level turn the wide shank runs in the ring's wall."""
    from proveout.model.cutter_pieces import body_pieces

    wide = cutter("stub", "end mill", 6.0, 1.0, 40.0, shank_diameter_mm=8.0)
    deep = Moves(
        points=ARCS.points + np.array([0.0, 0.0, -1.0]), feed_mm_per_s=ARCS.feed_mm_per_s.copy(), arcs=ARCS.arcs.copy()
    )
    fields = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([30.0, 30.0, 10.0]), pitch_mm=0.2)
    legs = legs_of(deep, UPRIGHT, most_mm=2.0)
    legs.cut(fields, cutting_pieces(wide))
    met = legs.overlap_mm(fields, body_pieces(wide))
    level = (legs.turns_rad != 0.0) & (legs.drops_mm == 0.0)
    assert met[level].min() > 0.5
