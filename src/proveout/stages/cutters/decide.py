"""The choice of cutters for all clampings: rules first, then fewest different ones."""

from __future__ import annotations

import math

from proveout.geometry.facets import closed_mesh
from proveout.model.choice import CutterChoice, CutterUse, Role
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.reach import ReachedBy
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Clamping, Hole, NotCut, Survey, Tilt
from proveout.stages.cutters.drills import for_hole, thread_of
from proveout.stages.cutters.mills import able, fewest, rougher
from proveout.stages.cutters.needs import (
    Need,
    TiltFaces,
    balls_at,
    is_undercut_by,
    order_of,
    tilt_for,
    touching_of,
    under_by,
)

STAGE = "cutters"
SLOPE_RATIO = 0.004
ALIKE_RATIO = 0.02
"""Balls that reach so nearly the same share of a face count as alike."""
MOST_REACHED = "the largest of the balls that reach most of it past the part and what holds it"


class _Books:
    """What is being gathered."""

    def __init__(self) -> None:
        self.uses: list[CutterUse] = []
        self.tilt_of: dict[str, str] = {}
        self.without: list[NotCut] = []
        self.threads_mm: dict[str, tuple[float, float]] = {}

    def use(
        self, clamping: Clamping, tilt: Tilt, role: Role, subjects: tuple[str, ...], cutter: Cutter, why: str
    ) -> None:
        self.uses.append(
            CutterUse(
                clamping_id=clamping.id, tilt_id=tilt.id, role=role, subjects=subjects, cutter_id=cutter.id, why=why
            )
        )


def decide(
    *,
    survey: Survey,
    clampings: tuple[Clamping, ...],
    target: Target,
    cutters: tuple[Cutter, ...],
    threads: dict[str, str] | None = None,
    widths_mm: dict[str, float] | None = None,
) -> Decision[CutterChoice]:
    """Chooses cutters per clamping and tilt.

    threads: hole id to the thread written for it, such as "M6".   widths_mm: hole id to the width of the window that
    its diameter must lie in before the coat.
    """
    books = _Books()
    body = closed_mesh(points_mm=target.vertices_mm, triangles=target.triangles)
    touching = touching_of(target)
    index_of = {face_id: k for k, face_id in enumerate(target.face_ids)}
    offsets = dict(zip(target.face_ids, (float(v) for v in target.face_offset_mm), strict=True))
    mills = sorted((c for c in cutters if c.kind == "end mill"), key=lambda c: (-c.diameter_mm, c.id))
    finishing: list[tuple[Clamping, TiltFaces, Need, list[Cutter], str]] = []
    roughers: dict[tuple[str, str], Cutter] = {}
    ordered = [c for c in sorted(clampings, key=order_of) if c.tilts]
    tilts_of = {
        c.id: [TiltFaces(target=target, tilt=t, body=body, touching=touching, clamping=c) for t in c.tilts]
        for c in ordered
    }
    needs_of: dict[str, dict[str, list[Need]]] = {c.id: {} for c in ordered}
    rolled = {r.face_id: r.balls for r in survey.reach if r.balls}
    reached = {r.face_id: r.by for r in survey.reach if r.by}
    for k, clamping in enumerate(ordered):
        tilts = tilts_of[clamping.id]
        holes = [h for h in sorted(survey.holes, key=lambda h: h.id) if h.id in clamping.makes_holes]
        of_holes = _choose_holes(books, clamping, tilts, holes, cutters, offsets, threads or {}, widths_mm or {})
        pockets = {f for h in holes for s in h.steps for f in s.face_ids} - of_holes
        of_holes |= _shoulders(books, clamping, tilts, holes, of_holes)
        wanted = sorted(({*clamping.makes_faces} | pockets) & set(index_of) - of_holes)
        later = [c for c in ordered[k + 1 :] if c.number > clamping.number]
        for face_id in wanted:
            index = index_of[face_id]
            home, (best, has_room) = clamping, tilt_for(index, tilts, cutters, rolled.get(face_id, ()))
            for other in [] if has_room else later:
                other_best, other_room = tilt_for(index, tilts_of[other.id], cutters, rolled.get(face_id, ()))
                if other_room and other_best.facets[index].seen not in ("under", "away"):
                    home, best = other, other_best
                    break
            books.tilt_of[f"{home.id}/{face_id}"] = best.tilt.id
            needs = needs_of[home.id].setdefault(best.tilt.id, [])
            if all(n.face_id != face_id for n in needs):
                needs.append(best.need(index))
    for clamping in ordered:
        for number, tilt in enumerate(tilts_of[clamping.id]):
            here = needs_of[clamping.id].get(tilt.tilt.id, [])
            if number == 0:
                _choose_face_mill(books, clamping, tilt.tilt, here, cutters)
            if not here:
                continue
            deepest = max(n.depth_mm for n in here)
            chosen = rougher(mills, depth_mm=deepest, room_mm=math.inf)
            if chosen is not None:
                roughers[clamping.id, tilt.tilt.id] = chosen
            for need in here:
                if need.seen in ("floor", "wall"):
                    fit, why = able(need, mills)
                    if fit:
                        finishing.append((clamping, tilt, need, fit, why))
                    else:
                        books.without.append(
                            NotCut(clamping_id=clamping.id, subject=need.face_id, face_ids=(need.face_id,), reason=why)
                        )
            _choose_slopes(books, clamping, tilt, here, cutters, rolled, reached)
    _choose_mills(books, finishing, roughers, clampings)
    choice = CutterChoice(
        uses=tuple(books.uses), tilt_of=books.tilt_of, without=tuple(books.without), threads_mm=books.threads_mm
    )
    return Decision(value=choice, proofs=_proofs(choice, clampings))


