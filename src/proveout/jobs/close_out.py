"""A batch closed out: its events against the plan that it was released with."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from msgspec import structs

from proveout.books.stretches import Told, piece_time, standing_events, stretches
from proveout.intake.shop_file import read_shop
from proveout.jobs.batch_route import COAT
from proveout.jobs.check_plan import read_plan
from proveout.jobs.close_out_money import money_out
from proveout.jobs.close_out_steps import Planned, planned_of
from proveout.jobs.gauge_of_size import gauge_of
from proveout.jobs.meter_cuts import meters_of
from proveout.jobs.packets import named_in
from proveout.jobs.shop_day import day_of
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Counted, Ran, ReadingTaken
from proveout.model.close_out import (
    AwayTime,
    CloseOut,
    CoatRead,
    EdgeTime,
    Grown,
    StepScrap,
    StepTime,
    SurfaceGrowth,
    days_away,
)
from proveout.model.closed_days import closed_dates
from proveout.model.events import Event
from proveout.model.fact import Fact
from proveout.model.outside_events import CameBack, SentOut
from proveout.model.plan import Plan, Window
from proveout.model.shop import Shop
from proveout.model.stock_events import Sawn
from proveout.quantities.canonical import digest_of
from proveout.quantities.distribution import MEDIAN_ERROR, NORMAL_MAD
from proveout.quantities.errors import BadInput, ProveoutError, Refused
from proveout.records.records import Records
from proveout.stages.schedule.calendar import working_days

PLAN = "plan.json"
WITH_SETUP = ("mill", "saw")
SURFACES = (-2.0, -1.0, 1.0, 2.0)
"""How often the growth of a surface counts in a size, with its sign."""
SURFACE_SLACK = 0.05
"""By what share the planned growth of a size may differ from so many surfaces: limits are rounded to the micrometre."""
SOON_RATIO = 0.2
"""Of the fewest planned seconds a piece: what is counted sooner was made before it was counted (our own)."""
ONE_CYCLE_NOISE = 0.02
"""Of the logarithm, where a single cycle of a machine says how long it runs (our own)."""


def close_out_below(records: Records, batch: str, *, plans: Path) -> tuple[CloseOut, str]:
    """The batch of that name, planned against actual, and the name of its shop.

    Args:     plans: folder below which its plan lies: a result folder, or its packet.
    Raises:   BadInput when there is no such batch, or its plan is not there; Refused when it is not released.
    """
    found = records.batch(batch)
    if found is None:
        raise BadInput("There is no such batch", where=records.name, value=batch)
    if not found.is_released:
        raise Refused("The batch is not released, so nothing happened to it", where=batch, value=found.state)
    told = plans_below(plans, wanted=frozenset((found.plan,)))
    if found.plan not in told:
        raise BadInput("The plan that the batch was released with is not there", where=str(plans), value=batch,
                       do="name a folder above it: --plans")  # fmt: skip
    folder, plan = told[found.plan]
    shop = read_shop(folder / "inputs" / "shop.toml")
    return closed_out(found, records.events(batch=batch), plan=plan, shop=shop), shop.name


def plans_below(folder: Path, *, wanted: frozenset[str]) -> dict[str, tuple[Path, Plan]]:
    """Plans by fingerprint, as far as they lie in a folder or below: results and packets."""
    found: dict[str, tuple[Path, Plan]] = {}
    for path in sorted(folder.rglob(PLAN)) if folder.is_dir() else []:
        if wanted <= found.keys():
            break
        try:
            plan, named = read_plan(path.parent), named_in(path.parent)
        except ProveoutError:  # of another version, or half written: not this one
            continue
        digest = named or digest_of(plan)
        if digest in wanted and digest not in found:
            found[digest] = (path.parent, plan)
    return found


def closed_out(batch: Batch, events: Iterable[tuple[int, Event]], *, plan: Plan, shop: Shop) -> CloseOut:
    """Planned against actual. shop: that the plan was made for."""
    told = standing_events(events)
    wanted = planned_of(batch.steps, plan, shop)
    steps = tuple(
        _step(one, wanted[one.id], told, ends_first_way=batch.first_through[-1:] == (one.id,)) for one in batch.steps
    )
    # pieces that left since their revision ended could not be lost here any more, those that came could
    moved = sum(one.brought_count - one.taken_count for one in batch.steps)
    begun = batch.steps[0].good_count + batch.steps[0].bad_count + moved
    good = batch.steps[-1].good_count
    bars = sum(of.bars_count for _, of in told if isinstance(of, Sawn))
    money, why = money_out(batch, plan, shop, steps=steps, bars_count=bars, good_count=good)
    came = {one.id: one.in_count for one in batch.steps}
    return CloseOut(
        batch=batch.batch, part=batch.part, revision=batch.revision, plan=batch.plan, state=batch.state,
        wanted_count=batch.wanted_count, begun_count=begun, good_count=good,
        bad_count=sum(one.count for one in batch.bad), waiting_count=sum(one.waiting_count for one in batch.steps),
        bars_planned_count=plan.bars.bars_count, bars_count=bars, steps=steps,
        scrap=tuple(
            StepScrap(step=one.step, reason=one.reason, count=one.count, in_count=came[one.step]) for one in batch.bad
        ),
        away=_away(batch, told, shop), grown=_grown(batch, told, plan, shop), edges=_edges(plan, told), money=money,
        money_why=why, coats=_coats(batch, told, plan, shop),
        meters=meters_of(told, plan=plan, shop=shop),
    )  # fmt: skip


def _step(step: StepCount, planned: Planned, told: Told, *, ends_first_way: bool) -> StepTime:
    """Taps at a step, and the machine's own cycles where its stream was recorded."""
    found = stretches(told, step.id, ends_first_way=ends_first_way)
    soonest_s = 0.0 if planned.each_s is None else SOON_RATIO * planned.each_s.low
    taken = piece_time(found, has_setup=step.kind in WITH_SETUP, soonest_s=soonest_s)
    cycles = [of for _, of in told if isinstance(of, Ran) and of.step == step.id]
    run_s, noise = _run(cycles)
    pieces = sum(one.pieces_count for one in cycles)
    why = planned.why
    if not why and taken.each_s is None:
        why = "counted once: set-up and pieces are not told apart" if taken.taps_count else "nobody counted here"
        if taken.taps_count and taken.taps_count == taken.afterwards_count:
            why = "counted far sooner than it can be made: written afterwards, which tells no time"
    return StepTime(
        step=step.id, station=step.station, kind=step.kind, pieces_count=step.good_count + step.bad_count,
        planned_s=planned.each_s, actual_s=taken.each_s if step.kind != "outside" else None, parts=planned.parts,
        of=planned.of, noise=taken.noise, run_planned_s=planned.run_s if cycles else None, run_s=run_s,
        run_parts=planned.run_parts if cycles else {}, run_noise=noise,
        held_s=sum(one.held_s for one in cycles) / pieces if pieces else 0.0, cycles_count=len(cycles),
        setup_planned_s=planned.setup_s, setup_actual_s=taken.setup_s, taps_count=taken.taps_count,
        left_out_count=taken.left_out_count, afterwards_count=taken.afterwards_count, why=why,
    )  # fmt: skip


