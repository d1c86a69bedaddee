"""The program of one clamping: opening, cutter changes, tilts, the moves of every pass, closing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.turning import turn_of
from proveout.model.moves import LEFT, Moves
from proveout.model.program_style import ProgramStyle
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.work import Clamping, Pass, Tilt, work_zero_mm
from proveout.programs.writing.headings import NUMBERED
from proveout.programs.writing.holes import Pecked, hole_places, pecked_hole, pecks_said
from proveout.programs.writing.text import ProgramText, degrees, fixed

SYSTEMS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
FED_BACK: dict[str, str] = {"tap": "G99 G84", "ream": "G99 G85"}
"""Cycles that come back to the R height at the feed."""
CAUTION = "PLANNING AID. PROVE IT DRY AND AT REDUCED RAPID FIRST"


@dataclass(frozen=True, kw_only=True)
class Written:
    """A program's text.  numbers: cutter id to the number that calls it.  why: what is missing where there is none.

    lines: of each pass, the line of the text that brings the tip to each of its points, the first of which is on the
    way there; of the first place that it is cut in.
    """

    text: str
    numbers: dict[str, int]
    why: str = ""
    lines: dict[str, tuple[int, ...]] = field(default_factory=dict[str, tuple[int, ...]])


def zero_in_machine(clamping: Clamping, vise: Vise) -> tuple[float, float, float] | None:
    """Machine coordinates of the spindle's nose where it touches the work zero, A = C = 0; None where unmeasured."""
    return None if vise.stands_mm is None else work_zero_mm(clamping, vise.stands_mm)


def write_program(
    *,
    title: str,
    clamping: Clamping,
    machine: Machine,
    vise: Vise,
    passes: Sequence[Pass],
    moves: Mapping[str, Moves],
    cutters: Mapping[str, Cutter],
    numbers: Mapping[str, int],
    headings: Mapping[str, str] | None = None,
) -> Written:
    """Write the program of a clamping.

    Args:     title: part and revision.   passes: those of the clamping in order.   moves: by digest.   numbers: cutter
              id to its number in the changer; its length stands behind the H of the same number.   headings: what each
              pass is called, by its id, with faces and holes by number; None for its kind and feature.
    Returns:  the text; empty, with the reason, where the machine's programs are not described or what the tilts need
              was not measured.
    """
    style = machine.program
    used = [one for one in passes if one.clamping_id == clamping.id]
    own = {one.cutter_id: numbers[one.cutter_id] for one in used}
    if style is None:
        return Written(text="", numbers=own, why=f"{machine.id} has no [machine.program] in the shop file")
    tilts = {tilt.id: tilt for tilt in clamping.tilts}
    turned = [tilts[one.tilt_id] for one in used if _is_turned(tilts[one.tilt_id])]
    places = _Places(style, machine, zero_in_machine(clamping, vise), [tilts[one.tilt_id] for one in used])
    places.zero_text = clamping.zero_text
    if turned and places.why:
        return Written(text="", numbers=own, why=places.why)
    program = ProgramText(style)
    program.comment(title)
    program.comment(f"CLAMPING {clamping.number} ON {machine.id}, {vise.id}")
    program.comment(CAUTION)
    program.comment("MM. EACH H HOLDS THE LENGTH OF THE CUTTER OF ITS NUMBER")
    if headings:
        program.comment(NUMBERED)
    for line in (*pecks_said(style, used, moves), *places.said()):
        program.comment(line)
    for cutter_id in dict.fromkeys(one.cutter_id for one in used):
        cutter = cutters[cutter_id]
        length = fixed(cutter.gauge_mm, 1)
        program.comment(f"T{own[cutter_id]} {cutter.name}, {length} FROM NOSE TO TIP")
    program.blocks(style.opening)
    for words in places.settings():
        program.block(words)
    program.blocks(style.before_change)
    writer = PassWriter(program, style, places, cutters, own, headings)
    writer.write(used, tilts, moves)
    program.blocks(style.closing)
    return Written(text=program.text(), numbers=own, lines=writer.lines)


def _is_turned(tilt: Tilt) -> bool:
    return tilt.a_rad != 0.0 or tilt.c_rad != 0.0


