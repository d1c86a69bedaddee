"""The bounds on a turning cutter against the forces summed up turn by turn, against single cuts, and in proportion."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from proveout.cutting.chip_thickness import engagement_angle_rad, mean_chip_thickness_mm
from proveout.cutting.deflection import stepped_deflections_mm, tool_deflection_mm
from proveout.cutting.edge_coefficients import AL_6000, AL_7000, DULL_EDGE_RATIO, coefficients_of
from proveout.cutting.mechanistic import EdgeCoefficients, mean_slot_forces_n, turning_forces_n
from proveout.cutting.power import milling_power_mw
from proveout.cutting.specific_force import specific_force_mpa
from proveout.cutting.turning import (
    TurnForces,
    TurnMeans,
    arcs_rad,
    engagements_of_mm,
    linear_edge_model,
    peak_chips_mm,
    power_law_model,
    turn_forces_n,
    turn_means_n,
)

HELIX = math.radians(30.0)
KIENZLE = power_law_model(unit_force_mpa=800.0, exponent_ratio=0.25, radial_ratio=0.6, axial_ratio=1.0)
DULL = AL_6000.dull


def leaning(helix_rad: float) -> dict[str, float]:
    """A helix that is known."""
    return {"helix_low_rad": helix_rad, "helix_high_rad": helix_rad}


def forces(model: Any, axial: float, radial: float, feed: float, **more: Any) -> TurnForces:
    given_: dict[str, Any] = {
        "diameter_mm": 10.0, "teeth_count": 3, "runout_mm": 0.0, "edge_ratio": np.ones(1),
        "helix_low_rad": HELIX, "helix_high_rad": HELIX, **more,
    }  # fmt: skip
    return turn_forces_n(
        model=model, axial_mm=np.array([axial]), radial_mm=np.array([radial]), tooth_feed_mm=np.array([feed]), **given_
    )


def means(model: Any, axial: float, radial: float, feed: float, **more: Any) -> TurnMeans:
    given_: dict[str, Any] = {"diameter_mm": 10.0, "teeth_count": 3, "edge_ratio": np.ones(1), **more}
    return turn_means_n(
        model=model, axial_mm=np.array([axial]), radial_mm=np.array([radial]), tooth_feed_mm=np.array([feed]), **given_
    )


cuts = st.fixed_dictionaries(
    {
        "axial": st.floats(0.1, 20.0), "share": st.floats(0.005, 1.0), "feed": st.floats(0.005, 0.2),
        "diameter": st.floats(2.0, 25.0), "teeth": st.integers(1, 6), "helix_deg": st.floats(0.0, 50.0),
        "runout": st.floats(0.0, 0.03), "is_up": st.booleans(),
    }
)  # fmt: skip


# worked in test_engaged_length.py: at 30 deg one tooth is in this cut, at 35.4 deg two, at 45 deg each over less
TALL_AND_THIN = {
    "axial": 16.0, "share": 0.005, "feed": 0.02, "diameter": 10.0, "teeth": 3, "helix_deg": 30.0, "runout": 0.01,
    "is_up": True,
}  # fmt: skip


@settings(max_examples=150, deadline=None)
@example(cut=TALL_AND_THIN, wider_deg=15.0, place=0.36)
@given(cut=cuts, wider_deg=st.sampled_from([0.0, 5.0, 15.0]), place=st.floats(0.0, 1.0))
def test_no_turn_of_the_linear_edge_has_more_than_the_bound(
    cut: dict[str, Any], wider_deg: float, place: float
) -> None:
    """Summed up by thin slices over a turn, up and down milling, one tooth standing out, the helix anywhere between."""
    radial = cut["share"] * cut["diameter"]
    theta = engagement_angle_rad(radial_engagement_mm=radial, diameter_mm=cut["diameter"])
    helix = math.radians(cut["helix_deg"] + wider_deg * place)
    lean = math.tan(helix)
    # slices so thin that the height in the cut at once holds thirty; a slice counts whole where its middle is in it,
    # and two stretches of edge can so be in at once
    slices = 30.0 * max(1.0, cut["axial"] * lean / (cut["diameter"] / 2.0 * theta))
    assume(slices < 1200.0)
    start, end = (0.0, theta) if cut["is_up"] else (math.pi - theta, math.pi)
    turning = turning_forces_n(
        axial_depth_mm=cut["axial"], diameter_mm=cut["diameter"], feed_per_tooth_mm=cut["feed"],
        teeth_count=cut["teeth"], start_rad=start, exit_rad=min(end, math.pi), helix_rad=helix,
        # no tooth can take more than all of them together feed
        runout_mm=min(cut["runout"], (cut["teeth"] - 1) * cut["feed"] * math.sin(min(theta, math.pi / 2.0))),
        coefficients=DULL, angles_count=180, heights_count=math.ceil(slices),
    )  # fmt: skip
    found = forces(
        linear_edge_model(DULL), cut["axial"], radial, cut["feed"], diameter_mm=cut["diameter"],
        teeth_count=cut["teeth"], runout_mm=cut["runout"], helix_low_rad=math.radians(cut["helix_deg"]),
        helix_high_rad=math.radians(cut["helix_deg"] + wider_deg),
    )  # fmt: skip
    slack = 1.0 + 1.0 / 15.0 + 1e-9
    assert turning[:, 3].max() <= found.tangential_n[0] * slack
    assert np.hypot(turning[:, 0], turning[:, 1]).max() <= found.across_n[0] * slack
    assert turning[:, 2].max() <= found.axial_n[0] * slack


def test_a_straight_edge_meets_its_bound() -> None:
    """Worked. One tooth in a half slot, 2 deep: at its deepest 2 (K_tc 0.05 + K_te), and no more."""
    found = forces(linear_edge_model(DULL), 2.0, 5.0, 0.05, teeth_count=1, **leaning(0.0))
    worked = 2.0 * (DULL.tangential_mpa * 0.05 + DULL.edge_tangential_n_per_mm)
    assert found.tangential_n[0] == pytest.approx(worked)
    turning = turning_forces_n(
        axial_depth_mm=2.0, diameter_mm=10.0, feed_per_tooth_mm=0.05, teeth_count=1, start_rad=0.0,
        exit_rad=math.pi / 2.0, helix_rad=0.0, runout_mm=0.0, coefficients=DULL, angles_count=3600,
    )  # fmt: skip
    assert turning[:, 3].max() == pytest.approx(worked, rel=1e-4)


@given(depth=st.floats(0.2, 8.0), feed=st.floats(0.01, 0.2), teeth=st.integers(1, 6))
def test_the_means_are_those_of_a_slot_and_of_the_power(depth: float, feed: float, teeth: int) -> None:
    """By the linear edge those of the slot: N a (K c / pi + K_e / 2) each way; by pressure that of the power."""
    k = AL_7000.dull
    found = means(linear_edge_model(k), depth, 10.0, feed, teeth_count=teeth)
    for name in ("tangential", "radial", "axial"):
        worked = teeth * depth * (
            getattr(k, f"{name}_mpa") * feed / math.pi + getattr(k, f"edge_{name}_n_per_mm") / 2.0
        )  # fmt: skip
        assert getattr(found, f"{name}_n")[0] == pytest.approx(worked, rel=1e-9)
    # along the axis that is the third of the slot's closed forms
    along = mean_slot_forces_n(axial_depth_mm=depth, feed_per_tooth_mm=feed, teeth_count=teeth, coefficients=k)
    assert along[2] == pytest.approx(found.axial_n[0], rel=1e-9)
    by_pressure = means(KIENZLE, depth, 4.0, feed, teeth_count=teeth).tangential_n[0]
    chip = mean_chip_thickness_mm(feed_per_tooth_mm=feed, radial_engagement_mm=4.0, diameter_mm=10.0)
    power = milling_power_mw(
        axial_depth_mm=depth, radial_engagement_mm=4.0, table_feed_mm_per_s=feed * teeth * 100.0,
        specific_force_mpa=specific_force_mpa(unit_force_mpa=800.0, exponent_ratio=0.25, chip_thickness_mm=chip),
        efficiency_ratio=1.0,
    )  # fmt: skip
    assert by_pressure * 5.0 * 2.0 * math.pi * 100.0 == pytest.approx(power, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(cut=cuts)
def test_the_means_are_those_of_a_turn_summed_up(cut: dict[str, Any]) -> None:
    """By thin slices over a turn, at any width and helix, up and down milling; run-out only moves chips about."""
    radial = cut["share"] * cut["diameter"]
    theta = engagement_angle_rad(radial_engagement_mm=radial, diameter_mm=cut["diameter"])
    start, end = (0.0, theta) if cut["is_up"] else (math.pi - theta, math.pi)
    turning = turning_forces_n(
        axial_depth_mm=cut["axial"], diameter_mm=cut["diameter"], feed_per_tooth_mm=cut["feed"],
        teeth_count=cut["teeth"], start_rad=start, exit_rad=min(end, math.pi),
        helix_rad=math.radians(cut["helix_deg"]), runout_mm=0.0, coefficients=DULL,
        angles_count=math.ceil(2.0 * math.pi * 100.0 / theta), heights_count=7,
    )  # fmt: skip
    found = means(
        linear_edge_model(DULL), cut["axial"], radial, cut["feed"], diameter_mm=cut["diameter"],
        teeth_count=cut["teeth"],
    )  # fmt: skip
    # the arc holds a hundred places, give or take the one at its end
    assert turning[:, 3].mean() == pytest.approx(found.tangential_n[0], rel=0.025)
    assert turning[:, 2].mean() == pytest.approx(found.axial_n[0], rel=0.025)


@given(cut=cuts)
def test_no_mean_is_above_its_peak_and_a_law_that_bends_down_has_no_more_than_told(cut: dict[str, Any]) -> None:
    radial = cut["share"] * cut["diameter"]
    size = {"diameter_mm": cut["diameter"], "teeth_count": cut["teeth"]}
    for model in (linear_edge_model(DULL), KIENZLE):
        mean = means(model, cut["axial"], radial, cut["feed"], **size)
        peak = forces(
            model, cut["axial"], radial, cut["feed"], runout_mm=cut["runout"],
            **leaning(math.radians(cut["helix_deg"])), **size,
        )  # fmt: skip
        for name in ("tangential_n", "radial_n", "axial_n"):
            assert getattr(mean, name)[0] <= getattr(peak, name)[0] * (1.0 + 1e-9)
    # summed up over the arc, tooth by tooth: the mean of k h^0.75 is no more than that of the mean chip
    theta = engagement_angle_rad(radial_engagement_mm=radial, diameter_mm=cut["diameter"])
    chips = cut["feed"] * np.sin((np.arange(2000) + 0.5) / 2000.0 * theta)
    summed = cut["teeth"] * cut["axial"] * theta / (2.0 * math.pi) * float((800.0 * chips**0.75).mean())
    told = means(KIENZLE, cut["axial"], radial, cut["feed"], **size).tangential_n[0]
    assert summed <= told * (1.0 + 1e-6)
    assert told <= 1.08 * summed  # a quarter bend costs a few per cent, no more


@given(scale=st.floats(0.2, 5.0), cut=cuts)
def test_forces_grow_as_areas_do_and_in_proportion_with_coefficients(scale: float, cut: dict[str, Any]) -> None:
    """All lengths times s: chip forces times s^2 where the chip is thick enough, edge forces times s."""
    radial = cut["share"] * cut["diameter"]
    chips_only = EdgeCoefficients(
        tangential_mpa=700.0, radial_mpa=200.0, axial_mpa=100.0, edge_tangential_n_per_mm=0.0, edge_radial_n_per_mm=0.0,
        edge_axial_n_per_mm=0.0,
    )  # fmt: skip
    given_: dict[str, Any] = {"teeth_count": cut["teeth"], **leaning(math.radians(cut["helix_deg"]))}
    one = forces(
        linear_edge_model(chips_only), cut["axial"], radial, cut["feed"], diameter_mm=cut["diameter"],
        runout_mm=cut["runout"] + 0.01, **given_,
    )  # fmt: skip
    large = forces(
        linear_edge_model(chips_only), cut["axial"] * scale, radial * scale, cut["feed"] * scale,
        diameter_mm=cut["diameter"] * scale, runout_mm=(cut["runout"] + 0.01) * scale, **given_,
    )  # fmt: skip
    if min(cut["feed"] * min(cut["share"], 0.5) ** 0.5, 0.01) * min(scale, 1.0) > 0.002:  # above the thinnest chip
        for name in ("tangential_n", "radial_n", "across_n", "axial_n"):
            assert getattr(large, name)[0] == pytest.approx(getattr(one, name)[0] * scale**2, rel=1e-6)
    double = EdgeCoefficients(**{n: 2.0 * getattr(chips_only, n) for n in chips_only.__struct_fields__})
    twice = forces(
        linear_edge_model(double), cut["axial"], radial, cut["feed"], diameter_mm=cut["diameter"],
        runout_mm=cut["runout"] + 0.01, **given_,
    )  # fmt: skip
    assert twice.across_n[0] == pytest.approx(2.0 * one.across_n[0])


@given(cut=cuts, name=st.sampled_from(["axial", "share", "feed", "runout"]), more=st.floats(1.0, 1.3))
def test_a_heavier_cut_never_has_less(cut: dict[str, Any], name: str, more: float) -> None:
    def at(given_: dict[str, Any]) -> TurnForces:
        return forces(
            linear_edge_model(DULL), given_["axial"], min(1.0, given_["share"]) * given_["diameter"], given_["feed"],
            diameter_mm=given_["diameter"], teeth_count=given_["teeth"], runout_mm=given_["runout"],
            **leaning(math.radians(given_["helix_deg"])),
        )  # fmt: skip

    less, heavy = at(cut), at({**cut, name: cut[name] * more})
    for quantity in ("tangential_n", "radial_n", "across_n", "axial_n"):
        assert getattr(heavy, quantity)[0] >= getattr(less, quantity)[0] * (1.0 - 1e-9)
    for model in (linear_edge_model(DULL), KIENZLE):
        mean = [
            means(
                model, one["axial"], min(1.0, one["share"]) * one["diameter"], one["feed"],
                diameter_mm=one["diameter"], teeth_count=one["teeth"],
            )
            for one in (cut, {**cut, name: cut[name] * more})
        ]  # fmt: skip
        for quantity in ("tangential_n", "radial_n", "axial_n"):
            assert getattr(mean[1], quantity)[0] >= getattr(mean[0], quantity)[0] * (1.0 - 1e-9)


@settings(max_examples=200)
@given(
    axial_most=st.floats(0.1, 20.0), radial_most=st.floats(0.05, 10.0), share=st.floats(0.001, 1.0),
    place=st.floats(0.0, 1.0), feed=st.floats(0.01, 0.2), teeth=st.integers(1, 5),
)  # fmt: skip
def test_every_rectangle_of_a_section_is_within_one_of_the_pairs(
    axial_most: float, radial_most: float, share: float, place: float, feed: float, teeth: int
) -> None:
    """A cut of that section of any width that the bounds allow pushes no harder than the hardest of the pairs."""
    section = share * axial_most * radial_most
    depths, widths = engagements_of_mm(
        section_mm2=np.array([section]), axial_most_mm=np.array([axial_most]), radial_most_mm=np.array([radial_most])
    )
    narrow = section / axial_most
    width = narrow * (radial_most / narrow) ** place
    depth = section / width
    assert np.any((depths[:, 0] >= depth * (1.0 - 1e-9)) & (widths[:, 0] >= width * (1.0 - 1e-9)))
    assert depths.max() <= axial_most * (1.0 + 1e-9)
    assert widths.max() <= radial_most * (1.0 + 1e-9)
    of_pairs = [
        forces(KIENZLE, d, w, feed, teeth_count=teeth, runout_mm=0.02).across_n[0]
        for d, w in zip(depths[:, 0], widths[:, 0], strict=True)
    ]
    assert forces(KIENZLE, depth, width, feed, teeth_count=teeth, runout_mm=0.02).across_n[0] <= max(of_pairs) * (
        1.0 + 1e-9
    )


def test_run_out_gives_a_tooth_all_that_the_teeth_feed_at_most() -> None:
    """Worked. f_z 0.05 in a slot: 0.05 + 0.02; two teeth of 0.01 feed 0.02 together, no run-out makes it 0.03."""

    def chip(feed: float, teeth: int) -> float:
        return float(
            peak_chips_mm(
                tooth_feed_mm=np.array([feed]), radial_mm=np.array([10.0]), diameter_mm=10.0, teeth_count=teeth,
                runout_mm=0.02,
            )[0]
        )  # fmt: skip

    assert chip(0.05, 3) == pytest.approx(0.07)
    assert chip(0.01, 2) == pytest.approx(0.02)
    assert arcs_rad(radial_mm=np.array([5.0, 12.0]), diameter_mm=10.0) == pytest.approx([math.pi / 2.0, math.pi])


@given(flutes=st.floats(0.0, 60.0), shank=st.floats(3.0, 20.0), out=st.floats(5.0, 60.0))
def test_a_stepped_cutter_bends_between_its_two_bars(flutes: float, shank: float, out: float) -> None:
    """Worked: 100 N on 40 mm of plain 10 mm bends 7.243 um at 600 GPa; a cutter of one diameter is that bar."""

    def bent(fluted: float, core: float, body: float) -> float:
        return float(
            stepped_deflections_mm(
                force_n=np.array([100.0]), stick_out_mm=out, flute_length_mm=fluted, diameter_mm=core,
                shank_diameter_mm=body, elasticity_mpa=6e5, diameter_ratio=1.0,
            )[0]
        )  # fmt: skip

    plain = [
        tool_deflection_mm(force_n=100.0, stick_out_mm=out, diameter_mm=d, elasticity_mpa=6e5, diameter_ratio=1.0)
        for d in (8.0, shank)
    ]
    assert min(plain) * (1 - 1e-9) <= bent(flutes, 8.0, shank) <= max(plain) * (1 + 1e-9)
    assert bent(out, 8.0, shank) == pytest.approx(plain[0])
    assert bent(0.0, 8.0, shank) == pytest.approx(plain[1])
    assert stepped_deflections_mm(
        force_n=np.array([100.0]), stick_out_mm=40.0, flute_length_mm=20.0, diameter_mm=10.0, shank_diameter_mm=10.0,
        elasticity_mpa=6e5, diameter_ratio=1.0,
    ) == pytest.approx(7.243e-3, rel=1e-3)  # fmt: skip


def test_families_of_alloys_and_their_ends() -> None:
    """Worked. 6082: 631 by 1.3 is 820.3; its edge 13 by 1.3 and by 2 for a dull one is 33.8."""
    six = coefficients_of(("6061-T6", "6082"))
    assert six is not None
    assert six is AL_6000
    assert six.dull.tangential_mpa == pytest.approx(820.3)
    assert six.dull.edge_tangential_n_per_mm == pytest.approx(13.0 * 1.3 * DULL_EDGE_RATIO)
    assert six.sharp.tangential_mpa == 243.77
    assert coefficients_of(("EN AW-7075",)) is AL_7000
    assert coefficients_of(()) is None
    assert coefficients_of(("6061-T6", "C360")) is None
    both = coefficients_of(("6061-T6", "7075-T6"))
    assert both is not None
    assert (both.sharp.tangential_mpa, both.dull.tangential_mpa) == (243.77, 1319.41)
