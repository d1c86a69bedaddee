"""The cost as a band, on the order of twelve lines whose cost adds up on paper: lines, causes, cliffs, price."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from stages.costing.test_costing import (
    BARS,
    BENCH,
    CUTTER,
    HARD,
    LASER,
    MILL,
    NOMINAL,
    PASSES,
    SAW,
    SCRAP,
    SOFT,
    TIMES,
    FakeClamping,
    cost,
    job_of,
)

from proveout.model.cost_band import CostBand, Rider
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Order
from proveout.model.plan import TimePlan
from proveout.model.proof import Decision, Proof
from proveout.model.selling import Demand, Selling
from proveout.model.shop import Bar, Channel, ShopMoney
from proveout.model.work import Blank
from proveout.money.draws import Drawing
from proveout.stages.costing.amounts import lot_amounts, time_amounts
from proveout.stages.costing.bands import decide
from proveout.stages.costing.decide import Chips
from proveout.stages.costing.outside import Lot
from proveout.stages.costing.steps import BarSteps, begun_of

# worked: 92.5 mm pieces with 1.8 kerf, 6 trim and 65 tail: 31 from 3 m, 52 from 5 m; 25 x 20 x 2.7e-6 x 10 is 0.0135 a
# millimetre: 40.50 and 67.50 a bar
BAR = Bar(
    id="flat", alloy="6061-T6", width_mm=25.0, height_mm=20.0, width_tolerance_mm=0.1, height_tolerance_mm=0.1,
    corner_radius_mm=0.0, bow_mm_per_m=0.0, twist_rad_per_m=0.0, lengths_mm=(3000.0, 5000.0), price_per_kg=10.0,
    condition="extruded",
)  # fmt: skip
BLANK = Blank(
    bar_id="flat", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(92.5, 25.0, 20.0), cut_length_mm=92.5,
    grip_side=(0.0, 0.0, -1.0), pieces_per_bar=31, bar_length_mm=3000.0, material_price_each=1.3, mass_kg=0.125,
    stack=(),
)  # fmt: skip
CAUSED = ("moves", "hand", "sawing", "set-up", "once", "once")
TIMED = TimePlan(
    lines=tuple(
        msgspec.structs.replace(line, cause=cause)
        for line, cause in zip(TIMES.lines, CAUSED, strict=True)
    ),
    cycle_s={}, piece_s=TIMES.piece_s, batch_s=TIMES.batch_s,
)  # fmt: skip


def about(low: float, nominal: float, high: float, unit: str = "ratio") -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source="shop-file: asked", strength="owner's guess")


MONEY = ShopMoney(bar_ratio=about(0.9, 1.0, 1.3), rate_ratio=about(0.8, 1.0, 1.2))


def banded(**more: Any) -> Decision[CostBand]:
    job = job_of(**{key: more.pop(key) for key in ("selling", "demand", "quantity") if key in more})
    chips = more.get("chips")
    given: dict[str, Any] = {
        "cost": cost(chips=chips, time=TIMED).value, "time": TIMED, "bars_plan": BARS, "job": job, "passes": PASSES,
        "clampings": (FakeClamping(id="op1", jaws_id="toothed"), FakeClamping(id="op2", jaws_id="soft")),
        "blank": BLANK, "bars": (BAR,), "machines": (MILL,), "cutters": (CUTTER,), "jaws": (SOFT,), "saw": SAW,
        "bench": BENCH, "finishers": (HARD, LASER), "scrap_ratio": SCRAP, "money": MONEY,
        "density_kg_per_mm3": 2.7e-6, "drawing": Drawing(count=4000), **more,
    }  # fmt: skip
    return decide(**given)


def steps() -> BarSteps:
    return BarSteps(bars_plan=BARS, blank=BLANK, bars=(BAR,), saw=SAW, density_kg_per_mm3=2.7e-6)


def proof_of(decision: Decision[CostBand], ending: str) -> Proof:
    return next(p for p in decision.proofs if p.id.endswith(ending))


def test_every_line_of_the_cost_has_its_band_and_without_any_spread_it_is_that_line() -> None:
    """Scrap is a count: of 100 good pieces its band is whole pieces times 17.50 over 100."""
    found = banded(time=exact_times(), money=ShopMoney(), scrap_ratio=exact_fact(0.0, "ratio", "x", "assumed")).value
    paper = {line.text: line.each.nominal for line in cost().value.lines}
    assert [line.text for line in found.lines] == list(paper)
    for line in found.lines:
        wanted = 0.0 if line.text == "scrap" else paper[line.text]
        assert (line.each.p10, line.each.p50, line.each.p90) == pytest.approx((wanted,) * 3, abs=1e-4)
    assert found.each.p50 == pytest.approx(NOMINAL - 0.357143, abs=1e-3)
    assert found.widest == ()


def test_trial_blanks_are_a_line_of_the_band_too() -> None:
    """worked: 1.00 of wear a piece for 5 of them over 100 pieces, once; at 200 half as much each."""
    bars = msgspec.structs.replace(BARS, trial_count=5)
    exact = {"time": exact_times(), "money": ShopMoney(), "bars_plan": bars}
    exact["scrap_ratio"] = exact_fact(0.0, "ratio", "x", "assumed")
    found = banded(cost=cost(time=TIMED, bars_plan=bars).value, **exact).value
    line = next(one for one in found.lines if one.text == "cutters of trial blanks")
    assert line.each.p50 == pytest.approx(0.05, abs=1e-6)


def test_the_band_lies_inside_the_sum_of_all_worst_ends_and_is_wider_than_lines_apart() -> None:
    found = banded(money=ShopMoney()).value
    whole = cost().value.each
    assert whole.low < found.each.p10 < found.each.p50 < found.each.p90 < whole.high


def exact_times() -> TimePlan:
    return TimePlan(
        lines=tuple(
            msgspec.structs.replace(line, seconds=exact_fact(line.seconds.nominal, "s", "x", "assumed"))
            for line in TIMED.lines
        ),
        cycle_s={}, piece_s=TIMES.piece_s, batch_s=TIMES.batch_s,
    )  # fmt: skip


def test_one_rate_for_all_moves_every_line_that_it_prices_and_apart_the_band_is_narrower() -> None:
    """worked: a tenth of (0.8, 1, 1.2) lies below 0.8 + sqrt(0.1 x 0.4 x 0.2) = 0.88944, so p10 to p90 is 0.22111 of
    15 + 1.5 + 0.36 + 0.45 + 1.125 + 0.9 = 19.335 a piece; apart mostly that of the 15 alone, 0.221 x 15.2."""
    found = banded(
        time=exact_times(), scrap_ratio=exact_fact(0.0, "ratio", "x", "assumed"),
        money=ShopMoney(rate_ratio=about(0.8, 1.0, 1.2)),
    ).value  # fmt: skip
    assert found.each.width == pytest.approx(0.22111 * 19.335, rel=2e-3)
    assert found.apart.width == pytest.approx(0.22111 * 15.2, rel=0.03)
    assert [one.id for one in found.widest] == ["rate"]
    assert found.widest[0].narrows_ratio == 1.0


def test_the_mean_is_that_of_the_closed_form() -> None:
    """worked: of rates 0.8, 1, 1.2 and metal 0.9, 1, 1.3 the means are 1 and 1.0667, of the moves' even 15 % 1; a share
    lost of 0.01, 0.02, 0.04 has about 0.0239 lost for each good piece of 17.50. No more than 30 of 100 are lost, so
    130 are begun: 28 more at 6.50 for the coat, 1.82 a piece; the laser's 104 stay below its 120."""
    plenty = msgspec.structs.replace(BARS, pieces_count=130, spare_count=30)
    found = banded(bars_plan=plenty, drawing=Drawing()).value
    lost = found.mean - (NOMINAL - 0.357143 + 1.82 + 5.0 * (3.2 / 3.0 - 1.0))
    assert lost == pytest.approx(17.5 * 0.0239, abs=0.02)


