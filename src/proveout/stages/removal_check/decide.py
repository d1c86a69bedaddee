"""Removal check: volumes by separate integrators, deviation of every face, strikes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.move_cuts import MoveCuts
from proveout.model.proof import Basis, Decision, MoveAt, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.strip_left import StripLeft
from proveout.model.target import Target
from proveout.model.walls_left import WallsLeft
from proveout.model.work import Blank, Clamping, FaceDeviation, PassCut, PassPlan, RemovalCheck
from proveout.removal.comparing import deviation, difference_mm3, per_face
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.stages.removal_check.bodies import OF_JAWS, TOUCH_MM, unlooked
from proveout.stages.removal_check.corners import SLIM_MM
from proveout.stages.removal_check.course import GOUGE_LIMIT_MM
from proveout.stages.removal_check.finished import FINISHED_LIMIT_MM, Left, claimed, left_on
from proveout.stages.removal_check.loose import LooseWatch, loose_proof
from proveout.stages.removal_check.pitch import pitch_for
from proveout.stages.removal_check.replay import Strike, bodies_of, replay_moves, strikes_of
from proveout.stages.removal_check.strips import strip_left
from proveout.stages.removal_check.touched import move_at
from proveout.stages.removal_check.unseen import covered_mm
from proveout.stages.removal_check.walls import walls_left

LEFTOVER_LIMIT_MM = 0.05
BALANCE_LIMIT = 0.002
LISTED_MAX = 40


class Measured(msgspec.Struct, frozen=True, kw_only=True):
    """The replay's verdict, what it measured of the moves of each pass, and what was left between the jaws."""

    check: RemovalCheck
    moves: tuple[MoveCuts, ...]
    strips: tuple[StripLeft, ...] = ()
    walls: tuple[WallsLeft, ...] = ()


