"""The shop with the cutting pressure that its own readings give, for every stage alike."""

from __future__ import annotations

import dataclasses

import msgspec

from proveout.jobs.metal import lacking
from proveout.jobs.request import Request
from proveout.jobs.slices import cutters_as_bodies
from proveout.jobs.store import Store
from proveout.model.fact import Fact
from proveout.model.proof import Proof
from proveout.model.shop import Shop


def with_readings(request: Request, *, lack: str, store: Store) -> tuple[Request, tuple[Proof, ...]]:
    """The request with the cutting pressure narrowed, or widened where readings and what is written lie apart.

    lack: why the shop's figures are not for the job's metal; then nothing is changed.
    """
    shop = request.shop
    if lack or not shop.spindle_readings:
        return request, ()
    from proveout.stages.loads.readings import decide_pressure

    found = store.get(
        "cutting pressure", decide_pressure, readings=shop.spindle_readings, cutters=cutters_as_bodies(shop.cutters),
        alloy=request.job.part.alloy, pressure_mpa=shop.cutting_pressure_mpa,
        exponent_ratio=shop.cutting_exponent_ratio,
    )  # fmt: skip
    narrowed = msgspec.structs.replace(
        shop, cutting_pressure_mpa=found.value.pressure_mpa, cutting_exponent_ratio=found.value.exponent_ratio
    )
    return dataclasses.replace(request, shop=narrowed), found.proofs


def pressure_words(shop: Shop) -> tuple[str, ...]:
    """What the shop's spindle readings make of its cutting pressure, a sentence for each alloy that was read."""
    from proveout.stages.loads.readings import decide_pressure

    told: list[str] = []
    for alloy in sorted({one.alloy for one in shop.spindle_readings}):
        if lacking(alloy, shop):
            told.append(f"Spindle readings in {alloy} are not used: [material] has no figures for it.")
            continue
        written = shop.cutting_pressure_mpa
        found = decide_pressure(
            readings=shop.spindle_readings, cutters=shop.cutters, alloy=alloy, pressure_mpa=written,
            exponent_ratio=shop.cutting_exponent_ratio,
        )  # fmt: skip
        (proof,), value = found.proofs, found.value
        if not value.used_count:
            told.append(
                f"Cutting pressure of {alloy}: as written, {_span(written)}. Its readings are too few: {proof.decides}."
            )
            continue
        taken = proof.basis.formula.rpartition("; ")[2]
        told.append(
            f"Cutting pressure of {alloy} by {value.used_count} readings of its own: {_span(value.pressure_mpa)}, most "
            f"likely {value.pressure_mpa.nominal:.0f}, falling with exponent {value.exponent_ratio:.3g}; written are "
            f"{_span(written)}. {taken[0].upper()}{taken[1:]}."
        )
    return tuple(told)


def _span(pressure: Fact) -> str:
    return f"{pressure.low:.0f} to {pressure.high:.0f} MPa"