def _choose_holes(
    books: _Books,
    clamping: Clamping,
    tilts: list[TiltFaces],
    holes: list[Hole],
    cutters: tuple[Cutter, ...],
    offsets: dict[str, float],
    threads: dict[str, str],
    widths_mm: dict[str, float],
) -> set[str]:
    """Books each hole's cutters; returns the faces that the hole passes make."""
    made: set[str] = set()
    for hole in holes:
        faces = {f for s in hole.steps for f in s.face_ids}
        fit = _looking_in(hole, tilts)
        if not fit:
            made |= faces
            books.without.append(
                NotCut(
                    clamping_id=clamping.id,
                    subject=hole.id,
                    face_ids=tuple(sorted(faces)),
                    reason="no tilt of the clamping looks along the hole's axis into its entry",
                )
            )
            continue
        tilt = fit[0]
        books.tilt_of[f"{clamping.id}/{hole.id}"] = tilt.tilt.id
        chosen = for_hole(
            hole=hole,
            tilt=tilt.tilt,
            top_mm=tilt.top_mm,
            cutters=cutters,
            thread=threads.get(hole.id, ""),
            width_mm=widths_mm.get(hole.id),
            grow_mm=lambda ids: 2.0 * max((offsets.get(f, 0.0) for f in ids), default=0.0),
            has_room=tilt.holder_free,
        )
        if chosen.is_pocket:
            for face in faces:
                books.tilt_of[f"{clamping.id}/{face}"] = tilt.tilt.id
            continue
        made |= faces
        for role, cutter, why in chosen.uses:
            books.use(clamping, tilt.tilt, role, (hole.id,), cutter, why)
            size = thread_of(threads.get(hole.id, ""))
            if role == "tap" and size is not None:
                books.threads_mm[hole.id] = size
        if chosen.reason:
            books.without.append(
                NotCut(clamping_id=clamping.id, subject=hole.id, face_ids=tuple(sorted(faces)), reason=chosen.reason)
            )
    return made


def _looking_in(hole: Hole, tilts: list[TiltFaces]) -> list[TiltFaces]:
    """The tilts along a hole's axis that look into it, best first.

    A plain through hole is begun from the end that lies nearer to the outside of the part, since what stands before
    the other end may be cut away only later.
    """
    along = [(_along(t.tilt, hole), t) for t in tilts]
    into, back = [t for side, t in along if side > 0], [t for side, t in along if side < 0 and hole.is_through]
    if len(hole.steps) > 1:
        return into or back
    length = max(s.depth_high_mm for s in hole.steps)
    sunk = [(t.top_mm - t.height_mm(hole.entry_mm), t) for t in into]
    sunk += [(t.top_mm - t.height_mm(hole.entry_mm) - length, t) for t in back]
    return [t for _, t in sorted(sunk, key=lambda p: round(p[0], 3))]


