"""What a batch asks to be bought, counted by hand from bars, edges, jaws and kit."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jaw_parts import BLOCK, block, shaped
from shapes import cutter, fact

from proveout.model.gauge import WantedGauge
from proveout.model.packing import KitItem, KitLine, Packing
from proveout.model.plan import BarsPlan, CutterUse
from proveout.model.purchase import Purchase
from proveout.model.sawing import BarPattern, SawnBars
from proveout.model.shop import Jaws
from proveout.model.stock import Supply
from proveout.model.table_load import TableLoad
from proveout.stages.buying.decide import decide

MILL_12, MILL_6 = cutter("mill 12", "end mill", 12.0, 26.0, 38.0), cutter("mill 6", "end mill", 6.0, 18.0, 25.0)


def sawn(*bundles: tuple[float, int, int], bar_id: str = "flat") -> BarsPlan:
    """Bars of one section; of each way of sawing the bar's length in mm, bars in the bundle, and times."""
    return BarsPlan(
        pieces_count=12, spare_count=2, bars_count=5, lower_bound=5, strokes_count=1, kerf_mm=1.8, trim_mm=6.0,
        tail_mm=65.0, cut_length_mm=20.0, cut_tolerance_mm=0.2, price=278.444, status="optimal", note="",
        patterns=tuple(
            BarPattern(
                bar_id=bar_id, bar_length_mm=length, bundle_count=bundle, times=times, pieces_each=3, remnant_mm=1.0
            )
            for length, bundle, times in bundles
        ),
    )  # fmt: skip


def use(cutter_id: str, edges: int | None) -> CutterUse:
    return CutterUse(
        machine_id="mill", cutter_id=cutter_id, piece_s=fact(1.0, 2.0, 3.0, "s"), life_s=None, pieces_each=None,
        edges_count=edges, left_s=None,
    )  # fmt: skip


def hardware(*, packs: int | None, pack_price: float | None) -> Packing:
    item = KitItem(name="screw", count=2, supplier="Example Fasteners", pack_count=100, pack_price=pack_price)
    return Packing(lines=(KitLine(item=item, pieces_count=300, packs_count=packs, short_kg=None, is_seen=None),))


def bought(**given: Any) -> tuple[Purchase, ...]:
    nothing: dict[str, Any] = {
        "bars_plan": sawn(), "alloy": "6061-T6", "is_money_known": True, "uses": (), "cutters": (MILL_12, MILL_6),
        "clampings": (), "forms": (), "packing": Packing(),
    }  # fmt: skip
    return decide(**(nothing | given)).value


def test_bars_of_one_length_are_one_line() -> None:
    (bar,) = bought(bars_plan=sawn((3000.0, 4, 1), (3000.0, 1, 1), (3000.0, 2, 3)))
    assert (bar.kind, bar.what, bar.unit) == ("bar", "flat, 3 m", "bars")
    assert bar.count == 4 + 1 + 2 * 3
    assert bar.price_total == 278.44
    assert bar.why == "6061-T6, one heat for the lot"


def test_the_money_of_bars_of_several_lengths_goes_by_their_length() -> None:
    """worked: 278.444 over 2.5 m + 4 x 5 m is 12.3753 a metre: 30.94 for the short one, the rest of 278.44 for four."""
    short, long = bought(bars_plan=sawn((5000.0, 4, 1), (2500.0, 1, 1)))
    assert [(one.what, one.count) for one in (short, long)] == [("flat, 2.5 m", 1), ("flat, 5 m", 4)]
    assert [one.price_total for one in (short, long)] == [30.94, 247.5]
    assert short.why == long.why == "6061-T6, one heat for the lot"


