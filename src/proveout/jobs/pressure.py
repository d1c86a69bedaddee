"""The shop with the cutting pressure that its own readings give, for every stage alike."""

from __future__ import annotations

import dataclasses

import msgspec

from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.proof import Proof


def with_readings(request: Request, *, lack: str, store: Store) -> tuple[Request, tuple[Proof, ...]]:
    """The request with the cutting pressure narrowed, or widened where readings and what is written lie apart.

    lack: why the shop's figures are not for the job's metal; then nothing is changed.
    """
    shop = request.shop
    if lack or not shop.spindle_readings:
        return request, ()
    from proveout.stages.loads.readings import decide_pressure

    found = store.get(
        "cutting pressure", decide_pressure, readings=shop.spindle_readings, cutters=shop.cutters,
        alloy=request.job.part.alloy, pressure_mpa=shop.cutting_pressure_mpa,
        exponent_ratio=shop.cutting_exponent_ratio,
    )  # fmt: skip
    narrowed = msgspec.structs.replace(
        shop, cutting_pressure_mpa=found.value.pressure_mpa, cutting_exponent_ratio=found.value.exponent_ratio
    )
    return dataclasses.replace(request, shop=narrowed), found.proofs
