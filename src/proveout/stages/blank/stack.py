"""The stack-up: what a blank must measure along each of its sides so that the part comes out of it clean."""

from __future__ import annotations

import math

from proveout.model.shop import Bar, Noun, Saw
from proveout.model.target import NOTHING_BOUGHT, AsBought
from proveout.model.work import OUT_OF_SQUARE, StackLine, Vector
from proveout.quantities.errors import OutOfRange

# common practice, no source: taken off every side so that no skin of the bar stays
SKIM_MM = 1.0
# common practice, no source: the cutter runs 0.5 mm below the part and stays 1.0 mm above the jaw
OVERRUN_MM = 0.5
JAW_CLEARANCE_MM = 1.0
# common practice: a sawn end leans by up to 0.003 mm for each mm of height
LEAN_RATIO = 0.003
# share of a rounded corner's radius that is missing along each side, when both sides are skimmed alike
CORNER_RATIO = 1.0 - 1.0 / math.sqrt(2.0)
# cut lengths are written to a tenth of a millimetre, rounded up
CUT_STEP_MM = 0.1


class Side(Noun, frozen=True, kw_only=True):
    """One side of the blank along a part axis.

    needed_low_mm: with a perfect bar and saw.  needed_mm: at their worst.  below_mm: metal below the part's low end
    that must be there, the rest of what is left over goes to the other end or is split evenly.  bought: which ends
    stay as bought; where both do, spread_mm: how far the piece may lie off its nominal size.
    """

    axis: int
    needed_low_mm: float
    needed_mm: float
    below_mm: float
    above_mm: float
    lines: tuple[StackLine, ...]
    bought: tuple[bool, bool] = (False, False)
    spread_mm: float = 0.0

    @property
    def is_exact(self) -> bool:
        """Nothing is taken off either end."""
        return all(self.bought)


class Stack(Noun, frozen=True, kw_only=True):
    """The two sides of the section, and the length. `width_axis` runs along the bar's width."""

    width: Side
    height: Side
    length: Side
    cut_length_mm: float


def axis_of(direction: Vector) -> tuple[int, float]:
    """Index and sign of a direction along a part axis.

    Raises:   OutOfRange when it does not run along one.
    """
    for axis in range(3):
        if abs(abs(direction[axis]) - 1.0) < 1e-9:
            return axis, math.copysign(1.0, direction[axis])
    raise OutOfRange("A grip side must run along an axis of the part", value=str(direction))


def stack_up(
    *,
    size_mm: Vector,
    bar: Bar,
    width_axis: int,
    length_axis: int,
    grip_side: Vector | None,
    grip_mm: float,
    saw: Saw,
    bought: AsBought = NOTHING_BOUGHT,
) -> Stack:
    """All three sides of a blank of `bar` with its width along `width_axis` and its length along `length_axis`.

    grip_side: where the strip is, None for a piece without one.  bought: sides that stay as they come: no skim there.
    """
    height_axis = 3 - width_axis - length_axis
    length = _length(
        size_mm=size_mm, bar=bar, axis=length_axis, grip_side=grip_side, grip_mm=grip_mm, saw=saw,
        bought=bought.has(length_axis),
    )  # fmt: skip
    steps = length.needed_mm / CUT_STEP_MM
    cut_mm = (round(steps) if length.is_exact else math.ceil(steps - 1e-6)) * CUT_STEP_MM
    cut_mm = round(cut_mm, 6)
    sides = [
        _section(
            name=name,
            size_mm=size_mm[axis],
            axis=axis,
            tolerance_mm=tolerance,
            across_mm=across,
            bar=bar,
            cut_mm=cut_mm,
            grip_side=grip_side,
            grip_mm=grip_mm,
            bought=bought.has(axis),
            is_beside=any(bought.has(width_axis + height_axis - axis)),
        )
        for name, axis, tolerance, across in (
            ("section width", width_axis, bar.width_tolerance_mm, bar.height_mm),
            ("section height", height_axis, bar.height_tolerance_mm, bar.width_mm),
        )
    ]
    return Stack(width=sides[0], height=sides[1], length=length, cut_length_mm=cut_mm)


def raw_spread_mm(*, bar: Bar | None, saw: Saw, cut_length_mm: float) -> float:
    """How far a raw face of a sawn piece may lie off where the nominal piece has it, at the worst of all its faces.

    bar: None where none of the shop fits: then its tolerances are not in it.
    """
    if bar is None:
        return saw.length_tolerance_mm
    section = max(
        tolerance + _bow_mm(bar, cut_length_mm) + _twist_mm(bar, cut_length_mm, across)
        for tolerance, across in (
            (bar.width_tolerance_mm, bar.height_mm), (bar.height_tolerance_mm, bar.width_mm),
        )
    )  # fmt: skip
    return max(section, saw.length_tolerance_mm + _lean_mm(max(bar.width_mm, bar.height_mm)))


def _bow_mm(bar: Bar, cut_mm: float) -> float:
    return bar.bow_mm_per_m * cut_mm / 1000.0


def _twist_mm(bar: Bar, cut_mm: float, across_mm: float) -> float:
    return bar.twist_rad_per_m * cut_mm / 1000.0 * across_mm