def _run(cycles: list[Ran]) -> tuple[float | None, float]:
    """Seconds a piece that the machine runs, the middle one of its cycles, and how unsure it is in the logarithm."""
    if not cycles:
        return None, 0.0
    each = [one.run_s / one.pieces_count for one in cycles]
    middle = statistics.median(each)
    if len(each) < 3:
        return middle, ONE_CYCLE_NOISE
    spread = NORMAL_MAD * statistics.median([abs(math.log(one / middle)) for one in each])
    return middle, MEDIAN_ERROR * spread / math.sqrt(len(each))


def _away(batch: Batch, told: Told, shop: Shop) -> tuple[AwayTime, ...]:
    """Working days of each lot, from the day it went to the day the last of it came, as the shop's days were."""
    known = {one.id: one for one in shop.finishers}
    sent = {of.lot: date.fromisoformat(day_of(event)) for event, of in told if isinstance(of, SentOut)}
    back = {of.lot: date.fromisoformat(day_of(event)) for event, of in told if isinstance(of, CameBack)}
    found: list[AwayTime] = []
    for lot in batch.lots:
        finisher = known.get(lot.finisher)
        closed = closed_dates(finisher.closed if finisher is not None else None)
        days = None
        if lot.lot in back and lot.back_count + lot.missing_count >= lot.sent_count:
            days = working_days(sent[lot.lot], back[lot.lot], closed)
        planned = None if finisher is None else days_away(finisher)
        found.append(AwayTime(finisher=lot.finisher, lot=lot.lot, count=lot.sent_count, days=days, planned=planned))
    return tuple(found)


