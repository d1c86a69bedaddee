"""Every sequence of clampings that the shop's machines allow, in order of a lower bound on money."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.model.choice_of_clampings import Grip, Hold, Sequence
from proveout.model.fact import Fact
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Access, Survey, Vector
from proveout.quantities.units import S_PER_H
from proveout.stages.clampings.covering import PER_FACE, Obstacle, Samples, reached_from
from proveout.stages.clampings.grips import grips_for, round_grips, solid_heights
from proveout.stages.clampings.obstacles import SIDE_SKIM_MM, later_obstacles, op1_obstacles
from proveout.stages.clampings.rotary import can_tilt

SLENDER_MAX = 3.0
MAKES_SHARE = 0.03
REST_SHARE = 0.12
DONE_SHARE = 0.5
EXTRA_MAX = 3
LOST_SHARE = 0.02
STIFFNESS_EACH = 0.5
STRIP_MM = 5.0
"""A strip of contact lower than this is a weak hold: deeper soft jaws are tried first. Common practice, no source."""
JAW_FLOOR_MM = 12.0
"""Left of a soft jaw's height under its step, at least. Common practice, no source."""

Bools = NDArray[np.bool_]


@dataclass
class Shopfloor:
    """The slice of the shop that clampings read."""

    machines: tuple[Machine, ...]
    vises: tuple[Vise, ...]
    jaws: tuple[Jaws, ...]
    cutters: tuple[Cutter, ...]
    quantity: int
    load_s: Fact

    def held_each(self, machine: Machine) -> float:
        """Money a piece for one clamping on a machine at the least: its set-up shared out, and the quickest load."""
        return (machine.setup_s / max(1, self.quantity) + self.load_s.low) * machine.rate_per_h / S_PER_H


@dataclass
class Cover:
    """Remembers what each way of looking reaches, so that it is worked out once."""

    solid: Solid
    target: Target
    survey: Survey
    samples: Samples
    floor: Shopfloor
    run: Run
    access: dict[tuple[str, Vector], Access] = field(default_factory=dict)
    memory: dict[tuple[object, ...], Bools] = field(default_factory=dict)
    grips: dict[tuple[object, ...], Grip | None] = field(default_factory=dict)

    def bare(self, direction: Vector) -> Bools:
        """Samples reached along a direction when only the part itself is in the way."""
        return self._reached(("bare", direction), direction, ())

    def tilted(self, direction: Vector, key: tuple[object, ...], obstacles: tuple[Obstacle, ...]) -> Bools:
        """Samples reached along a direction with strip and jaws in the way."""
        return self._reached((*key, direction), direction, obstacles)

    def _reached(self, key: tuple[object, ...], direction: Vector, obstacles: tuple[Obstacle, ...]) -> Bools:
        if key not in self.memory:
            self.run.check("clampings", f"looking from side {len(self.memory) + 1}")
            reached, access = reached_from(
                direction, target=self.target, samples=self.samples, obstacles=obstacles, cutters=self.floor.cutters,
                solid=self.solid, run=self.run,
            )  # fmt: skip
            self.memory[key] = reached
            for a in access:
                old = self.access.get((a.face_id, direction))
                if old is None or a.reached_ratio > old.reached_ratio:
                    self.access[(a.face_id, direction)] = a
        return self.memory[key]


def raw_jaws(floor: Shopfloor, pinned: str) -> Jaws | None:
    """The pinned jaws; else toothed jaws for the raw bar, else whatever holds raw metal."""
    by_rank = sorted(floor.jaws, key=lambda j: (j.kind != "toothed", j.for_surface == "finished", j.id))
    for jaws in by_rank:
        if pinned in ("", jaws.id):
            return jaws
    return None


def soft_jaws(floor: Shopfloor) -> Jaws | None:
    """Soft jaws for finished faces, else smooth ones."""
    rank = {"soft": 0, "smooth": 1, "toothed": 2}
    found = sorted((j for j in floor.jaws if j.kind != "toothed"), key=lambda j: (rank[j.kind], j.id))
    return found[0] if found else None


