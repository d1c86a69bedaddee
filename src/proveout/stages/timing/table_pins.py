"""Pins of the tables kept or refused, and which ways of filling them nothing stands against."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.job import Pin
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Machine
from proveout.model.work import Clamping
from proveout.stages.timing.table_groups import UNMEASURED, Group

STAGE = "timing"
LESS_MONEY = "it costs more"


def hindrance(groups: Sequence[Group], pins: tuple[Pin, ...]) -> str:
    """Why these loads are not taken. Where the owner pinned them, unmeasured places do not stand in the way."""
    found = [g.why_not for g in groups if g.why_not and not (insists(pins) and g.why_not == UNMEASURED)]
    return found[0] if found else ""


def insists(pins: tuple[Pin, ...]) -> bool:
    """Whether the owner asks for more than one place, measured or not."""
    return any(pin.value == "true" or (pin.quantity == "pieces_a_cycle" and int(pin.value) > 1) for pin in pins)


def why_not_taken(
    groups: tuple[Group, ...], taken: tuple[Group, ...], pinned: Sequence[tuple[Group, ...]], pins: tuple[Pin, ...]
) -> str:  # fmt: skip
    """Why one way of filling the tables loses against the one that is taken."""
    if pins and groups not in pinned:
        return "a pin fixes it otherwise"
    return hindrance(groups, pins) or (LESS_MONEY if money_of(groups) >= money_of(taken) else "")


def money_of(groups: Sequence[Group]) -> float:
    """Money a piece of one way of filling the tables."""
    return sum(g.each for g in groups)


def pinned_by(
    ranked: list[tuple[Group, ...]], pins: tuple[Pin, ...],
    stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]], clampings: Sequence[Clamping],
) -> tuple[list[tuple[Group, ...]], tuple[Pin, ...], list[Proof]]:  # fmt: skip
    """The ways that keep the pins, the pins that are kept, and a proof a pin: kept, or refused with the reason."""
    kept = ranked
    held: list[Pin] = []
    proofs: list[Proof] = []
    for pin in sorted(pins, key=lambda p: p.quantity):
        mine = [groups for groups in kept if _keeps(groups, pin)] if stretches else []
        able = [groups for groups in mine if not hindrance(groups, (*held, pin))]
        is_idle = pin.value in ("1", "false") and not stretches
        if able:
            kept = able
            held.append(pin)
        why = "" if able or is_idle else _refusal(mine, stretches, clampings)
        proofs.append(_pin_proof(pin, is_kept=bool(able) or is_idle, why=why))
    return kept, tuple(held), proofs


def _keeps(groups: Sequence[Group], pin: Pin) -> bool:
    if pin.quantity == "pieces_a_cycle":
        return all(g.pieces_count == int(pin.value) for g in groups)
    return any(len(g.clampings) > 1 for g in groups) == (pin.value == "true")


def _refusal(
    mine: Sequence[tuple[Group, ...]], stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]],
    clampings: Sequence[Clamping],
) -> str:  # fmt: skip
    if mine:
        return hindrance(mine[0], ())
    if not stretches:
        machines = ", ".join(dict.fromkeys(c.machine_id for c in clampings)) or "no machine"
        return f"{machines}: no machine of the plan is without rotary axes and has more than one place to hold a piece"
    rooms = ", ".join(f"{', '.join(c.id for c in own)} on {machine.id}" for machine, own in stretches)
    return f"there are not the places for it, or no clampings that follow each other on one machine: {rooms}"


def _pin_proof(pin: Pin, *, is_kept: bool, why: str) -> Proof:
    found = float(is_kept)
    return prove(
        id=f"{STAGE}:pin:{pin.quantity}", stage=STAGE, subject=f"{pin.quantity} = {pin.value}",
        claim="the owner's pin is kept", sense="at least", found_low=found, found_high=found, limit=1.0, unit="yes = 1",
        blocks_release=False, basis=Basis(formula=why or "a way of filling the table keeps it", source="own-algorithm"),
        remedy=f"drop the pin, or mend this: {why}; it is planned without {pin.quantity} = {pin.value}",
    )  # fmt: skip
