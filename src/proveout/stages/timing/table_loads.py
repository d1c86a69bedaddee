"""Decide what lies in each place of a machine without rotary axes in one cycle, cheapest first.

Named: one piece; as many pieces of one clamping as there are places for; and clampings of the part that follow each
other on one machine side by side, where each piece moves on one place a cycle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby, product

import msgspec

from proveout.model.job import Pin
from proveout.model.plan import ClampForce
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.table_load import Filling, TableLoad, TableOption, places_of
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.stages.timing.table_groups import Group, Reckoner
from proveout.stages.timing.table_pins import LESS_MONEY, hindrance, money_of, pinned_by, why_not_taken

STAGE = "timing"
OTHERS_KEPT = 2


class TableChoice(msgspec.Struct, frozen=True, kw_only=True):
    """Loads with more than one place, in working order, and the options in order: taken, then others by money."""

    loads: tuple[TableLoad, ...]
    options: tuple[TableOption, ...]


def decide_loads(
    *,
    passes: PassPlan,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    blank: Blank,
    clamp_forces: tuple[ClampForce, ...],
    quantity: int,
    pieces_count: int,
    pins: tuple[Pin, ...] = (),
    struck: Mapping[str, str] | None = None,
) -> Decision[TableChoice]:
    """What lies where in one cycle, with the next-best two and what they would cost or save.

    Args:     quantity: ordered; set-ups and jaws are shared by it.   pieces_count: made; the last cycle holds what is
              left of them.   pins: of pieces_a_cycle and side_by_side.   struck: by load, what of it meets what in
              another place, so that it cannot be taken.
    Method:   every named way is worked out: seconds a piece by the moves, shared cutter changes and ways between
              places, first and last cycles with fewer pieces included; money of machine, set-ups and jaws. Loading
              takes each piece as long as one piece at a time.
    """
    by_machine = {m.id: m for m in machines}
    forces = {one.clamping_id: one.ratio for one in clamp_forces}
    reckon = Reckoner(passes, vises, {j.id: j for j in jaws}, blank, forces, quantity, pieces_count, struck or {})
    reckon.formed = {c.id for c in clampings if c.needs_form}
    ordered = sorted(clampings, key=lambda c: (c.number, c.id))
    stretches = [
        (by_machine[machine_id], tuple(own))
        for machine_id, own in ((m, list(g)) for m, g in groupby(ordered, key=lambda c: c.machine_id))
        if by_machine[machine_id].rotary is None and len(places_of(by_machine[machine_id], vises)) > 1
    ]
    ways = [_ways(machine, own, reckon) for machine, own in stretches]
    ranked = sorted(
        (tuple(g for way in chosen for g in way) for chosen in product(*ways)),
        key=lambda groups: (round(money_of(groups), 9), sum(places_count(g) for g in groups), ids_of(groups)),
    )  # fmt: skip
    pinned, pins, refusals = pinned_by(ranked, pins, stretches, ordered)
    allowed = [groups for groups in pinned if not hindrance(groups, pins)]
    taken = allowed[0] if allowed else _singles(stretches, reckon)
    loads = tuple(g.load for g in taken if g.load is not None and len(g.load.laid) > 1)
    others = [g for g in ranked if ids_of(g) != ids_of(taken)][:OTHERS_KEPT]
    if not stretches:
        return Decision(value=TableChoice(loads=(), options=()), proofs=tuple(refusals))
    options = (_option(taken, ""), *(_option(g, why_not_taken(g, taken, pinned, pins)) for g in others))
    proofs = [*refusals, _choice_proof(taken, others, ranked, pinned, pins)]
    proofs += [_batch_proof(load, pieces_count) for load in loads]
    return Decision(value=TableChoice(loads=loads, options=options), proofs=tuple(proofs))


def ids_of(groups: Sequence[Group]) -> tuple[str, ...]:
    """What tells one way of filling the tables from another."""
    return tuple(g.id for g in groups)


def places_count(group: Group) -> int:
    """Places that a load fills."""
    return len(group.clampings) * group.pieces_count


def _ways(machine: Machine, own: tuple[Clamping, ...], reckon: Reckoner) -> list[tuple[Group, ...]]:
    """All ways of sharing the table among clampings that follow each other, of each stretch the cheapest few."""
    found: list[tuple[Group, ...]] = []
    for size in range(1, len(own) + 1):
        first = reckon.groups(machine, own[:size])
        rest = _ways(machine, own[size:], reckon) if size < len(own) else [()]
        found.extend((one, *others) for one in first for others in rest)
    return found


def _singles(stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]], reckon: Reckoner) -> tuple[Group, ...]:
    found = [reckon.group(machine, (clamping,), 1) for machine, own in stretches for clamping in own]
    return tuple(group for group in found if group is not None)


def _words(groups: Sequence[Group]) -> str:
    told = []
    for g in groups:
        names = ", ".join(c.id for c in g.clampings)
        several = f"{g.pieces_count} pieces" if g.pieces_count > 1 else "one piece"
        if len(g.clampings) > 1:
            told.append(f"{names} side by side, {several} of each")
        else:
            told.append(f"{several} of {names}")
    return "; ".join(told)


def _option(groups: tuple[Group, ...], why_not: str) -> TableOption:
    machines = tuple(dict.fromkeys(g.clampings[0].machine_id for g in groups))
    return TableOption(
        loads=tuple(g.id for g in groups if places_count(g) > 1), text=_words(groups), machine_ids=machines,
        seconds=round(sum(g.seconds for g in groups), 6), each=round(money_of(groups), 6), why_not=why_not,
    )  # fmt: skip


def _choice_proof(
    taken: tuple[Group, ...], others: Sequence[tuple[Group, ...]], ranked: Sequence[tuple[Group, ...]],
    pinned: Sequence[tuple[Group, ...]], pins: tuple[Pin, ...],
) -> Proof:  # fmt: skip
    """That nothing cheaper among the named ways could be taken, with the next-best two."""
    money = money_of(taken)
    free = [groups for groups in pinned if not hindrance(groups, pins)]
    best = min((money_of(groups) for groups in free), default=money)
    told = []
    for other in others:
        more, slower = money_of(other) - money, sum(g.seconds for g in other) - sum(g.seconds for g in taken)
        why = why_not_taken(other, taken, pinned, pins)
        told.append(
            f"{_words(other)}: {abs(more):.3f} a piece {'more' if more >= 0.0 else 'less'}, {abs(slower):.1f} s "
            f"{'longer' if slower >= 0.0 else 'quicker'}" + (f" ({why})" if why and why != LESS_MONEY else "")
        )
    text = f"of {len(ranked)} ways: {_words(taken)}" + (f"; next {'; next '.join(told)}" if told else "")
    return prove(
        id=f"{STAGE}:table loads", stage=STAGE, subject="what lies in each place",
        claim="no other way of filling the table costs less", sense="at most", found_low=round(money - best, 6),
        found_high=round(money - best, 6), limit=0.0, unit="money a piece", blocks_release=False,
        basis=Basis(
            formula=f"{text}. Machine at its rate by seconds a piece, set-ups and jaws shared by the order; cutter "
            "changes shared, ways between places counted; loading as long a piece as one at a time",
            source="own-algorithm",
        ),
        remedy="a pin holds it: drop the pin",
    )  # fmt: skip


def _batch_proof(load: TableLoad, pieces_count: int) -> Proof:
    """That the cycles, the first and last of them with fewer pieces, take every piece through every clamping."""
    through = dict.fromkeys(load.clamping_ids, 0)
    for filling in load.fillings:
        for n in filling.filled:
            through[load.laid[n].clamping_id] += filling.cycles_count
    return prove(
        id=f"{STAGE}:{load.id}:every piece", stage=STAGE, subject=load.id,
        claim="the cycles of the batch take every piece through every clamping", sense="at least",
        found_low=float(min(through.values())), found_high=float(max(through.values())), limit=float(pieces_count),
        unit="pieces", blocks_release=True,
        basis=Basis(
            formula=f"{fillings_words(load)}. Where a place stays empty the program of those that are filled is run",
            source="own-algorithm",
        ),
        remedy="count the cycles again",
    )  # fmt: skip


def fillings_words(load: TableLoad) -> str:
    """How many cycles of a batch are full, and what lies where in the others."""
    told: list[str] = []
    for filling in load.fillings:
        if not filling.cycles_count:
            continue
        cycles = f"{filling.cycles_count} cycle{'s' if filling.cycles_count > 1 else ''}"
        if len(filling.filled) == len(load.laid):
            told.append(f"{cycles} with every place filled")
            continue
        names = ", ".join(f"{load.laid[n].clamping_id} in place {load.laid[n].place.number}" for n in filling.filled)
        slug = ", a slug as wide as the work in the other side of its vise" if _is_half(load, filling) else ""
        told.append(f"{cycles} with {names} alone{slug}")
    return "; ".join(told)


def _is_half(load: TableLoad, filling: Filling) -> bool:
    """Whether a vise with two sides holds a piece on one side and none on the other."""
    sides = [(one.place.vise_id, one.place.vise_number) for one in load.laid]
    held = [sides[n] for n in filling.filled]
    return any(0 < held.count(side) < sides.count(side) for side in sides)
