"""The shop's own cutting pressure: its spindle readings against the interval that is written."""

from __future__ import annotations

import msgspec
import numpy as np

from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.cutting.power import removal_rate_mm3_per_s
from proveout.cutting.speeds import feed_mm_per_s
from proveout.cutting.unit_force_fit import READINGS_LEAST, USED_MM, UnitForceFit, fit_unit_force
from proveout.model.fact import Fact, Strength, exact_fact, weaker_of
from proveout.model.measured import SpindleReading
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Cutter, Noun

ID = "loads:cutting pressure:readings"
SHARE_ERROR = 0.15
"""Common practice, no source: by how much the 100 percent of a meter may differ from the machine's power."""
DULL_RATIO = 1.3
"""Common practice, no source: force of a worn edge in shares of a sharp one's, as for the drills."""
CUTTERS_LEAST = 3
"""Common practice, no source: different cutters read before the high end may come down for those nobody read."""


class CuttingPressure(Noun, frozen=True, kw_only=True):
    """k_c1.1 and m_c that a plan reckons with. used_count: readings that they rest on, 0 where they are as written."""

    pressure_mpa: Fact
    exponent_ratio: float
    used_count: int


def decide_pressure(
    *, readings: tuple[SpindleReading, ...], cutters: tuple[Cutter, ...], alloy: str, pressure_mpa: Fact,
    exponent_ratio: float,
) -> Decision[CuttingPressure]:  # fmt: skip
    """The cutting pressure by the readings in this alloy, where they are enough.

    Of fewer than three different cutters they say nothing of those nobody read: the high end and the exponent stay at
    least as written.  Readings that lie apart from the written interval widen it to hold both, and a proof that fails
    says so: nobody knows which of the two is wrong.
    """
    written = CuttingPressure(pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio, used_count=0)
    if not readings:
        return Decision(value=written)
    used = tuple(r for r in readings if r.alloy.strip().casefold() == alloy.strip().casefold())
    if len(used) < READINGS_LEAST:
        return Decision(value=written, proofs=(_too_few(len(used), alloy, pressure_mpa),))
    by_cutter = {c.id: c for c in cutters}
    fit = _fitted(used, by_cutter, exponent_ratio)
    own = _fact(used, fit)
    moved = _at_written_exponent(own, fit, exponent_ratio)
    is_apart = moved.low > pressure_mpa.high or moved.high < pressure_mpa.low
    exponent, fact = fit.exponent_ratio, own
    if is_apart or _cutters_count(used) < CUTTERS_LEAST:
        exponent = exponent_ratio
        fact = msgspec.structs.replace(
            moved, low=min(moved.low, pressure_mpa.low) if is_apart else moved.low,
            high=max(moved.high, pressure_mpa.high), strength=weaker_of(own.strength, pressure_mpa.strength),
            source=own.source + ", and the interval written",
        )  # fmt: skip
    value = CuttingPressure(pressure_mpa=fact, exponent_ratio=exponent, used_count=len(used))
    return Decision(value=value, proofs=(_proof(used, fit, own, moved, pressure_mpa, value, alloy, by_cutter),))


def _cutters_count(used: tuple[SpindleReading, ...]) -> int:
    return len({r.cutter_id for r in used})


def _at_written_exponent(own: Fact, fit: UnitForceFit, exponent_ratio: float) -> Fact:
    """The fit's interval for the exponent written: as wide as both chips at the ends of those used ask for."""
    ratios = [chip ** (exponent_ratio - fit.exponent_ratio) for chip in USED_MM] if fit.is_exponent_fitted else [1.0]
    low, high = round(own.low * min(ratios), 2), round(own.high * max(ratios), 2)
    return msgspec.structs.replace(own, low=low, nominal=min(max(own.nominal, low), high), high=high)


def _fitted(used: tuple[SpindleReading, ...], cutters: dict[str, Cutter], exponent_ratio: float) -> UnitForceFit:
    power = np.array([r.load_mw - r.idle_mw for r in used])
    return fit_unit_force(
        power_mw=power, removal_mm3_per_s=np.array([_removal(r, cutters[r.cutter_id]) for r in used]),
        chip_mm=np.array([_chip(r, cutters[r.cutter_id]) for r in used]),
        step_ratio=np.array([r.step_mw for r in used]) / power, exponent_ratio=exponent_ratio,
    )  # fmt: skip


def _removal(one: SpindleReading, cutter: Cutter) -> float:
    feed = feed_mm_per_s(
        feed_per_tooth_mm=one.tooth_feed_mm, teeth_count=cutter.flutes_count, spindle_rad_per_s=one.speed_rad_per_s
    )
    return removal_rate_mm3_per_s(
        axial_depth_mm=one.axial_mm, radial_engagement_mm=one.radial_mm, table_feed_mm_per_s=feed
    )


def _chip(one: SpindleReading, cutter: Cutter) -> float:
    return mean_chip_thickness_mm(
        feed_per_tooth_mm=one.tooth_feed_mm, radial_engagement_mm=one.radial_mm, diameter_mm=cutter.diameter_mm
    )


def _has_sharp(used: tuple[SpindleReading, ...]) -> bool:
    """A reading of a sharp edge says nothing of a worn one, whatever the readings beside it are of."""
    return any(r.edge == "sharp" for r in used)


