"""What warmth adds to a size."""

from __future__ import annotations

from proveout.quantities.bounds import zero_or_more

ALUMINIUM_GROWTH_PER_K = 23.6e-6
"""6061, between 20 and 100 °C."""


def warm_growth_mm(*, length_mm: float, warmer_k: float, growth_per_k: float = ALUMINIUM_GROWTH_PER_K) -> float:
    """How much longer a piece is when it is warmer, that lies free and is as warm all through.

    Formula:  l a dT
    Args:     length_mm: l, >= 0.   warmer_k: dT, K, >= 0.   growth_per_k: a, share of its length for each K, >= 0.
    Returns:  mm, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    20 to 100 °C, for which the source gives its mean; work that is warm on one side bows as well.
    Source:   aluminium_typicals, as quoted.   Departs: nothing.
    Checked:  tests/published/test_aluminium_typicals.py
    """
    zero_or_more(length_mm=length_mm, warmer_k=warmer_k, growth_per_k=growth_per_k)
    return length_mm * growth_per_k * warmer_k
