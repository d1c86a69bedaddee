"""How hard vises are closed: as the shop says, or with the torque that the job pins."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from proveout.jobs.request import Request
from proveout.model.job import Job
from proveout.model.plan import ClampForce
from proveout.model.proof import Proof
from proveout.model.work import Clamping

TORQUE = "torque"


def pinned_torque_n_mm(job: Job) -> float | None:
    """The torque that the job pins for every clamping; None where it pins none."""
    return next((float(pin.value) for pin in job.pins if pin.quantity == TORQUE), None)


def with_pinned_torque(request: Request) -> Request:
    """The request with every vise closed as its job pins it."""
    from proveout.stages import holding

    torque = pinned_torque_n_mm(request.job)
    if torque is None:
        return request
    vises = tuple(holding.closed_with(vise, torque) for vise in request.shop.vises)
    return replace(request, shop=msgspec.structs.replace(request.shop, vises=vises))


def pin_proofs(
    request: Request, clampings: tuple[Clamping, ...], forces: tuple[ClampForce, ...]
) -> tuple[Proof, ...]:  # fmt: skip
    """Whether the pinned torque is kept; none where none is pinned.   forces: with which the plan closes its vises."""
    from proveout.stages import holding

    torque = pinned_torque_n_mm(request.job)
    if torque is None:
        return ()
    return (holding.torque_pin_proof(torque, clampings=clampings, vises=request.shop.vises, forces=forces),)
