"""Cheapest choice of sets that together contain everything."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

import msgspec

from proveout.quantities.errors import OutOfRange

# money and minutes are counted in this share of a unit, so that the solver works with whole numbers
COST_STEP = 1.0e-4
DETERMINISTIC_LIMIT = 20.0


class Cover(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Chosen sets by index, their cost, the proven lower bound, and what nothing contains.

    status: "proved" the cheapest; "not proved" a valid cover with cost above its bound; "cannot" when `missing`, in
    no set, leaves no cover; "no answer" when the limit passed first.
    """

    chosen: tuple[int, ...]
    cost: float
    bound: float
    status: Literal["proved", "not proved", "cannot", "no answer"]
    missing: tuple[int, ...] = ()


def cover(
    *,
    sets: Sequence[frozenset[int]],
    costs: Sequence[float],
    universe: Iterable[int],
    work_limit: float = DETERMINISTIC_LIMIT,
) -> Cover:
    """Cheapest sets that contain the whole universe; coverage is never traded for cost.

    costs: one per set, 0 or more, rounded to 0.0001. work_limit: deterministic solver time, so the answer does not
    depend on the machine's load. Elements that no set contains make the answer "cannot" and are listed.
    """
    if len(sets) != len(costs):
        raise OutOfRange("Every set needs a cost", value=f"{len(sets)} sets, {len(costs)} costs")
    if any(not 0.0 <= cost < 1e12 for cost in costs):
        raise OutOfRange("A cost must be 0 or more", value=str(min(costs)))
    wanted = sorted(set(universe))
    missing = tuple(item for item in wanted if not any(item in one for one in sets))
    if missing:
        return Cover(chosen=(), cost=0.0, bound=0.0, status="cannot", missing=missing)
    if not wanted:
        return Cover(chosen=(), cost=0.0, bound=0.0, status="proved")

    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    picks = [model.new_bool_var(f"set {index}") for index in range(len(sets))]
    for item in wanted:
        model.add_bool_or([pick for pick, one in zip(picks, sets, strict=True) if item in one])
    whole = [round(cost / COST_STEP) for cost in costs]
    model.minimize(sum(cost * pick for cost, pick in zip(whole, picks, strict=True)))
    solver = settled_solver(work_limit)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Cover(chosen=(), cost=0.0, bound=solver.best_objective_bound * COST_STEP, status="no answer")
    chosen = tuple(index for index, pick in enumerate(picks) if solver.value(pick))
    return Cover(
        chosen=chosen,
        cost=sum(costs[index] for index in chosen),
        bound=solver.best_objective_bound * COST_STEP,
        status="proved" if status == cp_model.OPTIMAL else "not proved",
    )


def settled_solver(work_limit: float, *, seed: int = 1):  # noqa: ANN201 - the solver's type would import it
    """A solver that gives the same answer every time: one worker, the seed given, limit in deterministic time."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work_limit
    solver.parameters.catch_sigint_signal = False  # an interrupted search would pass for a finished one
    return solver
