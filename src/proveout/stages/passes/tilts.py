"""One tilt's passes in working order: face, rough, holes, floors, walls, surfaces, undercuts, edges."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np

from proveout.geometry.facets import Facet
from proveout.model.choice import CutterChoice, CutterUse, Role
from proveout.model.shop import Cutter
from proveout.stages.passes import holes as hole_passes
from proveout.stages.passes.ceilings import under_ceilings
from proveout.stages.passes.contours import finish_curved
from proveout.stages.passes.edges import break_edges
from proveout.stages.passes.facing import face
from proveout.stages.passes.floors import finish_floors, finish_strips
from proveout.stages.passes.holes import Seat
from proveout.stages.passes.reaming import ream
from proveout.stages.passes.roughing import rough
from proveout.stages.passes.surfaces import finish_surfaces
from proveout.stages.passes.task import SPENT, Task
from proveout.stages.passes.threading import mill_thread, tap
from proveout.stages.passes.undercuts import undercut
from proveout.stages.passes.visiting import short_way
from proveout.stages.passes.walls import finish_walls, lowest_of


def plan_tilt(task: Task, *, choice: CutterChoice, cutters: dict[str, Cutter], offsets_mm: dict[str, float]) -> None:
    """Lays all passes of one tilt; what the geometry libraries refuse leaves its faces without a pass."""
    clamping_id, tilt_id = task.clamping_id, task.view.tilt.id

    def uses(role: Role) -> tuple[CutterUse, ...]:
        return choice.of(clamping_id=clamping_id, tilt_id=tilt_id, role=role)

    def chosen(role: Role) -> list[Cutter]:
        found = {u.cutter_id: cutters[u.cutter_id] for u in uses(role) if u.cutter_id in cutters}
        return sorted(found.values(), key=lambda c: (-c.diameter_mm, c.id))

    if not task.promised and not task.holes:
        return
    seats = _seats(task, offsets_mm)
    hole_passes.fill(task, list(seats.values()))
    low = _low_mm(task)
    for cutter in chosen("face")[:1]:
        _guard(task, "face", lambda c=cutter: face(task, cutter=c))
    if low is not None:
        _guard(task, "rough", lambda: rough(task, cutters=tuple(chosen("rough")), low_mm=low))
    _holes(task, seats, uses, cutters, choice.threads_mm)
    finishers = {f: u.cutter_id for u in uses("finish") for f in u.subjects}
    task.allowed = {k for k in task.promised if task.face_ids[k] not in finishers}
    floors: dict[str, list[Facet]] = {c.id: [] for c in chosen("finish")}
    for cutter in chosen("finish"):
        task.allowed |= {k for k in task.promised if finishers.get(task.face_ids[k]) == cutter.id}
        _guard(task, "finish floor", lambda c=cutter: floors[c.id].extend(finish_floors(task, cutter=c)))
        _guard(task, "finish wall", lambda c=cutter: finish_walls(task, cutter=c))
    task.allowed = None
    for cutter in chosen("finish"):
        _guard(task, "finish floor", lambda c=cutter: finish_strips(task, cutter=c, facets=floors[c.id]))
    before = len(task.laid)
    for cutter in chosen("edge"):
        _guard(task, "break edge", lambda c=cutter: break_edges(task, cutter=c))
    last = task.laid[before:]
    del task.laid[before:]
    _surfaces(
        task, chosen("surface"), tuple(chosen("finish")), {f: u.cutter_id for u in uses("surface") for f in u.subjects}
    )
    for cutter in chosen("undercut"):
        lay = under_ceilings if cutter.kind == "T-slot" else undercut
        _guard(task, "undercut", lambda c=cutter, lay=lay: lay(task, cutter=c))
    mouths = [k for k in task.laid if k.kind == "break edge"]
    task.laid[:] = [k for k in task.laid if k.kind != "break edge"] + last + mouths


def _surfaces(task: Task, balls: list[Cutter], mills: tuple[Cutter, ...], rollers: dict[str, str]) -> None:
    """Leaning and curved faces, ball by ball; what end mills step down of them comes after all balls.

    rollers: face id to the cutter that was chosen for it.
    """
    before = len(task.laid)
    for cutter in balls:
        _guard(task, "finish surface", lambda c=cutter: finish_surfaces(task, cutter=c, mills=mills))
        task.allowed = {k for k in task.promised if rollers.get(task.face_ids[k], cutter.id) == cutter.id}
        _guard(task, "finish surface", lambda c=cutter: finish_curved(task, cutter=c))
        task.allowed = None
    stepped = {mill.id for mill in mills}
    task.laid[before:] = sorted(task.laid[before:], key=lambda laid: laid.cutter.id in stepped)


def _low_mm(task: Task) -> float | None:
    """How deep roughing goes: the lowest promised face, walls with their run into waste; None for holes alone."""
    lows: list[float] = []
    for index in sorted(task.promised):
        facet = task.view.facets[index]
        if facet.seen == "wall":
            lows.append(lowest_of(task.view, float(facet.low_mm[2])))
        elif facet.seen != "away" and len(facet.rows):
            lows.append(float(facet.low_mm[2]))
    return max(min(lows), task.view.lowest_mm) if lows else None


def _seats(task: Task, offsets_mm: dict[str, float]) -> dict[str, Seat]:
    seats: dict[str, Seat] = {}
    for hole in task.holes:
        seat = hole_passes.seat_of(task, hole, offsets_mm=offsets_mm)
        if seat is None:
            task.reasons[hole.id] = "the hole's axis is not along the cutter at this tilt"
        else:
            seats[hole.id] = seat
    return seats


def _holes(
    task: Task, seats: dict[str, Seat], uses: Callable[[Role], tuple[CutterUse, ...]], cutters: dict[str, Cutter],
    threads_mm: dict[str, tuple[float, float]],
) -> None:  # fmt: skip
    """Spot, drill, bore, mouths, taps; each by cutter, and then on a short way from hole to hole."""

    def each(role: Role) -> list[tuple[Cutter, Seat]]:
        pairs = [(cutters[u.cutter_id], seats[u.subjects[0]]) for u in uses(role) if u.subjects[0] in seats]
        pairs.sort(key=lambda p: (p[0].id, round(p[1].x_mm, 4), round(p[1].y_mm, 4), p[1].hole.id))
        ordered: list[tuple[Cutter, Seat]] = []
        for _, group in itertools.groupby(pairs, key=lambda p: p[0].id):
            own = list(group)
            places = np.array([[seat.x_mm, seat.y_mm] for _, seat in own])
            ordered.extend(own[k] for k in short_way(places))
        return ordered

    drilled = {u.subjects[0] for u in uses("drill")}
    for cutter, seat in each("bore"):
        if seat.hole.id in drilled:
            _guard(task, seat.hole.id, lambda c=cutter, s=seat: hole_passes.flat_entry(task, s, cutter=c))
    early = [(c, s) for c, s in each("bore") if s.hole.id in drilled and not hole_passes.drills_first(s)]
    for cutter, seat in early:
        _guard(task, seat.hole.id, lambda c=cutter, s=seat: hole_passes.bore(task, s, cutter=c, from_smallest=False))
    begun = {s.hole.id for _, s in early}
    for cutter, seat in each("spot"):
        _guard(task, seat.hole.id, lambda c=cutter, s=seat: hole_passes.spot(task, s, cutter=c))
    for cutter, seat in each("drill"):
        _guard(task, seat.hole.id, lambda c=cutter, s=seat: hole_passes.drill(task, s, cutter=c))
    for cutter, seat in each("bore"):
        if seat.hole.id in begun:
            continue
        smallest = seat.hole.id not in drilled
        _guard(
            task,
            seat.hole.id,
            lambda c=cutter, s=seat, m=smallest: hole_passes.bore(task, s, cutter=c, from_smallest=m),
        )
    for cutter, seat in each("size"):
        _guard(
            task,
            seat.hole.id,
            lambda c=cutter, s=seat: hole_passes.bore(task, s, cutter=c, from_smallest=True, is_sizing=True),
        )
    for cutter, seat in each("ream"):
        _guard(task, seat.hole.id, lambda c=cutter, s=seat: ream(task, s, cutter=c))
    for cutter, seat in each("edge"):
        _guard(task, seat.hole.id, lambda c=cutter, s=seat: hole_passes.break_mouth(task, s, cutter=c))
    for cutter, seat in each("tap"):
        task.threadless.add(seat.hole.id)
        if cutter.kind == "thread mill":
            major, pitch = threads_mm[seat.hole.id]
            _guard(
                task, seat.hole.id,
                lambda c=cutter, s=seat, d=major, p=pitch: mill_thread(task, s, cutter=c, major_mm=d, pitch_mm=p),
            )  # fmt: skip
        else:
            _guard(task, seat.hole.id, lambda c=cutter, s=seat: tap(task, s, cutter=c))


def _guard(task: Task, what: str, lay: Callable[[], Any]) -> None:
    """Runs one maker; what the plane-geometry libraries refuse is kept as the reason of the faces left."""
    import shapely

    if task.is_spent:
        for index in task.promised - task.done:
            task.reasons.setdefault(task.face_ids[index], SPENT)
        index_of = task.view.index_of
        for hole in task.holes:
            if any(index_of.get(f, -1) not in task.done for step in hole.steps for f in step.face_ids):
                task.reasons.setdefault(hole.id, SPENT)
        return
    try:
        lay()
    except (shapely.errors.ShapelyError, ValueError, ArithmeticError, IndexError) as fault:
        reason = f"{what}: the plane geometry could not be worked out ({type(fault).__name__}: {fault})"
        if what in {h.id for h in task.holes}:
            task.reasons[what] = reason
            return
        for index in task.promised - task.done:
            task.reasons.setdefault(task.face_ids[index], reason)
