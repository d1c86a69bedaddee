"""Which numbers of a shop its batches tell of, and what they are then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from proveout.jobs.close_out_steps import BENCH_WORK
from proveout.jobs.learned_days import learned_days
from proveout.jobs.learned_found import FEWEST_BATCHES, WIDENED, Done, Found, batches_words, cautions, fresh, rounded
from proveout.jobs.learned_growth import learned_growth, learned_thickness
from proveout.jobs.learned_pressure import learned_pressure
from proveout.learning.factors import Seen, learned_factors
from proveout.learning.prior import prior_of
from proveout.learning.shares import Counted, learned_share
from proveout.model.close_out import CloseOut, StepTime
from proveout.model.fact import Fact
from proveout.model.learned import Key, Proposal
from proveout.model.minute_factors import MINUTE_KINDS, MinuteKind, factor_of
from proveout.model.shop import Machine, Shop
from proveout.stages.timing.decide import CYCLE_SPREAD

LEAST_SHOWN = 0.25
"""Of what was not known of a number, what batches must have taken away before it is proposed (our own)."""
BENCH_STEMS = tuple(BENCH_WORK.values())
LEAST_END = 0.05
"""Share of the middle below which a written low end is not read: nothing takes no time (our own)."""
NOISE_MOST = 0.5
"""Of the logarithm: a batch that is unsure by more says nothing (our own)."""


def learned_numbers(shop: Shop, closed: Sequence[CloseOut], done: Done) -> Found:
    """Every number of the shop that batches tell of. closed: in order of time.   done: what was taken over before."""
    groups = groups_count(closed)
    parts = [
        *(_minutes(machine, closed, done, groups) for machine in shop.machines), _bench(shop, closed, done, groups),
        *(learned_days(finisher, closed, done, groups_count=groups) for finisher in shop.finishers),
        _scrap(shop, closed, done, groups),
        *(learned_growth(finisher, closed, done) for finisher in shop.finishers),
        *(learned_thickness(finisher, closed, done) for finisher in shop.finishers),
        learned_pressure(shop, closed),
    ]  # fmt: skip
    return Found(
        proposals=tuple(one for part in parts for one in part.proposals),
        silent=tuple(one for part in parts for one in part.silent),
    )


def groups_count(closed: Sequence[CloseOut]) -> int:
    """Groups of numbers that batches tell of: each machine's minutes, the bench, each finisher's days, and scrap."""
    timed = {step.of for one in closed for step in one.steps if step.of and step.parts}
    away = {lot.finisher for one in closed for lot in one.away}
    return len(timed) + len(away) + 1


def factor_now(machine: Machine, kind: MinuteKind) -> Fact:
    """The factor that a plan takes for a kind of minutes, with its interval."""
    written = factor_of(machine.minutes, kind)
    if written is not None:
        return written
    return Fact(low=1.0 - CYCLE_SPREAD, nominal=1.0, high=1.0 + CYCLE_SPREAD, unit="ratio", source="",
                strength="common practice")  # fmt: skip


def minutes_seen(machine_id: str, closed: Iterable[CloseOut]) -> list[tuple[CloseOut, StepTime, Seen]]:
    """What batches tell of one machine: its own stream where there is one, and beside it what the hands took."""
    found: list[tuple[CloseOut, StepTime, Seen]] = []
    for one in closed:
        for step in one.steps:
            if step.of != machine_id or step.kind != "mill":
                continue
            name = f"{one.batch}, {step.step}"
            if step.run_s is not None and step.run_parts:
                found.append((one, step, _seen(name, step.run_s, step.run_parts, MINUTE_KINDS, step.run_noise)))
                by_hand = None if step.actual_s is None else step.actual_s - step.run_s - step.held_s
                if by_hand is not None and by_hand > 0.0 and step.parts.get("loading", 0.0) > 0.0:
                    noise = min(NOISE_MOST, step.noise * (step.actual_s or 0.0) / by_hand)
                    loading = {"loading": step.parts["loading"]}
                    found.append((one, step, _seen(f"{name}, by hand", by_hand, loading, MINUTE_KINDS, noise)))
            elif step.actual_s is not None and step.parts:
                found.append((one, step, _seen(name, step.actual_s, step.parts, MINUTE_KINDS, step.noise)))
    return found


def _seen(name: str, seconds: float, parts: Mapping[str, float], kinds: Sequence[str], noise: float) -> Seen:
    whole = sum(parts.values())
    return Seen(
        name=name, ratio=seconds / whole, parts=tuple(parts.get(kind, 0.0) / whole for kind in kinds), noise=noise
    )


def _minutes(machine: Machine, closed: Sequence[CloseOut], done: Done, groups: int) -> Found:
    """The factors of one machine, all kinds together."""
    seen = minutes_seen(machine.id, fresh(closed, done, Key(kind="minutes", of=machine.id)))
    facts = [factor_now(machine, kind) for kind in MINUTE_KINDS]
    written = [factor_of(machine.minutes, kind) for kind in MINUTE_KINDS]
    keys = [Key(kind="minutes", of=machine.id, stem=kind) for kind in MINUTE_KINDS]
    texts = [f"{machine.id}: {kind}, times what is reckoned" for kind in MINUTE_KINDS]
    # middles are of the factors themselves: what is reckoned holds none
    return _of_factors(keys, texts, written, facts, seen, groups=groups,
                       centre=[fact.nominal for fact in facts])  # fmt: skip


def _bench(shop: Shop, closed: Sequence[CloseOut], done: Done, groups: int) -> Found:
    """Seconds of work by hand, all kinds together."""
    facts = [getattr(shop.bench, f"{stem}_s") for stem in BENCH_STEMS]
    seen: list[tuple[CloseOut, StepTime, Seen]] = []
    for one in fresh(closed, done, Key(kind="bench")):
        for step in one.steps:
            if step.of == "bench" and step.actual_s is not None and step.parts:
                parts = {
                    stem: step.parts[stem] * fact.nominal
                    for stem, fact in zip(BENCH_STEMS, facts, strict=True) if stem in step.parts
                }  # fmt: skip
                if sum(parts.values()) > 0.0:
                    name = f"{one.batch}, {step.step}"
                    seen.append((one, step, _seen(name, step.actual_s, parts, BENCH_STEMS, step.noise)))
    keys = [Key(kind="bench", stem=stem) for stem in BENCH_STEMS]
    texts = [f"bench: {stem}, one piece" for stem in BENCH_STEMS]
    written = [None if fact.strength == "assumed" else fact for fact in facts]
    return _of_factors(keys, texts, written, facts, seen, groups=groups, centre=[1.0] * len(facts))


def _of_factors(
    keys: Sequence[Key], texts: Sequence[str], written: Sequence[Fact | None], facts: Sequence[Fact],
    seen: Sequence[tuple[CloseOut, StepTime, Seen]], *, groups: int, centre: Sequence[float],
) -> Found:  # fmt: skip
    """Proposals of numbers that are off together. facts: as plans take them.   centre: factors that stand for them.

    groups: that the lesson learns in all.
    """
    used = [k for k in range(len(keys)) if any(one.parts[k] > 0.0 for _, _, one in seen)]
    used = [k for k in used if facts[k].nominal > 0.0]
    if not used:
        return Found(proposals=(), silent=())
    intervals = tuple(_interval(facts[k], centre[k]) for k in used)
    told = learned_factors(
        prior_of(intervals),
        [Seen(name=one.name, ratio=one.ratio, parts=tuple(one.parts[k] for k in used), noise=one.noise)
         for _, _, one in seen],
        groups_count=groups,
    )  # fmt: skip
    proposals: list[Proposal] = []
    silent: list[str] = []
    for at, k in enumerate(used):
        own = [(one, step) for one, step, row in seen if row.parts[k] > 0.0]
        batches = tuple(dict.fromkeys(one.batch for one, _ in own))
        if len(batches) < FEWEST_BATCHES:
            silent.append(f"{texts[k]}: {len(batches)} of at least {FEWEST_BATCHES} batches")
            continue
        if told.shown_ratio[at] < LEAST_SHOWN:
            silent.append(f"{texts[k]}: too small a share of the minutes to tell it from the rest")
            continue
        scale = facts[k].nominal / centre[k]
        now = Fact(
            low=rounded(told.low[at] * scale), nominal=rounded(told.middles[at] * scale),
            high=rounded(told.high[at] * scale), unit=facts[k].unit, source=batches_words(batches),
            strength="measured here",
        )  # fmt: skip
        proposals.append(
            Proposal(
                key=keys[k], text=texts[k], was=written[k], taken=facts[k], now=now, batches=batches,
                pieces_count=sum(step.pieces_count for _, step in own),
                events_count=sum(step.taps_count + step.cycles_count for _, step in own),
                worth_count=told.worth_count[at], is_writable=True,
                cautions=cautions(told, at, batches, what=keys[k].stem),
            )
        )  # fmt: skip
    return Found(proposals=tuple(proposals), silent=tuple(silent))


def _interval(fact: Fact, centre: float) -> tuple[float, float, float]:
    low = max(fact.low, LEAST_END * fact.nominal)
    return low / fact.nominal * centre, centre, fact.high / fact.nominal * centre


def _scrap(shop: Shop, closed: Sequence[CloseOut], done: Done, groups: int) -> Found:
    """Share of the pieces lost."""
    key = Key(kind="scrap")
    own = [one for one in fresh(closed, done, key) if one.begun_count and not one.waiting_count]
    if len(own) < FEWEST_BATCHES or not 0.0 < shop.scrap_ratio.nominal < 1.0:
        few = f"scrap: {len(own)} of at least {FEWEST_BATCHES} batches" if own else ""
        return Found(proposals=(), silent=(few,) if few else ())
    fact = shop.scrap_ratio
    told = learned_share(
        low=fact.low,
        nominal=fact.nominal,
        high=fact.high,
        batches=[
            Counted(name=one.batch, pieces_count=one.begun_count, bad_count=min(one.bad_count, one.begun_count))
            for one in own
        ],
        groups_count=groups,
    )
    batches = tuple(one.batch for one in own)
    said: list[str] = []
    if told.is_conflict:
        said.append(f"share lost: contradicts what was written{WIDENED if told.is_widened else ''}")
    if told.odd:
        said.append(f"more lost than chance has it, cut off: {', '.join(told.odd)}")
    low, high = rounded(told.low), rounded(told.high)
    now = Fact(low=low, nominal=min(max(rounded(told.middle), low), high), high=high, unit="ratio",
               source=batches_words(batches), strength="measured here")  # fmt: skip
    proposal = Proposal(
        key=key, text="share of the pieces lost", was=None if fact.strength == "assumed" else fact, taken=fact, now=now,
        batches=batches, pieces_count=sum(one.begun_count for one in own), events_count=len(own),
        worth_count=told.weight, cautions=tuple(said), is_writable=True,
    )  # fmt: skip
    return Found(proposals=(proposal,), silent=())
