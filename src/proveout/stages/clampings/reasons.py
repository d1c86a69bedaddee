"""Of the chosen clampings, looked at finely: what reaches each face, how dearly, or why not and what would."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.model.choice_of_clampings import Hold
from proveout.model.reach import FaceReach, Manner, ReachedBy, Wanted
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.solid import Face
from proveout.model.work import Hole, Vector
from proveout.reach.outline import POINTED
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import AWAY, FLOOR, INCLINED, SQUARE, WALL, hollow_radius_mm
from proveout.reach.standing import (
    BODY_MEETS,
    END_MEETS,
    FINE_MM,
    HELD_MEETS,
    REACHED,
    TOO_HOLLOW,
    TOO_TALL,
    TOO_WIDE,
    TURNED_AWAY,
    Look,
    mills_first,
    needed_out_mm,
    short_flutes,
)
from proveout.stages.clampings.covering import (
    DRILL_FIT_MM,
    FIT_RATIO,
    PER_FACE,
    Samples,
    by_edge_alone,
    chamfers,
    heights_of,
    held_by,
    hole_cutter,
    manner_of,
    shank_stays_out,
    special_reach,
)
from proveout.stages.clampings.minutes import cut_s
from proveout.stages.clampings.obstacles import later_obstacles, op1_obstacles
from proveout.stages.clampings.under_wanted import wanted_under

WHOLE_RATIO = 1.0 - 3.5 / PER_FACE
KEPT_MOST = 4
WHOLE_MOST = 2
Bools = NDArray[np.bool_]
NAMES = {
    "end mill": "an end mill", "ball": "a ball cutter", "drill": "a drill", "T-slot": "a T-slot cutter",
    "undercut": "an undercut cutter",
}  # fmt: skip
# how far a cutter came before something stopped it
PROGRESS = {
    TURNED_AWAY: 0, TOO_HOLLOW: 1, TOO_WIDE: 1, TOO_TALL: 2, END_MEETS: 3, BODY_MEETS: 4, HELD_MEETS: 5, REACHED: 6,
}  # fmt: skip


@dataclass
class Found:
    """What was seen of one face: who reaches it, the union of the points reached, and every verdict by view."""

    by: list[ReachedBy] = field(default_factory=list)
    points: Bools = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    verdicts: list[tuple[Look, Cutter, NDArray[np.int8]]] = field(default_factory=list)


@dataclass(frozen=True)
class View:
    """From where one face is met: clamping, direction, machine, how, its height along the cutter, its hole.

    cusp_mm: height allowed between two lines of a ball.
    """

    number: int
    direction: Vector
    machine: Machine
    manner: Manner
    tall_mm: float
    hole: Hole | None
    cusp_mm: float


def face_reaches(
    *,
    samples: Samples,
    holds: tuple[Hold, ...],
    cutters: tuple[Cutter, ...],
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    run: Run,
    pitch_mm: float = FINE_MM,
    bought: frozenset[str] = frozenset(),
) -> tuple[FaceReach, ...]:
    """Every face of the solid, in its order, in the chosen clampings; nothing is asked of those that stay as bought."""
    solid = samples.shapes.solid
    made = {face_id for hold in holds for face_id in hold.makes_faces}
    found = [Found(points=np.zeros(int((samples.face == f.index).sum()), dtype=np.bool_)) for f in solid.faces]
    for number, hold in enumerate(holds, start=1):
        own = np.array(
            [f.id in hold.makes_faces or f.id not in made | bought for f in solid.faces], dtype=np.bool_
        )  # fmt: skip
        for direction in hold.directions:
            run.check("clampings", f"looking closely from side {number}")
            _look(samples, hold, number, direction, own, cutters, vises, jaws, machines, found, pitch_mm)
    return tuple(
        FaceReach(face_id=face.id, is_reached=True, by=(), why_not="")
        if face.id in bought
        else _told(samples, face, found[face.index], cutters)
        for face in solid.faces
    )


def _look(
    samples: Samples,
    hold: Hold,
    number: int,
    direction: Vector,
    own: Bools,
    cutters: tuple[Cutter, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    machines: tuple[Machine, ...],
    found: list[Found],
    pitch_mm: float,
) -> None:
    """One view of one clamping, added to what was found."""
    target, solid = samples.shapes.target, samples.shapes.solid
    in_hole = np.array([int(f) in samples.hole_of for f in samples.face], dtype=np.bool_)
    asked = own[samples.face] & ~in_hole
    frame = look_frame(direction)
    part = np.ascontiguousarray(frame.into(target.vertices_mm)[target.triangles])
    look = Look(
        frame, part, samples.rooms_from(direction, cutters), cutters, pitch_mm=pitch_mm, asked=asked, names=True
    )
    vise = next(v for v in vises if v.id == hold.vise_id)
    grip_mm = next(j.grip_mm for j in jaws if j.id == hold.jaws_id)
    obstacles = (
        op1_obstacles(hold.up, target, grip_mm, vise)
        if hold.grip is None
        else later_obstacles(hold.up, hold.grip, target, vise)
    )
    held = held_by(look, obstacles)
    machine = next(m for m in machines if m.id == hold.machine_id)
    tall = heights_of(part, samples)
    # the widest first: it is the quickest; a face that two make whole in known time needs no narrower one tried
    mills = sorted(mills_first(cutters), key=lambda c: (c.kind != "ball", -c.diameter_mm, c.stick_out_mm, c.id))
    for cutter in (*mills, *(c for c in cutters if c.kind in POINTED)):
        busy = np.array([_whole_count(f, number) < WHOLE_MOST for f in found], dtype=np.bool_)
        wanted = asked & busy[samples.face]
        if cutter.kind in POINTED:
            wanted = asked & chamfers(look, samples, cutter)
        if not wanted.any():
            continue
        verdict = look.of(cutter, wanted, held)
        verdict[(verdict == REACHED) & short_flutes(cutter, look.rooms)] = TOO_TALL
        verdict[(verdict == REACHED) & by_edge_alone(cutter, samples, look.rooms)] = TURNED_AWAY
        for face in np.unique(samples.face[wanted]):
            rows = samples.face == face
            share = float((verdict[rows] == REACHED).mean())
            found[face].points |= verdict[rows] == REACHED
            found[face].verdicts.append((look, cutter, verdict[rows]))
            if share > 0.0:
                manner: Manner = "edge" if cutter.kind in POINTED else manner_of(direction, samples, int(face))
                view = View(number, direction, machine, manner, float(tall[face]), None, target.cusp_mm)
                _add(found[face], solid.faces[face], cutter, share, view)
    shares, mask = special_reach(direction, look=look, held=held, samples=samples, cutters=cutters)
    by_id = {c.id: c for c in cutters}
    for face, (share, cutter_id) in sorted(shares.items()):
        if own[face]:
            found[face].points |= mask[samples.face == face]
            manner = "hole" if face in samples.hole_of else "under"
            view = View(
                number, direction, machine, manner, float(tall[face]), samples.hole_of.get(face), target.cusp_mm
            )
            _add(found[face], solid.faces[face], by_id[cutter_id], share, view)


def _whole_count(found: Found, number: int) -> int:
    return sum(
        b.clamping_number == number and b.reached_ratio >= WHOLE_RATIO and b.cut_s is not None for b in found.by
    )  # fmt: skip


def _add(found: Found, face: Face, cutter: Cutter, share: float, view: View) -> None:
    seconds = cut_s(
        cutter, view.machine, manner=view.manner, area_mm2=face.area_mm2, tall_mm=view.tall_mm,
        deep_mm=view.hole.depth_mm if view.hole is not None else 0.0, cusp_mm=view.cusp_mm,
    )  # fmt: skip
    found.by.append(
        ReachedBy(
            clamping_number=view.number, direction=view.direction, cutter_id=cutter.id, manner=view.manner,
            reached_ratio=round(share, 4), cut_s=None if seconds is None else round(seconds, 1),
        )
    )  # fmt: skip


def _told(samples: Samples, face: Face, found: Found, cutters: tuple[Cutter, ...]) -> FaceReach:
    ranked = sorted(
        found.by, key=lambda b: (-round(b.reached_ratio, 1), b.cut_s is None, b.cut_s or 0.0, b.cutter_id, b.direction)
    )  # fmt: skip
    whole = [b.cut_s for b in ranked if b.reached_ratio >= WHOLE_RATIO and b.cut_s is not None]
    done = bool(len(found.points)) and float(found.points.mean()) >= WHOLE_RATIO
    why, wanted = ("", None) if done else _why_not(samples, face, found, cutters)
    balls = {c.id: c.diameter_mm for c in cutters if c.kind == "ball"}
    rolled = sorted(
        (b for b in ranked if b.cutter_id in balls and face.surface.kind != "plane"),
        key=lambda b: (b.clamping_number, b.direction, -b.reached_ratio, -balls[b.cutter_id], b.cutter_id),
    )  # fmt: skip
    return FaceReach(
        face_id=face.id, is_reached=done, by=tuple(ranked[:KEPT_MOST]), why_not=why, wanted=wanted, balls=tuple(rolled),
        would_reach=wanted_words(wanted) if wanted is not None else "",
        least_s=min(whole, default=None),
    )  # fmt: skip


def _why_not(
    samples: Samples, face: Face, found: Found, cutters: tuple[Cutter, ...]
) -> tuple[str, Wanted | None]:  # fmt: skip
    hole = samples.hole_of.get(face.index)
    if hole is not None:
        return _hole_why(hole, cutters)
    rows = np.flatnonzero(samples.face == face.index)
    seen = [(look, c, v) for look, c, v in found.verdicts if np.any(look.rooms.way[rows] != AWAY)]
    over = [look for look, _, _ in found.verdicts if look.rooms.normals[rows[0], 2] < -SQUARE]
    if over and face.surface.kind == "plane" and not any(np.any(v == REACHED) for _, _, v in seen):
        why, wanted = _ceiling_why(over[0], rows, cutters)
        if wanted is not None or not seen:
            return why, wanted
    if not seen:
        return "it looks away from every direction of the chosen clampings", None
    look, cutter, verdict = max(
        seen, key=lambda s: (float((s[2] == REACHED).mean()), _progress(s[2]), -s[1].diameter_mm, s[1].id)
    )  # fmt: skip
    lacking = rows[~found.points] if len(rows[~found.points]) else rows
    own = [(c, v[~found.points]) for where, c, v in seen if where is look]
    wanted = wanted_for(look, lacking, cutter)
    code = _code(verdict[~found.points])
    text = _reason(code, look, lacking, cutter, wanted)
    if code in (TOO_TALL, BODY_MEETS):
        # and of those that are long enough the narrowest, which is too wide
        long = [
            c for c, v in own
            if c.stick_out_mm >= (wanted.stick_out_least_mm or 0.0) and _code(v) in (TOO_WIDE, TOO_HOLLOW)
        ]  # fmt: skip
        if long:
            least = min(long, key=lambda c: (c.diameter_mm, c.id))
            text += f"; of those that stick out far enough {least.id} (Ø{least.diameter_mm:g}) is the narrowest"
    return text, wanted


def _ceiling_why(look: Look, rows: NDArray[np.int64], cutters: tuple[Cutter, ...]) -> tuple[str, Wanted | None]:
    wanted = wanted_under(look.part, look.rooms.points[rows], whole_ratio=WHOLE_RATIO)
    has_one = any(c.kind == "T-slot" for c in cutters)
    none = "no T-slot cutter of the shop comes under all of it" if has_one else "the shop has no T-slot cutter"
    return f"it looks straight down on this side, and {none}", wanted


def _progress(verdict: NDArray[np.int8]) -> int:
    return max(PROGRESS[int(v)] for v in np.unique(verdict))


def _code(verdict: NDArray[np.int8]) -> int:
    """What stopped most of the points; of two alike the one that came farther."""
    values, counts = np.unique(verdict[verdict != REACHED], return_counts=True)
    if not len(values):
        return REACHED
    return int(max(zip(values, counts, strict=True), key=lambda p: (int(p[1]), PROGRESS[int(p[0])]))[0])


def wanted_for(look: Look, rows: NDArray[np.int64], cutter: Cutter) -> Wanted:
    """The cutter that would reach points (indices) of a look: as `cutter` but narrow, long and free enough."""
    rooms = look.rooms.at(rows)
    ball = bool(np.any(rooms.way == INCLINED))
    room = float(np.min(rooms.radius_mm[rooms.way != AWAY], initial=math.inf))
    most = 2.0 * min(room, float(np.min(hollow_radius_mm(rooms), initial=math.inf)))
    slim = min(most, cutter.diameter_mm) / 2.0
    out = needed_out_mm(look, rows, radius_mm=slim, holder_mm=cutter.holder_diameter_mm / 2.0)
    tall = float(np.max(np.maximum(rooms.column_mm, look.stands_over(rows)), initial=0.0))
    return Wanted(
        kind="ball" if ball else "end mill",
        diameter_max_mm=None if math.isinf(most) else math.floor(most * 1000.0 + 1e-6) / 1000.0,
        flute_least_mm=math.ceil(tall * 100.0 - 1e-6) / 100.0 if tall > 0.0 else None,
        stick_out_least_mm=math.ceil(out * 10.0 - 1e-6) / 10.0 if out > 0.0 else None,
    )


def _reason(code: int, look: Look, rows: NDArray[np.int64], cutter: Cutter, wanted: Wanted) -> str:
    rooms = look.rooms.at(rows)
    name = f"{cutter.id} (Ø{cutter.diameter_mm:g})"
    if code == TOO_HOLLOW:
        radius = float(np.min(hollow_radius_mm(rooms), initial=math.inf))
        where = "inside corner" if np.all(rooms.way == WALL) else "hollow"
        return f"{where} R{radius:.2f} against {name}, which comes nearest"
    if code == TOO_WIDE:
        room = float(np.min(rooms.radius_mm, initial=math.inf))
        what = "the narrowest place over it" if np.all(rooms.way == FLOOR) else "the gap beside it"
        return f"{what} is {2.0 * room:.2f} against {name}, which comes nearest"
    if code == TOO_TALL:
        return f"wall {wanted.flute_least_mm or 0.0:.2f} high against flutes of {cutter.flute_length_mm:g} on {name}"
    if code == BODY_MEETS:
        out = wanted.stick_out_least_mm or 0.0
        return f"shank or holder of {name} meets the part: it sticks out {cutter.stick_out_mm:g} of {out:.1f} needed"
    if code == HELD_MEETS:
        return f"jaws or strip stand in the way of {name}"
    if code == END_MEETS:
        return f"metal beside or over it stands in the way of {name}, which comes nearest"
    return "no cutter's end meets it as it leans"


def wanted_words(wanted: Wanted) -> str:
    """What would reach a face, in words for the owner."""
    sizes = [
        (wanted.diameter_max_mm, "of Ø{:g} mm" if wanted.kind == "drill" else "of Ø{:g} mm at most"),
        (wanted.neck_max_mm, "with a neck of Ø{:.4g} mm at most"),
        (wanted.flute_max_mm, "a head {:.4g} mm high at most"),
        (wanted.flute_least_mm, "with flutes of {:g} mm at least"),
        (wanted.stick_out_least_mm, "{:g} mm out of its holder at least"),
    ]
    told = [text.format(size) for size, text in sizes if size is not None]
    return f"{NAMES[wanted.kind]} {', '.join(told)}".rstrip()


def _hole_why(hole: Hole, cutters: tuple[Cutter, ...]) -> tuple[str, Wanted]:
    wanted = Wanted(
        kind="drill", diameter_max_mm=round(hole.diameter_mm, 3), flute_least_mm=round(hole.depth_mm, 2),
        stick_out_least_mm=None,
    )  # fmt: skip
    cutter = hole_cutter(hole, cutters)
    if cutter is not None and not shank_stays_out(hole, cutter):
        return (
            f"hole Ø{hole.diameter_mm:.3f}, {hole.depth_mm:.1f} deep: {cutter.id} fits it, but goes in only "
            f"{cutter.shank_from_mm:g} deep, then comes its shank of Ø{cutter.shank_diameter_mm:g}"
        ), wanted  # fmt: skip
    if cutter is not None:
        return f"{cutter.id} fits hole Ø{hole.diameter_mm:.3f}, yet no chosen direction lets it in", wanted
    text = (
        f"hole Ø{hole.diameter_mm:.3f}, {hole.depth_mm:.1f} deep: no drill within {DRILL_FIT_MM:g} is long enough, "
        f"and no end mill up to {FIT_RATIO:g} of it sticks out so far"
    )
    return text, wanted
