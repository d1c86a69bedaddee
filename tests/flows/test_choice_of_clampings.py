"""The bound by which clampings are chosen is one: the plan in full costs no less, and what is not planned is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from flows.small import plan, write_job


def test_the_bound_lies_below_what_the_plan_costs_and_says_what_it_rests_on(tmp_path: Path, store: Path) -> None:
    made = plan(write_job(tmp_path), tmp_path / "out", store=store).parts[0].plan
    (proof,) = (p for p in made.proofs if p.id == "clampings:sequence:least bound")
    assert proof.found_high is not None
    # worked: two clampings, each (1800 s / 40 pieces + 20 s) at 90 an hour: 3.25
    assert len(made.clampings) == 2
    assert proof.found_high == pytest.approx(3.25)
    machine = [line.each.low for line in made.cost.lines if line.text.startswith(("machine ", "set-ups on "))]
    assert len(machine) == 2
    assert proof.found_high < sum(machine) < made.cost.each.low
    assert "Only this sequence is planned in full" in proof.basis.formula