def decide(
    *,
    blank: Blank,
    target: Target,
    clampings: tuple[Clamping, ...],
    plan: PassPlan,
    cutters: tuple[Cutter, ...],
    vises: tuple[Vise, ...],
    machines: tuple[Machine, ...] = (),
    coarse_ratio: float = 1.0,
    run: Run,
) -> Decision[Measured]:
    """Replay all passes on the blank and compare with the target.

    machines: with their tables and heads; one that is not among them has neither.   coarse_ratio: 1 for the verdict
    that stands; above, a quicker replay on a coarser grid while limits are sought.
    Returns:  the verdict, and what was measured of every move, pass by pass in the plan's order.
    """
    by_cutter = {c.id: c for c in cutters}
    frames = {(c.id, t.id): t.frame for c in clampings for t in c.tilts}
    pitch = pitch_for(blank=blank, plan=plan, frames=frames, cutters=by_cutter, coarse_ratio=coarse_ratio)
    low, high = np.array(blank.low_mm), np.array(blank.high_mm)
    fields = Fields.from_box(low_mm=low, high_mm=high, pitch_mm=pitch)
    by_vise, by_machine = {v.id: v for v in vises}, {m.id: m for m in machines}
    chips = np.zeros(3)
    cuts: list[PassCut] = []
    by_move: list[MoveCuts] = []
    strikes: list[Strike] = []
    not_seen: set[str] = set()
    loose, by_clamping = LooseWatch(), {c.id: c for c in clampings}
    strips: list[StripLeft] = []
    walls: list[WallsLeft] = []
    held = ""
    for number, one in enumerate(plan.passes):
        run.check("removal check", one.id, number / max(1, len(plan.passes)))
        if one.clamping_id != held:
            held = one.clamping_id
            strips.append(strip_left(fields, by_clamping[held], ""))
            walls.append(walls_left(fields, by_clamping[held], ""))
        result, removed, moved = replay_moves(
            fields, one=one, moves=plan.moves[one.moves_digest], frame=frames[(one.clamping_id, one.tilt_id)],
            cutter=by_cutter[one.cutter_id],
        )  # fmt: skip
        cuts.append(result)
        by_move.append(moved)
        chips += removed
        if result.removed_mm3 > 0.0:
            strips.append(strip_left(fields, by_clamping[held], one.id))
            walls.append(walls_left(fields, by_clamping[held], one.id))
        if coarse_ratio == 1.0 and result.removed_mm3 > 0.0:
            loose.look(fields, one, by_clamping[one.clamping_id])
    for clamping in clampings:
        run.check("removal check", f"jaws, vise and table of {clamping.id}")
        inside = [
            (p, plan.moves[p.moves_digest], by_cutter[p.cutter_id], frames[(p.clamping_id, p.tilt_id)])
            for p in plan.passes
            if p.clamping_id == clamping.id
        ]
        vise, machine = by_vise[clamping.vise_id], by_machine.get(clamping.machine_id)
        bodies = bodies_of(clamping, vise, machine)
        strikes.extend(strikes_of(clamping, bodies=bodies, machine=machine, passes=inside))
        not_seen.update(f"{name} of {_owner(name, clamping)}" for name in unlooked(bodies, machine))
    run.check("removal check", "comparing with the target")
    wanted = mesh_fields(target.vertices_mm, target.triangles, low_mm=low, high_mm=high, pitch_mm=pitch)
    leftover, gouge = difference_mm3(fields, wanted)
    surface = deviation(
        fields, vertices=target.vertices_mm, triangles=target.triangles, triangle_face=target.triangle_face,
        face_offset_mm=np.zeros(len(target.face_ids)),
    )  # fmt: skip
    found = per_face(surface)
    finished = left_on(surface, target, claimed(plan, cutters=by_cutter, frames=frames))
    unseen = covered_mm(fields, wanted, target, [i for i in range(len(target.face_ids)) if i not in found])
    faces = tuple(
        FaceDeviation(
            face_id=face_id,
            leftover_mm=round(found[i][0] if i in found else unseen.get(i, 0.0), 6),
            gouge_mm=round(found.get(i, (0.0, 0.0, 0))[1], 6),
            points_count=found.get(i, (0.0, 0.0, 0))[2],
            **_finish(finished.get(face_id), unseen.get(i, 0.0)),
        )
        for i, face_id in enumerate(target.face_ids)
    )
    blank_mm3 = float(np.prod(high - low))
    # three balances by separate integrators: chips from the field along one axis, the rest from the two others
    chips_mm3 = float(chips.mean())
    leftover_mm3, gouge_mm3 = float(leftover.mean()), float(gouge.mean())
    error = max(
        abs(blank_mm3 - target.volume_mm3 - float(chips[k]) + _others(gouge, k) - _others(leftover, k))
        for k in range(3)
    )  # fmt: skip
    check = RemovalCheck(
        pitch_mm=pitch, blank_mm3=round(blank_mm3, 3), target_mm3=round(target.volume_mm3, 3),
        chips_mm3=round(chips_mm3, 3), leftover_mm3=round(leftover_mm3, 3), gouge_mm3=round(gouge_mm3, 3),
        balance_ratio=round(error / chips_mm3, 6) if chips_mm3 > 0.0 else 9.99, faces=faces, passes=tuple(cuts),
        jaw_strikes=tuple(s.what for s in strikes if s.is_sure and s.body in OF_JAWS),
        body_strikes=tuple(s.what for s in strikes if s.is_sure and s.body not in OF_JAWS),
        unsure_strikes=tuple(s.what for s in strikes if not s.is_sure), loose=tuple(loose.found),
    )  # fmt: skip
    gouged_at = None
    if surface.deviation_mm.size and max((f.gouge_mm for f in faces), default=0.0) > GOUGE_LIMIT_MM:
        deepest = surface.points_mm[int(surface.deviation_mm.argmin())]
        order = [(p, plan.moves[p.moves_digest], by_cutter[p.cutter_id], frames[(p.clamping_id, p.tilt_id)])
                 for p in plan.passes]  # fmt: skip
        gouged_at = move_at(deepest, order)
    proofs = _proofs(check, target, gouged_at, _first_move(strikes, of_jaws=True))
    if check.passes:
        proofs = (*proofs, _bodies(check, sorted(not_seen), _first_move(strikes, of_jaws=False)))
    if check.passes and coarse_ratio == 1.0:
        proofs = (*proofs, loose_proof(check.loose))
    value = Measured(check=check, moves=tuple(by_move), strips=tuple(strips), walls=tuple(walls))
    return Decision(value=value, proofs=proofs)


def _owner(body: str, clamping: Clamping) -> str:
    """Whose description in the shop file a body belongs to."""
    return clamping.vise_id if body in ("the jaws", "the vise's bed") else clamping.machine_id