def test_causes_come_by_how_much_their_knowledge_narrows_and_name_what_to_measure() -> None:
    found = banded().value
    assert {one.id for one in found.widest} == {"moves", "rate", "metal", "lost"}
    assert [one.narrows_ratio for one in found.widest] == sorted((o.narrows_ratio for o in found.widest), reverse=True)
    first = found.widest[0]
    assert (first.id, first.low, first.likely, first.high, first.shape) == ("rate", 0.8, 1.0, 1.2, "triangular")
    assert "machine-hour-rate" in first.measure
    moves = next(one for one in found.widest if one.id == "moves")
    assert (moves.low, moves.high, moves.shape) == (0.85, 1.15, "uniform")  # common practice: nobody knows a likely one
    assert first.known.width == pytest.approx(found.each.width * (1.0 - first.narrows_ratio), abs=1e-3)
    assert "prices of the finishers" in found.not_spread
    assert "rates an hour" not in found.not_spread


def test_metal_goes_by_whole_bars_of_least_money() -> None:
    """worked: to 31 pieces one short bar 40.50, to 52 one long 67.50, to 62 two short 81.00, to 83 one of each."""
    price = steps().new_bars
    assert [round(price(n), 2) for n in (0, 1, 31, 32, 52, 53, 62, 63, 83, 84)] == [
        0.0, 40.5, 40.5, 67.5, 67.5, 81.0, 81.0, 108.0, 108.0, 121.5,
    ]  # fmt: skip
    assert steps().price(102) == 500.0  # at the order it is the plan's own


