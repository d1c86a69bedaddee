"""Which planned seconds belong to which step of a batch's route, and what kind of minutes they are."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.jobs.batch_route import station_of_step
from proveout.model.batch import StepCount
from proveout.model.fact import Fact
from proveout.model.minute_factors import MinuteKind, factor_of, minute_kind
from proveout.model.plan import Plan, TimeLine
from proveout.model.shop import Noun, Shop
from proveout.stages.timing.decide import BENCH, SAW, total_s

BENCH_WORK = {"break edges": "deburr", "gauge": "gauging", "blast": "blast", "plug": "plug", "kit and box": "kit"}
"""What the lines of the bench say, and the stem of the shop's key that each rests on."""
OWN_STEP = {"blast": "cabinet", "gauging": "inspection", "kit": "packing"}
"""Work at the bench that a route may give a step of its own, by the kind of that step."""
LOADING = ("unload and load", "blow off vise and work")


class Planned(Noun, frozen=True, kw_only=True):
    """Of one step, a piece: all its seconds, those of the machine alone, and the seconds of setting up the batch.

    parts, run_parts: by kind, at a factor of 1; by hand how often the shop's own number goes in.   of: whose factors
    those are, empty where none are learned.
    """

    each_s: Fact | None
    parts: dict[str, float] = {}
    run_s: Fact | None = None
    run_parts: dict[str, float] = {}
    setup_s: float | None = None
    of: str = ""
    why: str = ""


def planned_of(steps: tuple[StepCount, ...], plan: Plan, shop: Shop) -> dict[str, Planned]:
    """What was planned for every step, by its name."""
    if plan.metal_unknown:
        return {step.id: Planned(each_s=None, why="the shop's figures are not for this metal") for step in steps}
    found: dict[str, Planned] = {}
    clampings = _clampings(steps, plan)
    kinds = {step.kind for step in steps}
    has_bench = False
    for step in steps:
        if step.kind == "mill":
            found[step.id] = _milled(clampings.get(step.id, ""), plan, shop)
        elif step.kind == "saw":
            found[step.id] = _sawn(plan)
        elif step.kind == "outside":
            found[step.id] = Planned(each_s=None, why="away: its days are told apart")
        else:
            stems = {stem for stem, kind in OWN_STEP.items() if kind == step.kind}
            if step.kind == "bench" and not has_bench:
                has_bench = True
                stems = {stem for stem in BENCH_WORK.values() if OWN_STEP.get(stem) not in kinds}
            found[step.id] = _by_hand(plan, shop, stems)
    return found


def _clampings(steps: tuple[StepCount, ...], plan: Plan) -> dict[str, str]:
    """The clamping of each step at a machine: as its route was made, else the next one on that machine."""
    ids = {one.id for one in plan.clampings}
    named = {step.id: station_of_step(plan, step.id) for step in steps if step.kind == "mill"}
    found = {step: clamping for step, clamping in named.items() if clamping in ids}
    left = [one for one in sorted(plan.clampings, key=lambda one: one.number) if one.id not in found.values()]
    for step in steps:
        if step.kind != "mill" or step.id in found:
            continue
        own = next((one for one in left if one.machine_id == step.station), None)
        if own is not None:
            left.remove(own)
            found[step.id] = own.id
    return found


def _milled(clamping: str, plan: Plan, shop: Shop) -> Planned:
    lines = [one for one in plan.time.lines if clamping and one.text.startswith(f"{clamping}: ")]
    each = [one for one in lines if one.per == "piece"]
    if not each:
        return Planned(each_s=None, why="the plan has no clamping for this step")
    kinds: dict[str, MinuteKind] = {one.id: minute_kind(one.kind) for one in plan.passes}
    machine = next((one for one in shop.machines if one.id == each[0].station), None)
    parts: dict[str, float] = {}
    for line in each:
        kind: MinuteKind = kinds[line.pass_id] if line.pass_id in kinds else _beside(line)
        factor = None if machine is None else factor_of(machine.minutes, kind)
        parts[kind] = parts.get(kind, 0.0) + line.seconds.nominal / (1.0 if factor is None else factor.nominal)
    runs = [one for one in each if one.cause == "moves"]
    return Planned(
        each_s=total_s(one.seconds for one in each), parts=parts, run_s=total_s(one.seconds for one in runs),
        run_parts={kind: seconds for kind, seconds in parts.items() if kind != "loading"},
        setup_s=sum(one.seconds.nominal for one in lines if one.per == "batch" and one.cause == "set-up"),
        of=each[0].station,
    )  # fmt: skip


def _beside(line: TimeLine) -> MinuteKind:
    return "loading" if line.text.endswith(LOADING) else "changes"


def _sawn(plan: Plan) -> Planned:
    lines = [one for one in plan.time.lines if one.station == SAW and one.per == "batch"]
    sawing = [one.seconds for one in lines if one.cause == "sawing"]
    count = max(1, plan.bars.blanks_count)
    total = total_s(sawing)
    each = Fact(
        low=total.low / count, nominal=total.nominal / count, high=total.high / count, unit="s", source=total.source,
        strength=total.strength,
    )  # fmt: skip
    return Planned(
        each_s=each if sawing else None, setup_s=sum(one.seconds.nominal for one in lines if one.cause == "set-up"),
        why="" if sawing else "nothing is sawn",
    )  # fmt: skip


def _by_hand(plan: Plan, shop: Shop, stems: Iterable[str]) -> Planned:
    wanted = set(stems)
    lines: list[tuple[str, Fact]] = []
    for line in plan.time.lines:
        stem = next((stem for words, stem in BENCH_WORK.items() if words in line.text), "")
        if line.station == BENCH and line.per == "piece" and stem in wanted:
            lines.append((stem, line.seconds))
    if not lines:
        return Planned(each_s=None, why="the plan has no work by hand for this step")
    parts: dict[str, float] = {}
    for stem, seconds in lines:
        own: Fact = getattr(shop.bench, f"{stem}_s")
        parts[stem] = parts.get(stem, 0.0) + (seconds.nominal / own.nominal if own.nominal > 0.0 else 0.0)
    return Planned(each_s=total_s(seconds for _, seconds in lines), parts=parts, of=BENCH)
