"""Every blank that could be sawn for the part, each with its money."""

from __future__ import annotations

import math

from proveout.model.shop import Bar, Noun, Saw
from proveout.model.solid import Solid
from proveout.model.target import NOTHING_BOUGHT, AsBought
from proveout.model.work import Blank, Vector
from proveout.quantities.mass import bar_mass_kg
from proveout.quantities.units import S_PER_H
from proveout.solving.cutting_stock import pieces_per_bar_count
from proveout.stages.blank.stack import Side, Stack, axis_of, stack_up

GRIP_SIDES: tuple[Vector, ...] = (
    (0.0, 0.0, -1.0),
    (0.0, 0.0, 1.0),
    (0.0, -1.0, 0.0),
    (0.0, 1.0, 0.0),
    (-1.0, 0.0, 0.0),
    (1.0, 0.0, 0.0),
)
# common practice, no source: what a small mill removes while it roughs aluminium, all moves counted
ROUGHING_MM3_PER_S = 500.0
FIT_SLACK_MM = 1e-6


class Prices(Noun, frozen=True, kw_only=True):
    """What turns millimetres into money. pieces_count: all to be sawn, spares included; quantity: those sold."""

    quantity: int
    pieces_count: int
    density_kg_per_mm3: float
    machine_rate_per_h: float
    roughing_mm3_per_s: float = ROUGHING_MM3_PER_S


class Candidate(Noun, frozen=True, kw_only=True):
    """One way to saw the blank. Money is for each piece of the order, whole bars and spares included."""

    blank: Blank
    stack: Stack
    roll: int
    money_each: float
    material_each: float
    saw_each: float
    chips_each: float
    chips_mm3: float


class BarsTaken(Noun, frozen=True, kw_only=True):
    """Cheapest whole bars for the pieces: money, and the bar length used most with the pieces it gives."""

    money: float
    bar_length_mm: float
    pieces_per_bar: int


def all_candidates(
    *,
    solid: Solid,
    bars: tuple[Bar, ...],
    saw: Saw,
    grip_mm: float,
    grip_sides: tuple[Vector | None, ...],
    prices: Prices,
    opening_max_mm: float | None,
    bought: AsBought = NOTHING_BOUGHT,
) -> tuple[tuple[Candidate, ...], tuple[tuple[Bar, Stack], ...]]:
    """Blanks that fit, cheapest first, and those that do not with their stack.

    grip_sides in order of preference: of two blanks that cost the same the one named first wins. opening_max_mm: how
    far the vise opens, None when it is not to be looked at.  bought: sides of the part that nobody cuts.
    """
    fitting: list[tuple[float, int, str, int, int, Candidate]] = []
    failing: list[tuple[Bar, Stack]] = []
    for rank, grip_side in enumerate(grip_sides):
        for length_axis in range(3):
            section = [axis for axis in range(3) if axis != length_axis]
            for bar in sorted(bars, key=lambda b: b.id):
                rolls = (0,) if bar.width_mm == bar.height_mm else (0, 1)
                for roll in rolls:
                    stack = stack_up(
                        size_mm=solid.size_mm,
                        bar=bar,
                        width_axis=section[roll],
                        length_axis=length_axis,
                        grip_side=grip_side,
                        grip_mm=grip_mm,
                        saw=saw,
                        bought=bought,
                    )
                    made = candidate(
                        solid=solid, bar=bar, saw=saw, stack=stack, grip_side=grip_side, roll=roll, prices=prices,
                        opening_max_mm=opening_max_mm, bought=bought,
                    )  # fmt: skip
                    if made is None:
                        failing.append((bar, stack))
                    else:
                        fitting.append((round(made.money_each, 6), rank, bar.id, length_axis, roll, made))
    fitting.sort(key=lambda entry: entry[:5])
    return tuple(entry[5] for entry in fitting), tuple(failing)


def candidate(
    *,
    solid: Solid,
    bar: Bar,
    saw: Saw,
    stack: Stack,
    grip_side: Vector | None,
    roll: int,
    prices: Prices,
    opening_max_mm: float | None,
    bought: AsBought = NOTHING_BOUGHT,
) -> Candidate | None:
    """The blank of one bar and one way round with its money; None when section, saw, vise or bar length refuse it."""
    if not fits(bar=bar, stack=stack, bought=bought) or not saw_takes(bar=bar, saw=saw):
        return None
    if opening_max_mm is not None and jaw_gap_mm(bar=bar, stack=stack, grip_side=grip_side) > opening_max_mm:
        return None
    taken = bars_taken(bar=bar, saw=saw, cut_length_mm=stack.cut_length_mm, prices=prices)
    if taken is None:
        return None
    low, high = box_of(solid=solid, bar=bar, stack=stack, grip_side=grip_side)
    volume = bar.width_mm * bar.height_mm * stack.cut_length_mm
    chips = max(0.0, volume - solid.volume_mm3)
    started = prices.pieces_count / prices.quantity
    saw_s = bar.width_mm * bar.height_mm / saw.rate_mm2_per_s
    material = taken.money / prices.quantity
    saw_each = started * saw_s * saw.rate_per_h / S_PER_H
    chips_each = started * chips / prices.roughing_mm3_per_s * prices.machine_rate_per_h / S_PER_H
    blank = Blank(
        bar_id=bar.id,
        length_axis=stack.length.axis,
        low_mm=low,
        high_mm=high,
        cut_length_mm=stack.cut_length_mm,
        grip_side=grip_side,
        stack=(*stack.width.lines, *stack.height.lines, *stack.length.lines),
        pieces_per_bar=taken.pieces_per_bar,
        bar_length_mm=taken.bar_length_mm,
        material_price_each=round(material, 6),
        mass_kg=round(
            bar_mass_kg(
                width_mm=bar.width_mm,
                height_mm=bar.height_mm,
                length_mm=stack.cut_length_mm,
                density_kg_per_mm3=prices.density_kg_per_mm3,
            ),
            9,
        ),
        beside_price_each=round(saw_each + chips_each, 6),
    )
    return Candidate(
        blank=blank,
        stack=stack,
        roll=roll,
        money_each=material + saw_each + chips_each,
        material_each=material,
        saw_each=saw_each,
        chips_each=chips_each,
        chips_mm3=chips,
    )


