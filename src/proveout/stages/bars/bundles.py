"""How bars lie in the saw, what they weigh and cost, and which remnants are kept."""

from __future__ import annotations

import math

from proveout.model.shop import Bar, Noun, Saw
from proveout.quantities.mass import bar_mass_kg

# from memory: the load constant of a lifting equation; a shop may write its own
LIFT_LIMIT_KG = 23.0


class BundleShape(Noun, frozen=True, kw_only=True):
    """The largest bundle that goes into the saw. lies_flat: the bar's width lies across the saw's bundle width."""

    wide_count: int
    high_count: int
    lies_flat: bool

    @property
    def bars_count(self) -> int:
        """Bars sawn at once."""
        return self.wide_count * self.high_count


def bundle_shape(*, bar: Bar, saw: Saw) -> BundleShape:
    """The bundle with most bars as large as their tolerance lets them be; 0 x 0 when not even one bar goes in.

    Flat when both ways hold as many.
    """
    width, height = bar.width_mm + bar.width_tolerance_mm, bar.height_mm + bar.height_tolerance_mm
    shapes = []
    for lies_flat in (True, False):
        across, up = (width, height) if lies_flat else (height, width)
        wide = math.floor(saw.bundle_width_mm / across + 1e-9)
        high = math.floor(saw.bundle_height_mm / up + 1e-9)
        shapes.append(BundleShape(wide_count=wide if high else 0, high_count=high if wide else 0, lies_flat=lies_flat))
    return max(shapes, key=lambda shape: (shape.bars_count, shape.lies_flat))


def stock_of(*, bar: Bar, density_kg_per_mm3: float) -> list[tuple[float, float, int | None]]:
    """Whole bars of a section with their prices; as many as one likes."""
    kg_per_mm = bar_mass_kg(
        width_mm=bar.width_mm, height_mm=bar.height_mm, length_mm=1.0, density_kg_per_mm3=density_kg_per_mm3
    )
    return [(length, length * kg_per_mm * bar.price_per_kg, None) for length in sorted(set(bar.lengths_mm))]


def mass_kg(*, bar: Bar, length_mm: float, density_kg_per_mm3: float) -> float:
    """What a bar of one length weighs, its corners square."""
    return bar_mass_kg(
        width_mm=bar.width_mm + bar.width_tolerance_mm, height_mm=bar.height_mm + bar.height_tolerance_mm,
        length_mm=length_mm, density_kg_per_mm3=density_kg_per_mm3,
    )  # fmt: skip


def lift_limit_kg(saw: Saw) -> float:
    """What one person may lift here."""
    return LIFT_LIMIT_KG if saw.lift_limit_kg is None else saw.lift_limit_kg


def remnant_least_mm(*, saw: Saw, shortest_mm: float) -> float:
    """The shortest remnant that is kept: as the shop wrote, else one that gives a piece of the shortest length."""
    return saw.trim_mm + shortest_mm + saw.tail_mm if saw.remnant_least_mm is None else saw.remnant_least_mm
