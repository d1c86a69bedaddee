"""Moves with arcs: lengths, chords, and the table of their side file."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.moves import Moves
from proveout.quantities.errors import OutOfRange


def some() -> Moves:
    """A straight move, a half circle of radius 5 to the left, a whole turn of a helix to the right that drops by 3."""
    return Moves(
        points=np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 10.0, 0.0], [10.0, 10.0, -3.0]]),
        feed_mm_per_s=np.array([0.0, 4.0, 4.0, 2.0]),
        arcs=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, 0.0, 5.0], [-1.0, 2.0, 0.0]]),
    )


def test_lengths_are_those_of_the_arcs() -> None:
    assert some().lengths_mm == pytest.approx([10.0, 5.0 * math.pi, math.hypot(4.0 * math.pi, 3.0)])
    assert some().turns_rad == pytest.approx([0.0, 0.0, math.pi, -2.0 * math.pi])


def test_chords_stay_within_what_is_asked() -> None:
    found, owner = some().divided(within_mm=0.002)
    assert found.points[0].tolist() == [0.0, 0.0, 0.0]
    half = found.points[owner == 2]
    middles = (np.vstack([[10.0, 0.0, 0.0], half[:-1]]) + half) / 2.0
    off = 5.0 - np.hypot(middles[:, 0] - 10.0, middles[:, 1] - 5.0)
    assert 0.0 < off.max() <= 0.002
    assert (half[:, 0] > 10.0 - 1e-9).all(), "a left half turn from (10, 0) to (10, 10) bulges towards +x"
    turn = found.points[owner == 3]
    assert np.hypot(turn[:, 0] - 12.0, turn[:, 1] - 10.0) == pytest.approx(2.0)
    assert turn[len(turn) // 4, 1] > 10.0, "to the right from the centre's left goes up first"
    assert turn[-1].tolist() == [10.0, 10.0, -3.0]
    assert (np.diff(turn[:, 2]) < 0.0).all()
    assert found.feed_mm_per_s[owner == 3].tolist() == [2.0] * len(turn)


def test_the_table_comes_back_to_the_last_bit() -> None:
    moves = some()
    again = Moves.of_table(moves.table)
    assert again.digest == moves.digest
    assert again.arcs.tolist() == moves.arcs.tolist()
    straight = moves.straight(within_mm=0.01)
    assert Moves.of_table(straight.table).digest == straight.digest
    assert straight.digest != moves.digest


def test_wrong_shapes_are_refused() -> None:
    with pytest.raises(OutOfRange, match="arcs"):
        Moves(points=np.zeros((3, 3)), feed_mm_per_s=np.zeros(3), arcs=np.zeros((2, 3)))
    with pytest.raises(OutOfRange, match="turns"):
        Moves(points=np.zeros((1, 3)), feed_mm_per_s=np.zeros(1), arcs=np.full((1, 3), 0.5))
    with pytest.raises(OutOfRange, match="seven"):
        Moves.of_table(np.zeros((3, 4)))
