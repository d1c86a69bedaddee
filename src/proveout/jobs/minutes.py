"""The minutes of a plan in working order, with the nearest limit of every pass."""

from __future__ import annotations

import re
from dataclasses import dataclass

from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.shop import Shop
from proveout.sheets.minutes_strip import Block, Stretch, Strip, Weak
from proveout.sheets.names import Names

POWER, GRIP = "power of the spindle", "grip"
MOVE = re.compile(r"\bmove (\d+)\b")
ALIKE = 1e-3
"""Margins that differ by less are of one and the same thing, once in the list of passes and once as a proof."""


@dataclass(frozen=True)
class Weakest:
    """The pass that comes nearest to a limit, by its place in plan.passes, and which move where a proof names one."""

    index: int
    weak: Weak


def strip_of(plan: Plan, shop: Shop) -> Strip:
    """Every pass of the plan to scale; passes without reckoned minutes have none."""
    names = Names(plan=plan, shop=shop)
    cutters = {c.id: c.name for c in shop.cutters}
    numbers = {c.id: c.number for c in plan.clampings}
    seconds = {line.pass_id: line.seconds.nominal for line in plan.time.lines if line.pass_id and line.per == "piece"}
    weak = nearest_limits(plan)
    blocks: list[Block] = []
    stretches: list[Stretch] = []
    at = 0.0
    for clamping in plan.clampings:
        for index, one in enumerate(plan.passes):
            if one.clamping_id != clamping.id:
                continue
            long = seconds.get(one.id, 0.0)
            blocks.append(
                Block(
                    index=index, clamping=numbers[clamping.id], start_s=at, seconds=long,
                    cutter=cutters.get(one.cutter_id, one.cutter_id), words=names.short(one.id), weak=weak[one.id],
                )
            )  # fmt: skip
            at += long
        beside = [
            line for line in plan.time.lines
            if not line.pass_id and line.per == "piece" and line.text.startswith(f"{clamping.id}: ")
        ]  # fmt: skip
        if beside:
            long = sum(line.seconds.nominal for line in beside)
            words = "; ".join(line.text.removeprefix(f"{clamping.id}: ") for line in beside)
            stretches.append(
                Stretch(clamping=clamping.number, start_s=at, seconds=long, words=f"op {clamping.number}: {words}")
            )
            at += long
    return Strip(blocks=tuple(blocks), stretches=tuple(stretches), total_s=at)


def nearest_limits(plan: Plan) -> dict[str, Weak]:
    """By pass id, of all that the plan says of a pass, that with the least margin.

    Formula:  margin = 1 - share of the spindle's power; reserve of the grip over what is asked of it, less 1; margin of
              each proof that names it
    """
    found: dict[str, list[tuple[float, str, int | None]]] = {one.id: [] for one in plan.passes}
    not_shown = dict.fromkeys(found, 0)
    for limit in plan.pass_limits:
        own = found.get(limit.pass_id, [])
        if limit.power_ratio is not None:
            own.append((1.0 - limit.power_ratio, POWER, None))
        if limit.reserve_ratio is not None:
            own.append((limit.reserve_ratio / limit.reserve_asked_ratio - 1.0, GRIP, None))
    for proof in plan.proofs:
        id = _named(proof, found)
        if id is None:
            continue
        if proof.margin is not None:
            found[id].append((proof.margin, proof.claim.split(";")[0], _move_of(proof, id)))
        if proof.verdict == "not shown":
            not_shown[id] += 1
    return {id: _weak(told, not_shown[id]) for id, told in found.items()}


def _move_of(proof: Proof, id: str) -> int | None:
    """The move of a pass that decides a proof: as it says, else as its words do."""
    at = proof.basis.move
    if at is not None and at.pass_id == id:
        return at.row
    move = MOVE.search(proof.subject.removeprefix(id)) or MOVE.search(proof.claim)
    return None if move is None else int(move[1])


def weakest_of(plan: Plan) -> Weakest | None:
    """The pass with the least margin of all; None where no margin is known."""
    weak = nearest_limits(plan)
    known = [(i, weak[one.id]) for i, one in enumerate(plan.passes) if weak[one.id].margin is not None]
    if not known:
        return None
    index, found = min(known, key=lambda pair: (pair[1].margin, pair[0]))
    return Weakest(index=index, weak=found)


def _named(proof: Proof, ids: dict[str, list[tuple[float, str, int | None]]]) -> str | None:
    """The pass that a proof's subject begins with, the longest such id."""
    fits = [id for id in ids if proof.subject == id or proof.subject.startswith((f"{id}, ", f"{id} (", f"{id}: "))]
    return max(fits, key=len, default=None)


def _weak(told: list[tuple[float, str, int | None]], not_shown_count: int) -> Weak:
    if not told:
        return Weak(margin=None, what="", move=None, not_shown_count=not_shown_count)
    least = min(margin for margin, _, _ in told)
    alike = [one for one in told if one[0] - least <= ALIKE]
    _, what, move = min(alike, key=lambda one: (one[2] is None, one[0], one[1]))
    return Weak(margin=least, what=what, move=move, not_shown_count=not_shown_count)
