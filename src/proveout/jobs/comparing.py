"""Hold two plans side by side and tell only what differs: decisions, proofs, sizes, minutes, money and dates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from proveout.model.cost_band import Range
from proveout.model.differences import Differences, Ends, PassChange, ProofChange, Shift, SizeChange, Swap
from proveout.model.fact import Fact
from proveout.model.order import OrderLoad
from proveout.model.plan import InspectionLine, Plan, Window
from proveout.model.proof import Proof, weakest_first
from proveout.model.work import Clamping, Pass

Thing = TypeVar("Thing")
NOISE = 1e-9
"""Numbers that lie no farther apart, as a share of themselves, are one: the last digits of two machines' sums."""
PASS_NUMBERS = (
    ("speed", "rad/s", "speed_rad_per_s"), ("feed per tooth", "mm", "tooth_feed_mm"),
    ("width of cut", "mm", "radial_mm"), ("depth of cut", "mm", "axial_mm"), ("length of cut", "mm", "cut_length_mm"),
)  # fmt: skip
SIZE_FIELDS = (
    "text", "finished_low_mm", "finished_high_mm", "before_low_mm", "before_high_mm", "is_masked", "is_decided",
)  # fmt: skip


def compare(
    old: Plan, new: Plan, *, old_load: OrderLoad | None = None, new_load: OrderLoad | None = None
) -> Differences:
    """From the old plan to the new one.

    Args:     old_load, new_load: the same against the calendar, None where nobody asked; without both no day on which
              the work is done is told.
    """
    return Differences(
        choices=_choices(old, new), numbers=_numbers(old, new), passes=_passes(old, new), proofs=_proofs(old, new),
        sizes=_sizes(old, new), minutes=_minutes(old, new), money=_money(old, new),
        dates=_dates(old, new, old_load, new_load), ready=None if old.ready == new.ready else (old.ready, new.ready),
    )  # fmt: skip


def _choices(old: Plan, new: Plan) -> tuple[Swap, ...]:
    """What was chosen, thing by thing."""
    tables = [_chosen(plan) for plan in (old, new)]
    found = [
        Swap(what=what, old=tables[0].get(what, ""), new=tables[1].get(what, ""))
        for what in _keys(*tables)
        if tables[0].get(what, "") != tables[1].get(what, "")
    ]
    for what, sets in (("cutters", _cutters), ("not cut", _not_cut), ("reached by nothing", _unreached)):
        before, after = sets(old), sets(new)
        if before != after:
            gone, more = (", ".join(sorted(a - b)) for a, b in ((before, after), (after, before)))
            found.append(Swap(what=what, old=gone, new=more))
    return tuple(found)


def _chosen(plan: Plan) -> dict[str, str]:
    """Every choice by what it is of."""
    blank = plan.blank.chosen
    found = {"bar": "none of the shop fits" if blank.is_ideal else blank.bar_id, "alloy": plan.part.alloy}
    if plan.metal_unknown:
        found["figures of the metal"] = plan.metal_unknown
    for one in plan.clampings:
        found |= _held(one)
    for load in plan.table_loads:
        found[f"in one cycle on {load.machine_id}"] = load.id
    for form in plan.jaw_forms:
        found[f"soft jaws of clamping {_number(plan, form.clamping_id)}"] = f"cut with {form.cutter_id or 'nothing'}"
    for line in plan.inspection:
        found[f"gauge of {line.balloon} {line.text}"] = _gauged(line)
    return found


def _held(one: Clamping) -> dict[str, str]:
    head, jaws = f"clamping {one.number}", one.jaws_id
    tilts = ", ".join(tilt.id for tilt in one.tilts)
    return {
        f"{head}: up": _up(one), f"{head}: machine": one.machine_id, f"{head}: vise": one.vise_id,
        f"{head}: jaws": jaws, f"{head}: tilts": tilts,
    }  # fmt: skip


def _up(clamping: Clamping) -> str:
    """The side of the part that looks up, as "+z"."""
    z = clamping.frame.z
    axis = max(range(3), key=lambda i: abs(z[i]))
    return ("+" if z[axis] > 0.0 else "-") + "xyz"[axis]


def _gauged(line: InspectionLine) -> str:
    return f"{line.gauge}, {line.how_often}"


def _number(plan: Plan, clamping_id: str) -> str:
    return next((str(c.number) for c in plan.clampings if c.id == clamping_id), clamping_id)