def _lean_mm(tall_mm: float) -> float:
    """Of both sawn ends together."""
    return 2.0 * LEAN_RATIO * tall_mm


def _section(
    *,
    name: str,
    size_mm: float,
    axis: int,
    tolerance_mm: float,
    across_mm: float,
    bar: Bar,
    cut_mm: float,
    grip_side: Vector | None,
    grip_mm: float,
    bought: tuple[bool, bool],
    is_beside: bool,
) -> Side:
    """One side of the section.  is_beside: a side next to it stays as bought, so that its rounding is not skimmed."""
    lines, low, high = _part_and_ends(
        name=name, size_mm=size_mm, axis=axis, grip_side=grip_side, grip_mm=grip_mm, skim_text="clean-up of one side",
        bought=bought,
    )  # fmt: skip
    needed_low = sum(line.size_mm for line in lines)
    if all(bought):
        return Side(
            axis=axis, needed_low_mm=needed_low, needed_mm=needed_low, below_mm=low, above_mm=high, lines=tuple(lines),
            bought=bought, spread_mm=tolerance_mm,
        )  # fmt: skip
    missing = (1.0 if is_beside else CORNER_RATIO) * bar.corner_radius_mm
    corner = max(0.0, missing - SKIM_MM)
    lines += [
        _line(name, f"corner radius {bar.corner_radius_mm:g} mm of the bar, beyond the clean-up", 2.0 * corner),
        _line(name, f"section tolerance, {bar.id}", tolerance_mm),
        _line(name, f"bow, {bar.bow_mm_per_m:g} mm/m over {cut_mm:g} mm", _bow_mm(bar, cut_mm)),
        _line(
            name,
            f"twist, {1000.0 * bar.twist_rad_per_m:.3g} mrad/m over {cut_mm:g} mm, {across_mm:g} mm across",
            _twist_mm(bar, cut_mm, across_mm),
        ),
    ]
    needed = sum(line.size_mm for line in lines)
    return Side(
        axis=axis, needed_low_mm=needed_low, needed_mm=needed, below_mm=low, above_mm=high, lines=tuple(lines),
        bought=bought,
    )  # fmt: skip


def _length(
    *, size_mm: Vector, bar: Bar, axis: int, grip_side: Vector | None, grip_mm: float, saw: Saw,
    bought: tuple[bool, bool],
) -> Side:  # fmt: skip
    lines, low, high = _part_and_ends(
        name="length", size_mm=size_mm[axis], axis=axis, grip_side=grip_side, grip_mm=grip_mm,
        skim_text="clean-up of a sawn end", bought=bought,
    )  # fmt: skip
    needed_low = sum(line.size_mm for line in lines)
    tall = max(bar.width_mm, bar.height_mm)
    if all(bought):
        return Side(
            axis=axis, needed_low_mm=needed_low, needed_mm=needed_low, below_mm=low, above_mm=high, lines=tuple(lines),
            bought=bought, spread_mm=saw.length_tolerance_mm + _lean_mm(tall),
        )  # fmt: skip
    lines += [
        _line("length", "saw tolerance", saw.length_tolerance_mm),
        _line("length", f"{OUT_OF_SQUARE}, {LEAN_RATIO:g} mm per mm over {tall:g} mm",
              _lean_mm(tall)),
    ]  # fmt: skip
    needed = sum(line.size_mm for line in lines)
    return Side(
        axis=axis, needed_low_mm=needed_low, needed_mm=needed, below_mm=low, above_mm=high, lines=tuple(lines),
        bought=bought,
    )  # fmt: skip


def _part_and_ends(
    *, name: str, size_mm: float, axis: int, grip_side: Vector | None, grip_mm: float, skim_text: str,
    bought: tuple[bool, bool],
) -> tuple[list[StackLine], float, float]:  # fmt: skip
    """Part, then at each end a skim, nothing where it stays as bought, or strip, clearance and overrun.

    Returns:  the lines, and the metal below and above the part.
    """
    grip_axis, sign = (-1, 0.0) if grip_side is None else axis_of(grip_side)
    lines = [_line(name, f"part along {'xyz'[axis]}", size_mm)]
    ends = [0.0, 0.0]
    for end in (0, 1):
        if axis == grip_axis and (sign > 0.0) == (end == 1):
            ends[end] = grip_mm + OVERRUN_MM + JAW_CLEARANCE_MM
            lines += [
                _line(name, "strip in the jaws", grip_mm),
                _line(name, "clearance of cutter to jaw", JAW_CLEARANCE_MM),
                _line(name, "overrun of the cutter below the part", OVERRUN_MM),
            ]
    for end in (0, 1):
        if axis == grip_axis and (sign > 0.0) == (end == 1):
            continue
        if bought[end]:
            lines.append(_line(name, f"{'-+'[end]}{'xyz'[axis]} stays as bought", 0.0))
        else:
            ends[end] = SKIM_MM
            lines.append(_line(name, "clean-up of the top" if axis == grip_axis else skim_text, SKIM_MM))
    return lines, ends[0], ends[1]


def _line(side: str, text: str, size_mm: float) -> StackLine:
    return StackLine(side=side, text=text, size_mm=round(size_mm, 6))  # type: ignore[arg-type]
