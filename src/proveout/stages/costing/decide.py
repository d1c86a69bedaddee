"""Decide the cost of a piece: every line with how it was reckoned, all worst ends taken together."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.model.cost_band import Rider
from proveout.model.fact import Fact, Strength
from proveout.model.job import Job
from proveout.model.packing import KitItem
from proveout.model.plan import BarsPlan, CostLine, CostPlan, TimePlan
from proveout.model.proof import Decision, Proof
from proveout.model.shop import Bench, Cutter, Finisher, Jaws, Machine, Noun, Saw
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping, FaceNote, PassPlan
from proveout.quantities.units import S_PER_H
from proveout.stages.costing.dear import dear_faces
from proveout.stages.costing.jaw_pairs import made_pairs
from proveout.stages.costing.outside import Lot, lot_proof, outside_lots, riding_words, unknown_proof
from proveout.stages.costing.stations import BENCH, SAW, batch_groups, piece_groups

STAGE = "costing"
CHIPS = "chips sold back"
KIT = "hardware of the kit"
CUTTERS = "cutters"
TRIAL_CUTTERS = "cutters of trial blanks"


def decide(
    *,
    time: TimePlan,
    bars_plan: BarsPlan,
    job: Job,
    passes: PassPlan,
    clampings: tuple[Clamping, ...],
    faces: tuple[FaceNote, ...],
    machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...],
    jaws: tuple[Jaws, ...],
    saw: Saw,
    bench: Bench,
    finishers: tuple[Finisher, ...],
    scrap_ratio: Fact,
    currency: str,
    prices: Strength = "owner's guess",
    loads: tuple[TableLoad, ...] = (),
    plugs_count: int = 0,
    chips: Chips | None = None,
    riders: tuple[Rider, ...] = (),
) -> Decision[CostPlan]:
    """Cost of a good piece of this order.

    What is done once (set-ups, programming, jaws) is shared by the pieces ordered, as if the order never came again.
    Low, nominal and high of all lines are added as they are, so the range is the widest there is.  prices: how well
    the prices of the shop are known.  plugs_count: of one piece, for the coat.  chips: None where nobody pays for them.
    riders: other parts in the coat's lot.
    """
    quantity = job.order.quantity
    reckon = _Reckoner(quantity=quantity, prices=prices, currency=currency)
    rates = {machine.id: machine.rate_per_h for machine in machines}
    rates |= {SAW: saw.rate_per_h, BENCH: bench.rate_per_h}
    lots, unknown = outside_lots(
        job=job, finishers=finishers, pieces_count=bars_plan.pieces_count, plugs_count=plugs_count, riders=riders
    )
    lines = [reckon.material(bars_plan)]
    work = [
        *(line for per, names in piece_groups(machines) for line in reckon.stations(time, per, rates, names)),
        *reckon.cutter_wear(time, passes, cutters),
    ]
    lines += work
    for per, names in batch_groups(machines):
        lines += reckon.stations(time, per, rates, names)
    lines += reckon.trial_wear(work, bars_plan.trial_count)
    lines += reckon.jaw_plates(clampings, jaws, loads)
    lines += [reckon.lot(lot) for lot in lots]
    lines += reckon.kit(job.kit)
    lines.append(reckon.scrap(work, scrap_ratio))
    if chips is not None:
        lines.append(reckon.sold_chips(chips))
    each = total_money((line.each for line in lines), currency)
    plan = CostPlan(
        currency=currency,
        quantity=quantity,
        lines=tuple(lines),
        each=each,
        batch=scaled(each, float(quantity)),
        dear_faces=dear_faces(time=time, passes=passes, faces=faces),
    )
    proofs: list[Proof] = [lot_proof(lot, currency, quantity) for lot in lots]
    proofs += [unknown_proof(name) for name in unknown]
    return Decision(value=plan, proofs=tuple(proofs))


def total_money(parts: Iterable[Fact], currency: str) -> Fact:
    """Sum of money with all worst ends together and all best ends together."""
    kept = list(parts)
    return Fact(
        low=round(sum(p.low for p in kept), 6),
        nominal=round(sum(p.nominal for p in kept), 6),
        high=round(sum(p.high for p in kept), 6),
        unit=currency,
        source="own-algorithm: sum of the lines, all worst ends together",
        strength="assumed",
    )


def scaled(fact: Fact, factor: float) -> Fact:
    """A fact times a number of at least 0."""
    return Fact(
        low=round(fact.low * factor, 6),
        nominal=round(fact.nominal * factor, 6),
        high=round(fact.high * factor, 6),
        unit=fact.unit,
        source=fact.source,
        strength=fact.strength,
    )


class Chips(Noun, frozen=True, kw_only=True):
    """Chips of one piece and what a kilogram of them brings."""

    kg_each: float
    price_per_kg: Fact


def chips_of(*, blank: Blank, part_mm3: float, density_kg_per_mm3: float, price_per_kg: Fact | None) -> Chips | None:
    """Metal of the blank that the part does not keep; None where nobody pays for chips."""
    kg_each = blank.mass_kg - part_mm3 * density_kg_per_mm3
    if price_per_kg is None or price_per_kg.nominal <= 0.0 or kg_each <= 0.0:
        return None
    return Chips(kg_each=round(kg_each, 6), price_per_kg=price_per_kg)


def _is_priced(item: KitItem) -> bool:
    return item.pack_price is not None and bool(item.pack_count)


def kit_price(items: tuple[KitItem, ...]) -> float:
    """Money of the hardware that goes with one piece, as far as prices are written."""
    return sum(i.count * (i.pack_price or 0.0) / (i.pack_count or 1) for i in items if _is_priced(i))


class _Reckoner:
    """Makes lines per piece for an order of `quantity`."""

    def __init__(self, *, quantity: int, prices: Strength, currency: str) -> None:
        self._quantity = quantity
        self._prices: Strength = prices
        self._currency = currency

    def _exact(self, money: float) -> Fact:
        value = round(money, 6)
        return Fact(
            low=value, nominal=value, high=value, unit=self._currency, source="shop-file", strength=self._prices
        )

    def _of_time(self, seconds: list[Fact], rate_per_h: float, share: float) -> Fact:
        factor = rate_per_h / S_PER_H * share
        return Fact(
            low=round(sum(s.low for s in seconds) * factor, 6),
            nominal=round(sum(s.nominal for s in seconds) * factor, 6),
            high=round(sum(s.high for s in seconds) * factor, 6),
            unit=self._currency,
            source="own-algorithm: times of the plan x rate of the shop",
            strength="assumed",
        )

    def material(self, bars_plan: BarsPlan) -> CostLine:
        """Whole bars over the pieces ordered."""
        what = f"{bars_plan.bars_count} whole bars" if bars_plan.bars_count else "metal of the blanks alone"
        return CostLine(
            text="material",
            each=self._exact(bars_plan.price / self._quantity),
            how=f"{what} at {bars_plan.price:.2f}, over {self._quantity} pieces; tails and remnants count as used up",
        )

    def stations(self, time: TimePlan, per: str, rates: dict[str, float], names: dict[str, str]) -> list[CostLine]:
        """One line a station that has times of that kind; `names` by station, in the order wanted."""
        share = 1.0 if per == "piece" else 1.0 / self._quantity
        lines: list[CostLine] = []
        for station, name in names.items():
            seconds = [line.seconds for line in time.lines if line.station == station and line.per == per]
            if not seconds:
                continue
            minutes = sum(s.nominal for s in seconds) / 60.0
            over = "" if per == "piece" else f" over {self._quantity} pieces"
            lines.append(
                CostLine(
                    text=name,
                    each=self._of_time(seconds, rates[station], share),
                    how=f"{minutes:.1f} min at {rates[station]:.2f} an hour{over}",
                )
            )
        return lines

    def cutter_wear(self, time: TimePlan, passes: PassPlan, cutters: tuple[Cutter, ...]) -> list[CostLine]:
        """Share of each cutter's life and price that a piece uses; cutters of unknown life are named, not counted."""
        by_id = {cutter.id: cutter for cutter in cutters}
        cutter_of = {work.id: work.cutter_id for work in passes.passes}
        low = nominal = high = 0.0
        unknown: set[str] = set()
        for line in time.lines:
            cutter = by_id.get(cutter_of.get(line.pass_id, ""))
            if cutter is None:
                continue
            if not cutter.life_s:
                unknown.add(cutter.id)
                continue
            share = cutter.price / cutter.life_s
            low += line.seconds.low * share
            nominal += line.seconds.nominal * share
            high += line.seconds.high * share
        if not cutter_of:
            return []
        each = Fact(
            low=round(low, 6),
            nominal=round(nominal, 6),
            high=round(high, 6),
            unit=self._currency,
            source="own-algorithm: times of the plan x price over life of each cutter",
            strength="assumed",
        )
        not_counted = f"; life unknown, not counted: {', '.join(sorted(unknown))}" if unknown else ""
        return [CostLine(text=CUTTERS, each=each, how=f"seconds of its passes over its life, times price{not_counted}")]

    def trial_wear(self, work: list[CostLine], trial_count: int) -> list[CostLine]:
        """The same of the trial blanks, over the pieces ordered."""
        return [
            CostLine(
                text=TRIAL_CUTTERS, each=scaled(line.each, trial_count / self._quantity),
                how=f"those of a piece for {trial_count} more, over {self._quantity} pieces",
            )
            for line in work
            if line.text == CUTTERS and trial_count
        ]  # fmt: skip

    def jaw_plates(
        self, clampings: tuple[Clamping, ...], jaws: tuple[Jaws, ...], loads: tuple[TableLoad, ...] = ()
    ) -> list[CostLine]:  # fmt: skip
        """Plates of jaws that are made for the part: one pair a clamping, or for each place in which it lies."""
        pairs = made_pairs(clampings, jaws, loads)
        if not pairs:
            return []
        price = sum(pair.price for pair in pairs)
        return [
            CostLine(
                text="jaw plates",
                each=self._exact(price / self._quantity),
                how=f"{len(pairs)} pair at {price:.2f} over {self._quantity} pieces",
            )
        ]

    def lot(self, lot: Lot) -> CostLine:
        """An outside lot over the pieces ordered."""
        money, rest = lot.money, [x for x in lot.invoice if x.text in ("plugs", "masks", "loading")]
        more = riding_words(lot.riders).rstrip(",") + (", sharing minimum, loading and freight" if lot.riders else "")
        more += "".join(f", {x.text} {x.count} x {x.price.nominal:.2f}" for x in rest)
        each = {e: round(getattr(money, e) / self._quantity, 6) for e in ("low", "nominal", "high")}
        return CostLine(
            text=f"outside: {lot.finisher.process}",
            each=Fact(**each, unit=self._currency, source="shop-file", strength=self._prices),
            how=(
                f"larger of {lot.finisher.lot_minimum:.2f} and {lot.pieces_count} x {lot.finisher.price_each:.2f}"
                f"{more}, and freight {lot.finisher.freight:.2f}, over {self._quantity} pieces"
            ),
        )

    def kit(self, items: tuple[KitItem, ...]) -> list[CostLine]:
        """Hardware that goes with a piece, at its share of a pack; what has no price is named, not counted."""
        if not items:
            return []
        unknown = [item.name for item in items if not _is_priced(item)]
        not_counted = f"; no price written, not counted: {', '.join(unknown)}" if unknown else ""
        return [
            CostLine(
                text=KIT, each=self._exact(kit_price(items)),
                how=f"each item at its share of a pack's price{not_counted}",
            )
        ]  # fmt: skip

    def sold_chips(self, chips: Chips) -> CostLine:
        """What the chips of a good piece bring, below 0; those of lost pieces and of the saw are not counted."""
        price = chips.price_per_kg
        ends = [round(-chips.kg_each * end, 6) + 0.0 for end in (price.high, price.nominal, price.low)]
        return CostLine(
            text=CHIPS,
            each=Fact(low=ends[0], nominal=ends[1], high=ends[2], unit=self._currency, source=price.source,
                      strength=price.strength),
            how=f"{chips.kg_each:.3f} kg a piece at {price.nominal:.2f} a kilogram, taken off",
        )  # fmt: skip

    def scrap(self, work: list[CostLine], scrap_ratio: Fact) -> CostLine:
        """Work put into pieces that end as scrap: s / (1 - s) of the work on a good one; their metal is in the bars."""
        ends: list[float] = []
        for end in ("low", "nominal", "high"):
            share = min(getattr(scrap_ratio, end), 0.95)
            ends.append(round(sum(getattr(line.each, end) for line in work) * share / (1.0 - share), 6))
        return CostLine(
            text="scrap",
            each=Fact(
                low=ends[0],
                nominal=ends[1],
                high=ends[2],
                unit=self._currency,
                source=scrap_ratio.source,
                strength=scrap_ratio.strength,
            ),
            how=f"{100.0 * scrap_ratio.nominal:g} % of the pieces begun are lost with all the work in them",
        )
