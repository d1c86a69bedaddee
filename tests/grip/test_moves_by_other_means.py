"""What the bound passes move by move, against a linear program over corner forces and a field of springs."""

from __future__ import annotations

import functools

import holding
import numpy as np
import pytest
from holding_cases import (
    STIFFNESSES,
    GripCase,
    Wrenches,
    grip_case,
    interval,
    is_balanced,
    joined,
    loads_of,
    picked,
    refused_by_programs,
    used_on_springs,
)

from proveout.grip.jaw_patches import remaining_patches, whole_patches

CLAMPINGS, MOVES = 60, 20


@functools.cache
def passed() -> Wrenches:
    """Loads that the boxes of moves which hold allow, half of the moves within a tenth of the limit."""
    draw = np.random.default_rng(20261)
    found = []
    for number in range(CLAMPINGS):
        case = grip_case(draw, moves=MOVES, near=number % 2 == 0, width=float(draw.choice([0.0, 0.3, 1.0])))
        rows = np.flatnonzero((case.margins().margins >= 0.0).all(axis=1))
        if len(rows):
            found.append(picked(draw, case, rows))
    return joined(found)


def test_enough_of_them_lie_at_the_limit_and_beyond() -> None:
    draw = np.random.default_rng(1)
    reserves = np.concatenate([grip_case(draw, moves=MOVES, near=True).margins().reserve_ratio for _ in range(20)])
    assert ((reserves > 0.89) & (reserves < 1.11)).all()
    assert 0.3 < (reserves < 1.0).mean() < 0.7
    assert len(passed()) > 600


def test_corner_forces_hold_every_load_that_the_bound_passes() -> None:
    chosen = passed().rows(slice(None, None, 3))
    assert refused_by_programs(chosen) == []


def test_a_program_refuses_what_is_past_the_limit() -> None:
    """It could have said no: twenty times the load is beyond what corner forces carry."""
    chosen = passed().rows(slice(None, None, 25))
    heavy = Wrenches(**{
        name: getattr(chosen, name) * (20.0 if name in {"force_n", "moment_n_mm"} else 1.0)
        for name in chosen.__dataclass_fields__
    })  # fmt: skip
    assert sum(not is_balanced(heavy, row) for row in range(len(heavy))) > 0.7 * len(heavy)


@pytest.mark.parametrize("stiffness", STIFFNESSES)
def test_nothing_slips_on_springs_that_the_bound_passes(stiffness: float) -> None:
    used = used_on_springs(passed(), stiffness)
    assert used.max() <= 1.0
    assert used.max() > 0.6  # not so cautious that the comparison could not have failed


def test_softer_faces_than_were_reckoned_with_can_slip() -> None:
    """Pressure's share of a moment grows as faces get softer along than across: 0.2 is leant on, and it is needed.

    With stiffness 0.02 the springs of some load lose their pressure that the bound for 0.2 passes; the bound for 0.02
    passes none of these.
    """
    draw = np.random.default_rng(8)
    opened = 0
    for _ in range(120):
        case = grip_case(draw, moves=MOVES, near=True, width=0.0)
        held, soft = case.margins(), case.margins(stiffness_ratio=0.02)
        rows = np.flatnonzero((held.margins >= 0.0).all(axis=1))
        if len(rows) == 0:
            continue
        used = used_on_springs(picked(draw, case, rows), 0.02)
        opened += int((used > 1.0).sum())
        assert (used[(soft.margins[rows] >= 0.0).all(axis=1)] <= 1.0).all()
    assert opened > 0


def test_a_patch_cut_short_holds_what_the_bound_for_the_rest_passes() -> None:
    """A slot 30 wide beside the fixed jaw parts the patch; a field of forces on the larger part alone is enough."""
    whole = whole_patches(
        length_mm=80.0, height_mm=20.0, jaw_top_mm=20.0, middle_mm=0.0, aside_mm=0.0, moves_count=1
    )  # fmt: skip
    low, high = np.array([[-20.0, -15.0, 12.0]]), np.array([[10.0, 0.0, 30.0]])
    rest = remaining_patches(whole, at_low_mm=low, at_high_mm=high, jaw_top_mm=20.0, jaw_gap_mm=40.0)
    loads = loads_of((-400.0, -300.0, -100.0), (400.0, 300.0, 200.0), low, high)
    before, after = (GripCase(loads, p, interval(15000.0, 20000.0), interval(0.25, 0.4), 40.0) for p in (whole, rest))
    assert after.margins().reserve_ratio[0] < before.margins().reserve_ratio[0]
    draw = np.random.default_rng(2)
    some = joined([picked(draw, after, np.array([0])) for _ in range(40)])
    assert after.margins().holds
    assert refused_by_programs(some) == []


def test_the_benchmark_counts_what_it_says() -> None:
    """A tenth of it: half the moves near the limit, none that holds refused."""
    wrenches, counts = holding.passed(30, 10, 5)
    assert counts["moves"] == 300
    assert counts["near"] >= 150
    assert counts["held"] == len(wrenches) > 100
    assert refused_by_programs(wrenches.rows(slice(None, None, 4))) == []
    assert max(used_on_springs(wrenches, 0.2).max(), used_on_springs(wrenches, 1.0).max()) <= 1.0
