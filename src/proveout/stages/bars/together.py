"""Decide how an order is sawn: one saw plan a section for all its parts, remnants of the rack first where they do."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.sawing import Lot, OrderSawing, SawnBars, SectionSawing
from proveout.model.shop import Bar, Saw
from proveout.model.stock import Remnant
from proveout.solving.cutting_stock import BarPlan, solve_bars
from proveout.stages.bars.bundles import bundle_shape, stock_of
from proveout.stages.bars.fitting import IN_DOUBT, taken_of_bar_mm
from proveout.stages.bars.rack import STROKES_SHARE, demand_of, from_heat, heats_of, rows_of

STAGE = "bars"
MOST_WAYS = 400
WORK_LIMIT = 5.0
PRICE_STEP = 1e-4


def saw_together(*, lots: tuple[Lot, ...], bars: tuple[Bar, ...], saw: Saw, remnants: tuple[Remnant, ...],
                 density_kg_per_mm3: float) -> Decision[OrderSawing]:  # fmt: skip
    """One saw plan for each section that the lots are sawn from.

    A lot comes from one heat: from remnants of one heat of the rack, where those give all of it, or from new bars,
    which are ordered as one heat; lots of one section may share remnants of a heat and share new bars.  Every way to
    deal lots to heats is looked at; of more than MOST_WAYS only those that leave out the heats named last, and then
    nothing is shown of the cheapest.

    Args:     lots: one a part; those whose bar the shop does not have are left out.
    Returns:  sections by bar id, each with its proofs.
    Raises:   nothing.
    Checked:  tests/stages/bars/test_together.py
    """
    sections: list[SectionSawing] = []
    proofs: list[Proof] = []
    for bar in sorted(bars, key=lambda one: one.id):
        own = tuple(sorted((lot for lot in lots if lot.bar_id == bar.id), key=lambda lot: lot.part))
        if not own:
            continue
        section = _section(own, bar, saw, remnants, density_kg_per_mm3)
        if section is not None:
            sections.append(section)
            proofs += [_suffice(section), *_fit(section, saw), _cheapest(section, bar, saw), _shared(section)]
    sawing = OrderSawing(
        sections=tuple(sections), price=round(sum(one.price for one in sections), 4),
        alone_price=round(sum(one.alone_price for one in sections), 4),
    )  # fmt: skip
    return Decision(value=sawing, proofs=tuple(proofs))


def _section(
    lots: tuple[Lot, ...], bar: Bar, saw: Saw, remnants: Sequence[Remnant], density_kg_per_mm3: float
) -> SectionSawing | None:
    shape = bundle_shape(bar=bar, saw=saw)
    stock = stock_of(bar=bar, density_kg_per_mm3=density_kg_per_mm3)

    def plan_of(some: Sequence[Lot], heat: str, *, strokes_share: float) -> BarPlan | None:
        if heat:
            return from_heat(lots=some, remnants=heats[heat], bar=bar, saw=saw, strokes_share=strokes_share)
        found = solve_bars(
            demand=demand_of(some), stock=stock, kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm, tail_mm=saw.tail_mm,
            bundle_max=max(1, shape.bars_count), work_limit=WORK_LIMIT, strokes_share=strokes_share,
        )  # fmt: skip
        return None if found.status == "cannot" else found

    heats = heats_of(bar.id, remnants)
    alone = [plan for lot in lots if (plan := plan_of((lot,), "", strokes_share=STROKES_SHARE)) is not None]
    if len(alone) < len(lots):
        return None
    known: dict[tuple[str, tuple[tuple[float, int], ...]], BarPlan | None] = {}
    best: tuple[float, int] | None = None
    chosen: dict[str, list[Lot]] = {}
    came: tuple[str, ...] = ()
    bound = math.inf
    ways, left_out = _deals(lots, tuple(heats))
    for number, dealt in enumerate(ways):
        groups = {
            heat: [lot for lot, own in zip(lots, dealt, strict=True) if own == heat] for heat in sorted(set(dealt))
        }
        plans: dict[str, BarPlan | None] = {}
        for heat, some in groups.items():
            key = (heat, tuple(sorted(demand_of(some).items())))
            if key not in known:
                known[key] = plan_of(some, heat, strokes_share=0.0)
            plans[heat] = known[key]
        if any(plan is None for plan in plans.values()):
            continue
        new = plans.get("")
        bound = min(bound, 0.0 if new is None else new.lower_bound)
        rank = (0.0 if new is None else round(new.cost, 4), number)
        if best is None or rank < best:
            best, chosen, came = rank, groups, dealt
    if best is None:
        return None
    made = {
        heat: plan
        for heat, some in chosen.items()
        if (plan := plan_of(some, heat, strokes_share=STROKES_SHARE)) is not None
    }
    rows: list[SawnBars] = []
    shortest = min(lot.cut_length_mm for lot in lots)
    for heat, plan in sorted(made.items(), reverse=True):  # the rack first
        rows += rows_of(
            plan, bar=bar, saw=saw, density_kg_per_mm3=density_kg_per_mm3, shortest_mm=shortest,
            remnants=heats.get(heat, ()),
        )  # fmt: skip
    new = made.get("")
    price = 0.0 if new is None else round(new.cost, 4)
    bound = 0.0 if left_out else bound  # a heat that was left out may give what is bought here
    is_proved = price - bound <= PRICE_STEP
    strokes, apart = sum(plan.saw_strokes_count for plan in made.values()), sum(p.saw_strokes_count for p in alone)
    alone_price = round(sum(plan.cost for plan in alone), 4)
    if apart < strokes and alone_price - price <= PRICE_STEP:  # as cheap, and fewer strokes
        strokes = apart
        rows = [
            row for plan in alone
            for row in rows_of(plan, bar=bar, saw=saw, density_kg_per_mm3=density_kg_per_mm3, shortest_mm=shortest)
        ]  # fmt: skip
    return SectionSawing(
        bar_id=bar.id, lots=lots, rows=tuple(rows), price=price, alone_price=alone_price, lower_bound=round(bound, 4),
        gap_ratio=0.0 if is_proved else (price - bound) / price, ways_count=len(ways), heats_left_out=left_out,
        bars_count=sum(row.bundle_count * row.times for row in rows if not row.tag), strokes_count=strokes,
        alone_strokes_count=apart, status="proved" if is_proved else "not proved",
        from_heat=tuple((lot.part, heat) for lot, heat in zip(lots, came, strict=True) if heat),
    )  # fmt: skip


def _deals(lots: Sequence[Lot], heats: tuple[str, ...]) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """Heats for the lots, "" for new bars; where there are too many ways the heats named last, which are told too."""
    kept = len(heats)
    while kept and (kept + 1) ** len(lots) > MOST_WAYS:
        kept -= 1
    return list(itertools.product(("", *heats[:kept]), repeat=len(lots))), heats[kept:]


def _made_of(rows: Sequence[SawnBars]) -> Mapping[float, int]:
    made: dict[float, int] = {}
    for row in rows:
        for length, count in row.pieces:
            made[length] = made.get(length, 0) + row.bundle_count * row.times * count
    return made


def _suffice(section: SectionSawing) -> Proof:
    made, demand = _made_of(section.rows), demand_of(section.lots)
    short = max(count - made.get(length, 0) for length, count in demand.items())
    return prove(
        id=f"{STAGE}:{section.bar_id}:all-lots-come-out", stage=STAGE, subject=section.bar_id,
        claim="the bundles give every piece and spare of all lots of this section", sense="at most",
        found_low=float(max(0, short)), found_high=float(max(0, short)), limit=0.0, unit="pieces short",
        blocks_release=True,
        basis=Basis(
            formula="largest over the cut lengths of pieces asked for less bars x pieces of a bar",
            source="own-algorithm",
            inputs={
                f"{lot.part}, {lot.cut_length_mm:g} mm": exact_fact(
                    float(lot.pieces_count), "pieces", "own-algorithm", "assumed"
                )
                for lot in section.lots
            },
        ),
    )  # fmt: skip


def _fit(section: SectionSawing, saw: Saw) -> tuple[Proof, Proof]:
    """Counted over row by row, not as the solver counted: at the cut lengths, and with the saw's tolerance."""
    over = [
        tuple(taken - row.bar_length_mm for taken in taken_of_bar_mm(pieces=row.pieces, saw=saw))
        for row in section.rows
    ]  # fmt: skip
    low, nominal, high = (round(max(ends), 6) for ends in zip(*over, strict=True))
    formula = "largest of trim + sum of pieces + kerfs between them + tail - length"
    tolerance = Fact(
        low=-saw.length_tolerance_mm, nominal=0.0, high=saw.length_tolerance_mm, unit="mm", source="shop-file",
        strength="owner's guess",
    )  # fmt: skip
    return (
        prove(
            id=f"{STAGE}:{section.bar_id}:pieces-fit-their-bars", stage=STAGE, subject=section.bar_id,
            claim="trim, pieces of just their cut length, kerfs and tail fit into each bar and remnant",
            sense="at most", found_low=nominal, found_high=nominal, limit=0.0, unit="mm", blocks_release=True,
            basis=Basis(formula=formula, source="saw_arithmetic", inputs=_saw_facts(saw)),
        ),
        prove(
            id=f"{STAGE}:{section.bar_id}:last-pieces-come-out", stage=STAGE, subject=section.bar_id,
            claim="all pieces come out of each bar and remnant even if each is cut as long as the saw may cut it",
            sense="at most", found_low=low, found_high=high, limit=0.0, unit="mm", blocks_release=False,
            basis=Basis(
                formula=f"{formula}, every piece with the saw's tolerance", source="saw_arithmetic",
                inputs={**_saw_facts(saw), "saw tolerance": tolerance},
            ),
            decides=IN_DOUBT, remedy="ask for one piece less of each bar",
        ),
    )  # fmt: skip


