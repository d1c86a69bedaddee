"""Decide the bars for the order: whole bars of least money, sawn in the fewest strokes, with the bound."""

from __future__ import annotations

import math

from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Order
from proveout.model.plan import BarsPlan
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.sawing import BarPattern, Lot
from proveout.model.shop import Bar, Saw
from proveout.model.stock import Remnant
from proveout.model.work import Blank
from proveout.solving.cutting_stock import BarPlan, pieces_per_bar_count, solve_bars
from proveout.stages.bars.bundles import BundleShape, bundle_shape, lift_limit_kg, mass_kg, remnant_least_mm, stock_of
from proveout.stages.bars.fitting import IN_DOUBT, is_last_in_doubt, taken_of_bar_mm
from proveout.stages.bars.rack import rack_rows
from proveout.stages.bars.steps import length_steps, step_proof

STAGE = "bars"


def decide(
    *,
    blank: Blank,
    order: Order,
    saw: Saw,
    bars: tuple[Bar, ...],
    scrap_ratio: Fact,
    density_kg_per_mm3: float,
    remnants: tuple[Remnant, ...] = (),
    is_of_order: bool = False,
) -> Decision[BarsPlan]:
    """Bars of the blank's section for the order with spares and trial blanks; an ideal blank has nothing to saw.

    remnants: in the rack; the price is of bars bought, whether or not they could give the lot.   is_of_order: other
    lots may want the same remnants, so that none is promised to this one.
    """
    spares = order.spares(scrap_ratio)
    pieces = order.quantity + spares + order.trial_count
    bar = next((b for b in bars if b.id == blank.bar_id), None)
    if bar is None:
        return _nothing_to_saw(blank, order, saw, pieces, spares)
    shape = bundle_shape(bar=bar, saw=saw)
    lift, least = lift_limit_kg(saw), remnant_least_mm(saw=saw, shortest_mm=blank.cut_length_mm)
    weighs = {
        length: mass_kg(bar=bar, length_mm=length, density_kg_per_mm3=density_kg_per_mm3) for length in bar.lengths_mm
    }
    stock = stock_of(bar=bar, density_kg_per_mm3=density_kg_per_mm3)
    found = solve_bars(
        demand={blank.cut_length_mm: pieces},
        stock=stock,
        kerf_mm=saw.kerf_mm,
        trim_mm=saw.trim_mm,
        tail_mm=saw.tail_mm,
        bundle_max=max(1, shape.bars_count),
    )
    if found.status == "cannot":
        return _nothing_to_saw(blank, order, saw, pieces, spares, reason=found.reason)
    per_bar = max(
        pieces_per_bar_count(
            bar_length_mm=length,
            piece_length_mm=blank.cut_length_mm,
            kerf_mm=saw.kerf_mm,
            trim_mm=saw.trim_mm,
            tail_mm=saw.tail_mm,
        )
        for length, _, _ in stock
    )
    patterns = tuple(
        BarPattern(
            bar_id=bar.id,
            bar_length_mm=bundle.stock_length_mm,
            bundle_count=bundle.bars_count,
            times=bundle.bundles_count,
            pieces_each=sum(count for _, count in bundle.pieces),
            remnant_mm=bundle.leftover_mm,
            across_count=min(bundle.bars_count, shape.wide_count),
            lies_flat=shape.lies_flat,
            bar_mass_kg=round(weighs[bundle.stock_length_mm], 3),
            needs_two=weighs[bundle.stock_length_mm] > lift,
            is_kept=bundle.leftover_mm >= least,
            is_last_in_doubt=is_last_in_doubt(pieces=bundle.pieces, bar_length_mm=bundle.stock_length_mm, saw=saw),
        )
        for bundle in found.bundles
    )
    cuts = sum(p.bundle_count * p.times * (p.pieces_each + 1) for p in patterns)
    rack = rack_rows(
        lot=Lot(part="", bar_id=bar.id, cut_length_mm=blank.cut_length_mm, pieces_count=pieces, spare_count=spares),
        bar=bar, saw=saw, remnants=remnants, density_kg_per_mm3=density_kg_per_mm3,
    )  # fmt: skip
    plan = BarsPlan(
        pieces_count=pieces - order.trial_count,
        spare_count=spares,
        trial_count=order.trial_count,
        bars_count=found.bars_count,
        lower_bound=math.ceil(pieces / per_bar),
        patterns=patterns,
        strokes_count=found.saw_strokes_count,
        kerf_mm=saw.kerf_mm,
        trim_mm=saw.trim_mm,
        tail_mm=saw.tail_mm,
        cut_length_mm=blank.cut_length_mm,
        cut_tolerance_mm=saw.length_tolerance_mm,
        price=round(found.cost, 4),
        status=found.status,
        note=_note(found, patterns, shape, bar, pieces),
        steps=length_steps(blank=blank, saw=saw, stock=stock, pieces_count=pieces, price=found.cost,
            bars_count=found.bars_count),
        blade_s=round(cuts * bar.width_mm * bar.height_mm / saw.rate_mm2_per_s, 3),
        handling_s=round(found.saw_strokes_count * saw.handling_s, 3),
        lift_limit_kg=lift,
        rack=() if is_of_order else rack,
        is_rack_shared=is_of_order and bool(rack),
    )  # fmt: skip
    proofs = _proofs(plan, found, saw, bar, order, scrap_ratio, density_kg_per_mm3)
    return Decision(value=plan, proofs=(*proofs, step_proof(plan=plan, bar_id=bar.id, blank=blank)))


