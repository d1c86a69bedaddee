"""A bar, a saw that takes two of it, and a blank, whose counts can be done on paper."""

from __future__ import annotations

from proveout.model.shop import Bar, Saw
from proveout.model.work import Blank

# a saw that takes two of the bars below side by side, one layer
SAW = Saw(
    bundle_width_mm=92.0, bundle_height_mm=30.0, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0, length_tolerance_mm=0.2,
    rate_mm2_per_s=100.0, handling_s=10.0, setup_s=600.0, rate_per_h=36.0,
)  # fmt: skip
BAR = Bar(
    id="45 x 26", alloy="6061-T6", width_mm=45.0, height_mm=26.0, width_tolerance_mm=0.2, height_tolerance_mm=0.2,
    corner_radius_mm=0.8, bow_mm_per_m=1.0, twist_rad_per_m=0.0, lengths_mm=(3000.0,), price_per_kg=11.0,
    condition="extruded",
)  # fmt: skip
BLANK = Blank(
    bar_id="45 x 26", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(92.5, 45.0, 26.0), cut_length_mm=92.5,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=31, bar_length_mm=3000.0, material_price_each=4.0,
    mass_kg=0.3,
)  # fmt: skip