def fits(*, bar: Bar, stack: Stack, bought: AsBought = NOTHING_BOUGHT) -> bool:
    """True when the bar's nominal section covers both stacks; a side that nobody cuts must have the size itself."""
    return all(
        _lies_within(side, size, bought) if side.is_exact else side.needed_mm <= size + FIT_SLACK_MM
        for side, size in ((stack.width, bar.width_mm), (stack.height, bar.height_mm))
    )


def _lies_within(side: Side, size_mm: float, bought: AsBought) -> bool:
    low, high = bought.low_mm[side.axis], bought.high_mm[side.axis]
    if low is None or high is None:
        return abs(size_mm - side.needed_mm) <= FIT_SLACK_MM
    return low - FIT_SLACK_MM <= size_mm <= high + FIT_SLACK_MM


def saw_takes(*, bar: Bar, saw: Saw) -> bool:
    """True when one bar goes into the saw, lying or standing."""
    short, long = sorted((bar.width_mm, bar.height_mm))
    least, most = sorted((saw.bundle_width_mm, saw.bundle_height_mm))
    return short <= least and long <= most


def jaw_gap_mm(*, bar: Bar, stack: Stack, grip_side: Vector | None) -> float:
    """Distance between the jaws on the raw bar: across the side that is neither gripped nor long, the widest way."""
    grip_axis = -1 if grip_side is None else axis_of(grip_side)[0]
    widest = {
        stack.width.axis: bar.width_mm + bar.width_tolerance_mm,
        stack.height.axis: bar.height_mm + bar.height_tolerance_mm,
    }
    across = [size for axis, size in widest.items() if axis != grip_axis]
    return min(across)


def bars_taken(*, bar: Bar, saw: Saw, cut_length_mm: float, prices: Prices) -> BarsTaken | None:
    """Least money in whole bars of any mix of the lengths on offer; None when no length gives a piece."""
    offers: list[tuple[int, float, float]] = []
    for length in sorted(set(bar.lengths_mm)):
        count = pieces_per_bar_count(
            bar_length_mm=length,
            piece_length_mm=cut_length_mm,
            kerf_mm=saw.kerf_mm,
            trim_mm=saw.trim_mm,
            tail_mm=saw.tail_mm,
        )
        mass = bar_mass_kg(
            width_mm=bar.width_mm, height_mm=bar.height_mm, length_mm=length,
            density_kg_per_mm3=prices.density_kg_per_mm3,
        )  # fmt: skip
        if count > 0:
            offers.append((count, mass * bar.price_per_kg, length))
    if not offers:
        return None
    least = [0.0] + [math.inf] * prices.pieces_count
    choice = [-1] * (prices.pieces_count + 1)
    for need in range(1, prices.pieces_count + 1):
        for index, (count, price, _) in enumerate(offers):
            money = price + least[max(0, need - count)]
            if money < least[need] - 1e-9:
                least[need], choice[need] = money, index
    used = [0] * len(offers)
    need = prices.pieces_count
    while need > 0:
        used[choice[need]] += 1
        need -= offers[choice[need]][0]
    most = max(range(len(offers)), key=lambda i: (used[i] * offers[i][0], -i))
    return BarsTaken(money=least[-1], bar_length_mm=offers[most][2], pieces_per_bar=offers[most][0])


def box_of(*, solid: Solid, bar: Bar, stack: Stack, grip_side: Vector | None) -> tuple[Vector, Vector]:
    """Nominal box of the blank in the part frame: the strip as thick as asked for, all else left over above it.

    Where both sides stay as bought the box ends with the part: how far the bar lies off is for its proof to say.
    """
    grip_axis, sign = (-1, 0.0) if grip_side is None else axis_of(grip_side)
    low, high = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    for side, size in (
        (stack.width, bar.width_mm),
        (stack.height, bar.height_mm),
        (stack.length, stack.cut_length_mm),
    ):
        if side.is_exact:
            low[side.axis], high[side.axis] = solid.low_mm[side.axis], solid.high_mm[side.axis]
            continue
        below = _below_mm(side, size - solid.size_mm[side.axis], is_grip=side.axis == grip_axis, sign=sign)
        low[side.axis] = round(solid.low_mm[side.axis] - below, 6)
        high[side.axis] = round(low[side.axis] + size, 6)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _below_mm(side: Side, spare_mm: float, *, is_grip: bool, sign: float) -> float:
    if side.bought[0]:
        return 0.0
    if side.bought[1]:
        return spare_mm
    if not is_grip:
        return 0.5 * spare_mm
    return side.below_mm if sign < 0.0 else spare_mm - side.above_mm