def _coats(batch: Batch, told: Told, plan: Plan, shop: Shop) -> tuple[CoatRead, ...]:
    """Thickness of coats as read, lot by lot."""
    asked = {one.finisher_id: one.thickness_mm for one in plan.finish_orders}
    known = {name: one.uncertainty_mm for one in shop.gauges for name in (one.id, one.name) if name}
    stations = {step.id: step.station for step in batch.steps if step.kind == "outside"}
    read = [of for _, of in told if isinstance(of, ReadingTaken)]
    found: list[CoatRead] = []
    for check in (one for one in batch.checks if one.mark == COAT and one.step in stations):
        low, high = check.low, check.high
        ordered = None
        if low is not None and high is not None:
            ordered = Fact(low=low, nominal=0.5 * (low + high), high=high, unit="mm", source="order to the finisher",
                           strength="assumed")  # fmt: skip
        thickness = asked.get(stations[check.step])
        lots: dict[str, list[ReadingTaken]] = {}
        for of in read:
            if (of.step, of.mark) == (check.step, COAT):
                lots.setdefault(of.lot, []).append(of)
        for lot, own in sorted(lots.items()):
            values = [of.value for of in own]
            unsure = [known.get(of.gauge) for of in own]
            found.append(
                CoatRead(finisher=stations[check.step], lot=lot, count=len(values), ordered=ordered, low=min(values),
                         mean=statistics.fmean(values), high=max(values), pieces=_by_piece(own),
                         at_mm=None if thickness is None else thickness.nominal,
                         uncertainty_mm=None if None in unsure else max(filter(None, unsure), default=0.0))
            )  # fmt: skip
    return tuple(found)


def _by_piece(own: list[ReadingTaken]) -> tuple[float, ...]:
    """The reading of each piece, its mean where it was read again; readings of no named piece each count."""
    pieces: dict[str, list[float]] = {}
    for number, of in enumerate(own):
        pieces.setdefault(of.piece or f"reading {number}", []).append(of.value)
    return tuple(statistics.fmean(values) for values in pieces.values())


def _grown(batch: Batch, told: Told, plan: Plan, shop: Shop) -> tuple[Grown, ...]:
    """Sizes that were read before and after the coat."""
    order = {step.id: number for number, step in enumerate(batch.steps)}
    outside = [number for number, step in enumerate(batch.steps) if step.kind == "outside"]
    if not outside:
        return ()
    coat = batch.steps[outside[0]]
    read = [of for _, of in told if isinstance(of, ReadingTaken)]
    found: list[Grown] = []
    for window in plan.finishing.windows:
        if window.is_masked or not window.is_decided or window.kind == "thread":
            continue
        before = [of for of in read if of.mark == window.mark and order[of.step] < outside[0]]
        after = [of for of in read if of.mark == window.mark and order[of.step] > outside[0]]
        if before and after:
            grown = _grown_at(window, coat.station, before, after)
            found.append(structs.replace(grown, surface=_surface(grown, window, plan, shop, before, after)))
    return tuple(found)


