"""The saw ticket of a part of an order: the rack is the order's, and no ticket promises what another may take."""

from __future__ import annotations

import msgspec

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.work import StackLine
from proveout.sheets.pages_front import route_page
from proveout.sheets.pages_saw import saw_page
from proveout.sheets.writer import Writer


def ticket(plan: Plan, shop: Shop) -> str:
    return str(saw_page(Writer(plan=plan, shop=shop, drawings={}, fingerprint="ab" * 32))["blocks"])


def test_in_an_order_the_ticket_points_to_the_orders_page_and_names_no_remnant(plan: Plan, shop: Shop) -> None:
    alone = ticket(plan, shop)
    assert "Take the rack first" in alone
    assert "R-01" in alone
    assert "saw.csv" not in alone
    shared = ticket(
        msgspec.structs.replace(plan, bars=msgspec.structs.replace(plan.bars, rack=(), is_rack_shared=True)), shop
    )
    assert "Take the rack first" not in shared
    assert "R-01" not in shared
    assert "the order's page and in saw.csv" in shared
    assert "Remnants only as the order's page gives them to this part" in shared
    assert "Remnants in the rack looked through" not in shared


def test_a_remnant_whose_last_piece_is_in_doubt_is_told(plan: Plan, shop: Shop) -> None:
    rack = tuple(msgspec.structs.replace(row, is_last_in_doubt=True) for row in plan.bars.rack)
    words = ticket(msgspec.structs.replace(plan, bars=msgspec.structs.replace(plan.bars, rack=rack)), shop)
    assert "the last only if the saw cuts none long" in words
    assert "the last only if the saw cuts none long" not in ticket(plan, shop)


def test_the_ticket_says_how_far_an_end_may_be_out_of_square(plan: Plan, shop: Shop) -> None:
    """worked: 0.457 mm of the stack-up for both ends, half of it 0.2285, rounded down to 0.22 for each."""
    assert "how true the end is'" in ticket(plan, shop), "a blank that leaves no room for it has no limit of it"
    line = StackLine(side="length", text="both sawn ends out of square, 0.003 mm per mm over 76.2 mm", size_mm=0.457)
    chosen = msgspec.structs.replace(plan.blank.chosen, stack=(*plan.blank.chosen.stack, line))
    leaning = msgspec.structs.replace(plan, blank=msgspec.structs.replace(plan.blank, chosen=chosen))
    side = max((bar.width_mm, bar.height_mm) for bar in shop.bars if bar.id == chosen.bar_id)[0]
    assert f"out by at most 0.22\u202fmm over {side:.1f}\u202fmm" in ticket(leaning, shop).replace("\\u202f", "\u202f")


def test_trial_blanks_are_named_only_where_they_are_asked_for(plan: Plan, shop: Shop) -> None:
    asked = msgspec.structs.replace(plan, bars=msgspec.structs.replace(plan.bars, trial_count=2))
    assert "trial blanks beside them" in ticket(asked, shop)
    assert "trial blanks" not in ticket(plan, shop)
    assert "Trial blanks marked and laid apart" in ticket(asked, shop)
    card = str(route_page(Writer(plan=asked, shop=shop, drawings={}, fingerprint="ab" * 32))["blocks"])
    assert "trial blanks beside them" in card, "the tray holds them too"
