"""Whether a machine's changer has a place for every cutter that a plan's passes use."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.fact import exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Machine
from proveout.model.work import Clamping, Pass

STAGE = "cutters"
BY_HAND = 1
"""A machine with one place has no changer: each cutter is put in by hand."""


def place_proofs(
    *, passes: Sequence[Pass], clampings: Sequence[Clamping], machines: Sequence[Machine]
) -> tuple[Proof, ...]:  # fmt: skip
    """For every machine that works and has a changer, that it holds all its cutters at once.

    Formula:  different cutters of the passes on the machine  <=  places of its changer
    Args:     passes, clampings: of one plan.   machines: of the shop.
    Returns:  a proof for each machine that works and has more than one place.
    Raises:   nothing.
    Valid:    every cutter takes one place; a wide one may shut its neighbours, which nobody wrote.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/cutters/test_places.py
    """
    on = {clamping.id: clamping.machine_id for clamping in clampings}
    used: dict[str, set[str]] = {}
    for one in passes:
        used.setdefault(on.get(one.clamping_id, ""), set()).add(one.cutter_id)
    return tuple(
        _proof(machine, used[machine.id])
        for machine in machines
        if machine.id in used and machine.pockets_count > BY_HAND
    )


def _proof(machine: Machine, used: set[str]) -> Proof:
    count = float(len(used))
    return prove(
        id=f"{STAGE}:{machine.id}:places",
        stage=STAGE,
        subject=machine.id,
        claim="the changer has a place for every cutter",
        sense="at most",
        found_low=count,
        found_high=count,
        limit=float(machine.pockets_count),
        unit="cutters",
        blocks_release=True,
        basis=Basis(
            formula="different cutters of the passes  <=  places of the changer",
            source="own-algorithm: counted",
            inputs={"places": exact_fact(float(machine.pockets_count), "cutters", "shop-file", "owner's guess")},
        ),
        remedy="make some of the part on another machine, or take out of the shop file what does the same twice",
    )