def _first_move(strikes: Sequence[Strike], *, of_jaws: bool) -> MoveAt | None:
    """The move of the strike that the proof of jaws and seat names, or that of bed and table: a sure one before others.

    Jaws and seat stand where the clamping says: what is not sure of them is counted with bed and table.
    """
    sure = [s.move for s in strikes if s.is_sure and (s.body in OF_JAWS) == of_jaws]
    perhaps = [] if of_jaws else [s.move for s in strikes if not s.is_sure]
    return next(iter((*sure, *perhaps)), None)


def _bodies(check: RemovalCheck, not_seen: list[str], move: MoveAt | None) -> Proof:
    """Bed, table and head as far as they are described; what is not holds nothing back and is said."""
    struck, perhaps = check.body_strikes, check.unsure_strikes
    lacks = [f"describe {', '.join(not_seen)} in the shop file"] if not_seen else []
    lacks += [f"measure where vise and table stand ({perhaps[0]})"] if perhaps else []
    return prove(
        id="removal check:bodies", stage="removal check", subject=(*struck, *perhaps, "all passes")[0],
        claim="no cutter, shank, holder or head meets the vise's bed or the table", sense="at most",
        found_low=float(len(struck)), found_high=None if not_seen else float(len(struck) + len(perhaps)), limit=0.0,
        unit="strikes", blocks_release=bool(struck or perhaps or not not_seen),
        basis=Basis(
            formula="sweep of each move against bed and table as they are described, at every tilt; hoses, pull studs "
            "and whatever else is in no description are not looked at" if not not_seen
            else f"not looked at: {', '.join(not_seen)}",
            source="own-algorithm", move=move,
        ),
        decides="; ".join(lacks), remedy="another tilt, a longer stick-out, or the vise set higher or elsewhere",
    )  # fmt: skip


def _finish(left: Left | None, unseen_mm: float) -> dict[str, Any]:
    """What a FaceDeviation tells of a finished face; metal over a face that nothing is judged by stands in the open."""
    if left is None:
        return {}
    return {
        "finished_by": left.cutters,
        "open_mm": round(max(left.open_mm, unseen_mm), 6),
        "corner_mm": round(left.corner_mm, 6),
    }


def _others(volumes_mm3: NDArray[np.float64], k: int) -> float:
    """Mean of the two fields that are not k."""
    return float((volumes_mm3.sum() - volumes_mm3[k]) / 2.0)


def _proofs(
    check: RemovalCheck, target: Target, gouged_at: MoveAt | None, struck_at: MoveAt | None
) -> tuple[Proof, ...]:  # fmt: skip
    closed = target.mesh_is_closed
    proofs: list[Proof] = []
    if not check.passes:
        return (
            prove(
                id="removal check:passes", stage="removal check", subject="all faces",
                claim="the moves make the part", sense="at least", found_low=None, found_high=None, limit=1.0,
                unit="yes = 1", blocks_release=True,
                basis=Basis(formula="there are no moves to replay", source="own-algorithm"),
                decides="a way to hold and cut the work",
            ),
        )  # fmt: skip

    def add(
        slug: str, subject: str, claim: str, found: float | None, limit: float, unit: str, formula: str,
        move: MoveAt | None = None, **more: str,
    ) -> None:  # fmt: skip
        shown = found if closed else None
        proofs.append(
            prove(
                id=f"removal check:{slug}", stage="removal check", subject=subject, claim=claim, sense="at most",
                found_low=shown, found_high=shown, limit=limit, unit=unit, blocks_release=True,
                basis=Basis(formula=formula, source="own-algorithm", move=move),
                decides=more.get("decides", "a solid whose mesh closes"), remedy=more.get("remedy", ""),
            )
        )  # fmt: skip

    seen = (
        f"replay on three fields of intervals; their ends against the target's mesh; what is narrower than the "
        f"{check.pitch_mm} mm between rays can be missed"
    )
    worst = max(check.faces, key=lambda f: (f.gouge_mm, f.face_id))
    told = worst.face_id if gouged_at is None else f"{worst.face_id}, cut by {gouged_at.pass_id}, move {gouged_at.row}"
    add("gouge", told, "nothing is cut below the target", worst.gouge_mm, GOUGE_LIMIT_MM, "mm", seen, gouged_at,
        remedy="the pass over this face must keep off it")  # fmt: skip
    _leftover(check, add, seen)
    add("balance", "all volumes", "blank + gouge = part + chips + left-over", check.balance_ratio, BALANCE_LIMIT,
        "of the chips", "the worst of three: chips move by move on the rays along one axis, left-over and gouge on "
        "those along the two others; blank and part exact",
        decides="a finer replay")  # fmt: skip
    rapid = max(check.passes, key=lambda p: (p.rapid_mm, p.pass_id), default=None)
    body = max(check.passes, key=lambda p: (p.body_mm, p.pass_id), default=None)
    if rapid is not None and body is not None:
        subject, move = _where(rapid.pass_id, rapid.rapid_row)
        add("rapid in metal", subject, "no rapid move meets metal", rapid.rapid_mm, TOUCH_MM, "mm",
            "longest metal on a ray inside the sweep of a rapid move", move,
            remedy="retract higher before it")  # fmt: skip
        subject, move = _where(body.pass_id, body.body_row)
        add("shank and holder", subject, "shank and holder meet no metal", body.body_mm, TOUCH_MM, "mm",
            "longest metal on a ray inside the sweep of shank and holder", move,
            remedy="a longer stick-out")  # fmt: skip
    add("jaws", check.jaw_strikes[0] if check.jaw_strikes else "all passes",
        "no cutter, shank or holder meets a jaw or the seat", float(len(check.jaw_strikes)), 0.0, "strikes",
        "sweep of each move against jaws and seat as boxes, with the head where it is described", struck_at,
        remedy="keep the pass away from the jaw or grip lower")  # fmt: skip
    return tuple(proofs)


