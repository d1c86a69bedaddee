"""How many to make at once: against the closed form where nothing has a cliff, and what cliffs and sharing change."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from stages.costing.test_cost_band import MONEY, about, banded, proof_of

from proveout.model.cost_band import LotChoice, Rider
from proveout.model.selling import Demand
from proveout.money.draws import Amount
from proveout.money.order_quantity import lot_cost_per_year, order_quantity
from proveout.money.spread import exact, spread_of
from proveout.stages.costing.lots import best_way, lot_choice, year_of

HOLDING = about(0.2, 0.25, 0.3)
NONE_LOST = ("lost", exact(0.0))


def plain(charge: float, each: float, more: Callable[[int], float] | None = None) -> tuple[Amount, ...]:
    parts = [Amount(line="lot", per="lot", scale=charge), Amount(line="work", per="piece", scale=each)]
    return (*parts, Amount(line="finisher", per="lot", scale=more)) if more else tuple(parts)


@pytest.mark.parametrize(("demand", "charge", "each", "holding"), [
    (1000.0, 10.0, 2.0, 0.25), (600.0, 80.0, 20.0, 0.2), (250.0, 300.0, 40.0, 0.3), (120.0, 5.0, 60.0, 1.0),
])  # fmt: skip
def test_without_cliffs_the_best_quantity_is_that_of_the_closed_form(
    demand: float, charge: float, each: float, holding: float
) -> None:
    """A lot that lies pays holding on its charge too, half a year's: that is a constant and moves nothing."""
    year = year_of(plain(charge, each), lost=NONE_LOST, most=int(2 * demand))
    way = best_way("x", year, per_year=exact(demand), holding=exact(holding))
    closed = order_quantity(demand_per_year=demand, lot_charge=charge, holding_each=holding * each)
    assert abs(way.quantity - closed) <= 1.0
    assert way.closed_form == pytest.approx(closed, rel=0.02)  # its piece is that of the largest lot, charge in it
    around = lot_cost_per_year(
        quantity=float(way.quantity), demand_per_year=demand, lot_charge=charge, holding_each=holding * each
    )
    assert way.per_year == pytest.approx(demand * each + around + 0.5 * holding * charge, abs=0.01)


def test_the_flat_part_holds_all_that_cost_little_more_and_nothing_else() -> None:
    year = year_of(plain(80.0, 20.0), lost=NONE_LOST, most=1200)
    way = best_way("x", year, per_year=exact(600.0), holding=exact(0.2))
    money = year.money(600.0, 0.2)
    assert np.all(money[way.flat_low - 1 : way.flat_high] <= 1.01 * money.min())
    assert money[way.flat_low - 2] > 1.01 * money.min()
    assert money[way.flat_high] > 1.01 * money.min()
    assert way.flat_low < way.quantity < way.flat_high
    assert way.outlay == pytest.approx(2.0 * way.lying)
    assert way.lots_per_year == pytest.approx(600.0 / way.quantity, abs=1e-3)


def test_a_minimum_charge_pulls_the_quantity_up_to_where_it_is_reached() -> None:
    """worked: 12 a piece, minimum 900: 75 pieces. Without it sqrt(2 x 100 x 5 / (0.25 x 22)) is 13.5."""
    year = year_of(plain(5.0, 10.0, lambda count: max(900.0, 12.0 * count)), lost=NONE_LOST, most=200)
    way = best_way("x", year, per_year=exact(100.0), holding=exact(0.25))
    assert order_quantity(demand_per_year=100.0, lot_charge=5.0, holding_each=5.5) == pytest.approx(13.5, abs=0.05)
    assert way.quantity == 75
    assert way.closed_form < 20.0