def _surface(
    grown: Grown, window: Window, plan: Plan, shop: Shop, before: list[ReadingTaken], after: list[ReadingTaken]
) -> SurfaceGrowth | None:  # fmt: skip
    """The growth of one surface, where the size's planned growth is once or twice that of the plan's plain surface."""
    order = next((one for one in plan.finish_orders if one.finisher_id == grown.finisher), None)
    gauge = gauge_of(plan, shop, balloon=window.balloon, text=window.text)
    if order is None or order.build_up_mm is None or order.thickness_mm is None or gauge is None:
        return None
    build = order.build_up_mm
    if build.low + build.high <= 0.0:
        return None
    ratio = (grown.planned.low + grown.planned.high) / (build.low + build.high)
    surfaces = next((one for one in SURFACES if abs(ratio / one - 1.0) <= SURFACE_SLACK), None)
    first = {of.piece: of.value for of in before if of.piece}
    lots: dict[str, list[float]] = {}
    for of in after:
        if of.piece in first and surfaces is not None:
            lots.setdefault(of.lot, []).append((of.value - first[of.piece]) / surfaces)
    if surfaces is None or not lots:
        return None
    return SurfaceGrowth(
        lots=tuple((lot, tuple(values)) for lot, values in sorted(lots.items())),
        thickness_mm=order.thickness_mm.nominal, planned=build,
        uncertainty_mm=math.sqrt(2.0) * gauge.uncertainty_mm / abs(surfaces),
    )  # fmt: skip


def _grown_at(window: Window, finisher: str, before: list[ReadingTaken], after: list[ReadingTaken]) -> Grown:
    ends = sorted((window.finished_low_mm - window.before_low_mm, window.finished_high_mm - window.before_high_mm))
    planned = Fact(low=ends[0], nominal=0.5 * (ends[0] + ends[1]), high=ends[1], unit="mm",
                   source="own-algorithm: finished limits less those before the coat", strength="assumed")  # fmt: skip
    first = {of.piece: of.value for of in before if of.piece}
    pairs = [of.value - first[of.piece] for of in after if of.piece in first]
    if len(pairs) >= 2:
        mean, deviation = statistics.fmean(pairs), statistics.stdev(pairs) / math.sqrt(len(pairs))
    else:
        sides = [[of.value for of in some] for some in (before, after)]
        mean = statistics.fmean(sides[1]) - statistics.fmean(sides[0])
        pairs = []
        squares = [statistics.variance(some) / len(some) if len(some) > 1 else math.inf for some in sides]
        deviation = math.sqrt(sum(squares)) if math.isfinite(sum(squares)) else abs(mean)
    return Grown(
        mark=window.mark, text=window.text, finisher=finisher, planned=planned, mean=mean, deviation=deviation,
        before_count=len(before), after_count=len(after), pairs_count=len(pairs),
    )  # fmt: skip


def _edges(plan: Plan, told: Told) -> tuple[EdgeTime, ...]:
    """Cutters in cut, a piece, as the counts say."""
    used: dict[tuple[str, str], float] = {}
    pieces: dict[tuple[str, str], int] = {}
    for _, of in told:
        if not isinstance(of, Counted):
            continue
        for one in (use for use in of.used if not use.is_reckoned):  # else the plan would be held against itself
            key = (one.machine, one.cutter)
            used[key] = used.get(key, 0.0) + one.used_s
            pieces[key] = pieces.get(key, 0) + of.pieces_count
    known = {(one.machine_id, one.cutter_id): one for one in plan.cutter_uses}
    return tuple(
        EdgeTime(
            machine=key[0], cutter=key[1], planned_s=known[key].piece_s if key in known else None,
            actual_s=seconds / max(1, pieces[key]), life_s=known[key].life_s if key in known else None,
        )
        for key, seconds in sorted(used.items())
    )  # fmt: skip