def _cutters(plan: Plan) -> frozenset[str]:
    return frozenset(one.cutter_id for one in plan.passes)


def _not_cut(plan: Plan) -> frozenset[str]:
    return frozenset(one.subject for one in plan.not_cut)


def _unreached(plan: Plan) -> frozenset[str]:
    return frozenset(plan.survey.unreached)


def _numbers(old: Plan, new: Plan) -> tuple[Shift, ...]:
    return _shifts(_measured(old), _measured(new))


def _measured(plan: Plan) -> dict[tuple[str, str], Ends | None]:
    """Decided numbers by what they are and their unit."""
    blank = plan.blank.chosen
    found: dict[tuple[str, str], Ends | None] = {
        ("pieces wanted", "pieces"): _exact(plan.part.quantity),
        ("pieces sawn", "pieces"): _exact(plan.bars.pieces_count),
        ("cut length", "mm"): _exact(blank.cut_length_mm),
        ("pieces from a bar", "pieces"): _exact(blank.pieces_per_bar),
        ("bars", "bars"): _exact(plan.bars.bars_count),
        ("clampings", "clampings"): _exact(len(plan.clampings)),
    }
    numbers = {c.id: c.number for c in plan.clampings}
    for one in plan.clampings:
        found[f"clamping {one.number}: between the jaws", "mm"] = _exact(one.gap_mm)
        found[f"clamping {one.number}: height of grip", "mm"] = _of(one.patch_height_mm)
    for force in plan.clamp_forces:
        head = f"clamping {numbers.get(force.clamping_id, force.clamping_id)}"
        found[f"{head}: torque at the handle", "N mm"] = (
            None if force.torque_n_mm is None else _exact(force.torque_n_mm)
        )
        found[f"{head}: jaw force", "N"] = None if force.force_n is None else _of(force.force_n)
    return found


def _passes(old: Plan, new: Plan) -> tuple[PassChange, ...]:
    """Changed and new ones in their order of work, then those that are gone."""
    before, after = _by_id(old.passes, lambda p: p.id), _by_id(new.passes, lambda p: p.id)
    found: list[PassChange] = []
    for key, now in after.items():
        was = before.get(key)
        if was is None:
            found.append(PassChange(old=None, new=now))
            continue
        numbers = _shifts(_pass_numbers(was), _pass_numbers(now))
        are_other = was.moves_digest != now.moves_digest
        if numbers or are_other:
            found.append(PassChange(old=was, new=now, numbers=numbers, are_moves_other=are_other))
    found += [PassChange(old=was, new=None) for key, was in before.items() if key not in after]
    return tuple(found)


def _pass_numbers(one: Pass) -> dict[tuple[str, str], Ends | None]:
    return {(what, unit): _exact(getattr(one, field)) for what, unit, field in PASS_NUMBERS}


def _proofs(old: Plan, new: Plan) -> tuple[ProofChange, ...]:
    """Matched by id; those of which verdict, margin or limit moved, and those that came or went."""
    before, after = _by_id(old.proofs, lambda p: p.id), _by_id(new.proofs, lambda p: p.id)
    changed = {k: now for k, now in after.items() if k not in before or _is_other(before[k], now)}
    gone = {key: was for key, was in before.items() if key not in after}
    return tuple(
        ProofChange(old=before.get(key), new=after.get(key))
        for group in (changed, gone)
        for key in sorted(group, key=_places(group))
    )


def _places(group: Mapping[tuple[str, int], Proof]) -> Callable[[tuple[str, int]], int]:
    """Where each proof of a group comes when the weakest stands first."""
    order = weakest_first(tuple(group.values()))
    place = {id(proof): number for number, proof in enumerate(order)}
    return lambda key: place[id(group[key])]


def _is_other(was: Proof, now: Proof) -> bool:
    if (was.verdict, was.blocks_release) != (now.verdict, now.blocks_release):
        return True
    return not (_same(was.margin, now.margin) and _same(was.limit, now.limit))


def _sizes(old: Plan, new: Plan) -> tuple[SizeChange, ...]:
    before, after = (_by_id(plan.finishing.windows, lambda w: w.mark) for plan in (old, new))
    return tuple(
        SizeChange(old=before.get(key), new=after.get(key))
        for key in _keys(before, after)
        if key not in before or key not in after or _is_resized(before[key], after[key])
    )


def _is_resized(was: Window, now: Window) -> bool:
    return any(not _same(getattr(was, field), getattr(now, field)) for field in SIZE_FIELDS)