def test_bars_that_the_rack_may_spare_are_said_to_be() -> None:
    plan = msgspec.structs.replace(sawn((3000.0, 4, 1)), is_rack_shared=True)
    (bar,) = bought(bars_plan=plan)
    assert bar.why == "6061-T6, one heat for the lot; not needed if the rack is taken"
    lot = SawnBars(bar_length_mm=850.0, bundle_count=1, times=1, pieces=((20.0, 12),), remnant_mm=1.0, bar_mass_kg=1.0)
    (bar,) = bought(bars_plan=msgspec.structs.replace(plan, is_rack_shared=False, rack=(lot,)))
    assert bar.why.endswith("not needed if the rack is taken")


def test_bars_have_no_price_where_the_shop_knows_none_for_their_metal() -> None:
    short, long = bought(bars_plan=sawn((5000.0, 4, 1), (2500.0, 1, 1)), is_money_known=False)
    assert [one.count for one in (short, long)] == [1, 4]
    assert [one.price_total for one in (short, long)] == [None, None]


def test_the_edge_in_the_machine_is_not_bought_again() -> None:
    (spare,) = bought(uses=(use("mill 12", 4), use("mill 6", 1)))
    assert (spare.kind, spare.what, spare.count, spare.unit) == ("cutter", "mill 12", 3, "edges")
    assert spare.price_total == 3 * 30.0
    assert spare.why == "the edge in use wears out"


def test_a_cutter_whose_life_nobody_wrote_is_listed_without_a_count() -> None:
    (line,) = bought(uses=(use("mill 6", None),))
    assert (line.what, line.count, line.price_total, line.why) == ("mill 6", None, None, "life not known")


def test_edges_of_a_cutter_that_is_not_the_shops_have_no_price() -> None:
    (line,) = bought(uses=(use("lent", 2),))
    assert (line.count, line.price_total) == (1, None)


def test_only_jaws_that_are_cut_to_the_work_are_bought() -> None:
    form = shaped(block(), BLOCK)
    (pair,) = bought(clampings=(BLOCK,), forms=(form,))
    assert (pair.kind, pair.what, pair.count, pair.unit) == ("jaws", BLOCK.jaws_id, 1, "pair")
    assert pair.why == "cut to the work of op 2"
    assert pair.price_total is None
    assert bought(clampings=(BLOCK,)) == ()


def test_a_pair_of_jaws_is_bought_for_each_place_at_its_price() -> None:
    """worked: two places, a pair of 18.00 each; in one place one pair."""
    soft = Jaws(id=BLOCK.jaws_id, kind="soft", grip_mm=10.0, friction_ratio=None, for_surface="finished",
                make_s=0.0, price=18.0)  # fmt: skip
    form = shaped(block(), BLOCK)
    (pair,) = bought(clampings=(BLOCK,), forms=(form,), jaws=(soft,))
    assert (pair.count, pair.price_total) == (1, 18.0)
    load = TableLoad(machine_id="mill", clamping_ids=(BLOCK.id,), pieces_count=2, laid=(), steps=(), clear_mm=None,
                     fillings=())  # fmt: skip
    (pairs,) = bought(clampings=(BLOCK,), forms=(form,), jaws=(soft,), loads=(load,))
    assert (pairs.count, pairs.unit, pairs.price_total) == (2, "pairs", 36.0)
    assert pairs.why.endswith("one for each place")


@pytest.mark.parametrize(("packs", "price", "total"), [(3, 9.5, 28.5), (None, 9.5, None), (3, None, None)])
def test_hardware_is_bought_by_the_pack(packs: int | None, price: float | None, total: float | None) -> None:
    (line,) = bought(packing=hardware(packs=packs, pack_price=price))
    assert (line.kind, line.what, line.count, line.unit) == ("kit", "screw", 300, "pieces")
    assert (line.packs_count, line.supplier, line.price_total) == (packs, "Example Fasteners", total)
    assert line.why == "2 with each piece"


def test_bars_come_first_then_edges_jaws_and_kit() -> None:
    found = bought(
        bars_plan=sawn((3000.0, 4, 1)), uses=(use("mill 12", 2),), clampings=(BLOCK,), forms=(shaped(block(), BLOCK),),
        packing=hardware(packs=3, pack_price=9.5),
    )  # fmt: skip
    assert [line.kind for line in found] == ["bar", "cutter", "jaws", "kit"]


