"""Fits of an order on the plans of both parts: one whose fit is not shown to hold is not ready either."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from proveout.model.job import Fit, Job
from proveout.model.order import OrderedPart
from proveout.model.plan import Plan
from proveout.model.proof import Proof, is_ready, weakest_first
from proveout.stages.fits import decide, fit_part


def with_fits(
    plans: Sequence[Plan], jobs: Sequence[Job], fits: tuple[Fit, ...]
) -> tuple[tuple[Plan, ...], tuple[Proof, ...]]:  # fmt: skip
    """The plans, in their order, each with the proofs of the fits that name its part; and the proofs of all fits."""
    parts = [fit_part(OrderedPart(plan=plan, job=job)) for plan, job in zip(plans, jobs, strict=True)]
    judged = [(fit, decide(fits=(fit,), parts=parts).proofs) for fit in fits]
    found: list[Plan] = []
    for plan in plans:
        own = tuple(p for fit, some in judged if plan.part.number in {s.part for s in fit.sides} for p in some)
        if not own:
            found.append(plan)
            continue
        proofs = weakest_first((*plan.proofs, *own))
        found.append(msgspec.structs.replace(plan, proofs=proofs, ready=plan.ready and is_ready(own)))
    return tuple(found), tuple(p for _, some in judged for p in some)