def test_uncertain_demand_spreads_the_best_quantity_by_its_root() -> None:
    """worked: demand from 400 to 900, even: a tenth below 450, above 850; sqrt(2 D 80 / 4) 134.2 and 184.4."""
    year = year_of(plain(80.0, 20.0), lost=NONE_LOST, most=1200)
    demand = spread_of(about(400.0, 600.0, 900.0))
    even = type(demand)(low=400.0, likely=600.0, high=900.0, shape="uniform")
    way = best_way("x", year, per_year=even, holding=exact(0.2))
    assert way.best_low == pytest.approx(math.sqrt(2.0 * 450.0 * 20.0), abs=1.5)
    assert way.best_high == pytest.approx(math.sqrt(2.0 * 850.0 * 20.0), abs=1.5)


def choice(**more: object) -> LotChoice:
    demand = Demand(per_year=about(300.0, 500.0, 800.0), holding_ratio=HOLDING, **more)  # type: ignore[arg-type]
    found = banded(demand=demand).value.lots
    assert found is not None
    return found


def test_what_is_shared_makes_smaller_lots_and_a_cheaper_year() -> None:
    shared = choice(shared_setup_ratio=about(0.4, 0.5, 0.6))
    assert [way.text for way in shared.ways] == ["set-ups shared with another part", "alone"]
    assert shared.ways[0].quantity <= shared.ways[1].quantity
    assert shared.ways[0].per_year < shared.ways[1].per_year
    demand = Demand(per_year=about(300.0, 500.0, 800.0), holding_ratio=HOLDING)
    riding = banded(demand=demand, riders=(Rider(number="EX-2", pieces_count=80),)).value.lots
    assert riding is not None
    assert riding.ways[0].text == "riding with 1 other part to the finisher"
    # half of the freight of 45 falls away in each lot
    saved = riding.ways[1].per_year - riding.ways[0].per_year
    assert saved >= 0.9 * 22.5 * riding.ways[1].lots_per_year


def test_the_order_is_held_against_the_best_quantity_and_is_told_what_would_be_better() -> None:
    demand = Demand(per_year=about(3000.0, 5000.0, 8000.0), holding_ratio=HOLDING)
    proof = proof_of(banded(demand=demand), "little-more-than-the-best")
    assert proof.verdict == "fails"
    assert proof.remedy.startswith("make ")
    assert proof.found_low is not None
    assert proof.limit is not None
    assert proof.found_low > proof.limit
    assert not proof.blocks_release
    best = choice().ways[0].quantity
    fitting = banded(demand=Demand(per_year=about(300.0, 500.0, 800.0), holding_ratio=HOLDING))
    assert (choice().ways[0].flat_low <= 100 <= choice().ways[0].flat_high) == (
        proof_of(fitting, "little-more-than-the-best").verdict == "holds"
    )
    assert best > 100


def test_nothing_is_told_of_a_quantity_where_nobody_says_what_is_wanted() -> None:
    for given, word in (({}, "per_year"), ({"demand": Demand(per_year=about(1.0, 2.0, 3.0))}, "holding_percent")):
        found = banded(**given)
        proof = proof_of(found, "little-more-than-the-best")
        assert (proof.verdict, found.value.lots) == ("not shown", None)
        assert word in proof.decides


def test_the_shop_s_holding_stands_where_the_job_writes_none() -> None:
    import msgspec

    demand = Demand(per_year=about(300.0, 500.0, 800.0))
    shop = msgspec.structs.replace(MONEY, holding_ratio=HOLDING)
    found = banded(demand=demand, money=shop).value.lots
    assert found is not None
    assert found == choice()


def test_what_is_done_once_for_the_design_is_no_part_of_a_repeat() -> None:
    once = (*plain(80.0, 20.0), Amount(line="program", per="design", scale=1e6))
    given = {"demand": Demand(per_year=about(500.0, 600.0, 700.0)), "holding": HOLDING, "shared": None,
             "shared_words": "", "lost": NONE_LOST, "order_quantity": 100}  # fmt: skip
    assert lot_choice(alone=lambda: once, **given) == lot_choice(alone=lambda: plain(80.0, 20.0), **given)  # type: ignore[arg-type]
