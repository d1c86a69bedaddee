"""Vises that stand idle on a machine while a piece is cut in another: empty, and in the cutter's way all the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec

from proveout.geometry.boxes import moved_box
from proveout.model.checking import Obstacle
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.table_load import Place, TableLoad, idle_places, idle_undescribed, place_alone, zero_at
from proveout.model.work import Clamping, PassPlan, Vector
from proveout.stages.removal_check.bodies import BED, FIXED, MOVING, OTHER, SEAT, standing_bodies
from proveout.stages.removal_check.replay import Strike, strikes_of

NO_JAWS_MM = 0.0


@dataclass(frozen=True, kw_only=True)
class Beside:
    """What stands beside work.

    unmeasured, undescribed: in words what stands nobody knows where, and what of the rest is in no description, so that
    it is not among the bodies.
    """

    bodies: tuple[Obstacle, ...] = ()
    unmeasured: tuple[str, ...] = ()
    undescribed: tuple[str, ...] = ()

    @property
    def unlooked(self) -> tuple[str, ...]:
        """All that nothing is held against."""
        return (*self.unmeasured, *self.undescribed)


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
) -> Beside:
    """The empty vises of a machine, from the work zero of a piece, in the machine's directions.

    here_mm: of that zero; None where nobody measured where the piece stands: then no vise's place is known from it.
    """
    found: list[Obstacle] = []
    unmeasured: list[str] = []
    for place in idle:
        if here_mm is None or place.stands_mm is None:
            unmeasured.append(f"the idle vise in place {place.number}")
            continue
        x, y, z = (there - here for there, here in zip(place.stands_mm, here_mm, strict=True))
        found.extend(
            moved_body(body, (x, y, z), f"{body.name} of the idle vise in place {place.number}")
            for body in empty_bodies(vises[place.vise_id], jaws)
        )
    return Beside(
        bodies=tuple(found), unmeasured=tuple(unmeasured),
        undescribed=idle_undescribed(None, vises.values(), (p for p in idle if here_mm and p.stands_mm)),
    )  # fmt: skip


def idle_beside(clamping: Clamping, machine: Machine, *, vises: Sequence[Vise], jaws: Sequence[Jaws]) -> Beside:
    """The empty vises beside work that has a machine to itself, in its clamping's frame."""
    place = place_alone(clamping, machine, vises)
    if place is None:
        return Beside()
    idle = idle_places(machine, vises, (place,))
    return idle_about(zero_at(clamping, place), idle, vises={v.id: v for v in vises}, jaws=jaws)


def moved_body(body: Obstacle, by_mm: Vector, name: str) -> Obstacle:
    """A body elsewhere, under another name."""
    low, high = moved_box(body.low_mm, body.high_mm, by_mm)
    return msgspec.structs.replace(body, name=name, low_mm=low, high_mm=high)


def half_round(body: Obstacle) -> Obstacle:
    """A body turned half round about Z."""
    (x, y, z), (far_x, far_y, top) = body.low_mm, body.high_mm
    return msgspec.structs.replace(
        body, low_mm=(0.0 - far_x, 0.0 - far_y, z), high_mm=(0.0 - x, 0.0 - y, top)
    )  # fmt: skip


