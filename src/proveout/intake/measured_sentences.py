"""What a shop measured on its own machines, in sentences."""

from __future__ import annotations

from proveout.intake.toml_words import plain
from proveout.model.measured import Response, ScrapCut, SpindleReading
from proveout.model.shop import Shop
from proveout.quantities.units import rpm_from_rad_per_s

STICK_OUT_MM = 0.5


def measured_words(shop: Shop) -> list[str]:
    """One sentence for each measured response, and one for the readings of each alloy."""
    lines = [_response(one, shop) for one in shop.responses]
    alloys = sorted({one.alloy for one in shop.spindle_readings})
    lines += [_readings([one for one in shop.spindle_readings if one.alloy == alloy]) for alloy in alloys]
    return lines + [_test_cut(one) for one in shop.test_cuts]


def _response(one: Response, shop: Shop) -> str:
    out = next(c.stick_out_mm for c in shop.cutters if c.id == one.cutter_id)
    text = (
        f"Response of {one.cutter_id} in the spindle of {one.machine_id}, from {one.file}: {len(one.rows)} frequencies "
        f"from {plain(one.rows[0][0])} to {plain(one.rows[-1][0])} Hz, size within "
        f"{plain(100.0 * one.error_ratio.high)} % ({one.error_ratio.strength}), frequencies within "
        f"{plain(100.0 * one.frequency_error_ratio.high)} % ({one.frequency_error_ratio.strength}); "
        f"measured {one.measured or 'on a day that nobody wrote'}."
    )
    if abs(out - one.stick_out_mm) > STICK_OUT_MM:
        text += (
            f" It is of {plain(one.stick_out_mm)} mm stick-out and the cutter has {plain(out)} mm: it is not used, and "
            "chatter stays not shown."
        )
    return text


def _test_cut(one: ScrapCut) -> str:
    howled = "it never howled" if one.howled_mm is None else f"it howled at {plain(one.howled_mm)} mm"
    return (
        f"Test cut of {one.cutter_id} on {one.machine_id} in scrap of {one.alloy} on {one.date}, "
        f"{plain(one.stick_out_mm)} mm out, {plain(round(rpm_from_rad_per_s(one.speed_rad_per_s), 1))} 1/min, "
        f"{plain(one.tooth_feed_mm)} mm an edge, {plain(one.radial_mm)} mm wide: quiet down to "
        f"{plain(one.quiet_mm)} mm, {howled}."
    )


def _readings(some: list[SpindleReading]) -> str:
    dates = sorted(one.date for one in some)
    worn = "" if any(one.edge != "sharp" for one in some) else ", none of them with a worn edge"
    one = some[0]
    return (
        f"Spindle readings in {one.alloy}: {len(some)}, from {dates[0]} to {dates[-1]}{worn}; of the load above idle "
        f"{plain(100.0 * min(r.efficiency_ratio.low for r in some))} to "
        f"{plain(100.0 * max(r.efficiency_ratio.high for r in some))} % reaches the edge."
    )
