"""The way of each part through the shop, from its plan: stations in order with their seconds, then the days outside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from proveout.model.fact import Fact, Strength, exact_fact, weaker_of
from proveout.model.order import OrderedPart
from proveout.model.plan import Plan, TimeLine
from proveout.model.schedule import StepKind
from proveout.model.shop import Finisher, Shop
from proveout.model.work import Clamping
from proveout.stages.schedule.calendar import DAYS_A_WEEK
from proveout.stages.schedule.hours import BY_HAND, made_count, names_of

CABINET = "cabinet"
SAME_ANGLE_RAD = 1e-9
NOTHING = exact_fact(0.0, "s", "own-algorithm", "assumed")


class Op(NamedTuple):
    """What is done with every piece at one station.

    running: seconds of the machine alone a piece; by_hand: of a person a piece, the machine standing, at the saw of all
    blanks together, as on the saw ticket; setup: before the first piece and after every other work on that machine;
    prepare: jaws, proving out and its trial blanks, once.  others: machines that could do it as well, as far as turning
    goes.  told: as people call it, op 1 or op 1 + op 2 of clampings.
    """

    name: str
    kind: StepKind
    station: str
    running: Fact
    by_hand: Fact
    setup: Fact = NOTHING
    prepare: Fact = NOTHING
    clamping_ids: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    told: str = ""


class Route(NamedTuple):
    """One part. ops: in order, before it goes out; kit: seconds a piece once back; rides_with: in one coat load.

    blanks_count: all that is sawn, trial_count of it trial blanks, without which nothing is proved out. bar_ids: bars
    that its lot waits for, none where the rack gives the whole lot and no other part asks for them; may_be_racked: the
    rack could give the whole lot, but another part asks for bars of the kind.
    """

    number: str
    ordered_count: int
    sawn_count: int
    scrap: Fact
    programming: Fact
    ops: tuple[Op, ...]
    finishers: tuple[Finisher, ...]
    kit: Fact
    due: str
    rides_with: tuple[str, ...]
    unknown_finishers: tuple[str, ...]
    blanks_count: int = 0
    bar_ids: tuple[str, ...] = ()
    may_be_racked: bool = False
    trial_count: int = 0

    def pieces(self, scrap_ratio: float) -> int:
        """Pieces to make so that enough are good, as far as blanks are sawn."""
        return made_count(ordered_count=self.ordered_count, sawn_count=self.sawn_count, scrap_ratio=scrap_ratio)


def routes_of(parts: Sequence[OrderedPart], shop: Shop) -> tuple[Route, ...]:
    """One route a part, numbers made distinct."""
    found: list[Route] = []
    for at, (part, name) in enumerate(zip(parts, names_of(parts), strict=True)):
        others = {bar_id for n, other in enumerate(parts) if n != at for bar_id in _bars_of(other)}
        found.append(_route(part, shop, name, others))
    return tuple(found)


def _bars_of(part: OrderedPart) -> tuple[str, ...]:
    return tuple(sorted({pattern.bar_id for pattern in part.plan.bars.patterns}))


def _route(part: OrderedPart, shop: Shop, number: str, others: set[str]) -> Route:
    """others: bars that other parts of the order ask for."""
    plan, job = part.plan, part.job
    bars, racked = _bars_of(part), bool(plan.bars.rack)
    is_shared = bool(others & set(bars))
    by_id = {f.id: f for f in shop.finishers}
    wanted = job.finisher_ids
    rides = next((o.same_load for o in plan.finish_orders if o.same_load), ())
    bench = [line for line in plan.time.lines if line.station == "bench" and line.per == "piece"]
    kit = [line for line in bench if line.text.startswith("kit")]
    blast = [line for line in bench if line.text == "blast"]
    hand = [line for line in bench if line not in kit and line not in blast]
    ops = [_saw(part, shop), *_machine_ops(part, shop)]
    if hand:
        ops.append(Op(name="bench", kind="bench", station="bench", running=NOTHING, by_hand=_sum(hand)))
    if blast:
        ops.append(Op(name="blast", kind="blast", station=CABINET, running=NOTHING, by_hand=_sum(blast)))
    return Route(
        number=number, ordered_count=plan.part.quantity, sawn_count=plan.bars.pieces_count, scrap=shop.scrap_ratio,
        programming=_sum([x for x in plan.time.lines if x.per == "design" and x.station == "bench"]),
        ops=tuple(op for op in ops if op.running.high + op.by_hand.high + op.setup.high + op.prepare.high > 0.0),
        finishers=tuple(by_id[n] for n in wanted if n in by_id), kit=_sum(kit), due=job.order.due,
        rides_with=tuple(sorted(rides)),
        unknown_finishers=tuple(n for n in wanted if n not in by_id),
        blanks_count=max(plan.bars.blanks_count, plan.part.quantity, 1),
        bar_ids=() if racked and not is_shared else bars, may_be_racked=racked and is_shared,
        trial_count=plan.bars.trial_count,
    )  # fmt: skip


def _saw(part: OrderedPart, shop: Shop) -> Op:
    """Strokes and sawing of every blank, spares and trial blanks too; a person stands by."""
    lines, ratio = [x for x in part.plan.time.lines if x.station == "saw"], shop.money.setup_ratio
    return Op(
        name="saw", kind="saw", station="saw", running=NOTHING,
        by_hand=_off(_sum([x for x in lines if x.text != "set up"]), ratio),
        setup=_off(_sum([x for x in lines if x.text == "set up"]), ratio),
    )  # fmt: skip


def _machine_ops(part: OrderedPart, shop: Shop) -> list[Op]:
    """One for each clamping, or for the clampings that lie side by side in one cycle."""
    plan = part.plan
    kinds = {m.id: m.kind for m in shop.machines}
    groups: dict[tuple[str, ...], list[Clamping]] = {}
    for clamping in sorted(plan.clampings, key=lambda c: c.number):
        load = plan.load_of(clamping.id)
        key = (clamping.id,) if load is None else plan.table_loads[load].clamping_ids
        groups.setdefault(key, []).append(clamping)
    longest = [x for x in plan.time.lines if x.text == "prove-out"]
    found: list[Op] = []
    for group in groups.values():
        station = group[0].machine_id
        ids = tuple(c.id for c in group)
        lines = [x for x in plan.time.lines if x.text.partition(":")[0] in ids and x.station == station]
        piece = [x for x in lines if x.per == "piece"]
        level = not any(len(c.tilts) > 1 or any(abs(t.a_rad) > SAME_ANGLE_RAD for t in c.tilts) for c in group)
        others = tuple(m for m in sorted(kinds) if m != station and (level or kinds[m] == "3+2"))
        prepare = [x for x in lines if x.per == "design"]
        if longest and longest[0].station == station:
            prepare.append(longest.pop())
        found.append(
            Op(
                name=" + ".join(ids), kind="machine", station=station,
                running=_sum([x for x in piece if not x.text.endswith(BY_HAND)]),
                by_hand=_sum([x for x in piece if x.text.endswith(BY_HAND)]),
                setup=_off(_sum([x for x in lines if x.per == "batch"]), shop.money.setup_ratio),
                prepare=_sum(prepare),
                clamping_ids=ids, others=others, told=ops_named(plan, " + ".join(ids)),
            )
        )  # fmt: skip
    return found


def ops_named(plan: Plan, text: str) -> str:
    """A text with the ids of clampings put as their operations."""
    for one in sorted(plan.clampings, key=lambda c: (-len(c.id), c.id)):
        text = text.replace(one.id, f"op {one.number}")
    return text


def _sum(lines: Sequence[TimeLine]) -> Fact:
    """All best ends together, all worst ends together; known no better than the worst known of those that vary."""
    every: list[Strength] = [x.seconds.strength for x in lines]
    varying: list[Strength] = [x.seconds.strength for x in lines if x.seconds.low < x.seconds.high]
    known = varying or every
    if not known:
        return NOTHING
    strength = known[0]
    for other in known:
        strength = weaker_of(strength, other)
    return Fact(
        low=sum(x.seconds.low for x in lines), nominal=sum(x.seconds.nominal for x in lines),
        high=sum(x.seconds.high for x in lines), unit="s", source="own-algorithm: lines of the plan",
        strength=strength,
    )  # fmt: skip


def _off(fact: Fact, ratio: Fact | None) -> Fact:
    """Minutes of set-ups and saw as far off as the shop file says, where they have no ends of their own: as priced."""
    if ratio is None or fact.low < fact.high:
        return fact
    return Fact(
        low=fact.low * ratio.low, nominal=fact.nominal * ratio.nominal, high=fact.high * ratio.high, unit=fact.unit,
        source=ratio.source, strength=ratio.strength,
    )  # fmt: skip


def spindle_share(shop: Shop) -> float:
    """Hours of the shift for each hour that a machine may run: 40 a week for 30 are 4 thirds."""
    return shop.shift_h * DAYS_A_WEEK / shop.spindle_h_per_week
