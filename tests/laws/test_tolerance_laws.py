"""Ends between which pieces lie hold as many as they say, and are never closer than the gauge reads."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.gauging.tolerance import pieces_between, tolerance_factor_ratio
from proveout.quantities.errors import OutOfRange

NORMAL = NormalDist()


@pytest.mark.parametrize(("of_lots", "within"), [(1.0, 0.0), (1.0, 1.0), (0.3, 1.0), (0.0, 1.0)])
def test_ends_hold_the_share_of_all_pieces_at_the_confidence(of_lots: float, within: float) -> None:
    """Of 600 shops with five lots of four pieces: at least 95 %, less what chance takes off."""
    rng = np.random.default_rng(8)
    whole = math.hypot(of_lots, within)
    held = 0
    for _ in range(600):
        lots = [rng.normal(0.0, of_lots) + rng.normal(0.0, within, 4) for _ in range(5)]
        found = pieces_between([tuple(map(float, lot)) for lot in lots], uncertainty=0.0, inside_ratio=0.99,
                               confidence_ratio=0.95)  # fmt: skip
        held += NORMAL.cdf(found.high / whole) - NORMAL.cdf(found.low / whole) >= 0.99
    assert held / 600 >= 0.93


@given(st.lists(st.lists(st.floats(-1.0, 1.0), min_size=2, max_size=4), min_size=2, max_size=5), st.floats(0.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_ends_are_never_closer_than_the_gauge_reads(lots: list[list[float]], uncertainty: float) -> None:
    found = pieces_between(lots, uncertainty=uncertainty, inside_ratio=0.99, confidence_ratio=0.95)
    assert found.high - found.low >= 2.0 * uncertainty
    assert found.low <= found.middle <= found.high
    fine = pieces_between(lots, uncertainty=0.0, inside_ratio=0.99, confidence_ratio=0.95)
    assert fine.high - fine.low <= found.high - found.low + 1e-12


def test_a_worse_gauge_never_narrows_what_two_even_lots_tell() -> None:
    """Its scatter is put within lots, whose many degrees of freedom would make the whole seem better known."""
    lots = [(0.0, 0.0), (1.0, 1.0)]
    widths = [
        found.high - found.low
        for found in (
            pieces_between(lots, uncertainty=u, inside_ratio=0.99, confidence_ratio=0.95) for u in (0, 0.3, 1)
        )
    ]
    assert widths == sorted(widths)


def test_more_lots_and_less_confidence_narrow_it() -> None:
    lots = [(0.0, 1.0), (1.0, 0.0)]
    few = pieces_between(lots, uncertainty=0.1, inside_ratio=0.99, confidence_ratio=0.95)
    more = pieces_between(lots * 4, uncertainty=0.1, inside_ratio=0.99, confidence_ratio=0.95)
    assert more.high < few.high
    assert tolerance_factor_ratio(mean_count=9, freedom=8, inside_ratio=0.9, confidence_ratio=0.5) < (
        tolerance_factor_ratio(mean_count=9, freedom=8, inside_ratio=0.9, confidence_ratio=0.99)
    )


def test_one_lot_or_single_pieces_say_nothing() -> None:
    for lots in ([(1.0, 2.0)], [(1.0,), (2.0,)]):
        with pytest.raises(OutOfRange):
            pieces_between(lots, uncertainty=0.0, inside_ratio=0.99, confidence_ratio=0.95)