@pytest.mark.parametrize(("spare", "at_50", "at_200"), [(2, 51, 204), (5, 53, 209), (0, 50, 200)])
def test_spares_go_with_the_quantity(spare: int, at_50: int, at_200: int) -> None:
    begun = begun_of(Order(quantity=100, spare_count=spare), 100 + spare, SCRAP)
    assert [begun(q) for q in (50, 100, 200)] == [at_50, 100 + spare, at_200]


def test_spares_that_nobody_fixed_go_by_the_worst_share_lost() -> None:
    """worked: four of a hundred begun, at least two: 50 / 0.96 = 52.1, 51 / 0.96 = 53.1, 200 / 0.96 = 208.3."""
    begun = begun_of(Order(quantity=1), 3, SCRAP)
    assert [begun(q) for q in (1, 12, 50, 51, 200)] == [3, 14, 53, 54, 209]


def test_cliffs_are_steps_of_bars_and_minimum_charges() -> None:
    """worked: 300 at 6.50 is reached by 47 pieces sent, 46 good; 120 at 0.80 by 150 sent, 147 good."""
    found = banded().value
    bends = {cliff.quantity: cliff.text for cliff in found.cliffs if cliff.jump == 0.0}
    assert {q: text.split()[4] for q, text in bends.items()} == {46: "hard-coat", 147: "laser"}
    steps_ = [cliff for cliff in found.cliffs if cliff.jump > 0.0]
    assert {round(cliff.jump, 2) for cliff in steps_} <= {13.5, 27.0, 40.5}
    by_quantity = {point.quantity: point.each for point in found.curve}
    for cliff in steps_:
        if cliff.quantity in by_quantity and cliff.quantity - 1 in by_quantity and 100 not in (
            cliff.quantity, cliff.quantity - 1
        ):  # fmt: skip
            assert by_quantity[cliff.quantity].p50 > by_quantity[cliff.quantity - 1].p50


def test_a_minimum_charge_is_reached_sooner_with_what_rides_along() -> None:
    """worked: 300 at 6.50 wants 47 pieces; 17 ride along, so 30 sent, 29 good. The curve counts them in too."""
    riders = (Rider(number="EX-2", pieces_count=17),)
    found = banded(riders=riders).value
    assert [c.quantity for c in found.cliffs if c.jump == 0.0 and "hard-coat" in c.text] == [29]
    assert found.riders == riders
    assert found.each.p50 == pytest.approx(banded().value.each.p50 - 22.5 / 100.0, abs=0.02)  # half of the freight


def test_larger_batches_cost_less_a_piece_and_the_order_stands_in_the_curve() -> None:
    found = banded().value
    quantities = [point.quantity for point in found.curve]
    assert quantities == sorted(set(quantities))
    assert (quantities[0], quantities[-1]) == (20, 300)
    assert next(p.each for p in found.curve if p.quantity == 100) == found.each
    assert found.curve[0].each.p50 > 1.5 * found.curve[-1].each.p50
    assert found.even_share_quantity is not None
    assert 60 < found.even_share_quantity < 200