def vise_on(floor: Shopfloor, machine: Machine, pinned: str = "") -> Vise | None:
    """The widest vise of a machine, or the pinned one."""
    found = [v for v in floor.vises if machine.id in v.machines and pinned in ("", v.id)]
    return max(found, key=lambda v: (v.opening_max_mm, v.id)) if found else None


def tilt_angle_rad(up: Vector, direction: Vector) -> float:
    """Angle between the clamping's up and the cutter axis."""
    return math.acos(max(-1.0, min(1.0, float(np.dot(up, direction)))))


def directions_for(machine: Machine, up: Vector, survey: Survey) -> tuple[Vector, ...]:
    """The cutter axes a machine can present in one clamping, `up` first."""
    if machine.kind == "3-axis" or machine.rotary is None:
        return (up,)
    found: list[Vector] = []
    for direction in survey.directions:
        angle = tilt_angle_rad(up, direction)
        if 1e-3 < angle <= math.pi / 2.0 + 1e-9 and can_tilt(machine.rotary, angle):
            found.append(direction)
    return (up, *found)


def face_shares(cover: Cover, mask: Bools) -> NDArray[np.float64]:
    """(f,) share of each face's samples in the mask."""
    return np.bincount(cover.samples.face[mask], minlength=len(cover.solid.faces)) / float(PER_FACE)


def unfinished(cover: Cover, done: Bools, coverable: Bools) -> Bools:
    """(f,) faces still to be made: half of them not reached, or a rest that another side would reach.

    A rest below REST_SHARE is a corner strip or the map's own noise and is not worth another clamping; the replay says
    later what was really left there.
    """
    rest = face_shares(cover, coverable & ~done)
    return np.asarray((face_shares(cover, done) < DONE_SHARE) | (rest > REST_SHARE))


