"""What is done by hand to a piece once it is milled: its edges, and what goes into bag and box with it."""

from __future__ import annotations

from proveout.jobs.store import Store
from proveout.model.bench import BenchPlan
from proveout.model.job import Job
from proveout.model.packing import Packing
from proveout.model.proof import Proof
from proveout.model.shop import Noun, Shop
from proveout.model.solid import Solid
from proveout.model.work import Clamping, Pass, Survey


class ByHand(Noun, frozen=True, kw_only=True):
    """Bench and packing with their proofs."""

    bench: BenchPlan
    packing: Packing
    proofs: tuple[Proof, ...]


def by_hand(
    *, job: Job, shop: Shop, solid: Solid, survey: Survey, passes: tuple[Pass, ...], clampings: tuple[Clamping, ...],
    store: Store,
) -> ByHand:  # fmt: skip
    """Edges and kit of one part."""
    from proveout.stages.bench.decide import decide as decide_bench
    from proveout.stages.packing.decide import decide as decide_packing

    edges = store.get(
        "bench", decide_bench, solid=solid, survey=survey, passes=passes, clampings=clampings, bench=shop.bench,
        break_mm=job.edge_break_mm, show_faces=job.show_faces,
    )  # fmt: skip
    packed = store.get(
        "packing", decide_packing, kit=job.kit, bag=job.bag, scale_step_kg=shop.bench.scale_step_kg,
        quantity=job.order.quantity,
    )  # fmt: skip
    return ByHand(bench=edges.value, packing=packed.value, proofs=(*edges.proofs, *packed.proofs))