def _where(pass_id: str, row: int) -> tuple[str, MoveAt | None]:
    """A pass, with the move of it that decides where one does."""
    return (f"{pass_id}, move {row}", MoveAt(pass_id=pass_id, row=row)) if row else (pass_id, None)


def _leftover(check: RemovalCheck, add: Callable[..., None], seen: str) -> None:
    """Left-over of all faces, of those that a pass finishes, and of the inside corners in them."""
    finished = [f for f in check.faces if f.finished_by]
    if finished:
        most = max(finished, key=lambda f: (f.open_mm, f.face_id))
        add("finished", most.face_id, f"faces that a pass finishes ({len(finished)} of {len(check.faces)}) stand no "
            "higher, but in inside corners that the cutter does not enter", most.open_mm, FINISHED_LIMIT_MM, "mm",
            f"{seen}. A corner is where the cutter that finishes the face, {SLIM_MM:g} mm narrower all round, has no "
            "place left at which it takes more than the limit and cuts nothing of the target",
            remedy=f"a cutter that makes this face to its size; {', '.join(most.finished_by)} leaves "
            f"{most.open_mm:.3f} mm")  # fmt: skip
    over = sorted(
        (f for f in check.faces if f.leftover_mm > LEFTOVER_LIMIT_MM or f.corner_mm > FINISHED_LIMIT_MM),
        key=lambda f: (-f.leftover_mm, f.face_id),
    )
    listed = {f.face_id for f in over}
    within = [f for f in check.faces if f.face_id not in listed]
    for face in over[:LISTED_MAX]:
        add(f"leftover {face.face_id}", face.face_id, _standing_in(face), face.leftover_mm, LEFTOVER_LIMIT_MM, "mm",
            seen, remedy="a cutter that reaches the rest of this face; where it ends in a sharp inside corner, which "
            "no mill makes, a radius there")  # fmt: skip
    if len(over) > LISTED_MAX:
        rest = over[LISTED_MAX]
        add("leftover others", f"{len(over) - LISTED_MAX} more faces", "no metal is left on the face", rest.leftover_mm,
            LEFTOVER_LIMIT_MM, "mm", seen)  # fmt: skip
    if within:
        most = max(within, key=lambda f: (f.leftover_mm, f.face_id))
        add("leftover within", f"{len(within)} of {len(check.faces)} faces", "no metal is left on these faces",
            most.leftover_mm, LEFTOVER_LIMIT_MM, "mm", seen)  # fmt: skip


def _standing_in(face: FaceDeviation) -> str:
    """What is claimed of a face with left-over; where that stands in an inside corner, with the cutters kept out."""
    if face.corner_mm > FINISHED_LIMIT_MM and face.corner_mm >= face.leftover_mm - 1e-6:
        return f"no metal is left in the face's inside corners, which are too tight for {', '.join(face.finished_by)}"
    return "no metal is left on the face"