def _cheapest(section: SectionSawing, bar: Bar, saw: Saw) -> Proof:
    """Not shown where heats of the rack were left out, unless nothing is bought."""
    is_open = bool(section.heats_left_out) and section.status != "proved"
    left_out = ", ".join(section.heats_left_out)
    looked = f"the {section.ways_count} ways to deal lots to heats of the rack and to new bars"
    if left_out:
        looked += f" that leave out heats {left_out}"
    return prove(
        id=f"{STAGE}:{section.bar_id}:no-cheaper-bars-together", stage=STAGE, subject=section.bar_id,
        claim="no bars of this section cost less for all lots, each from one heat", sense="at most",
        found_low=section.price, found_high=section.price, limit=None if is_open else section.lower_bound,
        unit="money", blocks_release=False,
        basis=Basis(
            formula=f"price of new bars against the bound over {looked}; gap {100.0 * section.gap_ratio:.2f} %",
            source="own-algorithm",
            inputs={
                **_saw_facts(saw),
                "price of a kilogram": exact_fact(bar.price_per_kg, "money", "shop-file", "owner's guess"),
            },
        ),
        decides=f"try what heats {left_out} could give, or plan fewer parts in one order" if is_open else "",
        remedy="" if is_open else "give the search more time",
    )  # fmt: skip


def _shared(section: SectionSawing) -> Proof:
    return prove(
        id=f"{STAGE}:{section.bar_id}:together-no-dearer-than-alone", stage=STAGE, subject=section.bar_id,
        claim="sawn together the lots take bars for no more money than each by itself", sense="at most",
        found_low=section.price, found_high=section.price, limit=section.alone_price, unit="money",
        blocks_release=False,
        basis=Basis(formula="price together against the sum of prices alone", source="own-algorithm"),
    )  # fmt: skip


def _saw_facts(saw: Saw) -> dict[str, Fact]:
    return {
        name: exact_fact(value, "mm", "shop-file", "owner's guess")
        for name, value in (("kerf", saw.kerf_mm), ("trim", saw.trim_mm), ("tail", saw.tail_mm))
    }
