"""Where pieces can be held on a machine, and what lies in each place in one cycle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.moves import Moves
from proveout.model.shop import Machine, Noun, Vise
from proveout.model.work import Clamping, Pass, Vector


class Place(Noun, frozen=True, kw_only=True):
    """Where one piece is held: in a vise, or on one side of a vise whose fixed jaw is in the middle.

    number: from 1 on, of its machine.  vise_number: which of the vises of that kind, from 1 on.  is_turned: behind the
    middle jaw, where the work lies turned half round about Z, so that the same face touches the fixed jaw; its stop is
    then at the right.  stands_mm: machine coordinates of the spindle's nose where it would touch the middle of this
    place's fixed jaw at the height of the seat; None when nobody measured.
    """

    machine_id: str
    vise_id: str
    number: int
    vise_number: int
    is_turned: bool = False
    stands_mm: Vector | None = None


class Laid(Noun, frozen=True, kw_only=True):
    """One piece of a cycle: the clamping it is in, its place, and the work offset that is set there, as G54."""

    clamping_id: str
    place: Place
    work_offset: str


class Step(Noun, frozen=True, kw_only=True):
    """One pass in one place.  laid: which of the load's pieces, from 0 on."""

    laid: int
    pass_id: str


class Filling(Noun, frozen=True, kw_only=True):
    """Cycles of a batch in which the same places are filled; none of them where it is for proving out piece one.

    filled: of the load's pieces, from 0 on.  cycles_count: how many such cycles the batch has.  seconds: of one,
    machine running, with changes_count cutter changes, and ways_count ways between places that take ways_s.
    """

    filled: tuple[int, ...]
    cycles_count: int
    seconds: float
    changes_count: int
    ways_count: int
    ways_s: float


class TableLoad(Noun, frozen=True, kw_only=True):
    """What lies in the places of one machine in one cycle, and the order in which it is worked.

    clamping_ids: in working order; after a cycle each piece moves on to the next of them.  pieces_count: that a full
    cycle gives.  steps: cutter by cutter through all places.  clear_mm: machine Z of the spindle's nose, were it the
    tip, at which it goes from place to place; None where nobody measured where the places stand: then it goes to the
    top of Z.  fillings: the full one first.
    """

    machine_id: str
    clamping_ids: tuple[str, ...]
    pieces_count: int
    laid: tuple[Laid, ...]
    steps: tuple[Step, ...]
    clear_mm: float | None
    fillings: tuple[Filling, ...]

    @property
    def id(self) -> str:
        """By what lies in it."""
        return load_id(self.clamping_ids, self.pieces_count)

    def steps_of(self, filled: Iterable[int]) -> tuple[Step, ...]:
        """The steps of a cycle in which only some places are filled."""
        kept = set(filled)
        return tuple(step for step in self.steps if step.laid in kept)


class TableOption(Noun, frozen=True, kw_only=True):
    """One way of filling the tables of the machines without rotary axes.

    loads: ids of the loads with more than one place; none: one piece a cycle everywhere.  seconds: machine running a
    piece, over all its clampings there.  each: money a piece of what differs between the options: machine, set-ups and
    jaws.  why_not: why it is not taken, empty for the one that is.
    """

    loads: tuple[str, ...]
    text: str
    machine_ids: tuple[str, ...]
    seconds: float
    each: float
    why_not: str = ""


def load_id(clamping_ids: Sequence[str], pieces_count: int) -> str:
    """Names a load: c1-z+ and c2-z- side by side, or two of c1-z+."""
    names = " + ".join(clamping_ids)
    return names if pieces_count == 1 else f"{pieces_count} x {names}"


