"""Pins of the clampings: kept where nothing is lost by them, else refused with the faces that they hide."""

from __future__ import annotations

from collections.abc import Mapping

from proveout.model.choice_of_clampings import Sequence
from proveout.model.job import Pin
from proveout.model.proof import Basis, Proof, prove
from proveout.model.work import Vector
from proveout.stages.clampings.choosing import Chosen
from proveout.stages.clampings.looking import DONE_SHARE, Cover, face_shares
from proveout.stages.clampings.offers import directions_for, name_of
from proveout.stages.clampings.pinned import Pinned, pinned_by
from proveout.stages.clampings.sequences import sequences

Found = tuple[tuple[Sequence, ...], Chosen]
NAMED_MAX = 4
NOTHING_LACKS = (False, False, 0)


def with_pins(
    cover: Cover, pins: tuple[Pin, ...], blanks: Mapping[Vector | None, float | None]
) -> tuple[Found, tuple[Proof, ...]]:
    """The best sequences with the pins that can be kept, and a proof for each pin.

    A pin is refused when the work cannot be held with it, or fewer faces are made than without it. Where dropping one
    pin restores them only that one is refused, else all are.
    Raises:   BadInput for a pin that the shop or the part does not know.
    """
    floor = cover.floor
    found = sequences(cover, pinned=pinned_by(pins, floor), blanks=blanks)
    if not pins:
        return found, ()
    loss = _lacking(found)
    refused: tuple[Pin, ...] = ()
    kept = found
    if loss > NOTHING_LACKS:
        free = sequences(cover, pinned=pinned_by((), floor), blanks=blanks)
        if _lacking(free) < loss:
            kept, refused = free, pins
            for pin in pins:
                rest = tuple(p for p in pins if p is not pin)
                without = sequences(cover, pinned=pinned_by(rest, floor), blanks=blanks) if rest else free
                if _lacking(without) == _lacking(free):
                    kept, refused = without, (pin,)
                    break
    why = _why(cover, found, kept, pinned_by(pins, floor)) if refused else ""
    return kept, tuple(_proof(pin, is_kept=pin not in refused, why=why) for pin in pins)


def _lacking(found: Found) -> tuple[bool, bool, int]:
    """Whether nothing holds the part, whether its strip stays on, and how many faces the best sequence leaves."""
    best = found[0][0] if found[0] else None
    return (True, True, 0) if best is None else (False, best.keeps_strip, len(best.unreached))


def _why(cover: Cover, found: Found, kept: Found, pinned: Pinned) -> str:
    """What is lost with the pins, face by face, and what hides it."""
    if not found[0]:
        return "with it no clamping can be held"
    best = found[0][0]
    if best.keeps_strip and not kept[0][0].keeps_strip:
        return "with it the work cannot be held once it is turned over, so the strip stays on"
    lost = [face for face in best.unreached if face not in kept[0][0].unreached]
    told = [f"{face}: {_hidden(cover, best, face, pinned)}" for face in lost[:NAMED_MAX]]
    more = f"; and {len(lost) - NAMED_MAX} more" if len(lost) > NAMED_MAX else ""
    return "with it are not made " + "; ".join(told) + more


def _hidden(cover: Cover, sequence: Sequence, face_id: str, pinned: Pinned) -> str:
    """Why no clamping of a sequence makes a face: what hides it from a side that the pins leave, or that none sees it.

    A tilt from which the jaws hide everything is not among those chosen, so all that the machine has are asked.
    """
    index = cover.solid.face(face_id).index
    machines = {machine.id: machine for machine in cover.floor.machines}
    names: list[str] = []
    for number, hold in enumerate(sequence.holds, start=1):
        offered = directions_for(machines[hold.machine_id], hold.up, cover.survey)
        looks = [d for d in offered if d == hold.up or pinned.allows_tilt(d)]
        seen = [d for d in looks if face_shares(cover, cover.bare(d))[index] >= DONE_SHARE]
        if seen:
            what = "jaws and seat" if hold.grip is not None else "strip, jaws and seat"
            return f"{what} of clamping {number} keep every cutter off it from {name_of(seen[0]) or 'its tilt'}"
        names.extend(name_of(d) or "a tilt" for d in looks)
    return f"no cutter reaches it from {', '.join(dict.fromkeys(names))}"


def _proof(pin: Pin, *, is_kept: bool, why: str) -> Proof:
    value = pin.value.replace("\n", ", ")
    found = 1.0 if is_kept else 0.0
    return prove(
        id=f"clampings:pin:{pin.quantity}", stage="clampings", subject=f"{pin.quantity} = {value}",
        claim="the owner's pin is kept", sense="at least", found_low=found, found_high=found, limit=1.0, unit="yes = 1",
        blocks_release=False,
        basis=Basis(formula=why or "as many faces are made with it as without", source="own-algorithm"),
        remedy=f"drop the pin, or change what hides the faces; it is planned without {pin.quantity} = {value}",
    )  # fmt: skip
