"""A finisher's invoice, added up by hand, line by line."""

from __future__ import annotations

import msgspec
import pytest
from stages.costing.test_costing import HARD, LASER, cost, job_of

from proveout.model.cost_band import Rider
from proveout.model.fact import Fact
from proveout.model.job import Coat, Size
from proveout.model.shop import Finisher
from proveout.stages.costing.outside import Lot, outside_lots

# the invoice, invented:
#   black hard coat, 104 pieces at 6.50                676.00
#   plugs, two a piece, 208 at 0.40 (0.35 .. 0.50)      83.20   72.80 .. 104.00
#   masks, one a piece, 104 at 1.10 (0.80 .. 1.60)     114.40   83.20 .. 166.40
#   loading                                             38.00
#   freight                                             45.00
#                                                      956.60  915.00 .. 1029.40
PLUG = Fact(low=0.35, nominal=0.4, high=0.5, unit="EUR", source="shop-file: list", strength="owner's guess")
MASK = Fact(low=0.8, nominal=1.1, high=1.6, unit="EUR", source="shop-file: list", strength="owner's guess")
COATER = msgspec.structs.replace(
    HARD, loading_price=38.0, further_part_price=12.0, charges_plugs=True, plug_price=PLUG, mask_price=MASK
)  # fmt: skip


def lines_of(lot: Lot) -> list[tuple[str, int, float]]:
    return [(line.text, line.count, line.money.nominal) for line in lot.invoice]


def test_the_invoice_is_reproduced_line_by_line() -> None:
    lot = Lot(finisher=COATER, pieces_count=104, plugs_count=2, masks_count=1)
    assert lines_of(lot) == [
        ("pieces", 104, 676.0), ("plugs", 208, pytest.approx(83.2)), ("masks", 104, pytest.approx(114.4)),
        ("loading", 1, 38.0), ("freight", 1, 45.0),
    ]  # fmt: skip
    assert (lot.money.low, lot.money.nominal, lot.money.high) == pytest.approx((915.0, 956.6, 1029.4))


def test_a_small_lot_is_made_up_to_the_minimum_and_plugs_stand_beside_it() -> None:
    """worked: 20 at 6.50 is 130, 170 below 300; plugs 40 x 0.40 = 16; 300 + 16 + 38 + 45 = 399."""
    lot = Lot(finisher=COATER, pieces_count=20, plugs_count=2)
    assert lines_of(lot)[:3] == [
        ("pieces", 20, 130.0),
        ("made up to the minimum charge", 1, 170.0),
        ("plugs", 40, 16.0),
    ]
    assert lot.money.nominal == pytest.approx(399.0)


def test_two_parts_in_one_load_share_minimum_loading_and_freight_and_pay_for_the_second_number() -> None:
    """worked: 20 and 5 at 6.50 are 162.50, 137.50 below 300, four fifths of it 110; half of 12, 38 and 45: 6 + 19 +
    22.50; 130 + 110 + 47.50 = 287.50."""
    lot = Lot(
        finisher=msgspec.structs.replace(COATER, charges_plugs=False), pieces_count=20,
        riders=(Rider(number="EX-2", pieces_count=5),),
    )  # fmt: skip
    assert lines_of(lot) == [
        ("pieces", 20, 130.0), ("made up to the minimum charge", 1, 110.0), ("loading", 1, 19.0),
        ("further part numbers", 1, 6.0), ("freight", 1, 22.5),
    ]  # fmt: skip
    assert lot.money.nominal == pytest.approx(287.5)
    assert lot.listed(20) == pytest.approx(287.5)


@pytest.mark.parametrize(("own", "others"), [(40, (10,)), (10, (40,)), (20, (10, 20)), (0, (0,)), (12, (20,)), (3, ())])
def test_the_parts_of_a_lot_pay_together_what_the_whole_lot_costs(own: int, others: tuple[int, ...]) -> None:
    """worked: 50 at 6.50 are 325 and nothing is made up, though 10 alone would lack 235; else 300 is paid once.
    Of 12 and 20 at 6.50, 208 and 92 short: 12 pay 78 + 34.50, 20 pay 130 + 57.50."""
    counts = (own, *others)
    bare = msgspec.structs.replace(HARD, freight=0.0)
    lots = [
        Lot(
            finisher=bare, pieces_count=count,
            riders=tuple(Rider(number=f"{m}", pieces_count=n) for m, n in enumerate(counts) if m != k),
        )
        for k, count in enumerate(counts)
    ]  # fmt: skip
    if any(counts):
        assert sum(lot.money.nominal for lot in lots) == pytest.approx(max(300.0, 6.5 * sum(counts)))
    assert sum(counts) < 50 or all("made up" not in name for lot in lots for name, _, _ in lines_of(lot))
    assert counts != (12, 20) or lots[0].money.nominal == pytest.approx(112.5)
    assert all(lot.listed(lot.pieces_count) == pytest.approx(lot.money.nominal) for lot in lots)


def test_a_finisher_who_charges_no_plugs_writes_none() -> None:
    lot = Lot(finisher=HARD, pieces_count=104, plugs_count=2, masks_count=1)
    assert lines_of(lot) == [("pieces", 104, 676.0), ("freight", 1, 45.0)]


def test_plugs_and_masks_are_the_coat_s_alone() -> None:
    """Three masked sizes, two of them plugged: one mask by hand; the laser charges neither."""
    job = job_of()
    assert isinstance(job.coat, Coat)
    sizes = tuple(Size(balloon=k, text="M6 6H", is_masked=True) for k in (1, 2, 3))
    laser: Finisher = msgspec.structs.replace(LASER, charges_plugs=True, plug_price=PLUG, mask_price=MASK)
    lots, unknown = outside_lots(
        job=msgspec.structs.replace(job, sizes=sizes), finishers=(COATER, laser), pieces_count=104, plugs_count=2
    )  # fmt: skip
    assert unknown == ()
    assert [(lot.plugs_count, lot.masks_count) for lot in lots] == [(2, 1), (0, 0)]
    assert lines_of(lots[1])[0] == ("pieces", 104, pytest.approx(83.2))


def test_the_line_of_the_cost_is_the_invoice_over_the_pieces_ordered() -> None:
    """worked: 102 sent, 663 + 102 x 2 x 0.40 = 81.60 + 38 + 45 = 827.60 over 100."""
    found = cost(finishers=(COATER, LASER), plugs_count=2).value.lines
    line = next(one for one in found if one.text == "outside: black hard coat")
    assert line.each.nominal == pytest.approx(8.276)
    assert line.each.high == pytest.approx(8.276 + 204 * 0.1 / 100.0)
    assert "plugs 204 x 0.40" in line.how
