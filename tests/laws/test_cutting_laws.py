"""Limits, monotony and change of units of the cutting formulas."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.cutting.chip_thickness import (
    light_cut_chip_thickness_mm,
    mean_chip_thickness_mm,
    peak_chip_thickness_mm,
)
from proveout.cutting.deflection import tool_deflection_mm
from proveout.cutting.drilling import drill_thrust_n, drill_torque_n_mm
from proveout.cutting.force_bound import milling_force_bound
from proveout.cutting.power import milling_power_mw, spindle_torque_n_mm
from proveout.cutting.scallop import scallop_height_mm, step_over_mm
from proveout.cutting.specific_force import specific_force_mpa
from proveout.cutting.speeds import feed_mm_per_s
from proveout.cutting.tapping import tap_torque_n_mm
from proveout.cutting.threads import thread_depth_ratio
from proveout.model.fact import spread_fact
from proveout.quantities.errors import OutOfRange
from proveout.quantities.interval import corners

CUT: dict[str, Any] = {
    "unit_force_mpa": 800.0,
    "exponent_ratio": 0.25,
    "axial_depth_mm": 8.0,
    "radial_engagement_mm": 4.0,
    "feed_per_tooth_mm": 0.08,
    "diameter_mm": 10.0,
    "teeth_count": 3,
    "runout_mm": 0.01,
}


def leaning(helix_deg: float) -> dict[str, Any]:
    """A helix that is known."""
    return {"helix_low_rad": math.radians(helix_deg), "helix_high_rad": math.radians(helix_deg)}


def tangential_n(**cut: Any) -> float:
    """Of straight edges."""
    return milling_force_bound(**cut, radial_ratio=0.4, **leaning(0.0)).tangential_n


def force_at(*, turn_rad: float, helix_rad: float, cut: dict[str, Any], runout: float) -> tuple[float, float]:
    """Sum of tangential forces and length of the in-plane sum (k_r 0.4) at one moment, by summing thin discs."""
    theta = math.acos(1.0 - 2.0 * cut["radial_engagement_mm"] / cut["diameter_mm"])
    teeth, discs = cut["teeth_count"], 120
    thin = cut["axial_depth_mm"] / discs
    total = np.zeros(2)
    tangential = 0.0
    for disc in range(discs):
        lag = 2.0 * (disc + 0.5) * thin * math.tan(helix_rad) / cut["diameter_mm"]
        for tooth in range(teeth):
            angle = (turn_rad + 2.0 * math.pi * tooth / teeth - lag) % (2.0 * math.pi)
            if not 0.0 < angle < theta:
                continue
            # eccentric axis: total indicated run-out is twice the eccentricity
            wobble = (
                0.5 * runout * (math.cos(2.0 * math.pi * tooth / teeth) - math.cos(2.0 * math.pi * (tooth - 1) / teeth))
            )
            thickness = cut["feed_per_tooth_mm"] * math.sin(angle) + wobble
            if thickness <= 0.0:
                continue
            force = cut["unit_force_mpa"] * thickness ** (1.0 - cut["exponent_ratio"]) * thin
            tangential += force
            along = np.array([math.cos(angle), math.sin(angle)])
            across = np.array([-math.sin(angle), math.cos(angle)])
            total += force * along + 0.4 * force * across
    return tangential, math.hypot(total[0], total[1])


@pytest.mark.parametrize("engagement_mm", [0.05, 0.5, 2.0, 4.0, 5.0, 8.0, 10.0])
@pytest.mark.parametrize("helix_deg", [0.0, 30.0, 45.0])
def test_the_bound_is_never_below_a_turning_cutter_summed_disc_by_disc(engagement_mm: float, helix_deg: float) -> None:
    cut = {**CUT, "radial_engagement_mm": engagement_mm}
    bound = milling_force_bound(**cut, radial_ratio=0.4, **leaning(helix_deg))
    found = [
        force_at(turn_rad=math.radians(turn), helix_rad=math.radians(helix_deg), cut=cut, runout=0.01)
        for turn in range(0, 360, 5)
    ]
    assert max(tangential for tangential, _ in found) <= bound.tangential_n
    assert max(resultant for _, resultant in found) <= bound.resultant_n


def test_the_bound_is_not_empty_caution() -> None:
    """A straight two-tooth cutter in a half slot meets its bound: one tooth, full chip at 90 degrees."""
    cut = {**CUT, "radial_engagement_mm": 5.0, "teeth_count": 2, "runout_mm": 0.0}
    peak = max(force_at(turn_rad=math.radians(turn), helix_rad=0.0, cut=cut, runout=0.0)[0] for turn in range(80, 90))
    assert peak == pytest.approx(tangential_n(**cut), rel=0.001)


def test_the_force_bound_of_a_cut_worked_by_hand() -> None:
    """Worked: theta = acos(1 - 0.8) = 78.46 deg, under 120 deg: one tooth; h = 0.08 sin 78.46 deg + 0.01 = 0.08838;
    0.08838^0.75 = 0.16210; 8 x 800 x 0.16210 = 1037.4 N; x sqrt(1 + 0.16) = 1117.4; x tan 30 deg = 599.0."""
    found = milling_force_bound(**CUT, radial_ratio=0.4, **leaning(30.0))
    assert found.tangential_n == pytest.approx(1037.4, abs=0.1)
    assert found.resultant_n == pytest.approx(1117.4, abs=0.1)
    assert found.axial_n == pytest.approx(599.0, abs=0.1)


@given(st.sampled_from(["unit_force_mpa", "axial_depth_mm", "feed_per_tooth_mm", "runout_mm"]), st.floats(1.0, 1.5))
def test_the_force_bound_grows_with_what_makes_a_cut_heavier(name: str, factor: float) -> None:
    assert tangential_n(**{**CUT, name: factor * CUT[name]}) >= tangential_n(**CUT)


@given(st.floats(0.05, 9.9), st.floats(0.0, 0.1))
def test_the_force_bound_grows_with_engagement(engagement: float, more: float) -> None:
    less = tangential_n(**{**CUT, "radial_engagement_mm": engagement})
    assert tangential_n(**{**CUT, "radial_engagement_mm": engagement + more}) >= less * (1.0 - 1e-12)


def test_run_out_counts_no_more_than_a_whole_turns_feed() -> None:
    """In a slot, where no tooth can cut wider than it does."""
    slot = {**CUT, "radial_engagement_mm": 10.0}
    huge = tangential_n(**{**slot, "runout_mm": 5.0})
    whole = tangential_n(**{**slot, "runout_mm": 2.0 * CUT["feed_per_tooth_mm"]})
    assert huge == whole
    assert huge > tangential_n(**{**slot, "runout_mm": 0.0})


def test_resultant_and_lift_of_simple_cases() -> None:
    """Worked: 3-4-5; tan 45 deg is 1."""
    steep = milling_force_bound(**CUT, radial_ratio=0.75, **leaning(45.0))
    assert steep.resultant_n == pytest.approx(1.25 * steep.tangential_n)
    assert steep.axial_n == pytest.approx(steep.tangential_n)
    assert milling_force_bound(**CUT, radial_ratio=0.75, **leaning(0.0)).axial_n == 0.0


def test_intervals_of_the_pressure_carry_through_to_the_force() -> None:
    low, high = corners(tangential_n, **{**CUT, "unit_force_mpa": spread_fact(800.0, 0.3, "MPa", "test", "assumed")})
    assert high / low == pytest.approx(1.3 / 0.7)
    assert high == pytest.approx(1.3 * tangential_n(**CUT))


@given(st.floats(0.002, 1.0), st.floats(0.0, 0.5))
def test_a_thinner_chip_is_harder_to_cut_but_takes_less_force(thickness: float, exponent: float) -> None:
    def pressure(h: float) -> float:
        return specific_force_mpa(unit_force_mpa=800.0, exponent_ratio=exponent, chip_thickness_mm=h)

    assert pressure(thickness) <= pressure(0.5 * thickness) * (1.0 + 1e-12)
    assert pressure(thickness) * thickness >= pressure(0.5 * thickness) * 0.5 * thickness


@given(st.floats(0.01, 0.3), st.floats(0.001, 1.0))
def test_mean_chip_is_thinner_than_the_peak_and_the_peak_than_the_feed(feed: float, share: float) -> None:
    given_ = {"feed_per_tooth_mm": feed, "radial_engagement_mm": 10.0 * share, "diameter_mm": 10.0}
    assert mean_chip_thickness_mm(**given_) <= peak_chip_thickness_mm(**given_) <= feed * (1.0 + 1e-12)


def test_the_short_form_meets_the_mean_for_a_very_light_cut() -> None:
    given_ = {"feed_per_tooth_mm": 0.1, "radial_engagement_mm": 1e-4, "diameter_mm": 10.0}
    assert light_cut_chip_thickness_mm(**given_) == pytest.approx(mean_chip_thickness_mm(**given_), rel=1e-4)


@given(st.floats(0.1, 10.0))
def test_lengths_may_be_measured_in_any_unit(scale: float) -> None:
    """Power and torque scale as their units do when a mm is renamed; force coefficients rescale with h^m."""
    given_ = {"axial_depth_mm": 8.0, "radial_engagement_mm": 4.0, "table_feed_mm_per_s": 38.0}
    plain = milling_power_mw(**given_, specific_force_mpa=1720.0, efficiency_ratio=1.0)
    scaled = milling_power_mw(
        **{name: value * scale for name, value in given_.items()},
        specific_force_mpa=1720.0 / scale**2,
        efficiency_ratio=1.0,
    )
    assert scaled == pytest.approx(plain * scale, rel=1e-12)
    bent = {"force_n": 100.0, "stick_out_mm": 40.0, "diameter_mm": 10.0, "elasticity_mpa": 6e5, "diameter_ratio": 0.8}
    rescaled = {**bent, "stick_out_mm": 40.0 * scale, "diameter_mm": 10.0 * scale, "elasticity_mpa": 6e5 / scale**2}
    assert tool_deflection_mm(**rescaled) == pytest.approx(scale * tool_deflection_mm(**bent), rel=1e-12)
    assert scallop_height_mm(radius_mm=5.0 * scale, step_over_mm=scale) == pytest.approx(
        scale * scallop_height_mm(radius_mm=5.0, step_over_mm=1.0), rel=1e-12
    )
    assert thread_depth_ratio(major_mm=6.0 * scale, hole_mm=5.0 * scale, pitch_mm=scale) == pytest.approx(
        thread_depth_ratio(major_mm=6.0, hole_mm=5.0, pitch_mm=1.0), rel=1e-12
    )
    assert tap_torque_n_mm(
        specific_force_mpa=1300.0 / scale**2, form_ratio=1.05, major_mm=6.0 * scale, hole_mm=5.0 * scale
    ) == pytest.approx(
        scale * tap_torque_n_mm(specific_force_mpa=1300.0, form_ratio=1.05, major_mm=6.0, hole_mm=5.0), rel=1e-12
    )


def test_power_and_torque_agree_on_a_second_renamed() -> None:
    """Twice the spindle speed at one feed per tooth: twice the feed, twice the power, one torque."""
    torques = []
    for spindle in (500.0, 1000.0):
        feed = feed_mm_per_s(feed_per_tooth_mm=0.08, teeth_count=3, spindle_rad_per_s=spindle)
        power = milling_power_mw(
            axial_depth_mm=8.0,
            radial_engagement_mm=4.0,
            table_feed_mm_per_s=feed,
            specific_force_mpa=1720.0,
            efficiency_ratio=1.0,
        )
        torques.append(spindle_torque_n_mm(power_mw=power, spindle_rad_per_s=spindle))
    assert torques[0] == pytest.approx(torques[1], rel=1e-12)


@given(st.floats(1.0, 40.0), st.floats(0.01, 0.9))
def test_a_larger_drill_and_a_heavier_feed_push_harder(diameter: float, feed: float) -> None:
    given_ = {"material_ratio": 1.01, "diameter_mm": diameter, "feed_per_turn_mm": feed}
    faster = {**given_, "feed_per_turn_mm": 1.1 * feed}
    assert drill_thrust_n(**faster) > drill_thrust_n(**given_)
    assert drill_torque_n_mm(**faster) > drill_torque_n_mm(**given_)
    assert drill_thrust_n(**{**given_, "feed_per_turn_mm": 0.0}) == 0.0


@given(st.floats(0.5, 20.0), st.floats(0.001, 1.0))
def test_step_over_and_scallop_undo_each_other(radius: float, share: float) -> None:
    step = 2.0 * radius * share
    height = scallop_height_mm(radius_mm=radius, step_over_mm=step)
    assert step_over_mm(radius_mm=radius, scallop_height_mm=height) == pytest.approx(step, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "value"),
    [("radial_engagement_mm", 10.1), ("radial_engagement_mm", 0.0), ("diameter_mm", -1.0), ("axial_depth_mm", -0.1)],
)
def test_a_cut_out_of_bounds_is_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match="out of range"):
        tangential_n(**{**CUT, name: value})