def _note(found: BarPlan, patterns: tuple[BarPattern, ...], shape: BundleShape, bar: Bar, pieces: int) -> str:
    bundles = " + ".join(str(p.bundle_count) for p in patterns for _ in range(p.times))
    made = _made_count(patterns)
    way = f"{bar.width_mm:g} mm side {'lying' if shape.lies_flat else 'standing'}"
    text = f"bundles of {bundles} bars, at most {shape.wide_count} wide x {shape.high_count} high, {way}"
    if made > pieces:
        text += f"; {made} pieces come out, {made - pieces} more than asked for"
    if found.strokes_status != "proved":
        text += f"; strokes not proved fewest, at least {found.strokes_bound_count}"
    return text


def _beside(plan: BarsPlan) -> str:
    trial = f" and {plan.trial_count} trial blanks" if plan.trial_count else ""
    return f"{plan.spare_count} spares{trial}"


def _made_count(patterns: tuple[BarPattern, ...]) -> int:
    return sum(p.bundle_count * p.times * p.pieces_each for p in patterns)


def _proofs(
    plan: BarsPlan,
    found: BarPlan,
    saw: Saw,
    bar: Bar,
    order: Order,
    scrap_ratio: Fact,
    density_kg_per_mm3: float,
) -> tuple[Proof, ...]:
    prices = {
        "price of a kilogram": exact_fact(bar.price_per_kg, "money", "shop-file", "owner's guess"),
        "density": exact_fact(density_kg_per_mm3, "kg/mm3", "shop-file", "owner's guess"),
        "width of the bar": exact_fact(bar.width_mm, "mm", "shop-file", "owner's guess"),
        "height of the bar": exact_fact(bar.height_mm, "mm", "shop-file", "owner's guess"),
        "pieces": exact_fact(float(plan.blanks_count), "pieces", "own-algorithm", "assumed"),
    }
    saw_facts = {
        "kerf": exact_fact(saw.kerf_mm, "mm", "shop-file", "owner's guess"),
        "trim": exact_fact(saw.trim_mm, "mm", "shop-file", "owner's guess"),
        "tail": exact_fact(saw.tail_mm, "mm", "shop-file", "owner's guess"),
        "cut length": exact_fact(plan.cut_length_mm, "mm", "own-algorithm", "assumed"),
    }
    subject = plan.patterns[0].bar_id
    made = float(_made_count(plan.patterns))
    return (
        prove(
            id=f"{STAGE}:{subject}:pieces-suffice",
            stage=STAGE,
            subject=subject,
            claim=f"the bundles give all pieces of the order and {_beside(plan)}",
            sense="at least",
            found_low=made,
            found_high=made,
            limit=float(plan.blanks_count),
            unit="pieces",
            blocks_release=True,
            basis=Basis(
                formula="sum of bars in bundle x times x pieces of a bar, against pieces ordered and spares",
                source="own-algorithm",
                inputs={
                    "pieces ordered": exact_fact(float(order.quantity), "pieces", "job-file", "owner's guess"),
                    "spares": exact_fact(float(plan.spare_count), "pieces", "own-algorithm", "assumed"),
                    "share of the pieces lost": scrap_ratio,
                    **(
                        {"trial blanks": exact_fact(float(plan.trial_count), "pieces", "job-file", "owner's guess")}
                        if plan.trial_count
                        else {}
                    ),
                },
            ),
        ),
        *(_fits(pattern, plan, saw, saw_facts, number) for number, pattern in enumerate(plan.patterns, start=1)),
        prove(
            id=f"{STAGE}:{subject}:no-cheaper-bars",
            stage=STAGE,
            subject=subject,
            claim="no whole bars of this section cost less for the order",
            sense="at most",
            found_low=round(found.cost, 4),
            found_high=round(found.cost, 4),
            limit=round(found.lower_bound, 4),
            unit="money",
            blocks_release=False,
            basis=Basis(
                formula=f"cost against the bound of the whole-number model; gap {100.0 * found.gap_ratio:.2f} %",
                source="own-algorithm",
                inputs={**saw_facts, **prices, **_lengths(bar)},
            ),
            remedy="give the search more time",
        ),
        *(
            (_fewest(plan, {**saw_facts, **_lengths(bar), "pieces": prices["pieces"]}),)
            if len(set(bar.lengths_mm)) == 1
            else ()
        ),
    )


