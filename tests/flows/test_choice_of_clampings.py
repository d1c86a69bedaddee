"""The bound by which clampings are chosen is one: the plan in full costs no less, and what is not planned is said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flows.small import plan, write_job


def test_the_bound_lies_below_what_the_plan_costs_and_says_what_it_rests_on(tmp_path: Path, store: Path) -> None:
    made = plan(write_job(tmp_path), tmp_path / "out", store=store).parts[0].plan
    (proof,) = (p for p in made.proofs if p.id == "clampings:sequence:least bound")
    assert proof.found_high is not None
    own = re.search(
        r"This one: ([\d.]+) for set-ups, loads, jaws and blank, ([\d.]+) for tilts, ([\d.]+)", proof.basis.formula
    )
    assert own is not None
    bound, tilts, leaning = (float(v) for v in own.groups())
    assert proof.found_high == pytest.approx(bound + tilts + leaning, abs=0.02)
    # worked: two clampings, each (1800 s / 40 pieces + 20 s) at 90 an hour: 3.25
    assert len(made.clampings) == 2
    machine = [line.each.low for line in made.cost.lines if line.text.startswith(("machine ", "set-ups on "))]
    assert len(machine) == 2
    assert 3.25 < bound < made.cost.each.low
    assert sum(machine) > 3.25
    assert "cutting is taken to cost the same in all" in proof.basis.formula


def test_next_best_sequences_are_planned_in_full_and_the_best_is_kept(tmp_path: Path, store: Path) -> None:
    """The plate may begin either way up: both plans are made, and the page tells what each came to."""
    made = plan(write_job(tmp_path), tmp_path / "out", store=store, also_count=1).parts[0].plan
    one, other, *rest = made.ways
    assert [w.is_chosen for w in (one, other)].count(True) == 1
    assert all(w.cost_each is not None and w.open_count is not None and w.machine_s for w in (one, other))
    assert all(w.open_count is None for w in rest)
    kept = one if one.is_chosen else other
    assert kept.cost_each == made.cost.each
    assert kept.machine_s == pytest.approx(sum(made.time.cycle_s.values()), abs=1e-3)
    ranks = [(w.open_count, w.cost_each.nominal if w.cost_each else None) for w in (one, other)]
    assert (kept.open_count, kept.cost_each.nominal if kept.cost_each else None) == min(ranks)
    (proof,) = (p for p in made.proofs if p.id == "clampings:sequence:planned in full")
    assert proof.verdict == "holds"
    assert proof.found_high == pytest.approx(made.cost.each.nominal)
    assert not [p for p in made.proofs if p.id.startswith("clampings:pin:")]
    page = (tmp_path / "out" / "plan.html").read_text(encoding="utf-8")
    assert "Ways of holding" in page
    table = page[page.index("Ways of holding") :]
    assert table[: table.index("</table>")].count("this plan") == 1
