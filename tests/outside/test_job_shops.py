"""Public job shops that take a second or two: as good as the best known, and proved."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from schedule import best_known
from shop_instances import flexible, job_shop

from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop

DATA = os.environ.get("PROVEOUT_DATA", "")
pytestmark = pytest.mark.skipif(not DATA, reason="PROVEOUT_DATA is not set: public job shops are not at hand")


@pytest.mark.parametrize("name", ["ft06", "la01", "la05", "la10", "kacem/k1", "brandimarte/mk01"])
def test_the_best_known_is_found_and_proved(name: str) -> None:
    data = Path(DATA) / "jobshop"
    problem = flexible(data / "fjsp" / f"{name}.txt") if "/" in name else job_shop(data / "jsplib" / name)
    found = solve_shop(problem, objective="makespan")
    assert broken_rules(problem, found.slots) == ()
    assert (found.value, found.bound, found.status) == (best_known(data)[name], found.value, "proved")