def _shoulders(
    books: _Books, clamping: Clamping, tilts: list[TiltFaces], holes: list[Hole], of_holes: set[str]
) -> set[str]:
    """Ring floors between the steps of holes with passes of their own: the wider step's pass leaves them flat."""
    found: set[str] = set()
    for hole in holes:
        own = {f for s in hole.steps for f in s.face_ids}
        tilt_id = books.tilt_of.get(f"{clamping.id}/{hole.id}")
        tilt = next((t for t in tilts if t.tilt.id == tilt_id), None)
        if tilt is None or not own <= of_holes:
            continue
        for face_id in tilt.shoulders_of(own):
            books.tilt_of[f"{clamping.id}/{face_id}"] = tilt.tilt.id
            found.add(face_id)
    return found


def _along(tilt: Tilt, hole: Hole) -> int:
    share = sum(a * b for a, b in zip(tilt.frame.z, hole.outward, strict=True))
    return 0 if abs(abs(share) - 1.0) > 1e-5 else (1 if share > 0.0 else -1)


def _choose_face_mill(
    books: _Books, clamping: Clamping, tilt: Tilt, needs: list[Need], cutters: tuple[Cutter, ...]
) -> None:
    if not needs:
        return
    facing = [c for c in cutters if c.kind == "face mill"] or [c for c in cutters if c.kind == "end mill"]
    if facing:
        best = max(facing, key=lambda c: (c.diameter_mm, c.id))
        top = tuple(n.face_id for n in needs if n.seen == "floor" and n.depth_mm < 1e-3)
        books.use(clamping, tilt, "face", top, best, "the widest: fewest lines over the top")


def _choose_slopes(
    books: _Books, clamping: Clamping, view: TiltFaces, needs: list[Need], cutters: tuple[Cutter, ...],
    rolled_by: dict[str, tuple[ReachedBy, ...]], reached: dict[str, tuple[ReachedBy, ...]],
) -> None:  # fmt: skip
    """Edge-break cutters for chamfers of their slope, balls for the other inclined faces, undercut cutters."""
    tilt = view.tilt
    breakers = sorted((c for c in cutters if c.kind == "edge break"), key=lambda c: (c.diameter_mm, c.id))
    balls = sorted((c for c in cutters if c.kind == "ball"), key=lambda c: (-c.diameter_mm, c.id))
    unders = sorted((c for c in cutters if c.kind == "undercut"), key=lambda c: (-c.flute_length_mm, c.id))
    edge: dict[str, list[str]] = {}
    rolled: list[Need] = []
    leaning: dict[str, list[str]] = {}
    ceilings: dict[str, list[str]] = {}
    by_id = {c.id: c for c in cutters}
    for need in needs:
        if need.seen in ("inclined", "cone", "curved"):
            fit = [c for c in breakers if need.seen != "curved" and _is_broken_by(need, c)]
            if fit:
                edge.setdefault(fit[0].id, []).append(need.face_id)
            else:
                rolled.append(need)
        elif need.seen == "under":
            fit = [c for c in unders if is_undercut_by(need.facet, c)]
            if fit:
                leaning.setdefault(fit[0].id, []).append(need.face_id)
        elif need.facet.is_ceiling:
            heads = under_by(view, need.face_id, cutters, reached)
            if heads:
                ceilings.setdefault(heads[0].id, []).append(need.face_id)
    if rolled and balls:
        deepest = max(n.depth_mm for n in rolled)
        long = [c for c in balls if c.stick_out_mm >= deepest] or balls
        used = [c for c in long if any(u.cutter_id == c.id for u in books.uses)]
        best = (used or long)[0]
        most = {n.face_id: _most_of(balls_at(view, rolled_by.get(n.face_id, ())), best, balls) for n in rolled}
        for ball in sorted({c.id: c for c in most.values()}.values(), key=lambda c: (-c.diameter_mm, c.id)):
            own = tuple(n.face_id for n in rolled if most[n.face_id].id == ball.id)
            why = "the largest ball that reaches: fewest lines"
            books.use(clamping, tilt, "surface", own, ball, why if ball.id == best.id else MOST_REACHED)
    for cutter_id, faces in sorted(leaning.items()):
        books.use(clamping, tilt, "undercut", tuple(faces), by_id[cutter_id], "its flank has the face's angle")
    for cutter_id, faces in sorted(ceilings.items()):
        books.use(clamping, tilt, "undercut", tuple(faces), by_id[cutter_id], "its head comes under the face")
    for cutter_id, faces in sorted(edge.items()):
        books.use(clamping, tilt, "edge", tuple(faces), by_id[cutter_id], "its flank has the chamfer's slope")


