"""Whether pieces made by one plan up to a step are just what another plan would have there.

Nothing of the solids is weighed here: the blanks, the moves of every pass cut so far, the cutters that ran them, and
the limits that hold there are either the same in both plans or named. Where all are the same, what the other plan
proves of its later clampings it proves of these pieces too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from proveout.jobs.batch_route import checks_of, route_steps, step_of
from proveout.jobs.place import Place
from proveout.model.batch_events import RouteStep
from proveout.model.finish_order import FinishOrder
from proveout.model.plan import Plan
from proveout.model.shop import Cutter
from proveout.model.work import Clamping

BY_HAND = ("bench", "cabinet")


def differing(old: Place, new: Place, behind: Sequence[str]) -> tuple[str, ...]:
    """What differs, in words; none where pieces that have passed these steps can go on by the new plan.

    Args:     behind: steps of the old plan's route, from the first on.
    """
    return tuple(dict.fromkeys(_differing(old, new, behind)))


def _differing(old: Place, new: Place, behind: Sequence[str]) -> Iterator[str]:
    before, after = route_steps(old.plan), route_steps(new.plan)
    known = {step.id: step for step in before}
    yield from _blanks(old.plan, new.plan)
    for number, id in enumerate(behind):
        step = known.get(id)
        other = after[number] if number < len(after) else None
        if step is None or other is None or (step.id, step.station, step.kind) != (other.id, other.station, other.kind):
            yield f"{id} is not step {number + 1} of the new route"
            return
        if step.kind == "mill":
            yield from _milled(old, new, id)
        elif step.kind in BY_HAND and old.plan.bench != new.plan.bench:
            yield f"{id}: edges are broken otherwise"
        elif step.kind == "outside" and _asked(old.plan, step) != _asked(new.plan, other):
            yield f"{id}: the finisher is asked for something else"
    passed = set(behind)
    limits = [
        {(one.step, one.mark, one.text, one.low, one.high, one.unit)
         for one in checks_of(place.plan, place.shop, steps) if one.step in passed}
        for place, steps in ((old, before), (new, after))
    ]  # fmt: skip
    for step, mark, text, *_ in sorted(limits[0] ^ limits[1], key=str):
        yield f"{step}: the limits of {mark} {text}"


def _blanks(old: Plan, new: Plan) -> Iterator[str]:
    if old.part.alloy != new.part.alloy:
        yield f"the alloy: {old.part.alloy}, now {new.part.alloy}"
    one, other = old.blank.chosen, new.blank.chosen
    if one.bar_id != other.bar_id:
        yield f"the bar: {one.bar_id}, now {other.bar_id}"
    elif (one.low_mm, one.high_mm, one.length_axis, one.grip_side) != (
        other.low_mm, other.high_mm, other.length_axis, other.grip_side
    ):  # fmt: skip
        yield "the blank's size, or how the part lies in it"


def _milled(old: Place, new: Place, step: str) -> Iterator[str]:
    one, other = (next((c for c in place.plan.clampings if step_of(c) == step), None) for place in (old, new))
    if one is None or other is None:
        yield f"{step}: no clamping of that number"
        return
    if _stands(one) != _stands(other):
        yield f"{step}: the work is held otherwise"
    ran = [
        [(p.kind, p.tilt_id, p.cutter_id, p.moves_digest, p.moves_count)
         for p in place.plan.passes if p.clamping_id == clamping.id]
        for place, clamping in ((old, one), (new, other))
    ]  # fmt: skip
    if ran[0] != ran[1]:
        before, after = set(ran[0]), set(ran[1])
        count = max(len(before - after), len(after - before))
        cut = "1 pass is cut otherwise" if count == 1 else f"{count} passes are cut otherwise"
        yield f"{step}: {cut if count else 'its passes run in another order'}"
    used = {cutter for _, _, cutter, *_ in ran[0]}
    shapes = [{c.id: _shape(c) for c in place.shop.cutters if c.id in used} for place in (old, new)]
    for cutter in sorted(used):
        if shapes[0].get(cutter) != shapes[1].get(cutter) or cutter not in shapes[0]:
            yield f"{step}: cutter {cutter} is another one"


def _stands(clamping: Clamping) -> tuple[object, ...]:
    """What places the moves of a clamping in the part."""
    return clamping.machine_id, clamping.frame, clamping.surface, clamping.tilts


def _shape(cutter: Cutter) -> Cutter:
    """A cutter without what it costs and how long it lasts."""
    return replace(cutter, price=0.0, life_s=None)


def _asked(plan: Plan, step: RouteStep) -> list[FinishOrder]:
    """What a finisher is asked to do to a piece, counts and days aside."""
    return [
        replace(one, pieces_count=0, due="", days_low=0, days_high=0, revision="", lacks=(), same_load=())
        for one in plan.finish_orders if one.finisher_id == step.station
    ]  # fmt: skip
