"""A year of batches whose true minutes are hidden: the learner comes close, and says when it is misled."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from learning import learned_of
from learning_year import MACHINES, Year, parts_seconds, year

from proveout.jobs.learning import lesson
from proveout.model.minute_factors import MINUTE_KINDS


def errors(of: Year) -> list[float]:
    found = []
    for machine in MACHINES:
        told = np.array(learned_of(of, machine).middles)
        true = np.array([of.truth.factors[machine][kind] for kind in MINUTE_KINDS])
        seconds = [np.array(parts_seconds(part, machine, of.shop)) for part in of.parts]
        found += [abs(float(one @ told) / float(one @ true) - 1.0) for one in seconds]
    return found


@pytest.mark.parametrize("seed", [2, 3])
def test_after_a_year_minutes_are_within_five_percent(seed: int) -> None:
    found = year(seed)
    assert statistics.median(errors(found)) < 0.05
    told = {one.key.words: one for one in lesson(found.shop, found.closed).proposals}
    deburr = told["bench.deburr"].now.nominal / found.shop.bench.deburr_s.nominal
    assert deburr == pytest.approx(found.truth.hands["deburr"], rel=0.05)
    assert told["days.hard-coat"].now.high >= found.truth.days


def test_a_wrong_clock_and_wrong_counts_bend_it_little_and_are_told() -> None:
    found = year(2, is_misleading=True)
    assert statistics.median(errors(found)) < 0.05
    cautions = {
        one.key.of: one.cautions for one in lesson(found.shop, found.closed).proposals if one.key.kind == "minutes"
    }
    assert any("was the clock" in words for words in cautions[MACHINES[1]])
    assert any("far from all others" in words for words in cautions[MACHINES[0]])