def test_what_is_left_of_the_price_and_from_how_many_pieces_on_it_pays() -> None:
    """worked: at 45 less 10 % and 1.50 a piece 39.00 are left for the cost."""
    shops = msgspec.structs.replace(
        MONEY, channels=(Channel(id="fair", fee_ratio=0.1, fee_each=1.5), Channel(id="own", fee_ratio=0.0)),
    )  # fmt: skip
    decision = banded(money=shops, selling=Selling(price=45.0, margin_ratio=0.2, channels=("fair",)))
    (fair,) = decision.value.channels
    each = decision.value.each
    assert fair.net == 39.0
    assert fair.left is not None
    assert (fair.left.p10, fair.left.p90) == pytest.approx((39.0 - each.p90, 39.0 - each.p10), abs=1e-3)
    assert fair.floor_price == pytest.approx((each.p90 + 1.5) / (1.0 - 0.1 - 0.2), abs=1e-3)
    assert fair.even_quantity is not None
    assert fair.sure_quantity is not None
    assert 20 < fair.even_quantity < fair.sure_quantity
    at = {p.quantity: p.each for p in decision.value.curve}
    assert all(band.p50 <= 39.0 for q, band in at.items() if q >= fair.even_quantity)
    assert all(band.p90 > 39.0 for q, band in at.items() if q < 45)
    assert proof_of(decision, "fair:price-leaves-something").limit == 39.0


def test_a_price_below_the_cost_fails_and_a_missing_one_is_not_shown() -> None:
    low = banded(selling=Selling(price=20.0))
    assert proof_of(low, "price-leaves-something").verdict == "fails"
    assert low.value.channels[0].loss_ratio == 1.0
    assert low.value.channels[0].even_quantity is None
    assert proof_of(banded(selling=Selling()), "price-leaves-something").verdict == "not shown"
    assert banded().value.channels == ()


@pytest.mark.parametrize(
    ("bought", "verdict", "made"), [((60.0, 65.0, 70.0), "holds", 1.0), ((20.0, 21.0, 22.0), "fails", 0.0)]
)
def test_make_or_buy(bought: tuple[float, float, float], verdict: str, made: float) -> None:
    decision = banded(selling=Selling(bought_each=about(*bought, unit="EUR")))
    assert proof_of(decision, "making-is-cheaper").verdict == verdict
    assert decision.value.made_ratio == made
    near = banded(selling=Selling(bought_each=about(30.0, 35.0, 40.0, unit="EUR")))
    assert proof_of(near, "making-is-cheaper").verdict == "not shown"
    assert proof_of(banded(selling=Selling()), "making-is-cheaper").verdict == "not shown"


def test_spares_are_held_against_what_may_be_lost() -> None:
    """worked: of 102 begun at most 2 bad: 0.98^102 + 102 x 0.02 x 0.98^101 + 5151 x 0.0004 x 0.98^100
    = 0.1274 + 0.2651 + 0.2732 = 0.6658."""
    found = banded().value.spares_suffice
    assert found.nominal == pytest.approx(0.6658, abs=1e-4)
    assert found.low < found.nominal < found.high
    assert proof_of(banded(), "cover-the-losses").verdict == "not shown"


def test_pieces_lost_beyond_the_spares_are_bought_sawn_and_sent_out_again() -> None:
    """worked: k lost, two of them spares: 17.50 of work in each, one short bar at 40.50 for up to 31, 36 / 102 of the
    saw and 6.50 of the hard coat for each of k - 2; the laser's minimum covers 150 pieces."""
    found = banded(time=exact_times(), money=ShopMoney(), scrap_ratio=exact_fact(0.1, "ratio", "x", "assumed")).value
    scrap = next(line.each for line in found.lines if line.text == "scrap")
    for lost, money in ((found.lost.p10, scrap.p10), (found.lost.p50, scrap.p50), (found.lost.p90, scrap.p90)):
        assert 2.0 < lost < 33.0
        wanted = (17.5 * lost + 40.5 + (36.0 / 102.0 + 6.5) * (lost - 2.0)) / 100.0
        assert money == pytest.approx(wanted, abs=1e-3)


