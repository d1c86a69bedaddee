"""Cautions to the owner: which number they speak of, and that nothing is said to be widened which is not."""

from __future__ import annotations

from proveout.jobs.learned_found import CAUTIONED_WORDS, WIDENED, cautions
from proveout.learning.factors import Learned, Seen, learned_factors
from proveout.learning.prior import prior_of


def told(logs: list[float]) -> Learned:
    batches = [Seen(name=f"B{k}, op1", ratio=2.718281828**log, parts=(1.0,)) for k, log in enumerate(logs)]
    return learned_factors(prior_of(((0.97, 1.0, 1.03),)), batches)


def test_a_contradiction_names_its_number_and_a_widening_only_where_there_is_one() -> None:
    few = told([0.3, 0.3, 0.3])
    assert cautions(few, 0, ["B0"], what="roughing") == (f"roughing: contradicts what was written{WIDENED}",)
    many = told([0.3 + 0.01 * (k % 3) for k in range(60)])
    assert many.conflicts == (0,)
    assert not many.is_widened  # the batches alone tell it by then
    assert cautions(many, 0, ["B0"], what="roughing") == ("roughing: contradicts what was written",)


def test_an_odd_batch_is_named_beside_its_own_number_alone() -> None:
    found = told([*(0.01 * (k % 3 - 1) for k in range(20)), 0.9])
    assert cautions(found, 0, ["B20"], what="x") == ("far from all others, cut off: B20, op1",)
    assert cautions(found, 0, ["B1"], what="x") == ()
    assert "at most 5 in 100" in CAUTIONED_WORDS
