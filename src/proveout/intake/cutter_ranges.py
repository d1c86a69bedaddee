"""What a cutter's row leaves to the plan: ranges whose ends must not cross, and a cutting speed that is not written."""

from __future__ import annotations

from typing import Any

from proveout.cutting.fastest import LOW_SPEED_RATIO
from proveout.intake.toml_words import Place, plain
from proveout.model.shop import Cutter
from proveout.quantities.errors import BadInput
from proveout.quantities.units import MM_PER_S_PER_M_PER_MIN


def with_rated_speed(values: dict[str, Any], place: Place) -> dict[str, Any]:
    """The fields of a cutter; one without a cutting speed may run as fast as it is rated.

    Raises:   BadInput where neither the one nor the other is written.
    """
    if values["cutting_speed_mm_per_s"] is not None:
        return values
    rated = values["speed_max_rad_per_s"]
    if rated is None:
        raise BadInput(
            "Nobody wrote how fast this cutter may run", where=place.at(),
            value="no cutting_speed_m_per_min, no speed_max_rpm",
            do="add cutting_speed_m_per_min = ... (cutting speed in the shop's alloy), or speed_max_rpm where the "
            "cutter may run as fast as it is rated",
        )  # fmt: skip
    fastest = rated * values["diameter_mm"] / 2.0
    low = values["cutting_speed_low_mm_per_s"]
    low = LOW_SPEED_RATIO * fastest if low is None else low
    return values | {"cutting_speed_mm_per_s": fastest, "cutting_speed_low_mm_per_s": low}


def refuse_crossed_ranges(cutter: Cutter, place: Place) -> None:
    """BadInput where a low end lies above its high one, or a most is more than the cutter can cut."""
    rows: list[tuple[str, str, float | None, float, float]] = [
        ("The lowest cutting speed is above the highest", "m/min", cutter.cutting_speed_low_mm_per_s,
         cutter.cutting_speed_mm_per_s, MM_PER_S_PER_M_PER_MIN),
        ("The thinnest chip is thicker than the thickest", "mm", cutter.chip_low_mm, cutter.tooth_feed_mm, 1.0),
        ("The deepest cut is longer than the flutes", "mm", cutter.axial_max_mm, cutter.flute_length_mm, 1.0),
        ("The widest roughing cut is more than half the diameter", "mm", cutter.radial_max_mm,
         0.5 * cutter.diameter_mm, 1.0),
    ]  # fmt: skip
    for what, unit, value, limit, scale in rows:
        if value is not None and value > limit * (1.0 + 1e-9):
            raise BadInput(
                what, where=place.at(), value=f"{plain(value / scale)} {unit}",
                limit=f"{plain(limit / scale)} {unit} or less", do="correct one of both",
            )  # fmt: skip
    if cutter.kind == "face mill" and cutter.radial_max_mm is not None:
        raise BadInput(
            "A face mill is led over the work by seven tenths of its diameter", where=place.at(),
            value=f"radial_max {plain(cutter.radial_max_mm)} mm", do="leave radial_max out",
        )  # fmt: skip


def range_words(cutter: Cutter) -> str:
    """What the plan chooses of a cutter, in a sentence."""
    per_min = MM_PER_S_PER_M_PER_MIN
    left: list[str] = []
    if cutter.cutting_speed_low_mm_per_s is not None:
        ends = [f"{cutter.cutting_speed_low_mm_per_s / per_min:.4g}", f"{cutter.cutting_speed_mm_per_s / per_min:.4g}"]
        left.append(f"{' to '.join(ends)} m/min")
    if cutter.chip_low_mm is not None:
        left.append(f"chips {plain(cutter.chip_low_mm)} to {plain(cutter.tooth_feed_mm)} mm thick")
    if cutter.axial_max_mm is not None:
        left.append(f"to {plain(cutter.axial_max_mm)} mm deep in roughing")
    if cutter.radial_max_mm is not None:
        left.append(f"to {plain(cutter.radial_max_mm)} mm wide in roughing")
    return f"The plan takes the fastest that every limit allows of {cutter.id}: {', '.join(left)}."