@given(
    st.lists(
        st.tuples(st.sampled_from((2500.0, 3000.0, 5000.0)), st.integers(1, 6), st.integers(1, 9)), min_size=1
    )
)  # fmt: skip
def test_no_bar_is_lost_and_the_money_is_never_doubled(bundles: list[tuple[float, int, int]]) -> None:
    found = bought(bars_plan=sawn(*bundles))
    assert sum(line.count or 0 for line in found) == sum(bundle * times for _, bundle, times in bundles)
    assert round(sum(line.price_total or 0.0 for line in found), 2) == 278.44
    assert len({line.what for line in found}) == len(found)


def test_lines_stand_by_supplier_in_whole_packs_with_the_days_they_take() -> None:
    """worked: 12 plugs in packs of 10 are 2 packs at 4.00; the bars have their own price and no pack; the kit says its
    own supplier and pack, so that the shop's row adds the days alone."""
    supplies = (
        Supply(what="flat", supplier="Metals", days_low=3, days_high=6),
        Supply(what="plug", supplier="Caps", pack_count=10, pack_price=4.0, days_low=2, days_high=2),
        Supply(what="screw", supplier="Other", pack_count=7, pack_price=99.0, days_low=1, days_high=3),
    )
    found = bought(
        bars_plan=sawn((3000.0, 4, 1)), packing=hardware(packs=3, pack_price=9.5), uses=(use("mill 12", 3),),
        supplies=supplies, plugs_count=12,
    )  # fmt: skip
    assert [(one.supplier, one.what) for one in found] == [
        ("Metals", "flat, 3 m"), ("", "mill 12"), ("Example Fasteners", "screw"), ("Caps", "plug"),
    ]  # fmt: skip
    bar, edge, screw, plug = found
    assert (plug.packs_count, plug.pack_count, plug.price_total, plug.days_low, plug.days_high) == (2, 10, 8.0, 2, 2)
    assert (screw.packs_count, screw.pack_count, screw.price_total, screw.days_high) == (3, 100, 28.5, 3)
    assert (bar.packs_count, bar.price_total, bar.days_low, bar.days_high) == (None, 278.44, 3, 6)
    assert (edge.days_low, edge.days_high) == (None, None)


def test_what_one_supplier_sells_stands_together() -> None:
    supplies = tuple(Supply(what=what, supplier="One") for what in ("flat", "screw"))
    found = bought(
        bars_plan=sawn((3000.0, 4, 1)), uses=(use("mill 12", 3),), supplies=supplies,
        packing=Packing(lines=(
            KitLine(item=KitItem(name="screw", count=2), pieces_count=300, packs_count=None, short_kg=None,
                    is_seen=None),
        )),
    )  # fmt: skip
    assert [one.what for one in found] == ["flat, 3 m", "screw", "mill 12"]


def test_plugs_are_bought_only_where_somebody_sells_them_to_the_shop() -> None:
    assert [one.kind for one in bought(plugs_count=12)] == []


def test_a_gauge_that_the_shop_lacks_is_bought_once_for_all_sizes_that_it_tells() -> None:
    ring, plug = "thread ring for M6 6g", "plug for 20.033 mm of at most ±0.004 mm"
    wanted = (
        WantedGauge(what=plug, mark="7", when="after"), WantedGauge(what=ring, mark="3"),
        WantedGauge(what=plug, mark="9", when="before"),
    )  # fmt: skip
    lines = bought(gauges=wanted)
    assert [(line.kind, line.what, line.count, line.unit, line.price_total) for line in lines] == [
        ("gauge", plug, 1, "gauge", None), ("gauge", ring, 1, "gauge", None)
    ]  # fmt: skip
    assert lines[0].why == "nothing in the shop tells sizes 7 after the coat, 9 before the coat"
    assert lines[1].why == "nothing in the shop tells size 3"
