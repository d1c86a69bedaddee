"""The clampings that a part can be held in, as ways for the choice: machine, vise, jaws, grip, tilts, money."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from proveout.model.choice_of_clampings import Grip
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.work import Vector
from proveout.quantities.units import S_PER_H
from proveout.stages.clampings.choosing import Look, Way
from proveout.stages.clampings.grips import solid_heights
from proveout.stages.clampings.later import grips_later, reached_past
from proveout.stages.clampings.looking import Bools, Cover, face_shares, unfinished
from proveout.stages.clampings.obstacles import SIDE_SKIM_MM, STRIP_CLEAR_MM, later_obstacles, op1_obstacles
from proveout.stages.clampings.offers import (
    SLENDER_MAX,
    directions_for,
    fits_travel,
    name_of,
    raw_jaws,
    slenderness,
    soft_jaws,
    vise_on,
)
from proveout.stages.clampings.pinned import Pinned

STIFFNESS_EACH = 0.5


@dataclass(frozen=True)
class Candidate:
    """One clamping before its tilts are chosen. directions: the cutter axes it could use, `up` first.

    money_each: set-up, quickest load, jaws made for it and, in the first, the blank.  exposed: height above the jaws
    over the breadth held.
    """

    up: Vector
    machine: Machine
    vise: Vise
    jaws: Jaws
    grip: Grip | None
    directions: tuple[Vector, ...]
    money_each: float
    exposed: float


@dataclass
class Ways:
    """Names the ways of one part.

    blanks: money of the blank by the side that the strip is on, or by None for a piece without one; None: no bar fits.
    """

    cover: Cover
    pinned: Pinned
    blanks: Mapping[Vector | None, float | None]
    coverable: Bools = field(init=False)
    given: Bools = field(init=False)
    _unions: dict[tuple[Vector, ...], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Whatever any cutter axis reaches past the part alone is to be made, but what stays as bought."""
        self.given = self.cover.given
        self.coverable = np.zeros(len(self.cover.samples.points), dtype=bool)
        directions = set(self.axes)
        for machine in self.cover.floor.machines:
            if machine.kind == "3+2":
                directions |= set(self.cover.survey.directions)
        for direction in sorted(directions):
            self.coverable |= self.cover.bare(direction)
        self.coverable &= ~self.given

    @property
    def axes(self) -> tuple[Vector, ...]:
        """The six ways up."""
        return self.cover.survey.directions[:6]

    @property
    def machines(self) -> list[Machine]:
        """Of two that cost alike the one without rotary axes comes first."""
        return sorted(self.cover.floor.machines, key=lambda m: (m.rotary is not None, m.id))

    def parts(self) -> list[int]:
        """The samples of each face, as a mask."""
        faces = self.cover.samples.face
        return [bits(faces == index) for index in range(len(self.cover.solid.faces))]

    def lacks(self, reached: int) -> float:
        """How many faces are not made of those that the shop might reach."""
        done = (self.mask(reached) & self.coverable) | self.given
        return float(unfinished(self.cover, done, self.coverable).sum())

    def still(self, ways: tuple[Way, ...]) -> int:
        """All that ways after these might reach: every way up not yet used, past the part alone, and its tilts."""
        used = [candidate_of(way).up for way in ways]
        left = [d for d in self.axes if d not in used]
        if self.pinned.ups:
            left = [d for d in left if name_of(d) in self.pinned.ups]
        key = tuple(left)
        if key not in self._unions:
            self._unions[key] = self._union(left)
        return self._unions[key]

    def first(self) -> list[Way]:
        """The raw bar by its strip, or by sides that stay as bought; every way up on every machine that may hold it."""
        out: list[Way] = []
        if self.cover.bought:
            out.extend(self._as_bought())
        for side in sorted(self.axes, key=lambda d: (-self._footprint(d), d)):
            up = _opposite(side)
            if not self.pinned.allows_up(0, name_of(up)) or self._stays(side):
                continue
            for machine in self.machines:
                if self.pinned.allows_machine(0, machine.id):
                    way = self._raw(up, side, machine)
                    if way is not None:
                        out.append(way)
        return out

    def after(self, ways: tuple[Way, ...]) -> list[Way]:
        """Ways that may follow: a strip is faced off second, then finished faces are held whichever way up helps."""
        number = len(ways)
        has_strip = candidate_of(ways[0]).grip is None
        soft = soft_jaws(self.cover.floor)
        if soft is None:
            return []
        used = [candidate_of(way).up for way in ways]
        most, sure = 0, 0
        for way in ways:
            most |= way.most
            sure |= way.looks[0].reached
        done = (self.mask(most) & self.coverable) | self.given
        lacking = unfinished(self.cover, done, self.coverable)[self.cover.samples.face]
        side = _opposite(used[0])
        out: list[Way] = []
        left = [d for d in self.axes if d not in used and not (has_strip and d == side)]
        for up in [side] if has_strip and number == 1 else left:
            new = self.cover.bare(up) & self.coverable & ~done
            if not (has_strip and number == 1) and not np.any(new & lacking):
                continue
            if not self.pinned.allows_up(number, name_of(up)):
                continue
            for machine in self.machines:
                if self.pinned.allows_machine(number, machine.id):
                    out.extend(self._held(up, machine, soft, new, done, self.mask(sure)))
        return out

    def _as_bought(self) -> list[Way]:
        """The blank held by sides of the part that nobody cuts; no strip is left."""
        soft = soft_jaws(self.cover.floor)
        if self.pinned.jaws:
            soft = next((j for j in self.cover.floor.jaws if j.id == self.pinned.jaws and j.kind != "toothed"), None)
        if soft is None:
            return []
        out: list[Way] = []
        for up in self.axes:
            if not self.pinned.allows_up(0, name_of(up)) or slenderness(self.cover.target, up) > SLENDER_MAX:
                continue
            new = self.cover.bare(up) & self.coverable
            for machine in self.machines:
                if np.any(new) and self.pinned.allows_machine(0, machine.id):
                    out.extend(self._held(up, machine, soft, new, self.given, np.zeros_like(new), is_first=True))
        return out

    def _stays(self, side: Vector) -> bool:
        return bool(set(self.cover.solid.faces_on(name_of(side))) & self.cover.bought)

    def _raw(self, up: Vector, side: Vector, machine: Machine) -> Way | None:
        cover, floor = self.cover, self.cover.floor
        vise, jaws = vise_on(floor, machine, self.pinned.vise), raw_jaws(floor, self.pinned.jaws)
        if vise is None or jaws is None or slenderness(cover.target, up) > SLENDER_MAX:
            return None
        size = cover.target.vertices_mm.max(axis=0) - cover.target.vertices_mm.min(axis=0)
        spans = sorted(float(size[i]) for i in range(3) if i != int(np.argmax(np.abs(up))))
        if spans[0] + 2.0 * SIDE_SKIM_MM > vise.opening_max_mm or not fits_travel(machine, size, up):
            return None
        base = cover.bare(up)
        directions = (up, *self._tilts(machine, up, base))

        def sight() -> tuple[Look, ...]:
            obstacles = op1_obstacles(up, cover.target, jaws.grip_mm, vise)
            key = ("op1", up, vise.id, jaws.grip_mm)
            tilted = (Look(bits(cover.tilted(d, key, obstacles)), _tilt_each(machine)) for d in directions[1:])
            return (Look(bits(base)), *tilted)

        low, high = solid_heights(cover.target, up)
        material = self.blanks.get(side, 0.0)
        money = floor.held_each(machine) + (material or 0.0)
        exposed = (high - low + STRIP_CLEAR_MM) / (spans[0] + 2.0 * SIDE_SKIM_MM)
        return self._way(
            Candidate(up, machine, vise, jaws, None, directions, money, exposed), sight, needs=0, ends=False,
            penalty=1.0 if material is None else 0.0,
        )  # fmt: skip

    def _held(
        self, up: Vector, machine: Machine, soft: Jaws, new: Bools, done: Bools, sure: Bools, *, is_first: bool = False
    ) -> list[Way]:
        cover, floor = self.cover, self.cover.floor
        vise = vise_on(floor, machine, self.pinned.vise) or vise_on(floor, machine)
        if vise is None:
            return []
        shares = face_shares(cover, done)
        finished = frozenset(cover.solid.faces[i].id for i in np.flatnonzero(shares > 0.5))
        low, high = solid_heights(cover.target, up)
        out: list[Way] = []
        for grip in grips_later(
            cover, up=up, machine=machine, vise=vise, soft=soft, new=new, finished=finished
        ):  # fmt: skip
            directions = (up, *self._tilts(machine, up, sure))
            held = {*grip.faces, *grip.seat_faces}
            rows = np.array([f.id in held for f in cover.solid.faces])[cover.samples.face]
            material = self.blanks.get(None, 0.0) if is_first else 0.0
            money = floor.held_each(machine) + floor.jaws_each(soft, machine) + (material or 0.0)
            exposed = (high - low - grip.low_mm - grip.patch_height_mm) / min(grip.gap_mm, grip.patch_length_mm)
            thing = Candidate(up, machine, vise, soft, grip, directions, money, exposed)
            out.append(
                self._way(
                    thing, self._sight(thing, grip), needs=bits(rows & done & ~self.given), ends=True,
                    penalty=1.0 if material is None else 0.0,
                )
            )  # fmt: skip
        return out

    def _sight(self, thing: Candidate, grip: Grip) -> Callable[[], tuple[Look, ...]]:
        """Looks past the jaws on finished faces."""
        cover, vise = self.cover, thing.vise

        def sight() -> tuple[Look, ...]:
            obstacles = later_obstacles(thing.up, grip, cover.target, vise)
            key = ("later", grip, vise.id)
            tilted = (
                Look(bits(cover.tilted(d, key, obstacles)), _tilt_each(thing.machine)) for d in thing.directions[1:]
            )
            return (Look(bits(reached_past(cover, thing.up, grip, vise))), *tilted)

        return sight

    def _way(
        self, thing: Candidate, sight: Callable[[], tuple[Look, ...]], *, needs: int, ends: bool, penalty: float
    ) -> Way:
        hope = 0
        for direction in thing.directions:
            hope |= bits(self.cover.bare(direction))
        cost = round(thing.money_each + STIFFNESS_EACH * thing.exposed**2, 9)
        return Way(thing=thing, cost=cost, sight=sight, hope=hope, needs=needs, ends=ends, penalty=penalty)

    def _tilts(self, machine: Machine, up: Vector, reached: Bools) -> list[Vector]:
        """Cutter axes beside `up` that reach something of what is to be made and is not reached without them."""
        wanted = self.coverable & ~reached
        return [
            d
            for d in directions_for(machine, up, self.cover.survey)[1:]
            if self.pinned.allows_tilt(d) and np.any(self.cover.bare(d) & wanted)
        ]

    def _union(self, ups: list[Vector]) -> int:
        out = np.zeros(len(self.cover.samples.points), dtype=bool)
        tilting = any(m.rotary is not None for m in self.cover.floor.machines)
        for up in ups:
            out |= self.cover.bare(up)
            for direction in self.cover.survey.directions if tilting else ():
                if float(np.dot(direction, up)) > -1e-9:
                    out |= self.cover.bare(direction)
        return bits(out)

    def mask(self, items: int) -> Bools:
        """The samples of a whole number of bits."""
        count = len(self.cover.samples.points)
        raw = np.frombuffer(items.to_bytes((count + 7) // 8, "little"), dtype=np.uint8)
        return np.unpackbits(raw, bitorder="little")[:count].astype(bool)

    def _footprint(self, direction: Vector) -> float:
        points = self.cover.target.vertices_mm
        size = points.max(axis=0) - points.min(axis=0)
        axis = int(np.argmax(np.abs(direction)))
        return float(math.prod(float(size[i]) for i in range(3) if i != axis))


def bits(mask: Bools) -> int:
    """A mask of samples as a whole number, sample 0 lowest."""
    return int.from_bytes(np.packbits(mask, bitorder="little").tobytes(), "little")


def candidate_of(way: Way) -> Candidate:
    """What a way stands for here."""
    assert isinstance(way.thing, Candidate)
    return way.thing


def _opposite(direction: Vector) -> Vector:
    x, y, z = direction
    return (0.0 - x, 0.0 - y, 0.0 - z)


def _tilt_each(machine: Machine) -> float:
    """Money of one more tilt: there and back once a piece."""
    return 0.0 if machine.rotary is None else machine.rotary.tilt_s * machine.rate_per_h / S_PER_H