def made_ids(cover: Cover, mask: Bools) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faces and holes that a mask of samples stands for."""
    shares = face_shares(cover, mask)
    faces = tuple(sorted(cover.solid.faces[i].id for i in np.flatnonzero(shares > MAKES_SHARE)))
    holes = tuple(
        sorted(
            {cover.samples.hole_of[int(i)].id for i in np.flatnonzero(shares > 0.5) if int(i) in cover.samples.hole_of}
        )
    )
    return faces, holes


def fewest_directions(cover: Cover, masks: list[tuple[Vector, Bools]], wanted: Bools) -> tuple[Vector, ...]:
    """The fewest cutter axes that reach all `wanted` samples that any of them reaches; the first is always kept."""
    from proveout.solving.set_cover import cover as set_cover

    first, first_mask = masks[0]
    universe = wanted & ~first_mask
    for _, mask in masks[1:]:
        universe_any = universe & mask
        if universe_any.any():
            break
    else:
        return (first,)
    reachable = np.zeros_like(universe)
    for _, mask in masks[1:]:
        reachable |= mask
    universe &= reachable
    # whole faces, not single samples, decide: a sample more or less is a pixel's noise
    groups = {int(i): frozenset(np.flatnonzero(universe & (cover.samples.face == i)).tolist())
              for i in np.unique(cover.samples.face[universe])}  # fmt: skip
    needed = {i: g for i, g in groups.items() if len(g) > MAKES_SHARE * PER_FACE}
    items = frozenset().union(*needed.values()) if needed else frozenset()
    if not items:
        return (first,)
    sets = [frozenset(np.flatnonzero(mask).tolist()) & items for _, mask in masks[1:]]
    chosen = set_cover(sets=sets, costs=[1 + k * 1e-3 for k in range(len(sets))], universe=items).chosen
    return (first, *(masks[1 + k][0] for k in sorted(chosen)))


def sequences(cover: Cover, *, pins: dict[str, str]) -> list[Sequence]:
    """All named sequences, best first."""
    floor = cover.floor
    axes = cover.survey.directions[:6]
    coverable = _coverable(cover, axes)
    out: list[Sequence] = []
    ordered = sorted(axes, key=lambda d: (-_footprint(cover.target, d), d))
    for side in ordered:
        up: Vector = tuple(-v + 0.0 for v in side)  # type: ignore[assignment]
        if pins.get("up") and pins["up"] != _name(up):
            continue
        for machine in floor.machines:
            if pins.get("machine") and pins["machine"] != machine.id:
                continue
            found = _sequence(cover, up=up, side=side, machine=machine, coverable=coverable, pins=pins)
            out.extend(found)
    out.sort(
        key=lambda s: (
            len(s.holds) < 2, round(1.0 - s.reached_ratio, 3), s.bound_each + _leaning(cover, s), len(s.holds), s.why
        )
    )  # fmt: skip
    return out


def _name(direction: Vector) -> str:
    for i, letter in enumerate("xyz"):
        if abs(abs(direction[i]) - 1.0) < 1e-6:
            return ("+" if direction[i] > 0.0 else "-") + letter
    return ""


def _footprint(target: Target, direction: Vector) -> float:
    size = target.vertices_mm.max(axis=0) - target.vertices_mm.min(axis=0)
    axis = int(np.argmax(np.abs(direction)))
    return float(np.prod([size[i] for i in range(3) if i != axis]))


def slenderness(target: Target, up: Vector) -> float:
    """Height over the narrower side when this way is up."""
    size = target.vertices_mm.max(axis=0) - target.vertices_mm.min(axis=0)
    axis = int(np.argmax(np.abs(up)))
    return float(size[axis] / min(size[i] for i in range(3) if i != axis))


def _leaning(cover: Cover, sequence: Sequence) -> float:
    """What the order adds to the bound: against tall work on a narrow grip, and each tilt's time. No bound on money.

    The first is money in name only; a tilt may be left without a pass, so its time bounds nothing.
    """
    machines = {m.id: m for m in cover.floor.machines}
    leaning = 0.0
    for hold in sequence.holds:
        machine = machines[hold.machine_id]
        leaning += STIFFNESS_EACH * slenderness(cover.target, hold.up) ** 2
        if machine.rotary is not None:
            leaning += machine.rotary.tilt_s * (len(hold.directions) - 1) * machine.rate_per_h / S_PER_H
    return leaning


def _coverable(cover: Cover, axes: tuple[Vector, ...]) -> Bools:
    any_axis = np.zeros(len(cover.samples.points), dtype=bool)
    directions = set(axes)
    for machine in cover.floor.machines:
        if machine.kind == "3+2":
            directions |= set(cover.survey.directions)
    for direction in sorted(directions):
        any_axis |= cover.bare(direction)
    return any_axis


def _sequence(
    cover: Cover, *, up: Vector, side: Vector, machine: Machine, coverable: Bools, pins: dict[str, str]
) -> list[Sequence]:
    floor = cover.floor
    vise, jaws, soft = (
        vise_on(floor, machine, pins.get("vise", "")),
        raw_jaws(floor, pins.get("jaws", "")),
        soft_jaws(floor),
    )
    if vise is None or jaws is None or slenderness(cover.target, up) > SLENDER_MAX:
        return []
    size = cover.target.vertices_mm.max(axis=0) - cover.target.vertices_mm.min(axis=0)
    spans = sorted(float(size[i]) for i in range(3) if i != int(np.argmax(np.abs(up))))
    if spans[0] + 2.0 * SIDE_SKIM_MM > vise.opening_max_mm or not fits_travel(machine, size, up):
        return []
    first_masks = [(up, cover.bare(up))]
    if machine.kind == "3+2":
        obstacles = op1_obstacles(up, cover.target, jaws.grip_mm, vise)
        for direction in directions_for(machine, up, cover.survey)[1:]:
            if np.any(cover.bare(direction) & ~first_masks[0][1]):
                first_masks.append((direction, cover.tilted(direction, ("op1", up, machine.id), obstacles)))
    first = np.zeros_like(coverable)
    for _, mask in first_masks:
        first |= mask
    out: list[Sequence] = []
    remaining = coverable & ~first
    later_axes = [d for d in cover.survey.directions[:6] if d not in (up, side)]
    extras: list[tuple[Vector, ...]] = [()]
    open_faces = unfinished(cover, first | cover.bare(side), coverable)
    worth = remaining & open_faces[cover.samples.face]
    useful = [d for d in later_axes if np.any(cover.bare(d) & worth)]
    for count in range(1, EXTRA_MAX + 1):
        extras.extend(itertools.permutations(useful, count))
    best_share = 0.0
    for extra in extras:
        if best_share >= 0.999 and len(extra) > _length_of_best(out):
            break
        sequence = _holds(
            cover, machine=machine, first_masks=first_masks, side=side, extra=extra, coverable=coverable, jaws=jaws,
            soft=soft, vise=vise, pins=pins,
        )  # fmt: skip
        if sequence is not None:
            out.append(sequence)
            best_share = max(best_share, sequence.reached_ratio)
    return out


def _length_of_best(found: list[Sequence]) -> int:
    full = [len(s.holds) - 2 for s in found if s.reached_ratio >= 0.999]
    return min(full) if full else EXTRA_MAX


def fits_travel(machine: Machine, size: NDArray[np.float64], up: Vector) -> bool:
    """Whether the part's box lies within the travels, its longer side along x."""
    axis = int(np.argmax(np.abs(up)))
    flat = sorted((float(size[i]) for i in range(3) if i != axis), reverse=True)
    return (
        flat[0] <= machine.travel_mm[0]
        and flat[1] <= machine.travel_mm[1]
        and float(size[axis]) <= machine.travel_mm[2]
    )