def places_of(machine: Machine, vises: Sequence[Vise]) -> tuple[Place, ...]:
    """Every place of a machine without rotary axes, in the order of the shop file; one for a machine that has some.

    Where a machine has one kind of vise, all that stand on it are of that kind; of several kinds each says how many,
    one where it does not.
    """
    own = [vise for vise in vises if machine.id in vise.machines]
    found: list[Place] = []
    for vise in own:
        count = vise.kind_count or (machine.vises_count if len(own) == 1 else 1)
        if machine.rotary is not None:
            count = 1
        for number in range(1, count + 1):
            stands = vise.stand_of(number)
            sides = (False, True) if vise.has_middle_jaw and machine.rotary is None else (False,)
            for is_turned in sides:
                at = stands
                if is_turned and at is not None:
                    at = None if vise.middle_jaw_mm is None else (at[0], at[1] + vise.middle_jaw_mm, at[2])
                found.append(
                    Place(
                        machine_id=machine.id, vise_id=vise.id, number=len(found) + 1, vise_number=number,
                        is_turned=is_turned, stands_mm=at,
                    )
                )  # fmt: skip
    return tuple(found)


def idle_places(machine: Machine, vises: Sequence[Vise], used: Iterable[Place]) -> tuple[Place, ...]:
    """One place of every vise that stands on a machine while no work lies in it; none where such are taken off."""
    return () if machine.idle_vises_off else spare_places(machine, vises, used)


def spare_places(machine: Machine, vises: Sequence[Vise], used: Iterable[Place]) -> tuple[Place, ...]:
    """One place of every vise of a machine that no work lies in; none of a machine with rotary axes, which has one."""
    if machine.rotary is not None:
        return ()
    busy = {(place.vise_id, place.vise_number) for place in used}
    found: dict[tuple[str, int], Place] = {}
    for place in places_of(machine, vises):
        if (place.vise_id, place.vise_number) not in busy:
            found.setdefault((place.vise_id, place.vise_number), place)
    return tuple(found.values())


def idle_undescribed(machine: Machine | None, vises: Iterable[Vise], idle: Iterable[Place]) -> tuple[str, ...]:
    """What of empty vises is in no description, in words; and of the machine whose head goes about above them."""
    own = tuple(idle)
    no_bed = {vise.id for vise in vises if vise.bed is None}
    beds = tuple(f"the bed of the idle vise in place {place.number}" for place in own if place.vise_id in no_bed)
    return (*beds, *(("the spindle's head",) if own and machine is not None and machine.head is None else ()))


def place_alone(clamping: Clamping, machine: Machine, vises: Sequence[Vise]) -> Place | None:
    """Where work lies that has a machine to itself: in the first of its kind of vise."""
    return next((p for p in places_of(machine, vises) if p.vise_id == clamping.vise_id), None)


def zero_at(clamping: Clamping, place: Place) -> Vector | None:
    """Machine coordinates of the spindle's nose where it touches the work zero of a clamping that lies in a place."""
    if place.stands_mm is None:
        return None
    x, y, z = place.stands_mm
    return (x + clamping.jaw_middle_mm if place.is_turned else x - clamping.jaw_middle_mm), y, z


def zero_words(clamping: Clamping, place: Place) -> str:
    """Where the work zero lies, as whoever stands before the vise sees it."""
    return clamping.zero_text.replace("left end", "right end") if place.is_turned else clamping.zero_text


def frame_at(clamping: Clamping, place: Place) -> Frame:
    """The clamping's frame with the machine's directions as the work lies in a place."""
    frame = clamping.frame
    if not place.is_turned:
        return frame
    x, y = (tuple(0.0 - v for v in axis) for axis in (frame.x, frame.y))
    return Frame(x=(x[0], x[1], x[2]), y=(y[0], y[1], y[2]), z=frame.z, origin_mm=frame.origin_mm)


def moves_at(moves: Moves, place: Place) -> Moves:
    """Moves of a clamping in the machine's directions as the work lies in a place: to the last bit, turned or not."""
    if not place.is_turned:
        return moves
    half = np.array([-1.0, -1.0, 1.0])
    arcs = moves.arcs * np.array([1.0, -1.0, -1.0]) + 0.0 if len(moves.arcs) else moves.arcs
    return Moves(points=moves.points * half + 0.0, feed_mm_per_s=moves.feed_mm_per_s.copy(), arcs=np.array(arcs))


def passes_in_order(load: TableLoad, passes: Sequence[Pass], filled: Iterable[int]) -> list[tuple[Laid, Pass]]:
    """Every pass of a cycle with the place in which it is made, in working order."""
    by_id = {one.id: one for one in passes}
    return [(load.laid[step.laid], by_id[step.pass_id]) for step in load.steps_of(filled)]
