"""What is bought for an order and what it costs, from the plans of its parts and how they are sawn together."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.fact import Fact
from proveout.model.order import OrderMoney
from proveout.model.plan import Plan
from proveout.model.purchase import OrderBuying
from proveout.model.sawing import OrderSawing
from proveout.model.shop import Shop
from proveout.quantities.names_apart import names_apart


def bought_together(plans: Sequence[Plan], sawing: OrderSawing, shop: Shop) -> OrderBuying:
    """The purchase list of the whole order; a part ordered again goes by its number with a count, as in `sawing`."""
    from proveout.stages.buying.together import PartNeeds, buy_together

    named = zip(plans, names_apart(plan.part.number for plan in plans), strict=True)
    parts = [
        PartNeeds(name=name, pieces_count=plan.bars.blanks_count, purchases=plan.purchases, uses=plan.cutter_uses)
        for plan, name in named
    ]
    return buy_together(parts=parts, sawing=sawing, cutters=shop.cutters, supplies=shop.supplies).value


def order_money(plans: Sequence[Plan], sawing: OrderSawing) -> OrderMoney | None:
    """Money of every batch, its own whole bars replaced by the bars shared; None where no part's money is known."""
    names = names_apart(plan.part.number for plan in plans)
    known = [plan.cost for plan in plans if not plan.metal_unknown]
    if not known:
        return None
    saved = round(sawing.alone_price - sawing.price, 2)
    low, nominal, high = (
        round(sum(getattr(cost.batch, end) for cost in known) - saved, 2) for end in ("low", "nominal", "high")
    )
    cost = Fact(
        low=low, nominal=nominal, high=high, unit=known[0].currency, source="own-algorithm: sum of the batches",
        strength="assumed",
    )  # fmt: skip
    left_out = tuple(name for plan, name in zip(plans, names, strict=True) if plan.metal_unknown)
    return OrderMoney(cost=cost, bars_saved=saved, left_out=left_out)