def _most_of(found: list[ReachedBy], best: Cutter, balls: list[Cutter]) -> Cutter:
    """The ball taken for most faces, unless another reaches more of this one: then the largest of those."""
    ratios = {b.cutter_id: b.reached_ratio for b in found}
    if not ratios:
        return best
    most = max(ratios.values())
    fit = [c for c in [best, *balls] if ratios.get(c.id, 0.0) >= most - ALIKE_RATIO]
    return fit[0] if fit else best


def _is_broken_by(need: Need, cutter: Cutter) -> bool:
    half = cutter.tip_angle_rad / 2.0
    flank = (cutter.diameter_mm - cutter.tip_diameter_mm) / 2.0 / math.tan(half)
    loose = SLOPE_RATIO if need.facet.is_flat else 0.02
    return need.tall_mm + 0.08 < flank and abs(need.facet.lean_middle - math.sin(half)) < loose


def _choose_mills(
    books: _Books,
    finishing: list[tuple[Clamping, TiltFaces, Need, list[Cutter], str]],
    roughers: dict[tuple[str, str], Cutter],
    clampings: tuple[Clamping, ...],
) -> None:
    """One set of end mills for the whole part; each face takes the largest of the set that is able."""
    in_use = {u.cutter_id: None for u in books.uses}
    given = list({c.id: c for c in roughers.values()}.values())
    pool = {c.id: c for _, _, _, fit, _ in finishing for c in fit}
    given += [pool[i] for i in in_use if i in pool and i not in {c.id for c in given}]
    chosen = {c.id for c in [*given, *fewest([(n, fit) for _, _, n, fit, _ in finishing], given)]}
    by_tilt: dict[tuple[str, str], dict[str, tuple[Cutter, list[str], str]]] = {}
    for clamping, tilt, need, fit, why in finishing:
        best = max((c for c in fit if c.id in chosen), key=lambda c: (c.diameter_mm, c.id))
        table = by_tilt.setdefault((clamping.id, tilt.tilt.id), {})
        table.setdefault(best.id, (best, [], why))[1].append(need.face_id)
    tilts = {(c.id, t.id): (c, t) for c in clampings for t in c.tilts}
    for key in sorted({*roughers, *by_tilt}, key=lambda k: (order_of(tilts[k][0]), k[1])):
        clamping, tilt = tilts[key]
        if key in roughers:
            books.use(clamping, tilt, "rough", (), roughers[key], "the largest end mill that reaches")
        for cutter_id, (cutter, faces, why) in sorted(
            by_tilt.get(key, {}).items(), key=lambda e: (-e[1][0].diameter_mm, e[0])
        ):
            if key in roughers and cutter_id != roughers[key].id:
                books.use(clamping, tilt, "rough", tuple(faces), cutter, "takes what the larger cutter left")
            books.use(clamping, tilt, "finish", tuple(faces), cutter, why)


def _proofs(choice: CutterChoice, clampings: tuple[Clamping, ...]) -> tuple[Proof, ...]:
    proofs = []
    for clamping in sorted(clampings, key=order_of):
        missing = [n for n in choice.without if n.clamping_id == clamping.id]
        count = None if missing else 0.0
        proofs.append(
            prove(
                id=f"cutters/{clamping.id}/every-feature",
                stage=STAGE,
                subject=clamping.id,
                claim="the shop has a cutter for every face and hole promised",
                sense="at most",
                found_low=count,
                found_high=count,
                limit=0.0,
                unit="features",
                blocks_release=True,
                basis=Basis(
                    formula="radius <= 0.8 corner; stick-out >= depth; drill within 0.05 mm", source="workshop-practice"
                ),
                decides="; ".join(f"{n.subject}: {n.reason}" for n in missing) or "",
                remedy="put the missing cutter into the shop" if missing else "",
            )
        )
    return tuple(proofs)
