"""Bars: counts a saw operator can check on paper."""

from __future__ import annotations

import msgspec
import pytest

from proveout.model.fact import exact_fact
from proveout.model.job import Order
from proveout.model.plan import BarsPlan
from proveout.model.proof import Decision, Proof, is_ready
from proveout.model.shop import Bar, Saw
from proveout.model.work import Blank
from proveout.stages.bars.decide import bundle_shape, decide

SCRAP = exact_fact(0.02, "ratio", "shop", "owner's guess")
# a saw that takes two of the bars below side by side, one layer
SAW = Saw(
    bundle_width_mm=92.0, bundle_height_mm=30.0, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0, length_tolerance_mm=0.2,
    rate_mm2_per_s=100.0, handling_s=10.0, setup_s=600.0, rate_per_h=36.0,
)  # fmt: skip
BAR = Bar(
    id="45 x 26", alloy="6061-T6", width_mm=45.0, height_mm=26.0, width_tolerance_mm=0.2, height_tolerance_mm=0.2,
    corner_radius_mm=0.8, bow_mm_per_m=1.0, twist_rad_per_m=0.0, lengths_mm=(3000.0,), price_per_kg=11.0,
    condition="extruded",
)  # fmt: skip
BLANK = Blank(
    bar_id="45 x 26", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(92.5, 45.0, 26.0), cut_length_mm=92.5,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=31, bar_length_mm=3000.0, material_price_each=4.0,
    mass_kg=0.3,
)  # fmt: skip


def saw_plan(
    quantity: int, *, bar: Bar = BAR, saw: Saw = SAW, blank: Blank = BLANK, spares: int | None = 0
) -> Decision[BarsPlan]:
    return decide(
        blank=blank, order=Order(quantity=quantity, spare_count=spares), saw=saw, bars=(bar,), scrap_ratio=SCRAP,
        density_kg_per_mm3=2.7e-6,
    )  # fmt: skip


def proof(decision: Decision[BarsPlan], id: str) -> Proof:
    return next(p for p in decision.proofs if p.id == id)


def test_five_bars_go_through_the_saw_as_two_and_two_and_one() -> None:
    """worked: 31 a bar, 150 pieces: 5 bars. Two bundles of 2 give 2 x 62 = 124 in 2 x 32 strokes (31 and the trim),
    the fifth bar gives the last 26 in 27: 91 strokes. A bar costs 9.477 kg x 11 = 104.247."""
    plan = saw_plan(150).value
    assert (plan.bars_count, plan.lower_bound, plan.strokes_count, plan.status) == (5, 5, 91, "proved")
    assert [(p.bundle_count, p.times, p.pieces_each) for p in plan.patterns] == [(2, 2, 31), (1, 1, 26)]
    assert plan.price == pytest.approx(5 * 104.247, abs=1e-3)
    assert plan.note.startswith("bundles of 2 + 2 + 1 bars, at most 2 wide x 1 high, 45 mm side lying")


def test_a_piece_fewer_than_a_step_of_the_staircase_saves_a_bar() -> None:
    assert saw_plan(155).value.bars_count == 5
    assert saw_plan(156).value.bars_count == 6


def test_spares_are_sawn_too_and_said() -> None:
    """worked: 2 % of 150 is 3: 153 pieces."""
    plan = saw_plan(150, spares=None).value
    assert (plan.pieces_count, plan.spare_count) == (153, 3)
    assert sum(p.bundle_count * p.times * p.pieces_each for p in plan.patterns) >= 153


def test_bundles_are_counted_both_ways_round() -> None:
    """worked: 220 x 150: flat 4 x 5 = 20, standing 8 x 3 = 24; 92 x 30: flat 2 x 1, standing none (45 > 30)."""
    large = msgspec.structs.replace(SAW, bundle_width_mm=220.0, bundle_height_mm=150.0)
    shape = bundle_shape(bar=BAR, saw=large)
    assert (shape.wide_count, shape.high_count, shape.lies_flat) == (8, 3, False)
    assert bundle_shape(bar=BAR, saw=SAW).bars_count == 2
    tiny = msgspec.structs.replace(SAW, bundle_width_mm=40.0)
    assert bundle_shape(bar=BAR, saw=tiny).bars_count == 0


def test_two_bar_lengths_are_mixed_for_least_money() -> None:
    """worked: 31 from 3 m, 52 from 5 m; 83 pieces: 3 m + 5 m, 8000 x 45 x 26 x 2.7e-6 x 11 = 277.992."""
    both = msgspec.structs.replace(BAR, lengths_mm=(3000.0, 5000.0))
    decision = saw_plan(83, bar=both)
    assert sorted(p.bar_length_mm for p in decision.value.patterns) == [3000.0, 5000.0]
    assert decision.value.price == pytest.approx(277.992, abs=1e-3)
    assert proof(decision, "bars:45 x 26:no-cheaper-bars").verdict == "holds"


def test_more_short_bars_than_the_bound_are_taken_when_they_cost_less_and_not_called_fewest() -> None:
    """worked: 93 pieces: 3 bars of 3 m (9 m) cost less than 2 of 5 m (10 m, 104 pieces), but two would do."""
    both = msgspec.structs.replace(BAR, lengths_mm=(3000.0, 5000.0))
    decision = saw_plan(93, bar=both)
    assert (decision.value.bars_count, decision.value.lower_bound) == (3, 2)
    assert not [p for p in decision.proofs if p.id.endswith("no-fewer-bars")]
    assert proof(saw_plan(93), "bars:45 x 26:no-fewer-bars").verdict == "holds"
    assert is_ready(decision.proofs)


def test_a_bar_without_reserve_for_long_pieces_is_not_shown() -> None:
    """worked: 6 + 31 x 92.5 + 30 x 1.8 + 65 = 2992.5 of 3000; each 0.2 longer: 2998.7. With 94.0 - 1.26 = 92.74:
    2999.94, and 3006.14 when all are long."""
    fine = proof(saw_plan(31), "bars:45 x 26 1:last-piece-comes-out")
    assert (fine.found_low, fine.found_high, fine.verdict) == (2992.5, 2998.7, "holds")
    tight = proof(
        saw_plan(31, blank=msgspec.structs.replace(BLANK, cut_length_mm=92.74)), "bars:45 x 26 1:last-piece-comes-out"
    )
    assert (tight.found_low, tight.found_high, tight.verdict) == (2999.94, 3006.14, "not shown")


def test_an_ideal_blank_has_nothing_to_saw_and_blocks() -> None:
    ideal = msgspec.structs.replace(BLANK, bar_id="ideal", is_ideal=True)
    decision = saw_plan(10, blank=ideal)
    assert (decision.value.status, decision.value.bars_count, decision.value.price) == ("cannot", 0, 40.0)
    assert not is_ready(decision.proofs)


def test_a_piece_longer_than_every_bar_blocks_with_the_reason() -> None:
    decision = saw_plan(10, blank=msgspec.structs.replace(BLANK, cut_length_mm=4000.0))
    assert "no bar is long enough" in proof(decision, "bars:45 x 26:pieces-suffice").remedy