def _factors(used: tuple[SpindleReading, ...]) -> tuple[float, float, float]:
    """What of the power above idle reaches the edge, a meter's share of the machine's power, a worn edge, and how well
    width and depth are known: raw faces of one bar are off alike in every reading.
    """
    doubt = max(r.section_error_ratio for r in used)
    share = SHARE_ERROR if any(r.is_share for r in used) else 0.0
    dull = DULL_RATIO if _has_sharp(used) else 1.0
    low = min(r.efficiency_ratio.low for r in used) * (1.0 - share) / (1.0 + doubt)
    nominal = sum(r.efficiency_ratio.nominal for r in used) / len(used)
    return low, nominal, max(r.efficiency_ratio.high for r in used) * (1.0 + share) * dull / (1.0 - doubt)


def _fact(used: tuple[SpindleReading, ...], fit: UnitForceFit) -> Fact:
    low, nominal, high = _factors(used)
    dates = sorted(r.date for r in used)
    # a share of the machine's power, a worn edge that nobody read and an exponent from a table are common practice
    is_bare = any(r.is_share for r in used) or _has_sharp(used) or not fit.is_exponent_fitted
    strength: Strength = "common practice" if is_bare else "measured here"
    for one in used:
        strength = weaker_of(strength, one.efficiency_ratio.strength)
    return Fact(
        low=round(low * fit.low_mpa, 2), nominal=round(nominal * fit.nominal_mpa, 2),
        high=round(high * fit.high_mpa, 2), unit="MPa",
        source=f"shop-file: the shop's own {len(used)} spindle readings, {dates[0]} to {dates[-1]}", strength=strength,
    )  # fmt: skip


def _too_few(count: int, alloy: str, pressure_mpa: Fact) -> Proof:
    return prove(
        id=ID, stage="loads", subject=alloy, claim="the shop's spindle readings and the cutting pressure written agree",
        sense="at most", found_low=None, found_high=None, limit=0.0, unit="ratio", blocks_release=False,
        basis=Basis(
            formula=f"{count} readings in {alloy}; a fit needs {READINGS_LEAST}", source="shop-file",
            inputs={"k_c1.1 as written": pressure_mpa},
        ),
        decides=f"{READINGS_LEAST - count} more readings of the spindle's load in steady side cuts in {alloy}",
    )  # fmt: skip


def _proof(
    used: tuple[SpindleReading, ...], fit: UnitForceFit, own: Fact, moved: Fact, written: Fact, value: CuttingPressure,
    alloy: str, cutters: dict[str, Cutter],
) -> Proof:  # fmt: skip
    apart = max(0.0, moved.low / written.high - 1.0, written.low / moved.high - 1.0)
    count = _cutters_count(used)
    if apart > 0.0:
        taken = "both lie apart, and the interval taken holds both"
    elif count < CUTTERS_LEAST:
        taken = (
            f"{count} of the {CUTTERS_LEAST} different cutters that lower the high end were read: it stays as written "
            "or goes up, and m_c is as written"
        )
    elif own.high > written.high or own.low < written.low:
        taken = "the readings' interval is taken; it reaches beyond what is written"
    else:
        taken = "the readings' interval is taken; it lies within what is written"
    worn = f"; the high end times {DULL_RATIO:g}, as an edge read was sharp" if _has_sharp(used) else ""
    inputs = {"k_c1.1 as written": written, "k_c1.1 of the readings": own}
    if moved.low != own.low or moved.high != own.high:
        inputs["k_c1.1 of the readings at the m_c written"] = moved
    inputs |= {"k_c1.1 taken": value.pressure_mpa}
    inputs["m_c"] = Fact(
        low=fit.exponent_ratio - fit.exponent_error_ratio, nominal=fit.exponent_ratio,
        high=fit.exponent_ratio + fit.exponent_error_ratio, unit="ratio",
        source="own-algorithm" if fit.is_exponent_fitted else "shop-file", strength="assumed",
    )  # fmt: skip
    efficiency = _factors(used)
    inputs["power above idle that reaches the edge, with meter, wear and section"] = Fact(
        low=efficiency[0], nominal=efficiency[1], high=efficiency[2], unit="ratio", source="workshop-practice",
        strength="common practice",
    )  # fmt: skip
    for number, (one, residual) in enumerate(zip(used, fit.residuals, strict=True), start=1):
        chip = _chip(one, cutters[one.cutter_id])
        named = f"reading {number} of {one.date}, {one.cutter_id} on {one.machine_id}"
        power = (one.load_mw - one.idle_mw) / _removal(one, cutters[one.cutter_id])
        step = one.step_mw / (one.load_mw - one.idle_mw)
        inputs[f"{named}: P / Q"] = Fact(
            low=power * (1.0 - step), nominal=power, high=power * (1.0 + step), unit="MPa", source="shop-file",
            strength="measured here",
        )  # fmt: skip
        inputs[f"{named}: h_m"] = exact_fact(chip, "mm", "chip_geometry", "published as quoted")
        inputs[f"{named}: residual"] = exact_fact(residual, "ratio", "own-algorithm", "assumed")
    fitted = "fitted as well" if fit.is_exponent_fitted else "as written: the chips read differ too little to fit it"
    return prove(
        id=ID, stage="loads", subject=alloy, claim="the shop's spindle readings and the cutting pressure written agree",
        sense="at most", found_low=round(apart, 6), found_high=round(apart, 6), limit=0.0, unit="ratio",
        blocks_release=False,
        basis=Basis(
            formula="ln(P / Q) = ln k_c1.1 - m_c ln h_m by least squares, m_c " + fitted + "; half-width of the "
            f"logarithm {fit.half:.3f} from scatter, the meter's step and m_c{worn}; {taken}", source="own-algorithm",
            inputs=inputs,
        ),
        remedy="check alloy, edge, engagement and meter of the readings, and the interval written, before either is "
        "believed",
    )  # fmt: skip
