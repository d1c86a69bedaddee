"""How far a cut of one clamping may lie off a cut of another: every share with its source, added up at its worst.

Each clamping locates the work by faces that earlier ones cut: along x by what lies at the stop, along y by what lies at
the fixed jaw, along z by what stands on the seat.  So a cut of the later clamping hangs on those faces, and where a
third clamping cut them, on that one's cuts in turn.  All shares are added as if all went the same way at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.fact import Fact, weaker_of
from proveout.model.jaw_form import JawForm
from proveout.model.shop import Machine, Vise
from proveout.model.target import Target
from proveout.model.turned import ErrorLine
from proveout.model.work import Clamping
from proveout.stages.turning_over.bow import BowOf
from proveout.stages.turning_over.meets import CutAt

LEVEL = 1e-3
"""Shares of a direction below this are none."""
TOUCHES_MM = 0.01
MM_PER_M = 1000.0
TOUCHED = ("at the stop", "at the fixed jaw", "on the seat")

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Budget:
    """Shares of an error, and in words what nobody knows."""

    lines: tuple[ErrorLine, ...] = ()
    lacks: tuple[str, ...] = ()

    def __add__(self, other: Budget) -> Budget:
        return Budget((*self.lines, *other.lines), (*self.lacks, *other.lacks))

    @property
    def sum_mm(self) -> Fact | None:
        """All shares at once; None where one is not known."""
        return None if self.lacks else sum_of(self.lines)

    @property
    def worst_mm(self) -> tuple[bool, float]:
        """To compare: what is not known is worse than anything."""
        return bool(self.lacks), sum(line.count * line.each_mm.high for line in self.lines)


def sum_of(lines: Sequence[ErrorLine]) -> Fact | None:
    """Shares added at their ends, to the next 0.001 mm outward, as well known as the least known; None for none."""
    if not lines:
        return None
    low, nominal, high = (sum(x.count * getattr(x.each_mm, end) for x in lines) for end in ("low", "nominal", "high"))
    strength = lines[0].each_mm.strength
    for line in lines:
        strength = weaker_of(strength, line.each_mm.strength)
    return Fact(
        low=math.floor(low * 1e3 + 1e-6) / 1e3, nominal=round(nominal, 6), high=math.ceil(high * 1e3 - 1e-6) / 1e3,
        unit="mm", source="own-algorithm", strength=strength,
    )  # fmt: skip


def gathered(lines: Sequence[ErrorLine]) -> tuple[ErrorLine, ...]:
    """Lines of one text once, in order of first mention: counted where they are alike, else added up."""
    groups: dict[str, list[ErrorLine]] = {}
    for line in lines:
        groups.setdefault(line.text, []).append(line)
    return tuple(_as_one(group) for group in groups.values())


def _as_one(group: Sequence[ErrorLine]) -> ErrorLine:
    first = group[0]
    if all(x.each_mm == first.each_mm for x in group):
        return ErrorLine(text=first.text, each_mm=first.each_mm, count=sum(x.count for x in group))
    low, nominal, high = (sum(x.count * getattr(x.each_mm, end) for x in group) for end in ("low", "nominal", "high"))
    each = Fact(
        low=low, nominal=nominal, high=high, unit="mm", source=first.each_mm.source, strength=first.each_mm.strength
    )
    return ErrorLine(text=first.text, each_mm=each)


@dataclass(frozen=True)
class Chain:
    """The clampings with all that locates the work in them, and where every face is cut."""

    machines: Mapping[str, Machine]
    vises: Mapping[str, Vise]
    forms: Mapping[str, JawForm]
    target: Target
    cuts: Mapping[str, tuple[CutAt, ...]]
    bow_of: BowOf

    def between(self, one: CutAt, other: CutAt, normal: Floats) -> Budget:
        """How far the two cuts may lie off each other along a direction of the part."""
        first, last = sorted((one.clamping, other.clamping), key=lambda c: c.number)
        return self._of_cut(one, normal) + self._of_cut(other, normal) + self._located(first, last, normal)

    def _of_cut(self, cut: CutAt, normal: Floats) -> Budget:
        """A cut against its own clamping: the cutter's length along its axis, its side across, the pivot if turned."""
        machine = self.machines[cut.clamping.machine_id]
        along = abs(float(np.dot(normal, cut.tilt.frame.z)))
        across = math.sqrt(max(0.0, 1.0 - along * along))
        found = _share(
            machine.length_error_mm,
            along,
            f"length of a cutter on {machine.id}",
            f"length_error_mm of {machine.id}: the tip of each cutter touched off against the length the control holds",
        )
        found += _share(machine.side_error_mm, across, f"side of a cutter on {machine.id}",
            f"side_error_mm of {machine.id}: a test block milled on both sides and measured")  # fmt: skip
        if cut.is_turned:
            pivot = None if machine.rotary is None else machine.rotary.pivot_error_mm
            found += _share(pivot, 1.0, f"pivot of {machine.id}", f"pivot_error_mm of {machine.id}")
        return found

    def _located(self, first: Clamping, last: Clamping, normal: Floats) -> Budget:
        """The later clamping against the earlier one along a direction of the part; nothing where they are the same."""
        if first.id == last.id:
            return Budget()
        into = last.frame.turn @ normal
        found = self._turned(last, into)
        for axis in range(3):
            share = abs(float(into[axis]))
            if share < LEVEL:
                continue
            found += self._placed(last, axis, share)
            found += _times(self._touching(first, last, axis), share)
        return found

    def _placed(self, last: Clamping, axis: int, share: float) -> Budget:
        """Zero and seating along one axis of a clamping."""
        machine, vise = self.machines[last.machine_id], self.vises[last.vise_id]
        zero = machine.zero_error_mm
        if zero is None and machine.has_probe and machine.probe is not None:
            zero = machine.probe.error_mm
        what = "XYZ"[axis]
        found = _share(zero, share, f"zero {what} of operation {last.number}",
            f"zero_error_mm of {machine.id}: the zero set and looked at again five times")  # fmt: skip
        if axis == 2:
            found += _share(vise.lift_mm, share, f"work off the seat of {vise.id}",
                f"lift_mm of {vise.id}: an indicator on the work as the vise is closed")  # fmt: skip
        else:
            found += _share(vise.repeat_mm, share, f"seating in {vise.id} along {what}",
                f"repeat_mm of {vise.id}: one piece loaded ten times, probed at stop and fixed jaw")  # fmt: skip
        if not last.needs_form:
            return found
        if last.id not in self.forms:
            return found + Budget(
                lacks=(f"the pocket of the soft jaws of operation {last.number}, which is not planned",)
            )
        cut = machine.length_error_mm if axis == 2 else machine.side_error_mm
        name = "length_error_mm" if axis == 2 else "side_error_mm"
        return found + _share(cut, share, f"pocket of the jaws of operation {last.number}", f"{name} of {machine.id}")

    def _turned(self, last: Clamping, into: Floats) -> Budget:
        """Slopes of seat and jaw over the whole part, as nobody says where the zero is touched.

        A pocket is cut in place, so its floor and walls are as true as the machine.
        """
        if last.needs_form:
            return Budget()
        vise = self.vises[last.vise_id]
        spans = np.ptp(last.frame.into(self.target.vertices_mm), axis=0)
        n, (x, y, z) = np.abs(into), spans
        seat, jaw = vise.seat_slope_mm_per_m, vise.jaw_slope_mm_per_m
        either = None
        if seat is not None and jaw is not None:  # pressed on both, the work follows the one or the other
            either = Fact(
                low=max(seat.low, jaw.low), nominal=max(seat.nominal, jaw.nominal), high=max(seat.high, jaw.high),
                unit=seat.unit, source=seat.source if seat.high >= jaw.high else jaw.source,
                strength=weaker_of(seat.strength, jaw.strength),
            )  # fmt: skip
        ask_seat = f"seat_slope_mm_per_m of {vise.id}: an indicator along and across the seat"
        ask_jaw = f"jaw_slope_mm_per_m of {vise.id}: an indicator along the fixed jaw and up it"
        turns = (
            (seat, f"seat of {vise.id} out of level along the jaws", n[2] * x + n[0] * z, ask_seat),
            (either, f"work out of upright in {vise.id}", n[2] * y + n[1] * z, f"{ask_seat}; {ask_jaw}"),
            (jaw, f"fixed jaw of {vise.id} out of line with X", n[1] * x + n[0] * y, ask_jaw),
        )
        found = Budget()
        for slope, what, lever, ask in turns:
            if lever > LEVEL * float(spans.max()):
                found += _share(slope, float(lever) / MM_PER_M, f"{what}, over {lever:.0f} mm", ask, least=0.0)
        return found

    def _touching(self, first: Clamping, last: Clamping, axis: int) -> Budget:
        """The faces that locate the later clamping along its axis, against the earlier one; the worst of them."""
        direction = last.frame.turn[axis]
        where = f"{TOUCHED[axis]} in operation {last.number}"
        worst: Budget | None = None
        for face_id in self.touched(last, axis):
            cuts = [c for c in self.cuts.get(face_id, ()) if c.clamping.number < last.number]
            if not cuts:
                return Budget(lacks=(f"how the face {where} lies, which no earlier operation finishes",))
            for cut in cuts:
                ends = sorted((first, cut.clamping), key=lambda c: c.number)
                budget = self._of_cut(cut, direction) + self._located(ends[0], ends[1], direction)
                worst = budget if worst is None or budget.worst_mm > worst.worst_mm else worst
        if worst is None:
            return Budget(lacks=(f"what lies {where}",))
        if axis == 0:  # the stop touches one place of an end: no bow shows there
            return worst
        bow = self.bow_of.of(last, axis).bow_mm
        return worst + _share(bow, 1.0, f"bow of the work {where}", self.bow_of.ask())

    def touched(self, clamping: Clamping, axis: int) -> tuple[str, ...]:
        """Ids of the faces that reach farthest towards stop, fixed jaw or seat; at the jaw, those below its top."""
        mesh = self.target
        points = clamping.frame.into(mesh.vertices_mm)
        towards = points[:, axis] * (1.0 if axis == 1 else -1.0)
        low = np.ones(len(points), dtype=np.bool_)
        if axis == 1:
            low = points[:, 2] <= max(clamping.jaw_top_mm, float(points[:, 2].min()) + TOUCHES_MM)
        near = towards >= float(towards[low].max()) - TOUCHES_MM
        rows = near[mesh.triangles].all(axis=1) & low[mesh.triangles].any(axis=1)
        if not rows.any():  # a round touches along a line, or in a point
            rows = (near & low)[mesh.triangles].any(axis=1)
        return tuple(mesh.face_ids[i] for i in np.unique(mesh.triangle_face[rows]))


def _share(fact: Fact | None, times: float, text: str, ask: str, *, least: float = LEVEL) -> Budget:
    """A figure times its lever; nothing where the lever is below the least."""
    if times < least:
        return Budget()
    if fact is None:
        return Budget(lacks=(ask,))
    each = Fact(
        low=fact.low * times, nominal=fact.nominal * times, high=fact.high * times, unit="mm", source=fact.source,
        strength=fact.strength,
    )  # fmt: skip
    return Budget(lines=(ErrorLine(text=text, each_mm=each),))


def _times(budget: Budget, share: float) -> Budget:
    """All lines of a budget, each times a share."""
    if share > 1.0 - 1e-9:
        return budget
    lines = tuple(
        ErrorLine(
            text=x.text, count=x.count,
            each_mm=Fact(
                low=x.each_mm.low * share, nominal=x.each_mm.nominal * share, high=x.each_mm.high * share, unit="mm",
                source=x.each_mm.source, strength=x.each_mm.strength,
            ),
        )
        for x in budget.lines
    )  # fmt: skip
    return Budget(lines, budget.lacks)
