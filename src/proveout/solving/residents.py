"""Which cutters stay in a changer for good, so that the fewest are loaded when the parts follow one another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

from proveout.quantities.bounds import above_zero
from proveout.quantities.errors import OutOfRange
from proveout.solving.set_cover import DETERMINISTIC_LIMIT, settled_solver


class Residents(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Cutters that stay, by index, and how many others are loaded when every part is run once.

    loads_count: others, summed over the parts.  bound_count: no choice loads fewer.
    status: "proved" where both agree; "not proved" a valid choice above its bound.
    """

    chosen: tuple[int, ...]
    loads_count: int
    bound_count: int
    status: Literal["proved", "not proved"]


def residents(
    *, needs: Sequence[frozenset[int]], places_count: int, work_limit: float = DETERMINISTIC_LIMIT
) -> Residents:  # fmt: skip
    """The cutters to leave in the changer, so that the parts, each run once, ask for the fewest others.

    Residents are never taken out: beside them there must be room for whatever else a part needs. Among equal choices
    that with fewer residents is taken, then that with the lower indices.

    Args:     needs: cutters of each part, by index, 0 or more.   places_count: of the changer, > 0.   work_limit:
              deterministic solver time, so that the answer does not depend on the machine's load.
    Raises:   OutOfRange for an index below 0, no places, or a part that needs more cutters than there are places.
    """
    above_zero(places_count=places_count)
    if any(index < 0 for need in needs for index in need):
        raise OutOfRange("A cutter's index must be 0 or more", value=str(min(i for n in needs for i in n)))
    if any(len(need) > places_count for need in needs):
        raise OutOfRange(
            "A part needs more cutters than there are places", value=str(max(map(len, needs))),
            limit=str(places_count), do="leave that part out",
        )  # fmt: skip
    every = sorted(frozenset().union(*needs)) if needs else []
    if len(every) <= places_count:
        return Residents(chosen=tuple(every), loads_count=0, bound_count=0, status="proved")

    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    stays = {index: model.new_bool_var(f"cutter {index}") for index in every}
    all_stay = sum(stays.values())
    for need in needs:
        model.add(all_stay + sum(1 - stays[index] for index in sorted(need)) <= places_count)
    loads = sum(1 - stays[index] for need in needs for index in sorted(need))
    # a load outweighs any choice among equals: fewer residents, then lower indices
    order = sum((len(every) ** 2 + place) * stays[index] for place, index in enumerate(every))
    model.minimize(loads * 2 * len(every) ** 3 + order)
    solver = settled_solver(work_limit)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise OutOfRange(
            "The changer's residents were not found within the limit", value=str(work_limit), do="give a longer limit"
        )
    chosen = tuple(index for index in every if solver.value(stays[index]))
    count = sum(len(need.difference(chosen)) for need in needs)
    bound = count if status == cp_model.OPTIMAL else int(solver.best_objective_bound // (2 * len(every) ** 3))
    return Residents(
        chosen=chosen, loads_count=count, bound_count=max(0, bound),
        status="proved" if status == cp_model.OPTIMAL else "not proved",
    )  # fmt: skip