class _Places:
    """Where program zero lies at each tilt, by the machine's own convention; `why` says what is missing for that."""

    def __init__(
        self, style: ProgramStyle, machine: Machine, zero: tuple[float, float, float] | None, tilts: Sequence[Tilt]
    ) -> None:
        self.style, self.zero = style, zero
        self.centre = machine.rotary.pivot_in_machine_mm if machine.rotary is not None else None
        self.tilts = list({tilt.id: tilt for tilt in tilts}.values())
        self.zero_text = ""
        self.why = ""
        needs_place = style.zero_after_turning != "carried by the control"
        if needs_place and (self.centre is None or zero is None):
            self.why = (
                "program zero after turning needs the measured rotary centre (pivot_x_mm ...) and the measured place "
                "of the vise (stands_x_mm ...) in the shop file"
            )
        if style.zero_after_turning == "an offset for each tilt" and len(self.tilts) > len(SYSTEMS):
            self.why = f"there are {len(self.tilts)} tilts and {len(SYSTEMS)} work offsets"

    @property
    def _is_turning(self) -> bool:
        return any(_is_turned(tilt) for tilt in self.tilts)

    def said(self) -> list[str]:
        """Comments on zero, centre and vise: the one place where what was measured enters."""
        lines = []
        manner = self.style.zero_after_turning
        if not self._is_turning or manner == "carried by the control":
            lines.append(f"G54: {self.zero_text}")
            if self._is_turning:
                lines.append("THE CONTROL CARRIES THIS ZERO ALONG WHEN THE WORK TURNS")
        elif manner == "at the rotation centre":
            lines.append("G54: AT THE ROTARY CENTRE")
        else:
            lines.append("EACH TILT HAS A WORK OFFSET OF ITS OWN, SET BELOW BY G10")
        if self._is_turning and self.centre is not None:
            lines.append("ROTARY CENTRE IN MACHINE: " + _xyz(self.centre, self.style.decimals_count))
            if self.zero is not None:
                lines.append("WORK ZERO IN MACHINE AT A0 C0: " + _xyz(self.zero, self.style.decimals_count))
        return lines

    def settings(self) -> list[str]:
        """Blocks that set a work offset for each tilt."""
        if not self._is_turning or self.style.zero_after_turning != "an offset for each tilt":
            return []
        assert self.centre is not None
        assert self.zero is not None
        found = []
        for number, tilt in enumerate(self.tilts, start=1):
            about = turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad)
            place = about @ (np.array(self.zero) - np.array(self.centre)) + np.array(self.centre)
            found.append(f"G10 L2 P{number} " + _xyz(place, self.style.decimals_count))
        return found

    def system_of(self, tilt: Tilt) -> str:
        """The work offset in force at a tilt."""
        if not self._is_turning or self.style.zero_after_turning != "an offset for each tilt":
            return SYSTEMS[0]
        return SYSTEMS[[one.id for one in self.tilts].index(tilt.id)]

    def points(self, points: NDArray[np.float64], tilt: Tilt) -> NDArray[np.float64]:
        """The tip's places at a tilt, in the program's coordinates."""
        if not self._is_turning or self.style.zero_after_turning != "at the rotation centre":
            return points
        assert self.centre is not None
        assert self.zero is not None
        about = turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad)
        return points + about @ (np.array(self.zero) - np.array(self.centre))


def upright_places(style: ProgramStyle, machine: Machine) -> _Places:
    """Places for a machine that nothing turns on: moves are written as they are."""
    return _Places(style, machine, None, ())