def test_blanks_bought_later_come_in_whole_bars() -> None:
    """worked: one is a whole short bar, 32 a long one; without bars 500 / 102 a piece."""
    assert [round(steps().bought_later(n), 2) for n in (1, 31, 32)] == [40.5, 40.5, 67.5]
    bare = BarSteps(bars_plan=BARS, blank=BLANK, bars=(), saw=SAW, density_kg_per_mm3=2.7e-6)
    assert bare.bought_later(3) == pytest.approx(1500.0 / 102.0)


def test_plugs_of_pieces_beyond_the_spares_are_paid_too() -> None:
    """worked: two plugs a piece at 0.40 for each of five more."""
    plug = about(0.35, 0.4, 0.5, unit="EUR")
    coater = msgspec.structs.replace(HARD, charges_plugs=True, plug_price=plug, mask_price=plug)
    lot = Lot(finisher=coater, pieces_count=102, plugs_count=2)
    listed, plugs = lot_amounts(lot, ShopMoney(), begun_of(job_of().order, 102, SCRAP))
    assert plugs.beyond is not None
    assert listed.beyond is not None
    assert (plugs.beyond(100, 5), listed.beyond(100, 5)) == pytest.approx((4.0, 32.5))


def test_chips_are_taken_off() -> None:
    """worked: 0.07 kg at 1.10 is 0.077 a piece."""
    chips = Chips(kg_each=0.07, price_per_kg=about(0.9, 1.1, 1.4, unit="EUR"))
    lines = {line.text: line.each for line in cost(chips=chips).value.lines}
    assert (lines["chips sold back"].low, lines["chips sold back"].nominal) == pytest.approx((-0.098, -0.077))
    with_chips, without = banded(chips=chips).value, banded().value
    assert with_chips.mean == pytest.approx(without.mean - 0.07 * 3.4 / 3.0, abs=1e-3)


def test_the_same_inputs_give_the_same_band() -> None:
    assert msgspec.json.encode(banded().value) == msgspec.json.encode(banded().value)


def test_sawing_grows_with_the_pieces_begun() -> None:
    """worked: an hour at 36 for 102 begun is 36; for 204 begun 72."""
    found = time_amounts(
        time=exact_times(), machines=(MILL,), saw=SAW, bench=BENCH, money=ShopMoney(),
        begun=begun_of(job_of().order, 102, SCRAP), quantity=100,
    )  # fmt: skip
    sawing = next(one for one in found if one.line == "saw, whole batch")
    assert (sawing.scale_at(100), sawing.scale_at(200)) == (36.0, 72.0)


@pytest.mark.parametrize("quantity", [1, 2, 7, 900])
@pytest.mark.parametrize("share", [(0.0, 0.0, 0.0), (0.0, 0.3, 0.5)])
@pytest.mark.parametrize("status", ["proved", "cannot"])
def test_odd_orders_have_a_band_with_its_order_in_the_curve(
    quantity: int, share: tuple[float, float, float], status: str
) -> None:
    """One piece, hundreds, half of them lost, metal that no bar gives: every band is in order and finite."""
    bars = msgspec.structs.replace(BARS, pieces_count=quantity + 2, price=5.0 * quantity, status=status)
    demand = Demand(per_year=about(1.0, 2.0, 9.0), holding_ratio=about(0.1, 0.2, 0.3))
    found = banded(
        quantity=quantity, bars_plan=bars, scrap_ratio=about(*share), demand=demand, drawing=Drawing(count=500),
        selling=Selling(price=50.0, bought_each=about(20.0, 40.0, 90.0)),
    ).value  # fmt: skip
    assert quantity in {point.quantity for point in found.curve}
    for band in (found.each, found.apart, *(p.each for p in found.curve), *(line.each for line in found.lines)):
        assert 0.0 <= band.p10 <= band.p50 <= band.p90 < 1e6
    assert found.lots is not None
    way = found.lots.ways[0]
    assert 1 <= way.flat_low <= way.quantity <= way.flat_high <= found.lots.most_quantity
    assert way.best_low <= way.best_high
    assert found.quantity_ticks
    assert len(found.money_ticks) >= 2
