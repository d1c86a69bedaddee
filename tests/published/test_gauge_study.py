"""A gauge study: AIAG, Measurement systems analysis, average and range method, 10 parts, 3 persons, 3 repeats.

Formulas and the factors K1 0.5908, K2 0.5231, K3 0.3146 as reproduced on a worksheet; figures of the example from
memory, reckoned again. The older factors 3.05, 2.70 are 5.15 times as large and are not to be mixed with these.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from proveout.gauging.constants import mean_of_ranges_ratio, mean_range_ratio
from proveout.gauging.studies import judged, ranges_study, study_by_ranges, variance_study
from proveout.gauging.variance import crossed, pooled_parts
from proveout.quantities.errors import OutOfRange

EXAMPLE = {
    "mean_range": 0.3417, "persons_range": 0.4446, "parts_range": 3.511, "parts_count": 10, "persons_count": 3,
    "repeats_count": 3,
}  # fmt: skip
# [part][person][repeat], worked by hand below
SMALL = [[[1.0, 3.0], [2.0, 4.0]], [[5.0, 7.0], [8.0, 10.0]]]


def test_factors_are_the_printed_ones(agrees: Callable[..., None]) -> None:
    """Q10: the factors."""
    agrees(1.0 / mean_range_ratio(group_count=2), "0.8862")
    agrees(1.0 / mean_range_ratio(group_count=3), "0.5908")
    for count, printed in ((2, "0.7071"), (3, "0.5231"), (10, "0.3146")):
        agrees(1.0 / mean_of_ranges_ratio(group_count=count, ranges_count=1), printed)


def test_the_older_factors_are_515_times_as_large(agrees: Callable[..., None]) -> None:
    """Q12. Printed from factors d2 of two places, 1.69 for 1.693: the gap grows by what half of the last one does."""
    for count, printed in ((2, "4.56"), (3, "3.05")):
        d2 = mean_range_ratio(group_count=count)
        agrees(5.15 / d2, printed, more=5.15 * 0.005 / d2**2)
    for count, printed in ((2, "3.65"), (3, "2.70")):
        d2 = mean_of_ranges_ratio(group_count=count, ranges_count=1)
        agrees(5.15 / d2, printed, more=5.15 * 0.005 / d2**2)


def test_the_example_comes_out_as_printed(agrees: Callable[..., None]) -> None:
    """Q10. The printed figures come from factors of four places: the gap grows by what half of the last does."""
    study = study_by_ranges(**EXAMPLE)  # type: ignore[arg-type]
    half = 0.00005
    agrees(study.repeats, "0.20188", more=half * 0.3417)
    agrees(study.persons, "0.22963", more=half * 0.4446)
    agrees(study.gauge, "0.30575", more=half * (0.3417 + 0.4446))
    agrees(study.parts, "1.10456", more=half * 3.511)
    agrees(study.whole, "1.14610", more=half * 3.511)
    agrees(100.0 * study.gauge_ratio, "26.68", more=0.005)
    agrees(100.0 * study.repeats / study.whole, "17.62", more=0.005)
    agrees(100.0 * study.persons / study.whole, "20.04", more=0.005)
    agrees(100.0 * study.parts / study.whole, "96.38", more=0.005)
    agrees(study.categories, "5.094", more=0.001)
    assert study.categories_count == 5


def test_the_rule_of_thumb_is_the_printed_one() -> None:
    """Q11: shares and classes."""
    assert judged(gauge_ratio=0.10, categories_count=5) == "good"
    assert judged(gauge_ratio=0.10, categories_count=4) == "not good enough"
    assert judged(gauge_ratio=0.101, categories_count=14) == "may do"
    assert judged(gauge_ratio=0.28, categories_count=1) == "not good enough"
    assert judged(gauge_ratio=0.30, categories_count=5) == "may do"
    assert judged(gauge_ratio=0.301, categories_count=4) == "not good enough"


def test_a_persons_spread_below_the_noise_is_none() -> None:
    """Q11: below 0 counts as 0."""
    study = study_by_ranges(**{**EXAMPLE, "persons_range": 0.01})  # type: ignore[arg-type]
    assert (study.persons, study.gauge) == (0.0, study.repeats)


def test_a_small_table_is_worked_by_hand() -> None:
    """Worked: cell means 2, 3, 6, 9; parts 2.5, 7.5; persons 4, 6; whole 5. Parts 4 x 2 x 6.25 = 50, persons 4 x 2 = 8,
    both 2 x 4 x 0.25 = 2, within 4 x 2 = 8 on 4 degrees. Joined: 10 / 5 = 2; persons (8 - 2) / 4 = 1.5, parts 48 / 4 =
    12.
    """
    table = crossed(SMALL)
    assert [p.squares for p in (table.rows, table.columns, table.both, table.within)] == pytest.approx([50, 8, 2, 8])
    assert [p.freedom_count for p in (table.rows, table.columns, table.both, table.within)] == [1, 1, 1, 4]
    assert (table.rows.ratio, table.columns.ratio, table.both.ratio) == pytest.approx((25.0, 4.0, 1.0))
    assert table.both.chance_ratio == pytest.approx(0.3739, abs=1e-4)  # F of 1 and 4 degrees at 1: t of 4 beyond 1
    assert pooled_parts(table.both, table.within).mean_square == pytest.approx(2.0)
    joined = variance_study(SMALL, pool_above_ratio=0.05)
    assert joined.is_pooled
    assert [one**2 for one in (joined.repeats, joined.persons, joined.parts)] == pytest.approx([2.0, 1.5, 12.0])
    apart = variance_study(SMALL, pool_above_ratio=1.0)
    assert not apart.is_pooled
    assert [one**2 for one in (apart.repeats, apart.persons, apart.parts)] == pytest.approx([2.0, 1.5, 12.0])
    assert apart.repeats_freedom_count == 4
    ranges = ranges_study(SMALL)
    assert ranges.repeats == pytest.approx(2.0 / mean_range_ratio(group_count=2))


def test_one_person_alone_is_studied_too() -> None:
    """Worked: cells 1, 3 and 5, 7: between 2 x 2 x 4 = 16 on 1, within 4 on 2: noise 2, parts (16 - 2) / 2 = 7."""
    study = variance_study([[[1.0, 3.0]], [[5.0, 7.0]]], pool_above_ratio=0.05)
    assert (study.persons, study.repeats**2, study.parts**2) == pytest.approx((0.0, 2.0, 7.0))
    assert ranges_study([[[1.0, 3.0]], [[5.0, 7.0]]]).persons == 0.0


def test_a_perfect_gauge_and_tables_that_are_none() -> None:
    study = variance_study([[[1.0, 1.0], [1.0, 1.0]], [[2.0, 2.0], [2.0, 2.0]]], pool_above_ratio=0.05)
    assert (study.gauge, study.categories) == (0.0, math.inf)
    with pytest.raises(OutOfRange, match="as many readings in each cell; found: 2 rows, 2 columns, 1 or 2 repeats"):
        variance_study([[[1.0, 2.0], [1.0]], [[1.0, 2.0], [1.0, 2.0]]], pool_above_ratio=0.05)
    with pytest.raises(OutOfRange, match=r"as many readings .* limit: 1 or more columns"):
        ranges_study([[[1.0, 2.0]]])
    with pytest.raises(OutOfRange, match="0 to 1"):
        variance_study(SMALL, pool_above_ratio=2.0)
    with pytest.raises(OutOfRange, match=r"as many readings .* limit: 2 or more columns"):
        crossed([[[1.0, 2.0]], [[1.0, 2.0]]])
