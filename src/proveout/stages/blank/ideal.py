"""The blank from a bar made for the part, when no bar of the shop will do."""

from __future__ import annotations

from proveout.model.shop import Bar, Saw
from proveout.model.solid import Solid
from proveout.model.target import NOTHING_BOUGHT, AsBought
from proveout.model.work import Blank, Vector
from proveout.quantities.mass import bar_mass_kg
from proveout.stages.blank.candidates import Prices, box_of
from proveout.stages.blank.stack import stack_up

IDEAL = "ideal"
# common practice, no source: of a bar nobody has described
UNKNOWN_TOLERANCE_MM = 0.5
UNKNOWN_BOW_MM_PER_M = 1.0
UNKNOWN_TWIST_RAD_PER_M = 0.03
UNKNOWN_CORNER_MM = 1.0


def ideal_blank(
    *,
    solid: Solid,
    bars: tuple[Bar, ...],
    saw: Saw,
    grip_mm: float,
    grip_sides: tuple[Vector | None, ...],
    prices: Prices,
    bought: AsBought = NOTHING_BOUGHT,
) -> Blank:
    """The blank of least volume from a bar made for it, with the worst tolerances of the bars on offer."""
    price = max((bar.price_per_kg for bar in bars), default=0.0)
    best: tuple[float, int, int, Blank] | None = None
    for rank, grip_side in enumerate(grip_sides):
        for length_axis in range(3):
            axes = [axis for axis in range(3) if axis != length_axis]
            bar = _made_bar(bars, 0.0, 0.0)
            for _ in range(20):  # section and length each ask a little of the other: settles in a few rounds
                stack = stack_up(
                    size_mm=solid.size_mm, bar=bar, width_axis=axes[0], length_axis=length_axis,
                    grip_side=grip_side, grip_mm=grip_mm, saw=saw, bought=bought,
                )  # fmt: skip
                bar = _made_bar(bars, stack.width.needed_mm, stack.height.needed_mm)
            volume = bar.width_mm * bar.height_mm * stack.cut_length_mm
            low, high = box_of(solid=solid, bar=bar, stack=stack, grip_side=grip_side)
            mass = bar_mass_kg(
                width_mm=bar.width_mm, height_mm=bar.height_mm, length_mm=stack.cut_length_mm,
                density_kg_per_mm3=prices.density_kg_per_mm3,
            )  # fmt: skip
            blank = Blank(
                bar_id=IDEAL, length_axis=length_axis, low_mm=low, high_mm=high, cut_length_mm=stack.cut_length_mm,
                grip_side=grip_side, stack=(*stack.width.lines, *stack.height.lines, *stack.length.lines),
                pieces_per_bar=0, bar_length_mm=0.0,
                material_price_each=round(mass * price * prices.pieces_count / prices.quantity, 6),
                mass_kg=round(mass, 9), is_ideal=True,
            )  # fmt: skip
            key = (round(volume, 3), rank, length_axis, blank)
            if best is None or key[:3] < best[:3]:
                best = key
    assert best is not None
    return best[3]


def _made_bar(bars: tuple[Bar, ...], width_mm: float, height_mm: float) -> Bar:
    def worst(values: list[float], unknown: float) -> float:
        return max(values, default=unknown)

    tolerance = worst([max(b.width_tolerance_mm, b.height_tolerance_mm) for b in bars], UNKNOWN_TOLERANCE_MM)
    return Bar(
        id=IDEAL,
        alloy="",
        width_mm=width_mm,
        height_mm=height_mm,
        width_tolerance_mm=tolerance,
        height_tolerance_mm=tolerance,
        corner_radius_mm=worst([b.corner_radius_mm for b in bars], UNKNOWN_CORNER_MM),
        bow_mm_per_m=worst([b.bow_mm_per_m for b in bars], UNKNOWN_BOW_MM_PER_M),
        twist_rad_per_m=worst([b.twist_rad_per_m for b in bars], UNKNOWN_TWIST_RAD_PER_M),
        lengths_mm=(),
        price_per_kg=0.0,
        condition="",
    )
