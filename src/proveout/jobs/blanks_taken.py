"""Blanks that cost an order less than those of its plans: planned again on their bars, and taken where that holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import msgspec

from proveout.jobs.bought import order_money
from proveout.jobs.request import Request
from proveout.jobs.sawn import sawn_together
from proveout.model.job import Job, Pin
from proveout.model.plan import Plan
from proveout.model.proof import opens_more
from proveout.model.sawing import BlanksTaken
from proveout.model.shop import Shop
from proveout.quantities.names_apart import names_apart

CENT = 0.005


def take_blanks(
    *, plans: Sequence[Plan], jobs: Sequence[Job], shop: Shop, plan_on: Callable[[int, str], Plan]
) -> tuple[dict[int, Plan], BlanksTaken]:
    """Plans that take the place of others, by their number in the order, none where nothing is taken.

    Only the parts whose blank changes are planned again, each with its bar pinned. All are taken or none: when the
    whole order then costs less and no part has more proofs open that block its release, in any one stage.

    Args:     plan_on: plans a part of the order again with one bar pinned; the store keeps what does not hang on it.
    """
    planned_total = total_of(plans, shop)
    sawing, _ = sawn_together(plans, shop)
    wishes = {} if sawing.blanks is None else {w.part: w for w in sawing.blanks.blanks if not w.is_planned}
    names = names_apart(plan.part.number for plan in plans)
    changed = [number for number, name in enumerate(names) if name in wishes]
    parts = tuple(names[number] for number in changed)
    bar_ids = tuple(wishes[part].bar_id for part in parts)

    def told(why: str, *, is_taken: bool = False, total: float | None = None) -> BlanksTaken:
        return BlanksTaken(
            is_taken=is_taken, parts=parts, bar_ids=bar_ids, planned_total=planned_total, total=total, why=why
        )

    if not changed:
        return {}, told("no other choice among the blanks that the plans name costs the order less")
    pinned = [names[n] for n in changed if any(pin.quantity == "bar" for pin in jobs[n].pins)]
    if pinned:
        return {}, told(f"the bar of {' and '.join(pinned)} is pinned in its job file")
    anew = {number: plan_on(number, wishes[names[number]].bar_id) for number in changed}
    after = [anew.get(number, plan) for number, plan in enumerate(plans)]
    total = total_of(after, shop)
    worse = [names[n] for n in changed if anew[n].bars.status == "cannot" or _opens_more(anew[n], plans[n])]
    if worse:
        return {}, told(f"{' and '.join(worse)} would have more proofs open that block its release", total=total)
    if total > planned_total - CENT:
        return {}, told("with all that hangs on the bars the order would not cost less", total=total)
    return anew, told("the whole order costs less, and no part has more proofs open", is_taken=True, total=total)


def on_bar(request: Request, bar_id: str) -> Request:
    """The same part with its bar fixed for the order's sake."""
    pins = (*request.job.pins, Pin(quantity="bar", value=bar_id, by="order"))
    return replace(request, job=msgspec.structs.replace(request.job, pins=pins))


def bar_of_order(taken: BlanksTaken | None, *, numbers: Sequence[str], at: int, job: Job, shop: Shop) -> str:
    """The bar that a planned order took for its part `at`, empty where it took none or the job pins one itself.

    numbers: of the order's parts, in order.   shop: one that no longer has the bar takes none.
    """
    if taken is None or not taken.is_taken or any(pin.quantity == "bar" for pin in job.pins):
        return ""
    bar_id = dict(zip(taken.parts, taken.bar_ids, strict=True)).get(names_apart(numbers)[at], "")
    return bar_id if any(bar.id == bar_id for bar in shop.bars) else ""


def _opens_more(anew: Plan, before: Plan) -> bool:
    """Whether more is open or more fails in any one stage."""
    return bool(opens_more(anew.proofs, before.proofs, by=lambda one: one.stage))


def total_of(plans: Sequence[Plan], shop: Shop) -> float:
    """Usual money of the whole order: each part's batch, its own whole bars replaced by the bars shared."""
    sawing, _ = sawn_together(plans, shop)
    money = order_money(plans, sawing)
    return 0.0 if money is None else money.cost.nominal
