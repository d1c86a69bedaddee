"""A lot out of remnants of the rack: all of it from one heat, or none of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from proveout.model.sawing import Lot, SawnBars
from proveout.model.shop import Bar, Saw
from proveout.model.stock import Remnant
from proveout.solving.cutting_stock import BarPlan, solve_bars
from proveout.stages.bars.bundles import bundle_shape, lift_limit_kg, mass_kg, remnant_least_mm
from proveout.stages.bars.fitting import is_last_in_doubt

# a remnant is paid for; of those that would do the shorter go first
PRICE_PER_MM = 1e-4
WORK_LIMIT = 2.0
STROKES_SHARE = 0.1


def heats_of(bar_id: str, remnants: Sequence[Remnant]) -> dict[str, list[Remnant]]:
    """Remnants of a section by heat, in the order of heats; one whose heat nobody knows is in no lot."""
    found: dict[str, list[Remnant]] = {}
    for one in sorted(remnants, key=lambda remnant: (remnant.heat, remnant.length_mm, remnant.id)):
        if one.bar_id == bar_id and one.heat:
            found.setdefault(one.heat, []).append(one)
    return found


def demand_of(lots: Sequence[Lot]) -> dict[float, int]:
    """Pieces by cut length."""
    demand: dict[float, int] = {}
    for lot in lots:
        demand[lot.cut_length_mm] = demand.get(lot.cut_length_mm, 0) + lot.pieces_count
    return demand


def from_heat(
    *, lots: Sequence[Lot], remnants: Sequence[Remnant], bar: Bar, saw: Saw, strokes_share: float = STROKES_SHARE
) -> BarPlan | None:
    """The lots out of these remnants alone, the shorter ones first; None where they do not suffice.

    Several remnants of one length are one kind.
    """
    counts = Counter(one.length_mm for one in remnants)
    found = solve_bars(
        demand=demand_of(lots),
        stock=[(length, PRICE_PER_MM * length, count) for length, count in sorted(counts.items())],
        kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm, tail_mm=saw.tail_mm,
        bundle_max=max(1, bundle_shape(bar=bar, saw=saw).bars_count), work_limit=WORK_LIMIT,
        strokes_share=strokes_share,
    )  # fmt: skip
    return None if found.status == "cannot" else found


def rows_of(
    plan: BarPlan, *, bar: Bar, saw: Saw, density_kg_per_mm3: float, shortest_mm: float,
    remnants: Sequence[Remnant] = (),
) -> tuple[SawnBars, ...]:  # fmt: skip
    """A saw plan as rows.  remnants: those it was made of, whose tags the rows carry; none for bars that are bought."""
    least, lift = remnant_least_mm(saw=saw, shortest_mm=shortest_mm), lift_limit_kg(saw)
    tags: dict[float, list[Remnant]] = {}
    for one in sorted(remnants, key=lambda remnant: remnant.id):
        tags.setdefault(one.length_mm, []).append(one)
    rows: list[SawnBars] = []
    for bundle in plan.bundles:
        weighs = mass_kg(bar=bar, length_mm=bundle.stock_length_mm, density_kg_per_mm3=density_kg_per_mm3)
        taken = bundle.bars_count * bundle.bundles_count
        own = tags.get(bundle.stock_length_mm, [])
        used, tags[bundle.stock_length_mm] = own[:taken], own[taken:]
        rows.append(
            SawnBars(
                bar_length_mm=bundle.stock_length_mm,
                bundle_count=bundle.bars_count,
                times=bundle.bundles_count,
                pieces=bundle.pieces,
                remnant_mm=bundle.leftover_mm,
                bar_mass_kg=round(weighs, 3),
                is_kept=bundle.leftover_mm >= least,
                needs_two=weighs > lift,
                tag=", ".join(one.id for one in used),
                heat=used[0].heat if used else "",
                is_last_in_doubt=is_last_in_doubt(pieces=bundle.pieces, bar_length_mm=bundle.stock_length_mm, saw=saw),
            )
        )
    return tuple(rows)


def rack_rows(
    *, lot: Lot, bar: Bar, saw: Saw, remnants: Sequence[Remnant], density_kg_per_mm3: float
) -> tuple[SawnBars, ...]:
    """One lot out of the remnants of the heat that leaves least; empty where no heat suffices."""
    best: tuple[float, str] | None = None
    plans: dict[str, BarPlan] = {}
    heats = heats_of(bar.id, remnants)
    for heat, some in heats.items():
        plan = from_heat(lots=(lot,), remnants=some, bar=bar, saw=saw)
        if plan is not None:
            plans[heat] = plan
            best = (plan.cost, heat) if best is None else min(best, (plan.cost, heat))
    if best is None:
        return ()
    return rows_of(
        plans[best[1]], bar=bar, saw=saw, density_kg_per_mm3=density_kg_per_mm3, shortest_mm=lot.cut_length_mm,
        remnants=heats[best[1]],
    )  # fmt: skip