def idle_proofs(
    *, clampings: tuple[Clamping, ...], loads: tuple[TableLoad, ...], machines: tuple[Machine, ...],
    vises: tuple[Vise, ...], jaws: tuple[Jaws, ...], plan: PassPlan, cutters: tuple[Cutter, ...],
) -> Decision[tuple[str, ...]]:  # fmt: skip
    """Of all work on a machine of several vises, alone or in several places: that its passes meet no empty one.

    loads: what lies in several places at once; what is in those places is held against everything in `neighbours`.
    Returns:  what is met, and the proofs.
    """
    shared = {id for load in loads for id in load.clamping_ids}
    by_machine, by_clamping = {m.id: m for m in machines}, {c.id: c for c in clampings}
    works: list[_Work] = []
    for clamping in clampings:
        place = place_alone(clamping, by_machine[clamping.machine_id], vises)
        if place is not None and clamping.id not in shared:
            works.append(
                _Work(
                    id=clamping.id, subject=f"clamping {clamping.number}", machine=by_machine[clamping.machine_id],
                    lies=((clamping, place),),
                )
            )  # fmt: skip
    for load in loads:
        lies = tuple((by_clamping[one.clamping_id], one.place) for one in load.laid)
        works.append(_Work(id=load.id, subject=load.id, machine=by_machine[load.machine_id], lies=lies))
    by_cutter = {c.id: c for c in cutters}
    met: list[str] = []
    proofs: list[Proof] = []
    for work in works:
        idle = idle_places(work.machine, vises, (place for _, place in work.lies))
        strikes: list[Strike] = []
        unmeasured: dict[str, None] = {}
        is_cut = False
        for clamping, place in work.lies:
            frames = {tilt.id: tilt.frame for tilt in clamping.tilts}
            own = [
                (one, plan.moves[one.moves_digest], by_cutter[one.cutter_id], frames[one.tilt_id])
                for one in plan.passes
                if one.clamping_id == clamping.id
            ]
            if not idle or not own:
                continue
            is_cut = True
            beside = idle_about(zero_at(clamping, place), idle, vises={v.id: v for v in vises}, jaws=jaws)
            bodies = tuple(half_round(body) for body in beside.bodies) if place.is_turned else beside.bodies
            strikes.extend(strikes_of(clamping, bodies=bodies, machine=work.machine, passes=own))
            unmeasured |= dict.fromkeys(beside.unmeasured)
        if is_cut:
            met.extend(strike.what for strike in strikes)
            proofs.append(_proof(work, idle, strikes, tuple(unmeasured), vises={v.id: v for v in vises}))
            lacking = idle_undescribed(work.machine, vises, idle)
            if lacking:
                proofs.append(_undescribed(work, ", ".join(lacking)))
    return Decision(value=tuple(met), proofs=tuple(proofs))


@dataclass(frozen=True, kw_only=True)
class _Work:
    """What is cut on a machine in one cycle: clampings, each with its place."""

    id: str
    subject: str
    machine: Machine
    lies: tuple[tuple[Clamping, Place], ...]


def _proof(
    work: _Work, idle: Sequence[Place], strikes: Sequence[Strike], unmeasured: Sequence[str], *,
    vises: Mapping[str, Vise],
) -> Proof:  # fmt: skip
    """A vise that stands nobody knows where holds the work back, unless the shop takes it off the table."""
    whose = " and ".join(
        f"jaws{'' if vises[place.vise_id].bed is None else ' and bed'} of the empty vise in place {place.number}"
        for place in idle
    )
    has_bed = any(vises[place.vise_id].bed is not None for place in idle)
    sure = [strike for strike in strikes if strike.is_sure]
    worst = next(iter((*sure, *strikes)), None)
    first = worst.what if worst is not None else ""
    # a sure strike refutes it, whatever else stands nobody knows where
    is_known = bool(sure) or not unmeasured
    looked = (
        f"sweep of each move against fixed jaw{' and bed' if has_bed else ''}, and against every place and height of "
        f"the moving jaw and of jaw plates that the shop has{f': {first}' if first else ''}"
    )
    unseen = f"nobody measured the place of {' and '.join(unmeasured)}, so not looked at" if unmeasured else ""
    return prove(
        id=f"removal check:{work.id}:idle vises", stage="removal check", subject=work.subject,
        claim=f"no cutter, shank{' or holder' if work.machine.head is None else ', holder or head'} meets {whose}",
        sense="at most",
        found_low=float(len(sure)), found_high=float(len(strikes)) if is_known else None, limit=0.0, unit="strikes",
        blocks_release=True,
        basis=Basis(
            formula="; ".join(one for one in (looked if len(unmeasured) < len(idle) else "", unseen) if one),
            source="own-algorithm", move=None if worst is None else worst.move,
        ),
        decides=f"take the vise off or look how it stands ({first})" if first else
        "measure where every vise stands: write stands_x_mm, stands_y_mm and stands_z_mm in the shop file; or, where "
        "vises not in use are taken off the table, write idle_vises_off = true for the machine",
        remedy=f"take the idle vise off the table, or set it farther away: {first}" if first else "",
    )  # fmt: skip


def _undescribed(work: _Work, names: str) -> Proof:
    """What nobody described cannot be met here: said, and no reason to hold the work back, as with its own vise."""
    return prove(
        id=f"removal check:{work.id}:idle bodies", stage="removal check", subject=work.subject,
        claim=f"nothing of the empty vises is met that is in no description: {names}", sense="at most",
        found_low=0.0, found_high=None, limit=0.0, unit="strikes", blocks_release=False,
        basis=Basis(formula="in no description, so not looked at", source="shop-file"),
        decides=f"describe {names} in the shop file",
    )  # fmt: skip
