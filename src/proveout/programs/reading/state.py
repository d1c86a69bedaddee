"""Where the tip is and what is in force, while a program is followed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from proveout.geometry.turning import turn_of
from proveout.model.course import Axes, Modes
from proveout.programs.reading.control import SYSTEM_NUMBER, Control, modes_at_start

ROTARY = "ABC"


@dataclass
class State:
    """What a control keeps from block to block; lengths in mm, angles in rad, feeds and speeds as they were written.

    at: the tip in the coordinates of the system in force.  own_origins: of each system, machine coordinates, as set at
    the machine or by the program.  shift_mm: of G92.  turned: A, B, C as the work turns.  is_at_top: Z is as high as
    the machine goes.
    """

    control: Control
    words: dict[str, str]
    own_origins: dict[int, Axes]
    parameters: dict[int, float]
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
    spindle: str = "off"
    coolant: bool | None = None
    a_held: bool | None = None
    c_held: bool | None = None
    is_at_top: bool = False
    system: int = 1
    kept_modes: Modes | None = None

    @classmethod
    def at_start(cls, control: Control) -> State:
        """A control that has just been told to begin."""
        words = modes_at_start(control)
        return cls(
            control=control, words=words, own_origins=dict(control.origins_mm), parameters=dict(control.parameters),
            cutter=control.cutter, is_at_top=control.begins_at_top, system=SYSTEM_NUMBER.get(words["system"], 1),
        )  # fmt: skip

    def origin(self) -> Axes:
        """Machine coordinates of program zero as the axes now stand, with its shift."""
        own = self.own_origins.get(self.system, (None, None, None))
        if self.control.zero_after_turning == "carried by the control" and any(v != 0.0 for v in self.turned):
            own = self._carried(own)
        one, two, three = (None if own[k] is None else own[k] + self.shift_mm[k] for k in range(3))  # type: ignore[operator]
        return one, two, three

    def _carried(self, own: Axes) -> Axes:
        a, b, c = self.turned
        centre = self.control.centre_mm
        if a is None or c is None or b or centre is None or None in own:
            return None, None, None
        from_centre = np.array([float(own[k] or 0.0) - centre[k] for k in range(3)])
        one, two, three = (float(v) for v in turn_of(a_rad=a, c_rad=c) @ from_centre + np.array(centre))
        return one, two, three

    def modes(self) -> Modes:
        """What is in force now; the same object as long as nothing changes."""
        now = Modes(
            cutter=self.cutter, length_number=self.length_number, length_mm=self.length_mm, system=self.system,
            origin_mm=self.origin(), turned_rad=(self.turned[0], self.turned[1], self.turned[2]),
            spindle=self.spindle, speed_rad_per_s=self.speed_per_min * math.pi / 30.0,  # type: ignore[arg-type]
            a_held=self.a_held, c_held=self.c_held, coolant=self.coolant,
        )  # fmt: skip
        if now != self.kept_modes:
            self.kept_modes = now
        assert self.kept_modes is not None
        return self.kept_modes

    def moved_zero(self, before: Axes, length_before_mm: float | None) -> None:
        """Write the tip's place anew after its zero or its length offset changed; the machine stands still."""
        after = self.origin()
        for k in range(3):
            here, old, new = self.at[k], before[k], after[k]
            if here is None or old == new:
                continue
            self.at[k] = None if old is None or new is None else here + old - new
        if self.length_mm != length_before_mm and self.at[2] is not None:
            known = self.length_mm is not None and length_before_mm is not None
            self.at[2] = self.at[2] + length_before_mm - self.length_mm if known else None  # type: ignore[operator]

    def from_machine(self, axis: int, coordinate_mm: float) -> float | None:
        """A machine coordinate in the system in force, None where its zero is not known."""
        origin = self.origin()[axis]
        if origin is None or (axis == 2 and self.length_mm is None):
            return None
        return coordinate_mm - origin - (self.length_mm or 0.0 if axis == 2 else 0.0)
