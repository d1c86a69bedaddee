"""Straight moves, arcs, turns of rotary axes, probing and the way home, from the words of a block."""

from __future__ import annotations

import math
from typing import Literal

from proveout.geometry.arcs import XY, YZ, ZX, Arc, arc_length_mm
from proveout.model.course import Axes, Motion, Turning
from proveout.programs.reading.arcs import (
    RADII_WITHIN_INCH_MM,
    RADII_WITHIN_MM,
    ArcFault,
    arc_about,
    arc_through,
)
from proveout.programs.reading.block_words import Words
from proveout.programs.reading.keeping import Keeping
from proveout.programs.reading.radius import Beside

PLANES = {"G17": XY, "G18": ZX, "G19": YZ}
TOP_WITHIN_MM = 1e-6
Kind = Literal["rapid", "feed", "probe"]
Place = list[float | None]


class Moving:
    """Moves the tip of one control's state."""

    def __init__(self, keeping: Keeping) -> None:
        self.keeping = keeping

    def move(self, code: str, words: Words) -> None:
        """G0, G1, G2, G3 or G38.2 with the block's axis words."""
        state = self.keeping.state
        if code in ("G2", "G3"):
            self._arc(code, words)
            return
        kind: Kind = "rapid" if code == "G0" else "probe" if code == "G38.2" else "feed"
        is_machine = "G53" in words.codes
        if is_machine and code not in ("G0", "G1"):
            words.note("fault", f"G53 stands with {code}; it goes with G0 or G1", "G53")
        if is_machine and self.keeping.beside is not None:
            words.note("fault", "G53 comes while the cutter's radius is allowed for", "G53")
        turned = self.turn(words, kind)
        end = self.target(words, in_machine=is_machine)
        to_top = (
            is_machine and "Z" in words.values and words.values["Z"] is not None
            and words.values["Z"] * self.keeping.unit_mm(words) >= self.keeping.control.home_mm[2] - TOP_WITHIN_MM
        )  # fmt: skip
        if turned:
            state.at = end
            state.is_at_top = to_top or (state.is_at_top and "Z" not in words.values)
            return
        self.go(words, kind, end, to_top=to_top)
        if kind == "probe":
            for number in range(5061, 5067):
                state.parameters.forget(number)  # where it touches, nobody knows before

    def probe(self, words: Words) -> None:
        """A move that ends where the probe touches, at its end at the latest."""
        self.go(words, "probe", self.target(words))

    def target(self, words: Words, *, in_machine: bool = False) -> Place:
        """Where the axis words lead, in the coordinates in force; an axis without a word stays."""
        keeping, state = self.keeping, self.keeping.state
        end: Place = list(state.at)
        if not words.has("XYZ"):
            return end
        unit = keeping.unit_mm(words)
        if in_machine:
            named = {k: words.values[letter] for k, letter in enumerate("XYZ") if letter in words.values}
            end = state.at_machine({k: value * unit for k, value in named.items() if value is not None})
            return [None if k in named and named[k] is None else v for k, v in enumerate(end)]
        is_incremental = keeping.in_force("distance", words, "G90", "an axis is named") == "G91"
        for k, letter in enumerate("XYZ"):
            if letter not in words.values:
                continue
            value, here = words.values[letter], state.at[k]
            if value is None:
                end[k] = None
            elif is_incremental:
                end[k] = None if here is None else here + value * unit
            else:
                end[k] = value * unit
        return end

    def go(
        self,
        words: Words,
        kind: Kind,
        end: Place,
        *,
        arc: Arc | None = None,
        to_top: bool = False,
        by_hand: bool = False,
    ) -> None:
        """Move the tip in a straight line or along an arc, and keep it."""
        keeping, state = self.keeping, self.keeping.state
        start: Axes = (state.at[0], state.at[1], state.at[2])
        goal: Axes = (end[0], end[1], end[2])
        from_top = state.is_at_top
        to_top = to_top or (from_top and goal[2] == start[2] and "Z" not in words.values and state.is_level())
        if kind != "rapid":
            self._squareness(words)
        is_still = start == goal and None not in goal and arc is None and from_top == to_top
        state.at = list(goal)
        state.is_at_top = to_top
        if is_still:
            return
        length = None
        if None not in start and None not in goal:
            one = (float(start[0] or 0.0), float(start[1] or 0.0), float(start[2] or 0.0))
            two = (float(goal[0] or 0.0), float(goal[1] or 0.0), float(goal[2] or 0.0))
            length = math.dist(one, two) if arc is None else arc_length_mm(arc, one, two)
        feed = math.inf if kind == "rapid" else keeping.feed_mm_per_s(words, length)
        motion = Motion(
            line=words.line, kind=kind, start=start, end=goal, feed_mm_per_s=feed, modes=state.modes(),
            heading=keeping.heading, arc=arc, from_top=from_top, to_top=to_top, by_hand=by_hand,
        )  # fmt: skip
        keeping.items.append(motion if keeping.beside is None else Beside(motion, *keeping.beside))

    def _squareness(self, words: Words) -> None:
        """Tell once of each tilted plane when the cutter is fed and does not stand square to it."""
        plane = self.keeping.state.plane
        if plane is None or self.keeping.slanted == plane.number or self.keeping.state.is_level():
            return
        self.keeping.slanted = plane.number
        words.note("fault", f"it is fed and does not stand square to the tilted plane of line {plane.line}")

    def _arc(self, code: str, words: Words) -> None:
        keeping, state = self.keeping, self.keeping.state
        plane = PLANES[keeping.in_force("plane", words, "G17", f"{code} needs a plane")]
        self.turn(words, "feed")
        end = self.target(words)
        start = state.at
        if None in start or None in end:
            words.note("unknown", f"where {code} begins or ends is not known", code)
            state.at = end
            return
        one = (float(start[0] or 0.0), float(start[1] or 0.0), float(start[2] or 0.0))
        two = (float(end[0] or 0.0), float(end[1] or 0.0), float(end[2] or 0.0))
        unit = keeping.unit_mm(words)
        try:
            arc = self._arc_of(code, words, one, two, plane, unit)
        except ArcFault as fault:
            words.note("fault", f"{code}: {fault}", code)
            state.at = end
            return
        if arc is None:
            state.at = end
            return
        self.go(words, "feed", end, arc=arc)

    def _arc_of(
        self, code: str, words: Words, start: tuple[float, float, float], end: tuple[float, float, float],
        plane: tuple[int, int], unit: float,
    ) -> Arc | None:  # fmt: skip
        letters = "IJK"[plane[0]], "IJK"[plane[1]]
        stray = [letter for letter in "IJK" if letter in words.values and letter not in letters]
        if stray:
            wanted = next(name for name, axes in PLANES.items() if axes == plane)
            raise ArcFault(f"{stray[0]} belongs to another plane than {wanted}, which is in force")
        if "R" in words.values:
            if words.has("IJK"):
                raise ArcFault("both a radius and a centre are written")
            radius = words.values["R"]
            if radius is None:
                return None
            return arc_through(start, end, plane=plane, radius_mm=radius * unit, clockwise=code == "G2")
        if not words.has("".join(letters)):
            raise ArcFault(f"neither {letters[0]} nor {letters[1]} nor R says where its centre lies")
        offsets = [words.values.get(letter, 0.0) for letter in letters]
        if None in offsets:
            return None
        within = RADII_WITHIN_INCH_MM if unit != 1.0 else RADII_WITHIN_MM
        return arc_about(
            start, end, plane=plane, offset_mm=(float(offsets[0] or 0.0) * unit, float(offsets[1] or 0.0) * unit),
            clockwise=code == "G2", within_mm=within,
        )  # fmt: skip

    def turn(self, words: Words, kind: Kind) -> bool:
        """Turn rotary axes that the block names; whether any really turns."""
        if not words.has("ABC"):
            return False
        keeping, state = self.keeping, self.keeping.state
        control = keeping.control
        signs = {"A": control.a_sign, "B": 1, "C": control.c_sign}
        is_incremental = keeping.in_force("distance", words, "G90", "an axis is named") == "G91"
        wanted = list(state.turned)
        for k, letter in enumerate("ABC"):
            if letter not in words.values:
                continue
            value, here = words.values[letter], state.turned[k]
            turn = None if value is None else signs[letter] * math.radians(value)
            if turn is not None and is_incremental:
                turn = None if here is None else here + turn
            wanted[k] = turn
            if letter == "B" and turn:
                words.note("unknown", "B is no axis of this machine's description", "B")
        return self.turn_to(wanted, words, kind, moves_too=words.has("XYZ"))

    def turn_to(self, wanted: Place, words: Words, kind: Kind, *, moves_too: bool) -> bool:
        """Turn rotary axes to their positions, rad; whether any really turns."""
        keeping, state = self.keeping, self.keeping.state
        if wanted == state.turned:
            return False
        before, start, frame = state.modes(), (state.at[0], state.at[1], state.at[2]), state.frame()
        state.turned = wanted
        state.stays(frame)
        keeping.items.append(
            Turning(
                line=words.line, kind="rapid" if kind == "rapid" else "feed", start=start, before=before,
                after=state.modes(), moves_too=moves_too, heading=keeping.heading, from_top=state.is_at_top,
            )
        )  # fmt: skip
        return True

    def to_top(self, words: Words) -> None:
        """A word of the control's own that takes Z to the top of its travel."""
        end = self.keeping.state.at_machine({2: self.keeping.control.home_mm[2]})
        self.go(words, "rapid", end, to_top=True)

    def home(self, code: str, words: Words) -> None:
        """G28 or G30: by way of the point named, home with the axes that are named, or with all when none is."""
        state = self.keeping.state
        if words.has("XYZ") and (by_way := self.target(words)) != state.at:
            self.go(words, "rapid", by_way)
        if words.has("ABC"):
            self.turn(words, "rapid")
        named = [k for k, letter in enumerate("XYZ") if letter in words.values]
        if code == "G30":
            words.note("unknown", "where G30 goes is not known", "G30")
            for k in named or range(3):
                state.at[k] = None
            return
        end = state.at_machine({k: self.keeping.control.home_mm[k] for k in named or range(3)})
        words_z = 2 in named or not named
        if None in end and end == state.at and state.is_at_top == words_z:
            return
        self.go(words, "rapid", end, to_top=words_z)
        if words.has("ABC"):
            self._home_turned(words)

    def _home_turned(self, words: Words) -> None:
        state = self.keeping.state
        wanted = [0.0 if letter in words.values else state.turned[k] for k, letter in enumerate("ABC")]
        self.turn_to(wanted, words, "rapid", moves_too=False)
