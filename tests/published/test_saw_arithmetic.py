"""Pieces from a bar. Worked: (3658 - 25 + 2) / (p + 2) = 3635 / 62 = 58.6, 3635 / 103.6 = 35.1, 3635 / 154.4 = 23.5."""

from __future__ import annotations

import pytest

from proveout.solving.cutting_stock import cut_length_for_pieces_mm, pieces_per_bar_count


@pytest.mark.parametrize(("piece_mm", "worked"), [(60.0, 58), (101.6, 35), (152.4, 23)])
def test_pieces_per_bar(piece_mm: float, worked: int) -> None:
    found = pieces_per_bar_count(bar_length_mm=3658.0, piece_length_mm=piece_mm, kerf_mm=2.0, trim_mm=25.0, tail_mm=0.0)
    assert found == worked


def test_the_staircase_steps_between_two_lengths_a_hundredth_of_an_inch_apart() -> None:
    """12 ft bar, kerf 0.050, trim 0.25, tail 2.5 in: 141.30 / 3.07 = 46.03 and 141.30 / 3.08 = 45.9."""
    inch = 25.4
    found = [
        pieces_per_bar_count(
            bar_length_mm=144.0 * inch,
            piece_length_mm=piece * inch,
            kerf_mm=0.05 * inch,
            trim_mm=0.25 * inch,
            tail_mm=2.5 * inch,
        )
        for piece in (3.02, 3.03)
    ]
    assert found == [46, 45]


@pytest.mark.parametrize(("piece_mm", "worked"), [(60.0, 58), (101.6, 35), (152.4, 23)])
def test_the_length_for_one_piece_more_gives_it_and_a_hundredth_longer_does_not(piece_mm: float, worked: int) -> None:
    """Worked: 3635 / 59 - 2 = 59.61, 3635 / 36 - 2 = 98.97, 3635 / 24 - 2 = 149.45."""
    saw = {"kerf_mm": 2.0, "trim_mm": 25.0, "tail_mm": 0.0}
    cut = cut_length_for_pieces_mm(bar_length_mm=3658.0, pieces_count=worked + 1, **saw)
    assert cut == {60.0: 59.61, 101.6: 98.97, 152.4: 149.45}[piece_mm]
    for length, count in ((cut, worked + 1), (cut + 0.01, worked)):
        assert pieces_per_bar_count(bar_length_mm=3658.0, piece_length_mm=length, **saw) == count
