"""What a program makes a machine do, in order, as its text alone says; whoever wrote it."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.geometry.arcs import Arc

Axes = tuple[float | None, float | None, float | None]
"""Three coordinates, mm or rad; None where nobody can know one."""

SpindleTurns = Literal["off", "right", "left", "unknown"]


class Modes(msgspec.Struct, frozen=True, kw_only=True):
    """What is in force while something happens.

    cutter: number of the cutter in the spindle, 0 for none, None when unknown.  length_number: the H in force, None
    without one; length_mm its value, None when unknown, 0 without one.  system: 1 to 9 for G54 to G59.3.  origin_mm:
    machine coordinates of program zero, with its shifts; shift_mm: these alone (G92).  turned_rad: rotary positions A,
    B, C as the work turns.  a_held, c_held: whether the brake holds, None when nobody said.  plane: which call of a
    tilted plane is in force, counted from 1, 0 without one; plane_shift_mm: its zero from the work offset's, along the
    work's own axes. Also then a motion's coordinates are counted along the machine's axes, and from origin_mm.
    """

    cutter: int | None
    length_number: int | None
    length_mm: float | None
    system: int
    origin_mm: Axes
    turned_rad: Axes
    spindle: SpindleTurns
    speed_rad_per_s: float
    a_held: bool | None = None
    c_held: bool | None = None
    coolant: bool | None = None
    plane: int = 0
    shift_mm: Axes = (0.0, 0.0, 0.0)
    plane_shift_mm: Axes | None = None


class Motion(msgspec.Struct, frozen=True, kw_only=True):
    """One movement of the tip along the three straight axes, in the coordinates of its modes, mm.

    feed_mm_per_s: infinite for a rapid move, None when unknown.  from_top, to_top: that end lies at the top of the
    machine's Z, wherever that is.  heading: the last comment before it.  by_hand: a person makes it.
    """

    line: int
    kind: Literal["rapid", "feed", "probe"]
    start: Axes
    end: Axes
    feed_mm_per_s: float | None
    modes: Modes
    heading: str = ""
    arc: Arc | None = None
    from_top: bool = False
    to_top: bool = False
    by_hand: bool = False


class Turning(msgspec.Struct, frozen=True, kw_only=True):
    """A movement of rotary axes.  start: the tip before, in the coordinates of `before`; moves_too: X, Y or Z with it.

    after: what is in force at its end, with the new positions.  from_top: the spindle stands at the top of its Z.
    """

    line: int
    kind: Literal["rapid", "feed"]
    start: Axes
    before: Modes
    after: Modes
    moves_too: bool
    heading: str = ""
    from_top: bool = False


EventKind = Literal["cutter change", "dwell", "stop", "end", "spindle", "coolant", "brake", "orient"]


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """Something else that happens.  value: the cutter's number, seconds, or 0."""

    line: int
    kind: EventKind
    value: float
    modes: Modes
    heading: str = ""


class Note(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong with a line, or what about it nobody here can know.

    fault: a control would refuse the line or do what nobody can say.  unknown: the machine's description lacks it.
    """

    line: int
    column: int
    kind: Literal["fault", "unknown"]
    what: str


class Course(msgspec.Struct, frozen=True, kw_only=True):
    """The whole, in order; `ended`: the program comes to its end word."""

    items: tuple[Motion | Turning | Event, ...]
    notes: tuple[Note, ...]
    ended: bool

    def in_system(self, system: int) -> Course:
        """What is done in one work offset; what is no motion belongs to every one."""
        kept = tuple(item for item in self.items if not isinstance(item, Motion) or item.modes.system == system)
        return Course(items=kept, notes=self.notes, ended=self.ended)
