"""Next-best sequences of clampings planned in full beside the best foreseen, and the best of them kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import msgspec

from proveout.jobs.plan_job import Planned, plan_job
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.job import Pin
from proveout.model.plan import FirstLook, Plan, WayOfHolding
from proveout.model.proof import Basis, Proof, kind_of, open_proofs, opens_more, prove, weakest_first
from proveout.model.run import Run

LEAST_BOUND = "clampings:sequence:least bound"
OF_SEQUENCES = ("up", "ups", "machine", "machines")


def plan_best(
    request: Request, *, also_count: int, store: Store, run: Run, show: Callable[[FirstLook], None] | None = None
) -> Planned:  # fmt: skip
    """The best of so many more sequences planned in full: fewest open proofs that block release, then least money.

    In the stead of the one foreseen best only those are taken that open nothing which it has closed: of no kind of
    proof more is open, and of none more fails.

    Args:     also_count: next-best sequences to plan beside the one foreseen best, 0 for none.   show: gets the first
              look at the one foreseen best.
    Raises:   as plan_job.
    """
    first = plan_job(request, store=store, run=run, show=show)
    rivals = first.plan.ways[1 : 1 + also_count]
    if not rivals:
        return first
    made = [first]
    for number, way in enumerate(rivals, start=2):
        run.check("clampings", f"sequence {number} of {1 + len(rivals)}")
        made.append(plan_job(_with_pins(request, way), store=store, run=run))
    allowed = [k for k, one in enumerate(made) if not _opens(one.plan, first.plan)]
    best = min(allowed, key=lambda k: (_open(made[k].plan), made[k].plan.cost.each.nominal, k))
    kept = made[best]
    ways = tuple(
        msgspec.structs.replace(_told(way, made[k].plan, kept.plan), is_chosen=k == best) if k < len(made) else way
        for k, way in enumerate(first.plan.ways)
    )
    own = [p for p in kept.plan.proofs if p.id != LEAST_BOUND and not (best and _is_ours(p, request))]
    proofs = weakest_first((*own, *(p for p in first.plan.proofs if p.id == LEAST_BOUND), _in_full(ways)))
    return replace(kept, plan=msgspec.structs.replace(kept.plan, ways=ways, proofs=proofs))


def _told(way: WayOfHolding, plan: Plan, kept: Plan) -> WayOfHolding:
    """A way with what its plan came to, beside the one that is kept."""
    money = None if plan.metal_unknown else plan.cost.each
    seconds = None if plan.metal_unknown else round(sum(plan.time.cycle_s.values()), 3)
    return msgspec.structs.replace(
        way, open_count=_open(plan), cost_each=money, machine_s=seconds, opens=_opens(plan, kept)
    )


def _opens(plan: Plan, other: Plan) -> tuple[str, ...]:
    """Kinds of proof of which it has more open, or failing, than another."""
    return opens_more(plan.proofs, other.proofs, by=kind_of)


def _open(plan: Plan) -> int:
    return len(open_proofs(plan.proofs))


def _with_pins(request: Request, way: WayOfHolding) -> Request:
    kept = tuple(p for p in request.job.pins if p.quantity not in OF_SEQUENCES)
    pins = (
        *kept,
        Pin(quantity="ups", value="\n".join(way.ups)),
        Pin(quantity="machines", value="\n".join(way.machines)),
    )
    return replace(request, job=msgspec.structs.replace(request.job, pins=pins))


def _is_ours(proof: Proof, request: Request) -> bool:
    """A proof of pins that this comparison set and the owner did not."""
    own = {f"clampings:pin:{p.quantity}" for p in request.job.pins}
    return proof.id.startswith("clampings:pin:") and proof.id not in own


def _in_full(ways: tuple[WayOfHolding, ...]) -> Proof:
    """Money of the one kept against the cheapest of the others that opens nothing more."""
    (own,) = (way for way in ways if way.is_chosen)
    others = [w for w in ways if w.open_count is not None and not w.is_chosen]
    rivals = [w for w in others if not w.opens and w.open_count == own.open_count and w.cost_each is not None]
    told = "; ".join(
        f"{w.why}: {w.open_count} open"
        + (f", more of {', '.join(w.opens)}" if w.opens else "")
        + (f", {w.cost_each.nominal:.2f} a piece" if w.cost_each is not None else "")
        + (f", {w.machine_s:.0f} s" if w.machine_s is not None else "")
        for w in (own, *others)
    )
    found = None if own.cost_each is None else own.cost_each.nominal
    limit = min((w.cost_each.nominal for w in rivals if w.cost_each is not None), default=found)
    which = "none that opens nothing which this one closes costs less"
    return prove(
        id="clampings:sequence:planned in full", stage="clampings", subject=own.why,
        claim=f"of {1 + len(others)} sequences planned in full {which}",
        sense="at most", found_low=found, found_high=found, limit=limit, unit="money a piece",
        blocks_release=False,
        basis=Basis(
            formula=f"open proofs that block release, then usual money a piece: {told}", source="own-algorithm"
        ),
        decides="figures for this metal", remedy="pin other ways up or machines",
    )  # fmt: skip
