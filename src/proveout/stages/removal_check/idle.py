"""Vises that stand idle on a machine while a piece is cut in another: empty, and in the cutter's way all the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from proveout.geometry.boxes import moved_box
from proveout.model.checking import Obstacle
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.table_load import Place, TableLoad, idle_places, place_alone, zero_at
from proveout.model.work import Clamping, PassPlan, Vector
from proveout.stages.removal_check.bodies import BED, FIXED, MOVING, OTHER, SEAT, standing_bodies
from proveout.stages.removal_check.replay import Strike, strikes_of

NO_JAWS_MM = 0.0


def jaw_tops_mm(vise: Vise, jaws: Sequence[Jaws]) -> tuple[float, float]:
    """How high jaws stand above the seat of a vise at the least and at the most, of all that may be on it.

    Soft jaws that nobody has cut yet stand as high above the bed as they were bought.
    """
    heights = [
        jaw.blank_height_mm - vise.bed.below_mm
        if jaw.kind == "soft" and jaw.blank_height_mm is not None and vise.bed is not None else jaw.grip_mm
        for jaw in jaws
    ]  # fmt: skip
    return min(heights, default=NO_JAWS_MM), max(heights, default=NO_JAWS_MM)


def empty_bodies(vise: Vise, jaws: Sequence[Jaws]) -> tuple[Obstacle, ...]:
    """An empty vise, from the middle of its fixed jaw's face at the seat, in the machine's directions.

    Its moving jaw may stand anywhere between shut and wide open, and nobody says which jaws are on it: what may be
    there and may not is not sure.
    """
    low, high = jaw_tops_mm(vise, jaws)
    bodies = standing_bodies(
        vise, None, middle_mm=(0.0, 0.0, 0.0), gap_mm=vise.opening_max_mm, jaw_top_mm=high, zero_mm=(None, None, None)
    )
    found: list[Obstacle] = []
    for body in bodies:
        (left, _, foot), (right, back, _) = body.low_mm, body.high_mm
        if body.name == FIXED:
            found.append(msgspec.structs.replace(body, high_mm=(right, back, low)))
        if body.name == FIXED and high > low:
            found.append(msgspec.structs.replace(body, is_sure=False))
        elif body.name == MOVING:
            found.append(msgspec.structs.replace(body, high_mm=(right, 0.0, high), is_sure=False))
        elif body.name in (BED, OTHER):
            found.append(body)
        elif body.name == SEAT:
            shut = (left, -vise.opening_max_mm, foot)
            found.append(msgspec.structs.replace(body, low_mm=shut, is_sure=False))
    return tuple(found)


def idle_about(
    here_mm: Vector | None, idle: Sequence[Place], *, vises: Mapping[str, Vise], jaws: Sequence[Jaws]
) -> tuple[Obstacle, ...] | None:
    """The empty vises of a machine, from the work zero of a piece, in the machine's directions.

    here_mm: of that zero.   Returns:  None where nobody measured where the piece or one of the vises stands.
    """
    found: list[Obstacle] = []
    for place in idle:
        if here_mm is None or place.stands_mm is None:
            return None
        x, y, z = (there - here for there, here in zip(place.stands_mm, here_mm, strict=True))
        found.extend(
            moved_body(body, (x, y, z), f"{body.name} of the idle vise in place {place.number}")
            for body in empty_bodies(vises[place.vise_id], jaws)
        )
    return tuple(found)


def idle_beside(
    clamping: Clamping, machine: Machine, *, vises: Sequence[Vise], jaws: Sequence[Jaws]
) -> tuple[Obstacle, ...] | None:
    """The empty vises beside work that has a machine to itself, in its clamping's frame; None as in `idle_about`."""
    place = place_alone(clamping, machine, vises)
    if place is None:
        return ()
    idle = idle_places(machine, vises, (place,))
    return idle_about(zero_at(clamping, place), idle, vises={v.id: v for v in vises}, jaws=jaws)


def moved_body(body: Obstacle, by_mm: Vector, name: str) -> Obstacle:
    """A body elsewhere, under another name."""
    low, high = moved_box(body.low_mm, body.high_mm, by_mm)
    return msgspec.structs.replace(body, name=name, low_mm=low, high_mm=high)


def idle_proofs(
    *, clampings: tuple[Clamping, ...], loads: tuple[TableLoad, ...], machines: tuple[Machine, ...],
    vises: tuple[Vise, ...], jaws: tuple[Jaws, ...], plan: PassPlan, cutters: tuple[Cutter, ...],
) -> Decision[tuple[str, ...]]:  # fmt: skip
    """Of every clamping that has a machine of several vises to itself: that its passes meet none of the others.

    loads: what lies in several places at once; theirs are held against everything in `neighbours`.
    Returns:  what is met, and the proofs.
    """
    shared = {id for load in loads for id in load.clamping_ids}
    by_machine, by_cutter = {m.id: m for m in machines}, {c.id: c for c in cutters}
    met: list[str] = []
    proofs: list[Proof] = []
    for clamping in clampings:
        machine = by_machine[clamping.machine_id]
        place = place_alone(clamping, machine, vises)
        idle = () if place is None or clamping.id in shared else idle_places(machine, vises, (place,))
        frames = {tilt.id: tilt.frame for tilt in clamping.tilts}
        own = [
            (one, plan.moves[one.moves_digest], by_cutter[one.cutter_id], frames[one.tilt_id])
            for one in plan.passes
            if one.clamping_id == clamping.id
        ]
        if place is None or not idle or not own:
            continue
        bodies = idle_beside(clamping, machine, vises=vises, jaws=jaws)
        strikes = () if bodies is None else strikes_of(clamping, bodies=bodies, machine=machine, passes=own)
        met.extend(strike.what for strike in strikes)
        proofs.append(_proof(clamping, idle, strikes, is_known=bodies is not None))
    return Decision(value=tuple(met), proofs=tuple(proofs))


def _proof(clamping: Clamping, idle: Sequence[Place], strikes: Sequence[Strike], *, is_known: bool) -> Proof:
    """A vise that stands nobody knows where is said, and holds nothing back, as with all that is not described."""
    numbers = " and ".join(str(place.number) for place in idle)
    sure = [strike for strike in strikes if strike.is_sure]
    first = (*sure, *strikes)[0].what if strikes else ""
    return prove(
        id=f"removal check:{clamping.id}:idle vises", stage="removal check", subject=f"clamping {clamping.number}",
        claim=f"no cutter, shank, holder or head meets the empty vise in place {numbers}", sense="at most",
        found_low=float(len(sure)), found_high=float(len(strikes)) if is_known else None, limit=0.0, unit="strikes",
        blocks_release=is_known,
        basis=Basis(
            formula="sweep of each move against fixed jaw and bed, and against every place and height of the moving "
            f"jaw and of jaw plates that the shop has{f': {first}' if first else ''}" if is_known
            else "nobody measured where every vise stands, so not looked at",
            source="own-algorithm",
        ),
        decides=f"take the vise off or look how it stands ({first})" if first else
        "measure where every vise stands: write stands_x_mm, stands_y_mm and stands_z_mm in the shop file",
        remedy=f"take the idle vise off the table, or set it farther away: {first}" if first else "",
    )  # fmt: skip
