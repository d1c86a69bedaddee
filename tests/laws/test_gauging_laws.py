"""Laws of samples, capability, studies and decisions: monotony, symmetry, rescaling, cover counted on random draws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.gauging.acceptance import (
    least_caught_count,
    lot_accept_ratio,
    most_bad_ratio,
    share_accept_ratio,
    zero_sample_count,
)
from proveout.gauging.capability import (
    capability_limits,
    capability_ratio,
    worse_side_low_ratio,
    worse_side_ratio,
)
from proveout.gauging.charts import chart_of_ranges, chart_of_singles, signals
from proveout.gauging.deciding import accepted_mm
from proveout.gauging.drift import line_through
from proveout.gauging.studies import ranges_study, variance_study
from proveout.gauging.summary import summary_of

DRAWS = 400


def draw(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


def test_who_is_bad_and_who_is_drawn_may_change_places() -> None:
    random = draw(1)
    for _ in range(200):
        lot = int(random.integers(1, 120))
        bad, sample = (int(random.integers(0, lot + 1)) for _ in range(2))
        accept = int(random.integers(0, 4))
        one = lot_accept_ratio(lot_count=lot, bad_count=bad, sample_count=sample, accept_count=accept)
        other = lot_accept_ratio(lot_count=lot, bad_count=sample, sample_count=bad, accept_count=accept)
        assert one == pytest.approx(other, abs=1e-12)


def test_the_product_for_no_bad_piece_is_the_quotient_of_whole_numbers() -> None:
    for lot, bad, sample in ((50, 3, 20), (1000, 17, 300), (100_000, 2, 50_000)):
        exact = math.comb(lot - bad, sample) / math.comb(lot, sample) if lot < 2000 else 0.5 * 0.5 * (1 - 1 / (lot - 1))
        found = lot_accept_ratio(lot_count=lot, bad_count=bad, sample_count=sample, accept_count=0)
        assert found == pytest.approx(exact, rel=1e-4 if lot > 2000 else 1e-12)


def test_more_bad_pieces_or_a_larger_sample_pass_less_often() -> None:
    random = draw(2)
    for _ in range(100):
        lot, accept = int(random.integers(10, 200)), int(random.integers(0, 3))
        bad, sample = (int(random.integers(1, lot)) for _ in range(2))
        here = lot_accept_ratio(lot_count=lot, bad_count=bad, sample_count=sample, accept_count=accept)
        for more in ((bad + 1, sample), (bad, sample + 1)):
            other = lot_accept_ratio(lot_count=lot, bad_count=more[0], sample_count=more[1], accept_count=accept)
            assert other <= here + 1e-12


def test_a_large_lot_is_the_binomials_and_a_draw_agrees() -> None:
    large = lot_accept_ratio(lot_count=1_000_000, bad_count=20_000, sample_count=50, accept_count=2)
    assert large == pytest.approx(share_accept_ratio(bad_ratio=0.02, sample_count=50, accept_count=2), abs=1e-4)
    taken = draw(3).hypergeometric(8, 147, 32, 40_000)
    expected = lot_accept_ratio(lot_count=155, bad_count=8, sample_count=32, accept_count=2)
    assert np.mean(taken <= 2) == pytest.approx(expected, abs=3.0 * math.sqrt(0.25 / 40_000))


def test_the_smallest_sample_and_what_it_catches_are_ends_of_the_same_search() -> None:
    for lot in (17, 120, 999):
        for share in (0.02, 0.1, 0.5):
            sample = zero_sample_count(lot_count=lot, bad_ratio=share, confidence_ratio=0.9)
            caught = least_caught_count(lot_count=lot, sample_count=sample, accept_count=0, confidence_ratio=0.9)
            assert caught <= math.ceil(share * lot)
            if sample > 1:
                fewer = least_caught_count(lot_count=lot, sample_count=sample - 1, accept_count=0, confidence_ratio=0.9)
                assert fewer > math.ceil(share * lot - 1e-9)


def test_the_largest_share_left_open_turns_the_binomial_round() -> None:
    for sample, bad, confidence in ((29, 0, 0.95), (50, 3, 0.9), (5, 4, 0.99)):
        share = most_bad_ratio(sample_count=sample, bad_count=bad, confidence_ratio=confidence)
        accept = share_accept_ratio(bad_ratio=share, sample_count=sample, accept_count=bad)
        assert accept == pytest.approx(1.0 - confidence, abs=1e-9)


def test_indices_do_not_change_with_the_unit_and_turn_with_the_sides() -> None:
    inside = worse_side_ratio(low=9.0, high=11.0, mean=10.3, deviation=0.2)
    assert worse_side_ratio(low=9.0 / 25.4, high=11.0 / 25.4, mean=10.3 / 25.4, deviation=0.2 / 25.4) == pytest.approx(
        inside
    )
    assert worse_side_ratio(low=-11.0, high=-9.0, mean=-10.3, deviation=0.2) == pytest.approx(inside)
    assert inside <= capability_ratio(low=9.0, high=11.0, deviation=0.2)


def test_limits_hold_the_true_index_as_often_as_they_say() -> None:
    """Of 400 draws of 12 readings 95 of 100 hold it, within three deviations of such a count: 0.033."""
    random, held_width, held_worse = draw(4), 0, 0
    true = capability_ratio(low=-4.0, high=4.0, deviation=1.0)
    for _ in range(DRAWS):
        readings = random.standard_normal(12)
        deviation, mean = float(readings.std(ddof=1)), float(readings.mean())
        limits = capability_limits(
            found_ratio=capability_ratio(low=-4.0, high=4.0, deviation=deviation), freedom_count=11,
            confidence_ratio=0.95,
        )  # fmt: skip
        held_width += limits.low <= true <= limits.high
        one_sided = worse_side_ratio(low=None, high=4.0, mean=mean, deviation=deviation)
        least = worse_side_low_ratio(found_ratio=one_sided, readings_count=12, freedom_count=11, confidence_ratio=0.95)
        held_worse += least <= true
    allowed = 3.0 * math.sqrt(0.95 * 0.05 / DRAWS)
    assert abs(held_width / DRAWS - 0.95) <= allowed
    assert abs(held_worse / DRAWS - 0.95) <= allowed


def test_more_readings_prove_more_and_more_confidence_less() -> None:
    proved = [
        worse_side_low_ratio(found_ratio=1.33, readings_count=n, freedom_count=n - 1, confidence_ratio=0.95)
        for n in (2, 3, 5, 10, 30, 125, 1000)
    ]
    assert proved == sorted(proved)
    assert proved[-1] < 1.33
    surer = worse_side_low_ratio(found_ratio=1.33, readings_count=30, freedom_count=29, confidence_ratio=0.99)
    assert surer < proved[4]
    assert worse_side_low_ratio(
        found_ratio=-1.0, readings_count=10, freedom_count=9, confidence_ratio=0.95
    ) < -1.0  # fmt: skip


def test_a_chart_moves_and_stretches_with_its_readings() -> None:
    groups = draw(5).normal(5.0, 0.1, (20, 4)).tolist()
    moved = [[25.4 * x + 3.0 for x in group] for group in groups]
    one, other = chart_of_ranges(groups), chart_of_ranges(moved)
    assert other.places.high == pytest.approx(25.4 * one.places.high + 3.0)
    assert other.deviation == pytest.approx(25.4 * one.deviation)
    single = chart_of_singles([x for group in groups for x in group])
    assert single.deviation == pytest.approx(one.deviation, rel=0.25)


def test_good_work_is_called_out_of_order_about_once_in_a_hundred_points() -> None:
    """The four rules together call about one of 92 means of work that stands still: within 0.005 and 0.020."""
    groups = draw(6).normal(0.0, 1.0, (4000, 5)).tolist()
    found = signals(chart_of_ranges(groups).places, runs=True)
    assert 0.005 <= len({one.at for one in found}) / 4000.0 <= 0.025


def test_both_ways_of_a_gauge_study_find_what_was_put_in() -> None:
    """Drawn: repeats 1, persons 0.5, parts 5, of 30 parts and 3 persons; within a quarter for what many tell."""
    random = draw(7)
    parts, persons = random.normal(0.0, 5.0, 30), (-0.6, 0.0, 0.6)
    cells = [[(part + person + random.normal(0.0, 1.0, 3)).tolist() for person in persons] for part in parts]
    for study in (variance_study(cells, pool_above_ratio=0.05), ranges_study(cells)):
        assert study.repeats == pytest.approx(1.0, rel=0.15)
        assert study.parts == pytest.approx(5.0, rel=0.25)
        assert 0.3 < study.persons < 1.0
        assert study.whole == pytest.approx(math.hypot(study.gauge, study.parts))


def test_a_line_holds_its_slope_as_often_as_it_says() -> None:
    random, held = draw(8), 0
    places = np.linspace(0.0, 60.0, 12).tolist()
    for _ in range(DRAWS):
        readings = [0.002 * x + random.normal(0.0, 0.01) for x in places]
        line = line_through(places=places, readings=readings, confidence_ratio=0.9)
        held += line.slope_low <= 0.002 <= line.slope_high
    assert abs(held / DRAWS - 0.9) <= 3.0 * math.sqrt(0.09 / DRAWS)


def test_a_guard_band_lets_a_piece_on_the_limit_pass_once_in_forty_readings() -> None:
    """A piece just outside, read with U = 2 standard deviations: 2.3 of 100 readings are accepted, without it 50."""
    readings = 10.05 + draw(9).normal(0.0, 0.005, 40_000)
    for guard, share in ((1.0, 0.02275), (0.0, 0.5)):
        zone = accepted_mm(low_mm=9.95, high_mm=10.05, uncertainty_mm=0.01, guard_ratio=guard)
        passed = np.mean((readings >= zone.low_mm) & (readings <= zone.high_mm))
        assert passed == pytest.approx(share, abs=3.0 * math.sqrt(0.25 / 40_000))


def test_a_stray_reading_moves_the_mean_and_spares_the_middle() -> None:
    readings = draw(10).normal(20.0, 0.01, 25).tolist()
    clean, spoilt = summary_of(readings), summary_of([*readings[:-1], 25.0])
    assert abs(spoilt.mean - clean.mean) > 0.1
    assert abs(spoilt.middle - clean.middle) < 0.005
    assert spoilt.calm == pytest.approx(clean.calm, rel=0.3)
    assert spoilt.strays == (24,)