def _holds(
    cover: Cover,
    *,
    machine: Machine,
    first_masks: list[tuple[Vector, Bools]],
    side: Vector,
    extra: tuple[Vector, ...],
    coverable: Bools,
    jaws: Jaws,
    soft: Jaws | None,
    vise: Vise,
    pins: dict[str, str],
) -> Sequence | None:
    floor = cover.floor
    done = np.zeros_like(coverable)
    for _, mask in first_masks:
        done |= mask
    done &= coverable
    kept = fewest_directions(cover, first_masks, done)
    done = np.zeros_like(coverable)
    for direction, mask in first_masks:
        if direction in kept:
            done |= mask & coverable
    faces, holes = made_ids(cover, done)
    holds = [
        Hold(
            up=first_masks[0][0],
            machine_id=machine.id,
            vise_id=vise.id,
            jaws_id=jaws.id,
            grip=None,
            directions=kept,
            makes_faces=faces,
            makes_holes=holes,
        )
    ]
    finished = frozenset(cover.solid.faces[i].id for i in np.flatnonzero(face_shares(cover, done) > 0.5))
    for up in (side, *extra):
        new = cover.bare(up) & coverable & ~done
        lacking = unfinished(cover, done, coverable)
        if up != side and not np.any(new & lacking[cover.samples.face]):
            return None
        place = _place_later(cover, up=up, new=new, finished=finished, soft=soft, pins=pins) if soft else None
        if soft is None or place is None:
            if extra:
                return None
            # the strip cannot be faced off: what the first clamping makes is planned all the same
            break
        later_machine, later_vise, grip = place
        done = done | new
        faces, holes = made_ids(cover, new)
        holds.append(
            Hold(
                up=up,
                machine_id=later_machine.id,
                vise_id=later_vise.id,
                jaws_id=soft.id,
                grip=grip,
                directions=(up,),
                makes_faces=faces,
                makes_holes=holes,
            )
        )
        finished = frozenset(cover.solid.faces[i].id for i in np.flatnonzero(face_shares(cover, done) > 0.5))
    lacking = unfinished(cover, done, coverable)
    missing = tuple(sorted(f.id for f in cover.solid.faces if lacking[f.index]))
    machines = {m.id: m for m in floor.machines}
    bound = sum(floor.held_each(machines[hold.machine_id]) for hold in holds)
    names = ", then ".join(
        f"{_name(h.up) or h.up} up on {h.machine_id}"
        + (f" with {len(h.directions)} tilts" if len(h.directions) > 1 else "")
        for h in holds
    )
    ratio = 1.0 - len(missing) / max(1, len(cover.solid.faces))
    return Sequence(
        holds=tuple(holds), bound_each=round(bound, 6), reached_ratio=round(ratio, 4), unreached=missing, why=names
    )


