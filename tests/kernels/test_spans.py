"""Taking an interval out of a ray's sorted list, against the same done on a row of small cells."""

from __future__ import annotations

import numpy as np

from proveout.removal.kernels.spans import SLIVER_MM, shared_length, take_out

CELLS = 60  # ends are whole numbers, so that a list of intervals is a row of full and empty cells


def as_cells(spans: np.ndarray, count: int) -> np.ndarray:
    row = np.zeros(CELLS, dtype=bool)
    for begin, stop in spans[:count].astype(int):
        assert not row[begin:stop].any(), "intervals must not overlap"
        row[begin:stop] = True
    return row


def test_taking_out_agrees_with_a_row_of_cells() -> None:
    draw = np.random.default_rng(12)
    spans = np.zeros((40, 2))
    for _ in range(60):
        spans[0] = (0.0, CELLS)
        count = 1
        row = as_cells(spans, count)
        while row.any():
            low = int(draw.integers(-3, CELLS))
            high = max(0, low) + int(draw.integers(1, 9))
            full = row[max(low, 0) : high].sum()
            assert shared_length(spans, count, float(low), float(high)) == full
            count, taken = take_out(spans, count, float(low), float(high))
            row[max(low, 0) : high] = False
            assert taken == full
            assert np.array_equal(as_cells(spans, count), row)
            assert np.all(np.diff(spans[:count].ravel()) > 0.0)


def test_a_full_list_says_so_and_stays_as_it_was() -> None:
    spans = np.array([[0.0, 4.0], [5.0, 9.0]])
    before = spans.copy()
    assert take_out(spans, 2, 1.0, 2.0) == (-1, 0.0)
    assert np.array_equal(spans, before)
    assert take_out(spans, 2, 3.0, 6.0) == (2, 2.0)


def test_a_sliver_is_taken_away_and_counted() -> None:
    spans = np.array([[0.0, 4.0], [0.0, 0.0]])
    count, taken = take_out(spans, 1, 0.25 * SLIVER_MM, 2.0)
    assert count == 1
    assert taken == 2.0
    assert spans[0].tolist() == [2.0, 4.0]
    count, taken = take_out(spans, 1, 2.0 + 4.0 * SLIVER_MM, 3.0)
    assert count == 2
