"""Decide what stays in each machine's changer over a whole catalogue, and which parts share a section of bar."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.catalogue import Changer, SharedCutter, SharedSection, Sharing
from proveout.model.fact import exact_fact
from proveout.model.plan import Plan, changer_numbers
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Machine
from proveout.solving.residents import residents

STAGE = "sharing"


def decide(*, parts: Sequence[tuple[str, Plan]], machines: Sequence[Machine]) -> Decision[Sharing]:
    """What the parts share.

    Formula:  residents R of least  sum over parts |N - R|  with  |R| + |N - R| <= P  for every part (N the cutters that
              it uses on the machine, P the places of its changer): R is never taken out
    Args:     parts: a name of its own for each, and its plan.   machines: of the shop.
    Returns:  changers of the machines that work, and for each a proof that no part lacks a place.
    Raises:   nothing.
    Valid:    each part run once for each time any other is; a batch asks for its cutters once.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/sharing/test_sharing.py
    """
    changers: list[Changer] = []
    proofs: list[Proof] = []
    for machine in machines:
        found = _changer(machine, parts)
        if found is not None:
            changers.append(found)
            proofs.append(_proof(found))
    return Decision(value=Sharing(changers=tuple(changers), sections=_sections(parts)), proofs=tuple(proofs))


def _changer(machine: Machine, parts: Sequence[tuple[str, Plan]]) -> Changer | None:
    """The changer of one machine; None where no part is made on it."""
    seconds = {name: used for name, plan in parts if (used := _seconds(plan, machine.id))}
    if not seconds:
        return None
    names = list(seconds)
    runs = {
        id: [n for n in names if id in seconds[n]] for id in sorted({id for used in seconds.values() for id in used})
    }
    # the cutters of most parts first, so that they get the lowest places
    ids = sorted(runs, key=lambda id: (-len(runs[id]), id))
    index = {id: place for place, id in enumerate(ids)}
    too_many = tuple(name for name in names if len(seconds[name]) > machine.pockets_count)
    able = [name for name in names if name not in too_many]
    found = residents(
        needs=[frozenset(index[id] for id in seconds[name]) for name in able], places_count=machine.pockets_count
    )
    places = changer_numbers([ids[k] for k in found.chosen], machine)
    guests = {name: tuple(id for id in ids if id in seconds[name] and id not in places) for name in able}
    return Changer(
        machine_id=machine.id, places_count=machine.pockets_count,
        cutters=tuple(
            SharedCutter(
                cutter_id=id, parts=tuple(runs[id]), piece_s=tuple(seconds[n][id] for n in runs[id]),
                place=places.get(id),
            )
            for id in ids
        ),
        guests={name: some for name, some in guests.items() if some},
        loads_count=found.loads_count, bound_count=found.bound_count,
        status="cannot" if too_many else found.status, too_many=too_many,
    )  # fmt: skip


def _seconds(plan: Plan, machine_id: str) -> dict[str, float | None]:
    """Seconds a piece that each cutter of a plan runs on a machine; None where they are not known."""
    own = {clamping.id for clamping in plan.clampings if clamping.machine_id == machine_id}
    used: dict[str, float | None] = dict.fromkeys(one.cutter_id for one in plan.passes if one.clamping_id in own)
    for use in plan.cutter_uses:
        if use.machine_id == machine_id and use.cutter_id in used:
            used[use.cutter_id] = round(use.piece_s.nominal, 3)
    return used


def _sections(parts: Sequence[tuple[str, Plan]]) -> tuple[SharedSection, ...]:
    by_bar: dict[str, list[tuple[str, Plan]]] = {}
    for name, plan in parts:
        if plan.blank.chosen.bar_id and plan.bars.bars_count:
            by_bar.setdefault(plan.blank.chosen.bar_id, []).append((name, plan))
    return tuple(
        SharedSection(
            bar_id=bar, parts=tuple(name for name, _ in some), pieces_count=sum(p.bars.blanks_count for _, p in some),
            bars_count=sum(p.bars.bars_count for _, p in some), price=round(sum(p.bars.price for _, p in some), 4),
        )
        for bar, some in sorted(by_bar.items())
    )  # fmt: skip


def _proof(changer: Changer) -> Proof:
    """No part needs more places than there are beside what stays."""
    stays = sum(cutter.place is not None for cutter in changer.cutters)
    by_part = {name for cutter in changer.cutters for name in cutter.parts}
    most = max(
        sum(name in cutter.parts or cutter.place is not None for cutter in changer.cutters) for name in sorted(by_part)
    )
    named = ", ".join(changer.too_many)
    return prove(
        id=f"{STAGE}:{changer.machine_id}:places",
        stage=STAGE,
        subject=changer.machine_id,
        claim="every part finds its cutters in the changer beside those that stay",
        sense="at most",
        found_low=float(most),
        found_high=float(most),
        limit=float(changer.places_count),
        unit="cutters",
        blocks_release=False,
        basis=Basis(
            formula="most over parts of  residents + cutters of the part that are none  <=  places",
            source="own-algorithm",
            inputs={
                "cutters that stay": exact_fact(float(stays), "cutters", "own-algorithm", "assumed"),
                "loads, each part run once": exact_fact(
                    float(changer.loads_count), "cutters", "own-algorithm", "assumed"
                ),
            },
        ),
        remedy=f"use fewer cutters in {named}, or make part of it on another machine" if named else "",
    )
