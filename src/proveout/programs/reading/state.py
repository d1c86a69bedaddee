"""Where the tip is and what is in force, while a program is followed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from proveout.geometry.turning import turn_of
from proveout.model.course import Axes, Modes, SpindleTurns
from proveout.programs.reading.control import SYSTEM_NUMBER, Control, modes_at_start
from proveout.programs.reading.parameters import Parameters
from proveout.programs.reading.turned import Floats, Plane, along, is_level, sum_of, turned_axes


@dataclass(frozen=True)
class Frame:
    """Where the coordinates in force lie.

    origin_mm: machine coordinates of their zero, or, where that of the work offset is not known, counted from it
    (`is_relative`).  axes: (3, 3) from them to machine directions, None when alike.
    """

    origin_mm: Axes
    is_relative: bool
    system: int
    axes: Floats | None
    length_mm: float | None
    turned: Axes


@dataclass
class State:
    """What a control keeps from block to block; lengths in mm, angles in rad, feeds and speeds as they were written.

    at: the tip in the coordinates of the system in force, or of the tilted plane.  own_origins: of each system, machine
    coordinates, as set at the machine or by the program.  shift_mm: of G92.  turned: A, B, C as the work turns.
    is_at_top: Z is as high as the machine goes.  plane: the tilted plane in force; planes: all so far, by number.
    """

    control: Control
    words: dict[str, str]
    own_origins: dict[int, Axes]
    parameters: Parameters
    cutter: int | None
    at: list[float | None] = field(default_factory=lambda: [None, None, None])
    turned: list[float | None] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    shift_mm: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    kept_shift_mm: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    length_number: int | None = None
    length_mm: float | None = 0.0
    radius_mm: float | None = None
    selected: int | None = None
    feed: float | None = None
    speed_per_min: float = 0.0
    spindle: SpindleTurns = "off"
    coolant: bool | None = None
    a_held: bool | None = None
    c_held: bool | None = None
    is_at_top: bool = False
    system: int = 1
    kept_modes: Modes | None = None
    plane: Plane | None = None
    planes: dict[int, Plane] = field(default_factory=dict)

    @classmethod
    def at_start(cls, control: Control) -> State:
        """A control that has just been told to begin."""
        words = modes_at_start(control)
        return cls(
            control=control, words=words, own_origins=dict(control.origins_mm),
            parameters=Parameters(control.parameters), cutter=control.cutter, is_at_top=control.begins_at_top,
            system=SYSTEM_NUMBER.get(words["system"], 1),
        )  # fmt: skip

    def origin(self) -> Axes:
        """Machine coordinates of program zero as the axes now stand, with its shift."""
        own = self.own_origins.get(self.system, (None, None, None))
        shift: Axes = (self.shift_mm[0], self.shift_mm[1], self.shift_mm[2])
        if self.plane is not None:
            zero = sum_of(sum_of(own, shift), self.plane.shift_mm)
            return self._carried(zero) if self._is_turned() else zero
        if self.control.zero_after_turning == "carried by the control" and self._is_turned():
            own = self._carried(own)
        return sum_of(own, shift)

    def _is_turned(self) -> bool:
        return any(v != 0.0 for v in self.turned)

    def _carried(self, own: Axes) -> Axes:
        a, b, c = self.turned
        centre = self.control.centre_mm
        if a is None or c is None or b or centre is None or None in own:
            return None, None, None
        from_centre = np.array([float(own[k] or 0.0) - centre[k] for k in range(3)])
        one, two, three = (float(v) for v in turn_of(a_rad=a, c_rad=c) @ from_centre + np.array(centre))
        return one, two, three

    def axes(self) -> Floats | None:
        """(3, 3) from the directions of the coordinates in force to the machine's; None without a tilted plane."""
        if self.plane is None:
            return None
        return turned_axes(self.plane, (self.turned[0], self.turned[1], self.turned[2]))

    def is_level(self) -> bool:
        """Whether the Z of the coordinates in force is the machine's, along which the cutter stands."""
        axes = self.axes()
        return axes is None or is_level(axes)

    def modes(self) -> Modes:
        """What is in force now; the same object as long as nothing changes."""
        plane = self.plane
        shift: Axes = (self.shift_mm[0], self.shift_mm[1], self.shift_mm[2])
        now = Modes(
            cutter=self.cutter, length_number=self.length_number, length_mm=self.length_mm, system=self.system,
            origin_mm=self.origin(), turned_rad=(self.turned[0], self.turned[1], self.turned[2]),
            spindle=self.spindle, speed_rad_per_s=self.speed_per_min * math.pi / 30.0,
            a_held=self.a_held, c_held=self.c_held, coolant=self.coolant, plane=0 if plane is None else plane.number,
            shift_mm=shift, plane_shift_mm=None if plane is None else sum_of(shift, plane.shift_mm),
        )  # fmt: skip
        if now != self.kept_modes:
            self.kept_modes = now
        assert self.kept_modes is not None
        return self.kept_modes

    def frame(self) -> Frame:
        """Where the coordinates in force lie now."""
        origin, is_relative = self.origin(), False
        own = self.own_origins.get(self.system, (None, None, None))
        if own == (None, None, None) and not self._is_turned():
            shift: Axes = (self.shift_mm[0], self.shift_mm[1], self.shift_mm[2])
            origin = shift if self.plane is None else sum_of(shift, self.plane.shift_mm)
            is_relative = True
        return Frame(
            origin_mm=origin, is_relative=is_relative, system=self.system, axes=self.axes(), length_mm=self.length_mm,
            turned=(self.turned[0], self.turned[1], self.turned[2]),
        )  # fmt: skip

    def stays(self, before: Frame) -> None:
        """Write the tip's place anew after its coordinates or its length offset changed; the machine stands still."""
        now = self.frame()
        if before.is_relative != now.is_relative or (now.is_relative and before.system != now.system):
            nowhere = None, None, None
            now, before = replace(now, origin_mm=nowhere), replace(before, origin_mm=nowhere)
        if before.axes is not None and now.axes is not None and _is_alike(before, now):
            # the length alone is another: the tip moves along the spindle, wherever the zero lies
            longer = None
            if now.length_mm is not None and before.length_mm is not None:
                longer = before.length_mm - now.length_mm
            at: Axes = (self.at[0], self.at[1], self.at[2])
            self.at = list(sum_of(at, along(now.axes.T, (0.0, 0.0, longer))))
            return
        if before.axes is not None or now.axes is not None:
            self.at = list(_tip(now, _nose(before, self.at)))
            return
        is_carried = before.turned != now.turned and self.control.zero_after_turning == "carried by the control"
        for k in range(3):
            here, old, new = self.at[k], before.origin_mm[k], now.origin_mm[k]
            if here is None or (old == new and not (is_carried and old is None)):
                continue
            self.at[k] = None if old is None or new is None else here + old - new
        here = self.at[2]
        if now.length_mm != before.length_mm and here is not None:
            lengths = before.length_mm, now.length_mm
            self.at[2] = None if lengths[0] is None or lengths[1] is None else here + lengths[0] - lengths[1]

    def at_machine(self, coordinates_mm: dict[int, float]) -> list[float | None]:
        """The tip's place once some axes stand at machine coordinates and the others where they are."""
        end = list(self.at)
        frame = self.frame()
        if frame.axes is None or (is_level(frame.axes) and set(coordinates_mm) <= {2}):
            for axis, coordinate in coordinates_mm.items():
                end[axis] = self._from_machine(axis, coordinate)
            return end
        if frame.is_relative:
            frame = replace(frame, origin_mm=(None, None, None))
        nose = list(_nose(frame, self.at))
        for axis, coordinate in coordinates_mm.items():
            nose[axis] = coordinate
        return list(_tip(frame, (nose[0], nose[1], nose[2])))

    def _from_machine(self, axis: int, coordinate_mm: float) -> float | None:
        """A machine coordinate in the system in force, None where its zero is not known."""
        origin = self.origin()[axis]
        if origin is None or (axis == 2 and self.length_mm is None):
            return None
        return coordinate_mm - origin - (self.length_mm or 0.0 if axis == 2 else 0.0)


def _is_alike(one: Frame, other: Frame) -> bool:
    """Whether two frames differ by the length offset at most."""
    assert one.axes is not None
    assert other.axes is not None
    is_same_place = (one.origin_mm, one.system, one.turned) == (other.origin_mm, other.system, other.turned)
    return is_same_place and np.array_equal(one.axes, other.axes)


def _nose(frame: Frame, at: Sequence[float | None]) -> Axes:
    """Where the spindle's nose stands when the tip is at a place of a frame."""
    tip: Axes = (at[0], at[1], at[2])
    moved = tip if frame.axes is None else along(frame.axes, tip)
    return sum_of(sum_of(moved, frame.origin_mm), (0.0, 0.0, frame.length_mm))


def _tip(frame: Frame, nose: Axes) -> Axes:
    """The place in a frame at which the tip stands under the spindle's nose."""
    back = tuple(None if v is None else -v for v in frame.origin_mm)
    length = None if frame.length_mm is None else -frame.length_mm
    moved = sum_of(sum_of(nose, (back[0], back[1], back[2])), (0.0, 0.0, length))
    return moved if frame.axes is None else along(frame.axes.T, moved)