def _minutes(old: Plan, new: Plan) -> tuple[Shift, ...]:
    return _shifts(_seconds(old), _seconds(new))


def _seconds(plan: Plan) -> dict[tuple[str, str], Ends | None]:
    if plan.metal_unknown:
        return {}
    found: dict[tuple[str, str], Ends | None] = {
        ("work on a piece, all stations", "s"): _of(plan.time.piece_s),
        ("work on the batch beside its pieces", "s"): _of(plan.time.batch_s),
    }
    for clamping in plan.clampings:
        if clamping.id in plan.time.cycle_s:
            found[f"clamping {clamping.number}: machine running", "s"] = _exact(plan.time.cycle_s[clamping.id])
    return found


def _money(old: Plan, new: Plan) -> tuple[Shift, ...]:
    return _shifts(_prices(old), _prices(new))


def _prices(plan: Plan) -> dict[tuple[str, str], Ends | None]:
    if plan.metal_unknown:
        return {}
    cost, unit = plan.cost, plan.cost.currency
    found: dict[tuple[str, str], Ends | None] = {
        ("a piece", unit): _of(cost.each), ("the batch", unit): _of(cost.batch),
        ("bars to buy", unit): _exact(plan.bars.price),
    }  # fmt: skip
    if cost.band is not None:
        found["a piece, eight draws in ten", unit] = _inner(cost.band.each)
        found["a piece, middle of the draws", unit] = _exact(cost.band.each.p50)
    return found


def _inner(band: Range) -> Ends:
    return (band.p10, band.p90)


def _dates(old: Plan, new: Plan, old_load: OrderLoad | None, new_load: OrderLoad | None) -> tuple[Swap, ...]:
    """Days that moved; of the calendar only where both were held against it."""
    pairs = [("first day of work", old.start, new.start), ("wanted by", old.due, new.due)]
    if old_load is not None and new_load is not None:
        before, after = _days(old_load), _days(new_load)
        pairs += [(what, before.get(what, ""), after.get(what, "")) for what in _keys(before, after)]
    return tuple(Swap(what=what, old=was, new=now) for what, was, now in pairs if was != now)


def _days(load: OrderLoad) -> dict[str, str]:
    found = {"in time": {"fits": "yes", "late": "no"}.get(load.verdict, "not shown")}
    if load.schedule is not None:
        plan, promise = load.schedule, load.schedule.promise
        found |= {
            "done": plan.done, "done at the worst ends": plan.done_worst, "bottleneck": plan.bottleneck,
            "half of the drawn cases are done by": promise.half_day,
            "95 % of the drawn cases are done by": promise.nearly_all_day,
        }  # fmt: skip
    return found


def _shifts(
    old: Mapping[tuple[str, str], Ends | None], new: Mapping[tuple[str, str], Ends | None]
) -> tuple[Shift, ...]:  # fmt: skip
    """Numbers that are not the same on both sides, in the order of the new ones, then those only the old side has."""
    return tuple(
        Shift(
            what=key[0], unit=key[1], old=old.get(key), new=new.get(key), is_new=key not in old, is_gone=key not in new
        )
        for key in _keys(new, old)
        if key not in old or key not in new or not _are_same(old[key], new[key])
    )


def _are_same(was: Ends | None, now: Ends | None) -> bool:
    if was is None or now is None:
        return was is now
    return all(_same(a, b) for a, b in zip(was, now, strict=True))


def _same(was: object, now: object) -> bool:
    if isinstance(was, float) and isinstance(now, float):
        return abs(was - now) <= NOISE * max(abs(was), abs(now), NOISE)
    return was == now


def _exact(value: float) -> Ends:
    return (float(value), float(value))


def _of(fact: Fact) -> Ends:
    return (fact.low, fact.high)


def _keys(first: Mapping[Thing, object], second: Mapping[Thing, object]) -> list[Thing]:
    """Keys of both, in the order of the first and then of the second."""
    return list(dict.fromkeys([*first, *second]))


def _by_id(things: Iterable[Thing], name: Callable[[Thing], str]) -> dict[tuple[str, int], Thing]:
    """Things by their id, several of one id told apart by their order."""
    found: dict[tuple[str, int], Thing] = {}
    seen: dict[str, int] = {}
    for one in things:
        key = name(one)
        found[key, seen.get(key, 0)] = one
        seen[key] = seen.get(key, 0) + 1
    return found
