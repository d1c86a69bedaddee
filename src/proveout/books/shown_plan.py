"""An event that speaks of a plan, held against the plan itself."""

from __future__ import annotations

from proveout.books.release import opens_of
from proveout.model.batch_events import Planned, Released
from proveout.model.events import Corrected, Stating
from proveout.model.plan import Plan
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import Refused


def as_plan_says(of: Stating | Corrected, plan: Plan | None) -> None:
    """Let pass what speaks of no plan, and what says of one just what is in it: fingerprint, open proofs, revision.

    What a forged post could still do: come with a forged plan, whose proofs all hold, or with one that another version
    decided. Its packet then holds that plan, and anybody who plans the part again sees that it is another; the chain
    keeps who posted it and when. Whoever can write the database itself can write anything, and the chain shows it.

    Raises:   Refused when the plan is missing or says something else.
    """
    if not isinstance(of, Planned | Released):
        return
    if plan is None:
        raise Refused("This comes with the plan that it speaks of", where="plan", do="plan and release from the desk")
    digest = digest_of(plan)
    if of.plan != digest:
        raise Refused("This is not the plan that it speaks of", where="plan", value=of.plan, limit=digest)
    if isinstance(of, Planned):
        real = opens_of(plan.proofs)
        if of.opens != real:
            named, open_now = ({one.id for one in opens} for opens in (of.opens, real))
            raise Refused("The open proofs are not those of the plan", where="plan",
                          value=", ".join(sorted(named ^ open_now)) or "told otherwise")  # fmt: skip
    elif of.revision != revision_of(plan):
        raise Refused("The plan is of another revision", where="plan", value=of.revision, limit=revision_of(plan))


def revision_of(plan: Plan) -> str:
    """The revision under which batches of a plan run: "-" where its job names none."""
    return plan.part.revision or "-"
