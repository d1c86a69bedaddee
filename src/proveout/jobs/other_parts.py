"""Wrong loads among the parts of an order: what lies about of the others, raw, half-made and finished.

How the others are made is known once all parts are planned: only then are the wrong loads of each looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import msgspec

from proveout.jobs.drawn import wrong_drawings
from proveout.jobs.plan_job import Planned
from proveout.jobs.slices import cutters_as_bodies
from proveout.jobs.store import Store
from proveout.jobs.wrong_loads import wrong_loads
from proveout.model.loading import SisterWork
from proveout.model.plan import Plan
from proveout.model.proof import is_ready, weakest_first
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.work import PassPlan
from proveout.quantities.canonical import digest_of
from proveout.quantities.names_apart import names_apart

STAGE = "loading"


@dataclass(frozen=True, kw_only=True)
class Made:
    """A part of an order and how it is made, None where nobody found how.   solid: its digest."""

    number: str
    solid: str
    work: SisterWork | None

    @property
    def mark(self) -> str:
        """All that the metal hangs on, from the blank to the finished piece."""
        if self.work is None:
            return f"{self.solid} without a plan"
        its = self.work
        frames = [(c.number, c.id, c.frame, [(t.id, t.frame) for t in c.tilts]) for c in its.clampings]
        cuts = [(p.clamping_id, p.tilt_id, p.cutter_id, p.moves_digest) for p in its.plan.passes]
        return digest_of((self.solid, its.blank.low_mm, its.blank.high_mm, frames, cuts, its.cutters))


def made_of(plan: Plan, passes: PassPlan, cutters: Sequence[Cutter], *, number: str, is_marked: bool) -> Made:
    """How a planned part is made.

    Args:     number: the part's, told apart from others of the order.   is_marked: its owner marks the work somewhere.
    """
    own = {one.moves_digest: passes.moves[one.moves_digest] for one in plan.passes}
    used = {one.cutter_id for one in plan.passes}
    blank = msgspec.structs.replace(
        plan.blank.chosen, pieces_per_bar=0, bar_length_mm=0.0, material_price_each=0.0, mass_kg=0.0,
        beside_price_each=0.0,
    )  # fmt: skip
    work = SisterWork(
        number=number, blank=blank, clampings=plan.clampings,
        plan=PassPlan(passes=plan.passes, not_cut=(), moves=own),
        cutters=cutters_as_bodies(tuple(c for c in cutters if c.id in used)),
        is_marked=is_marked,
    )  # fmt: skip
    return Made(number=number, solid=plan.part.solid_digest, work=work if plan.clampings else None)


def all_made(planned: Sequence[Planned]) -> list[Made]:
    """How the parts of an order are made, in its order."""
    numbers = names_apart(one.plan.part.number for one in planned)
    found = []
    for number, one in zip(numbers, planned, strict=True):
        assert one.in_jaws is not None
        cutters, marks = one.in_jaws.shop.cutters, one.in_jaws.marks
        found.append(made_of(one.plan, one.moves, cutters, number=number, is_marked=bool(marks)))
    return found


def among_others(planned: Planned, at: int, made: Sequence[Made], *, store: Store, run: Run) -> Planned:
    """A part's plan with its wrong loads looked at among the others of its order; only what hangs on them is new.

    Args:     at: which of `made` it is.
    """
    of, asks = planned.in_jaws, planned.asks
    assert of is not None
    assert asks is not None
    known = {made[at].mark}
    works: list[SisterWork] = []
    untried: list[str] = []
    for number, one in enumerate(made):
        is_own_solid = number == at or (one.work is None and one.solid == made[at].solid)
        if is_own_solid or one.mark in known:
            continue
        known.add(one.mark)
        if one.work is None:
            untried.append(one.number)
        else:
            works.append(one.work)
    wrong = wrong_loads(of, works=tuple(works), untried=tuple(untried), store=store, run=run)
    plan = planned.plan
    proofs = weakest_first((*(p for p in plan.proofs if p.stage != STAGE), *wrong.proofs))
    anew = msgspec.structs.replace(
        plan, loading=wrong.value, proofs=proofs, ready=is_ready(proofs) and bool(plan.clampings),
        questions=asks(proofs=proofs),
    )  # fmt: skip
    drawings = {name: planned.drawings[name] for name in (c.id for c in plan.clampings) if name in planned.drawings}
    if drawings:
        drawings |= wrong_drawings(
            solid=planned.read.solid, clampings=plan.clampings, loading=wrong.value, store=store
        )  # fmt: skip
    return replace(planned, plan=anew, drawings=drawings)
