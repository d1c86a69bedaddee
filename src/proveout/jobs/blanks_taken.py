"""Blanks that cost an order less than those of its plans: planned again on their bars, and taken where that holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

from proveout.jobs.sawn import sawn_together
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.proof import open_proofs
from proveout.model.sawing import BlanksTaken
from proveout.model.shop import Shop

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
    changed = [number for number, plan in enumerate(plans) if plan.part.number in wishes]
    parts = tuple(plans[number].part.number for number in changed)
    bar_ids = tuple(wishes[part].bar_id for part in parts)

    def told(why: str, *, is_taken: bool = False, total: float | None = None) -> BlanksTaken:
        return BlanksTaken(
            is_taken=is_taken, parts=parts, bar_ids=bar_ids, planned_total=planned_total, total=total, why=why
        )

    if not changed:
        return {}, told("no other choice among the blanks that the plans name costs the order less")
    pinned = [plans[n].part.number for n in changed if any(pin.quantity == "bar" for pin in jobs[n].pins)]
    if pinned:
        return {}, told(f"the bar of {' and '.join(pinned)} is pinned in its job file")
    anew = {number: plan_on(number, wishes[plans[number].part.number].bar_id) for number in changed}
    after = [anew.get(number, plan) for number, plan in enumerate(plans)]
    total = total_of(after, shop)
    worse = [plans[n].part.number for n in changed if anew[n].bars.status == "cannot" or _opens_more(anew[n], plans[n])]
    if worse:
        return {}, told(f"{' and '.join(worse)} would have more proofs open that block its release", total=total)
    if total > planned_total - CENT:
        return {}, told("with all that hangs on the bars the order would not cost less", total=total)
    return anew, told("the whole order costs less, and no part has more proofs open", is_taken=True, total=total)


def _opens_more(anew: Plan, before: Plan) -> bool:
    """Whether more is open or more fails in any one stage: a grip that gives way is not made good by a size shown."""
    opens, opened = open_proofs(anew.proofs), open_proofs(before.proofs)
    more = Counter(one.stage for one in opens) - Counter(one.stage for one in opened)
    fail = Counter(one.stage for one in opens if one.verdict == "fails")
    return bool(more) or bool(fail - Counter(one.stage for one in opened if one.verdict == "fails"))


def total_of(plans: Sequence[Plan], shop: Shop) -> float:
    """Usual money of the whole order: each part's batch, its own whole bars replaced by the bars shared."""
    sawing, _ = sawn_together(plans, shop)
    known = [plan for plan in plans if not plan.metal_unknown]
    return round(sum(plan.cost.batch.nominal for plan in known) - sawing.alone_price + sawing.price, 2)
