"""A year of batches in a shop that does not exist: what its machines, hands and finishers really do is hidden.

The learner sees events alone. Every number below was set before any seed was looked at. In the first batch of each part
piece one goes through both clampings before the second is cut; later ones ran well before with the same programs.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from proveout.books.folding import AnyBook, batch_key, book_after, keys_of, stated
from proveout.intake.starting_shop import starting_shop
from proveout.jobs.close_out import closed_out
from proveout.jobs.learned_numbers import factor_now
from proveout.learning.prior import prior_of
from proveout.model.batch import Batch
from proveout.model.batch_events import Asked, Bad, Check, Counted, Done, Packed, Planned, Released, RouteStep, Started
from proveout.model.close_out import CloseOut
from proveout.model.events import Event, Stating
from proveout.model.fact import exact_fact, spread_fact
from proveout.model.minute_factors import MINUTE_KINDS
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.plan import CostPlan, Plan, TimeLine, TimePlan
from proveout.model.shop import Shop
from proveout.model.stock_events import BarReceived, Sawn

MACHINES = ("mill-5", "mill-3")
BATCHES, PARTS = 60, 6
PIECES = (20, 60)
TOGETHER, ALONE = 0.09, 0.07  # of the logarithm of true factors: of a machine, of one kind on it
HANDS = 0.25  # of the logarithm of true seconds by hand over those in the shop file
BATCH, PIECE = 0.05, 0.06  # of the logarithm: from batch to batch, from piece to piece
PIECE_MEAN = float(np.exp(0.5 * PIECE**2))
"""Mean seconds of a piece over its middle ones: what counts of pieces show, and plans multiply by their number."""
LOST, ALIKE = 0.03, 0.02  # share of pieces lost, and how alike those of one batch are
DAYS, DAYS_SPREAD = 8.5, 0.15  # away, where 6 to 8 are written
TAP = 5  # pieces from one count to the next
AGAIN_S = 600.0  # to set the first clamping up again once piece one is through
NIGHT_RATIO = 0.05  # of the stretches, those with a night in them that nobody wrote down
WRONG_CLOCK, WRONG_FROM, WRONG_TO = 1.25, 20, 28  # of the last machine, between these batches
MISCOUNTED = (9, 24, 41, 52)  # batches of which twice the pieces were counted at the first machine
BEGIN = datetime(2027, 1, 4, 6, 0, tzinfo=UTC)
PLANNED = "ab" * 32
KINDS_OF_PASS = {"roughing": "rough", "finishing": "finish wall", "holes": "drill"}


@dataclass(frozen=True)
class Truth:
    """What is hidden. factors: by machine and kind;  hands: by stem."""

    factors: dict[str, dict[str, float]]
    hands: dict[str, float]
    lost: float
    days: float


@dataclass(frozen=True)
class Part:
    """seconds: planned, by machine and kind of minutes, loading aside."""

    name: str
    seconds: dict[str, dict[str, float]]


@dataclass(frozen=True)
class Year:
    """closed: every batch, in order of time.   parts_of: part of each batch."""

    shop: Shop
    truth: Truth
    parts: tuple[Part, ...]
    closed: tuple[CloseOut, ...]


def year(seed: int, *, is_misleading: bool = False, is_as_written: bool = False, batches: int = BATCHES) -> Year:
    """All batches of one year, closed out from their events.

    is_as_written: true factors are drawn from what the shop file says of them, read as the learner reads it.
    """
    rng = np.random.default_rng([seed, 77])
    shop = starting_shop()
    truth, parts = _truth(rng), tuple(_part(rng, number) for number in range(PARTS))
    if is_as_written:
        truth = replace(truth, factors=_written_factors(rng, shop))
    closed: list[CloseOut] = []
    known: set[str] = set()
    for number in range(batches):
        part = parts[int(rng.integers(PARTS))]
        plan = plan_of(part, shop)
        is_new = part.name not in known
        known.add(part.name)
        told = list(_Story(rng, truth, part, shop, number, is_new=is_new, is_misleading=is_misleading).events())
        batch = folded(told, f"B{number:02d}")
        closed.append(closed_out(batch, list(enumerate(told, start=1)), plan=plan, shop=shop))
    return Year(shop=shop, truth=truth, parts=parts, closed=tuple(closed))


def folded(events: Sequence[Event], name: str) -> Batch:
    """The batch after its events, none of which corrects another."""
    books: dict[str, AnyBook] = {}
    for event in events:
        for key in keys_of(event.batch, stated(event)):
            books[key] = book_after(key, books.get(key), event, stated(event))
    found = books[batch_key(name)]
    assert isinstance(found, Batch)
    return found


def _truth(rng: np.random.Generator) -> Truth:
    factors = {}
    for machine in MACHINES:
        own = rng.normal(0.0, TOGETHER)
        factors[machine] = {kind: float(np.exp(own + rng.normal(0.0, ALONE))) for kind in MINUTE_KINDS}
    hands = {stem: float(np.exp(rng.normal(0.0, HANDS))) for stem in ("deburr", "gauging", "kit")}
    return Truth(factors=factors, hands=hands, lost=LOST, days=DAYS)


def _written_factors(rng: np.random.Generator, shop: Shop) -> dict[str, dict[str, float]]:
    found = {}
    for machine in shop.machines:
        facts = [factor_now(machine, kind) for kind in MINUTE_KINDS]
        law = prior_of(tuple((fact.low, fact.nominal, fact.high) for fact in facts))
        logs = rng.multivariate_normal(law.middles, law.covariance)
        found[machine.id] = {kind: float(np.exp(log)) for kind, log in zip(MINUTE_KINDS, logs, strict=True)}
    return found


def _part(rng: np.random.Generator, number: int) -> Part:
    seconds = {}
    for machine in MACHINES:
        total = float(rng.uniform(180.0, 900.0))
        shares = rng.dirichlet((5.0, 4.0, 2.0, 1.5))
        seconds[machine] = {kind: total * float(share) for kind, share in zip(MINUTE_KINDS[:4], shares, strict=True)}
    return Part(name=f"P{number}", seconds=seconds)


def parts_seconds(part: Part, machine: str, shop: Shop) -> tuple[float, ...]:
    """Planned seconds a piece of each kind, loading too."""
    loading = shop.bench.load_s.nominal + shop.bench.blow_off_s.nominal
    return (*(part.seconds[machine][kind] for kind in MINUTE_KINDS[:4]), loading)


def plan_of(part: Part, shop: Shop) -> Plan:
    """A plan as far as closing out reads one: times, passes, clampings, bars and money."""
    lines: list[TimeLine] = []
    passes: list[Any] = []
    for number, machine in enumerate(MACHINES, start=1):
        head = f"op{number}: "
        for kind, seconds in part.seconds[machine].items():
            id = f"op{number}/{kind}"
            if kind in KINDS_OF_PASS:
                passes.append(SimpleNamespace(id=id, kind=KINDS_OF_PASS[kind], clamping_id=f"op{number}"))
            lines.append(TimeLine(station=machine, text=f"{head}{kind}", per="piece", cause="moves", pass_id=id,
                                  seconds=spread_fact(seconds, 0.15, "s", "x", "common practice")))  # fmt: skip
        lines += [
            TimeLine(station=machine, text=f"{head}unload and load", per="piece", seconds=shop.bench.load_s),
            TimeLine(station=machine, text=f"{head}blow off vise and work", per="piece", seconds=shop.bench.blow_off_s),
            TimeLine(station=machine, text=f"{head}set up", per="batch", cause="set-up",
                     seconds=exact_fact(1800.0, "s", "shop-file", "owner's guess")),
        ]  # fmt: skip
    lines += [
        TimeLine(station="bench", text=text, per="piece", seconds=fact)
        for text, fact in (("gauge", shop.bench.gauging_s), ("break edges by hand, look over", shop.bench.deburr_s),
                           ("kit and box", shop.bench.kit_s))
    ]  # fmt: skip
    lines += [
        TimeLine(station="saw", text="set up", per="batch", cause="set-up",
                 seconds=exact_fact(900.0, "s", "shop-file", "owner's guess")),
        TimeLine(station="saw", text="sawing", per="batch", cause="sawing",
                 seconds=exact_fact(1500.0, "s", "shop-file", "owner's guess")),
    ]  # fmt: skip
    each = spread_fact(60.0, 0.2, "EUR", "x", "assumed")
    piece = exact_fact(sum(one.seconds.nominal for one in lines if one.per == "piece"), "s", "x", "assumed")
    return cast(
        "Plan",
        SimpleNamespace(
            metal_unknown="", passes=tuple(passes), cutter_uses=(), finish_orders=(),
            finishing=SimpleNamespace(windows=()),
            clampings=tuple(SimpleNamespace(id=f"op{n}", number=n, machine_id=m) for n, m in enumerate(MACHINES, 1)),
            part=SimpleNamespace(quantity=40), bars=SimpleNamespace(bars_count=3, blanks_count=42, price=300.0),
            time=TimePlan(lines=tuple(lines), cycle_s={}, piece_s=piece, batch_s=piece),
            cost=CostPlan(currency="EUR", quantity=40, lines=(), each=each, batch=each, dear_faces=()),
        ),
    )  # fmt: skip


THROUGH = ("op1", "op2")
ROUTE = (
    RouteStep(id="saw", station="saw", kind="saw", text="saw"),
    RouteStep(id="op1", station=MACHINES[0], kind="mill", text="first clamping"),
    RouteStep(id="op2", station=MACHINES[1], kind="mill", text="second clamping"),
    RouteStep(id="edges", station="bench", kind="bench", text="edges"),
    RouteStep(id="coat", station="hard-coat", kind="outside", text="coat"),
    RouteStep(id="look", station="inspection", kind="inspection", text="gauge"),
    RouteStep(id="pack", station="packing", kind="packing", text="pack"),
)
CHECKS = (Check(step="look", mark="1", text="20 H8", low=20.0, high=20.033),)
BARS = BarReceived(item="R-1", alloy="6061-T6", section="50x20", heat="H1", lot="D", length_mm=3000.0, count=1000,
                   place="rack")  # fmt: skip


class _Story:
    """One batch, told event by event with the times at which they happened."""

    def __init__(
        self, rng: np.random.Generator, truth: Truth, part: Part, shop: Shop, number: int, *, is_new: bool,
        is_misleading: bool,
    ) -> None:  # fmt: skip
        self.is_new = is_new
        self.rng, self.truth, self.part, self.shop = rng, truth, part, shop
        self.number, self.is_misleading = number, is_misleading
        self.name = f"B{number:02d}"
        self.at = BEGIN + timedelta(days=6 * number)
        self.count = 0

    def events(self) -> Iterator[Event]:
        pieces = int(self.rng.integers(*PIECES)) + 1
        yield self._told(BARS, batch="")
        yield self._told(Asked(part=self.part.name, revision="A", wanted_count=pieces))
        yield self._told(Planned(plan=PLANNED))
        way = THROUGH if self.is_new else ()
        yield self._told(Released(plan=PLANNED, revision="A", blanks_count=pieces, route=ROUTE, checks=CHECKS,
                                  papers={"route.pdf": "cd" * 32}, first_through=way))  # fmt: skip
        yield self._told(Started(step="saw"), "saw")
        self._pass(1500.0)
        yield self._told(Sawn(step="saw", item="R-1", heat="H1", place="rack", bars_count=3, good_count=pieces), "saw")
        yield self._told(Done(step="saw"), "saw")
        lost = self._lost(pieces)
        each = [self._piece_s(machine) for machine in MACHINES]
        through = 0
        if self.is_new:
            through = 1
            for step, machine, seconds in zip(THROUGH, MACHINES, each, strict=True):
                yield from self._begun(step, machine)
                yield from self._counts(step, machine, 1, 0, seconds)
            self._pass(AGAIN_S)
            yield self._told(Started(step=THROUGH[0]), MACHINES[0])
        lost = min(lost, pieces - through)
        for step, machine, seconds in zip(THROUGH, MACHINES, each, strict=True):
            if not self.is_new:
                yield from self._begun(step, machine)
            bad = lost if step == THROUGH[0] else 0
            is_double = self.is_misleading and step == THROUGH[0] and self.number in MISCOUNTED
            most = 2 * TAP if is_double else TAP
            yield from self._counts(step, machine, pieces - through, bad, seconds, most=most)
            yield self._told(Done(step=step), machine)
            pieces -= bad
        yield from self._by_hand("edges", "bench", "deburr", pieces)
        yield self._told(SentOut(step="coat", lot="L1", finisher="hard-coat", count=pieces))
        self._away()
        yield self._told(CameBack(lot="L1", count=pieces))
        yield self._told(CountedIn(lot="L1", good_count=pieces))
        yield self._told(Done(step="coat"))
        yield from self._by_hand("look", "inspection", "gauging", pieces)
        yield from self._by_hand("pack", "packing", "kit", pieces)

    def _told(self, of: Stating, station: str = "desk", *, batch: str | None = None) -> Event:
        self.count += 1
        id = str(uuid.UUID(int=self.number * 100_000 + self.count, version=4))
        return Event(id=id, at=self.at, person="mara", station=station, of=of,
                     batch=self.name if batch is None else batch)  # fmt: skip

    def _pass(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)

    def _lost(self, pieces: int) -> int:
        size = 1.0 / ALIKE - 1.0
        share = self.rng.beta(self.truth.lost * size, (1.0 - self.truth.lost) * size)
        return min(pieces - 1, int(self.rng.binomial(pieces, share)))

    def _away(self) -> None:
        """So many working days, the part of one rounded."""
        left = max(1, round(self.truth.days * float(np.exp(self.rng.normal(0.0, DAYS_SPREAD)))))
        while left:
            left -= self.at.weekday() < 5
            self.at += timedelta(days=1)

    def _piece_s(self, machine: str) -> float:
        """Seconds of a piece of this batch on a machine, by its clock."""
        planned = dict(zip(MINUTE_KINDS, parts_seconds(self.part, machine, self.shop), strict=True))
        each = sum(seconds * self.truth.factors[machine][kind] for kind, seconds in planned.items())
        each *= float(np.exp(self.rng.normal(0.0, BATCH)))
        is_wrong = self.is_misleading and machine == MACHINES[-1] and WRONG_FROM <= self.number < WRONG_TO
        return each * (WRONG_CLOCK if is_wrong else 1.0)

    def _begun(self, step: str, machine: str) -> Iterator[Event]:
        """A clamping started, and set up."""
        yield self._told(Started(step=step), machine)
        self._pass(1800.0 * float(np.exp(self.rng.normal(0.0, 0.2))))

    def _counts(
        self, step: str, station: str, pieces: int, lost: int, each: float, *, most: int = TAP
    ) -> Iterator[Event]:
        """Counts of up to `most` pieces, for each of which as long passes as for TAP of them."""
        left = pieces
        while left:
            count = min(most, left)
            made = max(1, round(count * TAP / most))
            self._pass(float(np.sum(each * np.exp(self.rng.normal(0.0, PIECE, made)))))
            if self.rng.random() < NIGHT_RATIO:
                self._pass(14.0 * 3600.0)
            left -= count
            bad = min(lost, count)
            lost -= bad
            if step == "pack":
                yield self._told(Packed(step=step, count=count), station)
            else:
                yield self._told(
                    Counted(step=step, good_count=count - bad, bad=(Bad(reason="size", count=bad),) if bad else ()),
                    station,
                )  # fmt: skip

    def _by_hand(self, step: str, station: str, stem: str, pieces: int) -> Iterator[Event]:
        yield self._told(Started(step=step), station)
        own = getattr(self.shop.bench, f"{stem}_s").nominal * self.truth.hands[stem]
        yield from self._counts(step, station, pieces, 0, own * float(np.exp(self.rng.normal(0.0, BATCH))))
        yield self._told(Done(step=step), station)


def without(year_of: Year, count: int) -> Year:
    """The year up to its first so many batches."""
    return replace(year_of, closed=year_of.closed[:count])