def _lengths(bar: Bar) -> dict[str, Fact]:
    return {
        f"L, bar of {length:g} mm": exact_fact(length, "mm", "shop-file", "owner's guess")
        for length in sorted(set(bar.lengths_mm))
    }


def _fewest(plan: BarsPlan, facts: dict[str, Fact]) -> Proof:
    """Only where one bar length is on offer: of several, more short bars may cost less than fewer long ones."""
    subject = plan.patterns[0].bar_id
    return prove(
        id=f"{STAGE}:{subject}:no-fewer-bars",
        stage=STAGE,
        subject=subject,
        claim="no plan can use fewer bars",
        sense="at most",
        found_low=float(plan.bars_count),
        found_high=float(plan.bars_count),
        limit=float(plan.lower_bound),
        unit="bars",
        blocks_release=False,
        basis=Basis(
            formula="bars >= pieces / floor((L - trim - tail + kerf) / (cut length + kerf))",
            source="saw_arithmetic",
            inputs=facts,
        ),
        remedy="give the search more time",
    )


def _fits(pattern: BarPattern, plan: BarsPlan, saw: Saw, facts: dict[str, Fact], number: int) -> Proof:
    """The last piece of a bar, when every piece comes out as long as the saw's tolerance lets it."""
    n = pattern.pieces_each
    least, _, most = taken_of_bar_mm(pieces=((plan.cut_length_mm, n),), saw=saw)
    return prove(
        id=f"{STAGE}:{pattern.bar_id} {number}:last-piece-comes-out",
        stage=STAGE,
        subject=f"{pattern.bar_id} {number}",
        claim=f"{n} pieces come out of {pattern.bar_length_mm:g} mm even if each is cut as long as the saw may cut it",
        sense="at most",
        found_low=round(least, 6),
        found_high=round(most, 6),
        limit=pattern.bar_length_mm,
        unit="mm",
        blocks_release=False,
        basis=Basis(
            formula=f"trim + {n} x (cut length + tolerance) + {n - 1} x kerf + tail",
            source="saw_arithmetic",
            inputs={
                **facts,
                "L, length of the bar": exact_fact(pattern.bar_length_mm, "mm", "shop-file", "owner's guess"),
                "saw tolerance": Fact(
                    low=-saw.length_tolerance_mm,
                    nominal=0.0,
                    high=saw.length_tolerance_mm,
                    unit="mm",
                    source="shop-file",
                    strength="owner's guess",
                ),
            },
        ),
        decides=IN_DOUBT,
        remedy="ask for one piece less of each bar",
    )


def _nothing_to_saw(
    blank: Blank, order: Order, saw: Saw, pieces: int, spares: int, *, reason: str = ""
) -> Decision[BarsPlan]:
    why = reason or "no bar in the shop has this section: buy one first"
    plan = BarsPlan(
        pieces_count=pieces - order.trial_count,
        spare_count=spares,
        trial_count=order.trial_count,
        bars_count=0,
        lower_bound=0,
        patterns=(),
        strokes_count=pieces,
        kerf_mm=saw.kerf_mm,
        trim_mm=saw.trim_mm,
        tail_mm=saw.tail_mm,
        cut_length_mm=blank.cut_length_mm,
        cut_tolerance_mm=saw.length_tolerance_mm,
        price=round(blank.material_price_each * order.quantity, 4),  # each bears spares and trial blanks too
        status="cannot",
        note=f"{why}; the price is that of the metal of the blanks alone",
    )
    proof = prove(
        id=f"{STAGE}:{blank.bar_id}:pieces-suffice",
        stage=STAGE,
        subject=blank.bar_id,
        claim=f"the bundles give all pieces of the order and {_beside(plan)}",
        sense="at least",
        found_low=0.0,
        found_high=0.0,
        limit=float(pieces),
        unit="pieces",
        blocks_release=True,
        basis=Basis(formula="no bar, no piece", source="own-algorithm"),
        remedy=why,
    )
    return Decision(value=plan, proofs=(proof,))