class PassWriter:
    """Writes passes one after the other, with what has to happen between two of them."""

    def __init__(
        self, program: ProgramText, style: ProgramStyle, places: _Places, cutters: Mapping[str, Cutter],
        numbers: Mapping[str, int], headings: Mapping[str, str] | None = None,
    ) -> None:  # fmt: skip
        self.headings = headings or {}
        self.program, self.style, self.places = program, style, places
        self.cutters, self.numbers = cutters, numbers
        self.cutter = ""
        self.turned = (0.0, 0.0)
        self.tilt, self.system = "", SYSTEMS[0]
        self.at: tuple[float, float, float] | None = None
        self.speed = ""
        self.lines: dict[str, tuple[int, ...]] = {}

    def write(self, passes: Sequence[Pass], tilts: Mapping[str, Tilt], moves: Mapping[str, Moves]) -> None:
        """All passes of the clamping, and back upright."""
        for number, one in enumerate(passes, start=1):
            tilt, its = tilts[one.tilt_id], moves[one.moves_digest]
            self.before(f"PASS {number}: {self.named(one)}", one, tilt)
            self.system = self.places.system_of(tilt)
            self.make(one, its, self.places.points(its.points, tilt))
        self.end()

    def named(self, one: Pass) -> str:
        """What a pass is called."""
        return self.headings.get(one.id, f"{one.kind} {one.feature}")

    def end(self) -> None:
        """Up, and back upright."""
        self.up()
        self._turn((0.0, 0.0))

    def make(self, one: Pass, moves: Moves, points: NDArray[np.float64]) -> None:
        """The moves of a pass, with the way to its beginning.  points: in the program's coordinates."""
        self._enter(points)
        holes = hole_places(one.kind, moves) if self.style.has_cycles or one.kind == "tap" else None
        pecked = pecked_hole(one.kind, moves, back_mm=self.style.peck_back_mm) if self.style.has_cycles else None
        begins = self.program.lines_count
        if holes is not None:
            made = self._cycle(one, points, moves, holes)
        elif pecked is not None:
            made = self._pecks(points, moves, pecked)
        else:
            made = self._moves(points, moves)
        self.lines.setdefault(one.id, (begins, *made))
        self.at = triple_of(points[-1])

    def before(self, heading: str, one: Pass, tilt: Tilt) -> None:
        """What has to happen before a pass: cutter, tilt, spindle."""
        program = self.program
        turned = (tilt.a_rad, tilt.c_rad)
        program.comment(heading)
        changes, turns = one.cutter_id != self.cutter, turned != self.turned
        speed = f"{one.speed_rad_per_s * 30.0 / math.pi:.0f}"
        if changes or turns or self.tilt != one.tilt_id:
            self.up()
        if changes:
            program.block(f"T{self.numbers[one.cutter_id]} M6")
            program.forget()
        if turns:
            self._turn(turned)
        if changes or speed != self.speed:
            program.block(f"S{speed} M3")
        self.cutter, self.speed, self.tilt = one.cutter_id, speed, one.tilt_id

    def up(self) -> None:
        """To where cutters change and axes turn; there neither the tip's place nor the spindle's turning is known."""
        if self.at is None:
            return
        if self.style.coolant_off:
            self.program.block(self.style.coolant_off)
        self.program.blocks(self.style.before_change)
        self.at, self.speed = None, ""

    def _turn(self, turned: tuple[float, float]) -> None:
        if turned == self.turned:
            return
        style, program = self.style, self.program
        words = []
        for k, (letter, sign) in enumerate((("A", style.a_sign), ("C", style.c_sign))):
            if turned[k] != self.turned[k]:
                words.append(f"{letter}{degrees(sign * turned[k])}")
        program.turn(" ".join(words))
        self.turned = turned

    def _enter(self, points: NDArray[np.float64]) -> None:
        """To the first point of a pass: from the top over it and down, or over at the greater of two heights."""
        program, first = self.program, triple_of(points[0])
        if self.at is None:
            program.forget()
            program.rapid((first[0], first[1], None), extra=self.system)
            program.rapid((None, None, first[2]), extra=f"G43 H{self.numbers[self.cutter]}")
            if self.style.coolant_on:
                program.block(self.style.coolant_on)
            return
        if first[2] > self.at[2]:
            program.rapid((None, None, first[2]))
        program.rapid((first[0], first[1], None))
        program.rapid((None, None, first[2]))

    def _mm(self, value: float) -> str:
        return fixed(value, self.style.decimals_count)

    def _moves(self, points: NDArray[np.float64], moves: Moves) -> list[int]:
        """The line of each move."""
        made: list[int] = []
        senses, offsets = moves.senses[1:].tolist(), moves.offsets_mm[1:].tolist()
        for point, feed, sense, offset in zip(
            points[1:].tolist(), moves.feed_mm_per_s[1:].tolist(), senses, offsets, strict=True
        ):
            if sense:
                end, to_centre = (point[0], point[1], point[2]), (offset[0], offset[1])
                self.program.arc(end, to_centre, turns_left=sense == LEFT, feed_mm_per_s=feed)
            elif feed > 0.0:
                self.program.feed((point[0], point[1], point[2]), feed)
            else:
                self.program.rapid((point[0], point[1], point[2]))
            made.append(self.program.lines_count)
        return made

    def _pecks(self, points: NDArray[np.float64], moves: Moves, hole: Pecked) -> list[int]:
        """A hole as the control's own cycle of pecks, and up; the line of each move."""
        x, y, r = points[hole.r_row].tolist()
        z, feed = float(points[hole.bottom_row][2]), float(moves.feed_mm_per_s[hole.bottom_row])
        self.program.block(
            f"G99 G83 X{self._mm(x)} Y{self._mm(y)} Z{self._mm(z)} R{self._mm(r)} Q{self._mm(hole.peck_mm)} "
            f"F{fixed(feed * 60.0, 2)}"
        )
        line = self.program.lines_count
        self.program.block("G80")
        self.program.forget()
        self.program.rapid(triple_of(points[-1]))
        return [line] * (len(points) - 2) + [self.program.lines_count]

    def _cycle(
        self, one: Pass, points: NDArray[np.float64], moves: Moves, holes: Sequence[tuple[int, int, int]]
    ) -> list[int]:
        """Holes as canned cycles, and the line of each move.  holes: rows of the R point, the bottom and the end."""
        program = self.program
        made: list[int] = []
        for near, bottom, last in holes:
            x, y, r = points[near].tolist()
            z, feed = float(points[bottom][2]), float(moves.feed_mm_per_s[bottom])
            if one.kind == "tap":  # in step with the speed that is written
                feed = self.cutters[one.cutter_id].pitch_mm * float(self.speed) / 60.0
            code = FED_BACK.get(one.kind, "G98 G81")
            program.block(
                f"{code} X{self._mm(x)} Y{self._mm(y)} Z{self._mm(z)} R{self._mm(r)} F{fixed(feed * 60.0, 2)}"
            )
            made += [program.lines_count] * (last - len(made))
            program.block("G80")
            program.forget()
            if one.kind in FED_BACK:
                program.rapid(triple_of(points[last]))
                made[-1] = program.lines_count
        return made


def triple_of(point: NDArray[np.float64]) -> tuple[float, float, float]:
    """A row of three as plain numbers."""
    x, y, z = (float(v) for v in point)
    return x, y, z


def _xyz(point: Sequence[float] | NDArray[np.float64], decimals: int) -> str:
    return " ".join(f"{letter}{fixed(float(v), decimals)}" for letter, v in zip("XYZ", point, strict=True))
