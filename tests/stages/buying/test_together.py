"""The purchase list of a whole order, counted by hand: packs, edges and bars once for all its parts."""

from __future__ import annotations

from random import Random

import msgspec
from hypothesis import given
from hypothesis import strategies as st
from shapes import cutter, fact

from proveout.model.plan import CutterUse
from proveout.model.purchase import OrderBuying, Purchase
from proveout.model.sawing import Lot, OrderSawing, SawnBars, SectionSawing
from proveout.model.stock import Supply
from proveout.stages.buying.together import PartNeeds, buy_together, edges_at_most

MILL_12 = cutter("mill 12", "end mill", 12.0, 26.0, 38.0)
NO_BARS = OrderSawing(sections=(), price=0.0, alone_price=0.0)


def use(piece_s: float, pieces: int, *, life_s: float | None = 3600.0, machine: str = "mill") -> CutterUse:
    """As the plan of one part reckons it: whole pieces an edge, a fresh edge to begin with."""
    each = int(life_s // piece_s) if life_s else None
    edges = -(-pieces // each) if each else None
    left = None if not each or edges is None or not life_s else life_s - (pieces - (edges - 1) * each) * piece_s
    return CutterUse(
        machine_id=machine, cutter_id="mill 12", piece_s=fact(piece_s * 0.9, piece_s * 0.95, piece_s, "s"),
        life_s=life_s, pieces_each=each, edges_count=edges, left_s=left,
    )  # fmt: skip


def kit(count: int, *, what: str = "screw", pack: int | None = 200, price: float | None = 14.0) -> Purchase:
    packs = None if pack is None else -(-count // pack)
    return Purchase(
        kind="kit", what=what, count=count, unit="pieces", packs_count=packs, pack_count=pack, pack_price=price,
        price_total=None if packs is None or price is None else packs * price, supplier="Fasteners",
        why="1 with each piece", days_low=1, days_high=3,
    )  # fmt: skip


def part(name: str, *purchases: Purchase, uses: tuple[CutterUse, ...] = (), pieces: int = 100) -> PartNeeds:
    return PartNeeds(name=name, pieces_count=pieces, purchases=purchases, uses=uses)


def bought(*parts: PartNeeds, sawing: OrderSawing = NO_BARS, supplies: tuple[Supply, ...] = ()) -> OrderBuying:
    return buy_together(parts=parts, sawing=sawing, cutters=(MILL_12,), supplies=supplies).value


def test_packs_are_rounded_up_once_for_all_parts() -> None:
    """worked: 110, 50 and 30 screws are 190: one pack of 200, where each by itself would ask for one, three in all."""
    found = bought(part("A", kit(110)), part("B", kit(50)), part("C", kit(30)))
    (line,) = found.lines
    assert (line.count, line.packs_count, line.price_total) == (190, 1, 14.0)
    assert [(share.part, share.count) for share in line.shares] == [("A", 110), ("B", 50), ("C", 30)]
    assert (found.price_total, found.unpriced_count) == (14.0, 0)


def test_a_gauge_that_two_parts_want_is_bought_once() -> None:
    ring = Purchase(kind="gauge", what="thread ring for M6 6g", count=1, unit="gauge", why="nothing tells size 3")
    (line,) = bought(part("A", ring), part("B", ring)).lines
    assert (line.kind, line.count, [share.part for share in line.shares]) == ("gauge", 1, ["A", "B"])


def test_what_differs_in_supplier_or_pack_stays_apart() -> None:
    other = msgspec.structs.replace(kit(30), supplier="Other")
    assert len(bought(part("A", kit(110)), part("B", other), part("C", kit(30, pack=100))).lines) == 3


def test_single_pieces_are_added_up_and_a_price_that_one_lacks_is_not_known() -> None:
    single = kit(110, pack=None, price=None)
    found = bought(part("A", single), part("B", msgspec.structs.replace(single, count=5)))
    (line,) = found.lines
    assert (line.count, line.packs_count, line.price_total) == (115, None, None)
    assert (found.price_total, found.unpriced_count) == (0.0, 1)


def jaws(*, op: int, price: float = 18.0) -> Purchase:
    return Purchase(
        kind="jaws", what="soft", count=1, unit="pair", price_total=price, why=f"cut to the work of op {op}"
    )


def test_jaws_are_added_up_and_say_of_which_part_they_are() -> None:
    (line,) = bought(part("A", jaws(op=2)), part("B", jaws(op=2), jaws(op=3))).lines
    assert (line.count, line.unit, line.price_total) == (3, "pairs", 54.0)
    assert [(share.part, share.count) for share in line.shares] == [("A", 1), ("B", 2)]
    assert line.why == "A: cut to the work of op 2; B: cut to the work of op 2; B: cut to the work of op 3"


def test_an_edge_goes_on_from_one_part_to_the_next() -> None:
    """worked: an edge of 3600 s; two parts of 100 pieces at 10 s are 2000 s, one edge in all, and it is there."""
    uses = (use(10.0, 100),)
    assert bought(part("A", uses=uses), part("B", uses=uses)).lines == ()


def test_edges_are_enough_for_the_sum_of_the_parts() -> None:
    """worked: 4 x 1000 s = 4000 s; one that is changed has worked more than 3600 - 10 s, so 4000 / 3590 is one change:
    one spare, though every part by itself asks for none."""
    uses = (use(10.0, 100),)
    (line,) = bought(*(part(name, uses=uses) for name in "ABCD")).lines
    assert (line.what, line.count, line.price_total) == ("mill 12", 1, 30.0)


def test_an_edge_in_one_machine_is_none_for_another() -> None:
    """worked: two parts of 300 pieces at 10 s are 6000 s: on one machine two edges, one of them bought; on two machines
    3000 s each, and both have one."""
    here, there = use(10.0, 300), use(10.0, 300, machine="other")
    (line,) = bought(part("A", uses=(here,), pieces=300), part("B", uses=(here,), pieces=300)).lines
    assert line.count == 1
    assert bought(part("A", uses=(here,), pieces=300), part("B", uses=(there,), pieces=300)).lines == ()


def test_a_cutter_whose_life_nobody_wrote_keeps_its_line() -> None:
    (line,) = bought(part("A", uses=(use(10.0, 100, life_s=None),)), part("B", uses=(use(10.0, 100),))).lines
    assert (line.count, line.price_total, line.why) == (None, None, "life not known")


@given(
    life=st.integers(20, 400),
    lots=st.lists(st.tuples(st.integers(1, 19), st.integers(1, 60), st.integers(0, 2)), min_size=1, max_size=4),
    seed=st.randoms(use_true_random=False),
)
def test_no_order_of_the_pieces_asks_for_more_edges_than_told(
    life: int, lots: list[tuple[int, int, int]], seed: Random
) -> None:
    """Pieces of all parts in any order, an edge changed before a piece that it would not last: counted one by one."""
    uses = [use(float(piece_s), count, life_s=float(life)) for piece_s, count, _ in lots]
    told = edges_at_most(uses, [count for _, count, _ in lots])
    assert told is not None
    pieces = [piece_s for piece_s, count, _ in lots for _ in range(count)]
    apart = sum(one.edges_count or 0 for one in uses)
    assert told <= apart
    seed.shuffle(pieces)
    needed, left = 1, life
    for piece_s in pieces:
        if piece_s > left:
            needed, left = needed + 1, life
        left -= piece_s
    assert needed <= told or told == apart  # then every part keeps edges of its own


def section(*, tag: str = "", from_heat: tuple[tuple[str, str], ...] = ()) -> SectionSawing:
    lots = tuple(
        Lot(part=name, bar_id="flat", cut_length_mm=length, pieces_count=20, spare_count=1, alloy="6061-T6")
        for name, length in (("A", 90.0), ("B", 60.0))
    )
    rows = [
        SawnBars(bar_length_mm=3000.0, bundle_count=2, times=2, pieces=((90.0, 10),), remnant_mm=9.0, bar_mass_kg=5.0),
        SawnBars(bar_length_mm=3000.0, bundle_count=1, times=1, pieces=((60.0, 20),), remnant_mm=9.0, bar_mass_kg=5.0,
                 tag=tag, heat="h" if tag else ""),
    ]  # fmt: skip
    return SectionSawing(
        bar_id="flat", lots=lots, rows=tuple(rows), price=123.456, alone_price=150.0, lower_bound=123.456,
        gap_ratio=0.0, bars_count=5, strokes_count=9, alone_strokes_count=9, status="proved", from_heat=from_heat,
    )  # fmt: skip


def own_bars(count: int) -> Purchase:
    return Purchase(kind="bar", what="flat, 3 m", count=count, unit="bars", price_total=99.0, why="of itself")


def test_bars_are_those_of_the_common_saw_plan() -> None:
    """worked: 2 x 2 + 1 bars, at the section's price; the four bars that each part by itself asks for are left out."""
    sawing = OrderSawing(sections=(section(),), price=123.456, alone_price=150.0)
    supplies = (Supply(what="flat", supplier="Metals", days_low=3, days_high=6),)
    (line,) = bought(part("A", own_bars(4)), part("B", own_bars(4)), sawing=sawing, supplies=supplies).lines
    assert (line.kind, line.what, line.count, line.price_total) == ("bar", "flat, 3 m", 5, 123.46)
    assert (line.supplier, line.days_low, line.days_high) == ("Metals", 3, 6)
    assert [share.part for share in line.shares] == ["A", "B"]
    assert line.why == "6061-T6, one heat for all"


def test_remnants_of_the_rack_are_not_bought() -> None:
    sawing = OrderSawing(sections=(section(tag="R-1", from_heat=(("B", "h"),)),), price=123.456, alone_price=150.0)
    (line,) = bought(part("A", own_bars(4)), part("B", own_bars(4)), sawing=sawing).lines
    assert line.count == 4
    assert [share.part for share in line.shares] == ["A"]


def test_a_part_that_is_not_sawn_with_the_others_keeps_its_bars() -> None:
    sawing = OrderSawing(sections=(section(),), price=123.456, alone_price=150.0)
    lines = bought(part("A", own_bars(4)), part("C", own_bars(3)), sawing=sawing).lines
    assert [(line.count, line.shares[-1].part) for line in lines] == [(5, "B"), (3, "C")]


def test_sums_by_supplier_add_up_and_their_days_are_the_longest() -> None:
    supplies = (
        Supply(what="flat", supplier="Metals", days_low=3, days_high=6),
        Supply(what="mill 12", supplier="Fasteners", days_low=2, days_high=9),
    )
    sawing = OrderSawing(sections=(section(),), price=123.456, alone_price=150.0)
    found = bought(
        part("A", kit(10), uses=(use(10.0, 900),), pieces=900), part("B", kit(10), jaws(op=2)), sawing=sawing,
        supplies=supplies,
    )  # fmt: skip
    assert [(one.supplier, one.lines_count, one.days_high) for one in found.suppliers] == [
        ("Metals", 1, 6), ("Fasteners", 2, 9), ("", 1, None),
    ]  # fmt: skip
    assert found.price_total == round(123.46 + 14.0 + 2 * 30.0 + 18.0, 2)
    assert round(sum(one.price_total for one in found.suppliers), 2) == found.price_total
    assert [line.supplier for line in found.lines] == ["Metals", "Fasteners", "Fasteners", ""]