def _place_later(
    cover: Cover, *, up: Vector, new: Bools, finished: frozenset[str], soft: Jaws, pins: dict[str, str]
) -> tuple[Machine, Vise, Grip] | None:
    """The cheapest machine with a vise that can hold finished faces for this way up."""
    low, high = solid_heights(cover.target, up)
    outside = new & ~np.array([int(f) in cover.samples.hole_of for f in cover.samples.face], dtype=bool)
    heights = cover.samples.points @ np.array(up) - low
    lowest = float(heights[outside].min()) if outside.any() else high - low
    # jaws below all that is cut are free of it; higher ones only where a look past them finds nothing lost. Where the
    # sides begin high above the seat the soft jaws are cut deeper than usual, so that a strip worth holding is left
    deep = max((v.jaw_height_mm for v in cover.floor.vises), default=0.0) - JAW_FLOOR_MM if soft.kind == "soft" else 0.0
    limits = [
        min(soft.grip_mm, lowest - 1.0), min(soft.grip_mm, high - low - 1.0), min(deep, lowest - 1.0),
        min(deep, high - low - 1.0),
    ]  # fmt: skip
    weak: tuple[Machine, Vise, Grip] | None = None
    size = cover.target.vertices_mm.max(axis=0) - cover.target.vertices_mm.min(axis=0)
    for limit in dict.fromkeys(v for v in limits if v >= 1.0):
        # the least set-up and loading money first; of two alike the one without rotary axes, which nothing here needs
        for machine in sorted(
            cover.floor.machines, key=lambda m: (round(cover.floor.held_each(m), 9), m.rotary is not None, m.id)
        ):
            if pins.get("machine", machine.id) != machine.id:
                continue
            vise = vise_on(cover.floor, machine)
            if vise is None or not fits_travel(machine, size, up):
                continue
            if limit > max(soft.grip_mm, vise.jaw_height_mm - JAW_FLOOR_MM):
                continue
            best = _best_grip(cover, up=up, vise=vise, limit_mm=limit, finished=finished, soft=soft)
            if best is not None and (limit <= lowest - 1.0 or _keeps_clear(cover, up, best, vise, new, heights)):
                if best.patch_height_mm >= STRIP_MM:
                    return machine, vise, best
                weak = weak or (machine, vise, best)
    return weak


def _best_grip(
    cover: Cover, *, up: Vector, vise: Vise, limit_mm: float, finished: frozenset[str], soft: Jaws
) -> Grip | None:
    """The grip that stands on a flat face with the largest patch; a round only where no two flats serve."""
    key = (up, vise.id, round(limit_mm, 6), finished)
    if key not in cover.grips:
        found = grips_for(
            up, solid=cover.solid, target=cover.target, vise=vise, height_limit_mm=limit_mm, made=finished
        )  # fmt: skip
        if not found and soft.kind == "soft":
            found = round_grips(
                up, solid=cover.solid, target=cover.target, vise=vise, height_limit_mm=limit_mm, made=finished
            )  # fmt: skip
        cover.grips[key] = min(
            found, key=lambda g: (not g.seat_faces, -g.patch_length_mm * g.patch_height_mm, g.across), default=None
        )
    return cover.grips[key]


def _keeps_clear(cover: Cover, up: Vector, grip: Grip, vise: Vise, new: Bools, heights_mm: NDArray[np.float64]) -> bool:
    """Whether all that this clamping is to make is still reached past its jaws."""
    top = grip.low_mm + grip.patch_height_mm
    if grip.is_round and _stands_beyond(cover, up, grip, new & (heights_mm < top + 1.0)):
        return False
    obstacles = later_obstacles(up, grip, cover.target, vise)
    seen = cover.tilted(up, ("later", grip, vise.id), obstacles)
    return int((new & ~seen).sum()) <= LOST_SHARE * int(new.sum())


def _stands_beyond(cover: Cover, up: Vector, grip: Grip, low: Bools) -> bool:
    """Whether anything cut low down lies at the edge of the round that the jaws wrap."""
    if not low.any():
        return False
    z = np.array(up)
    origin = np.array(cover.solid.face(grip.faces[0]).surface.origin_mm)
    beside = cover.samples.points[low] - origin
    return bool((np.linalg.norm(beside - np.outer(beside @ z, z), axis=1) > grip.gap_mm / 2.0 - 1.0).any())
