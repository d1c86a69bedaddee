"""Speed, feed and depth of passes whose cutter leaves them to the plan: worked by hand, and as they are laid."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest

from proveout.cutting.engaged_length import HELIX_HIGH_RAD, HELIX_LOW_RAD
from proveout.cutting.force_bound import milling_force_bound
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.pace import AS_PLANNED, BENT, DEEPEST, OWN_FEED, PITCH, POWER, THICK, TOP_SPEED
from proveout.model.shop import Cutter, Machine
from proveout.stages.passes.pacing import Metal, Pacer, bent_most_mm, deepest_of
from proveout.stages.passes.swift import swift_pieces

# of a family without published coefficients: the pressure alone counts, its high end
PRESSURE = Fact(low=600.0, nominal=800.0, high=1000.0, unit="MPa", source="test", strength="assumed")
METAL = Metal(pressure_mpa=PRESSURE, exponent_ratio=0.25, coefficients=None)


def pacer(tool: Cutter, machine: Machine, limits: Limits | None = None) -> Pacer:
    return Pacer(cutter=tool, machine=machine, limits=limits or Limits(), clamping_id="op1", metal=METAL)


def ranged(kit: Any, **more: Any) -> Cutter:
    """Ø12, three edges, 400 to 1200 rad/s, chips of 0.02 to 0.06; its neck as stiff as its flutes."""
    values: dict[str, Any] = {
        "cutting_speed_low_mm_per_s": 2400.0, "cutting_speed_mm_per_s": 7200.0, "chip_low_mm": 0.02,
        "tooth_feed_mm": 0.06, "shank_diameter_mm": 9.6, **more,
    }  # fmt: skip
    tool: Cutter = kit.cutter("EM12", "end mill", 12.0, **values)
    return tool


def force(radial: float, axial: float, feed: float) -> Any:
    return milling_force_bound(
        unit_force_mpa=1000.0, exponent_ratio=0.25, axial_depth_mm=axial, radial_engagement_mm=radial,
        feed_per_tooth_mm=feed, diameter_mm=12.0, teeth_count=3, runout_mm=0.02, radial_ratio=0.6,
        helix_low_rad=HELIX_LOW_RAD, helix_high_rad=HELIX_HIGH_RAD,
    )  # fmt: skip


def test_a_level_runs_at_full_depth_where_nothing_stops_it(kit: Any) -> None:
    """Worked. Spindle 1047 rad/s; a_e 3 of 12: f_z = 0.06 / (2 sqrt(3/16)) = 0.06928; 0.06928 3 1047 / 2 pi = 34.63.

    The slot goes at six tenths of that, 20.78; down ramps no chip is thicker than 0.06: 29.99 mm/s, at half of it.
    """
    speeds, deep = pacer(ranged(kit), kit.MACHINE).level(radial_mm=3.0, most_mm=4.0)
    assert deep == 4.0
    assert (speeds.speed_rad_per_s, speeds.tooth_feed_mm) == (1047.0, pytest.approx(0.069282, abs=1e-6))
    assert speeds.feed_mm_per_s == pytest.approx(34.634, abs=2e-3)
    assert speeds.slot_mm_per_s == pytest.approx(20.780, abs=2e-3)
    assert speeds.ramp_mm_per_s == pytest.approx(29.994 / 2.0, abs=2e-3)
    pace = speeds.pace
    assert pace is not None
    assert (pace.speed_by, pace.feed_by, pace.depth_by) == (TOP_SPEED, THICK, AS_PLANNED)
    assert (pace.axial_ratio, pace.feed_floor_ratio) == (pytest.approx(1.0 / 3.0), pytest.approx(1.0 / 3.0))


def test_a_level_is_as_deep_as_the_power_carries(kit: Any) -> None:
    """The depth found asks for exactly what 2 kW carry at its own speed, by the bound on a single cut."""
    weak = msgspec.structs.replace(kit.MACHINE, power_mw=2e6)
    kept = ranged(kit, cutting_speed_low_mm_per_s=None)
    speeds, deep = pacer(kept, weak).level(radial_mm=6.0, most_mm=12.0)
    assert speeds.pace is not None
    assert speeds.pace.depth_by == POWER
    assert 0.24 < deep < 12.0
    torque = force(6.0, deep, speeds.tooth_feed_mm).tangential_n * 6.0
    assert torque * speeds.speed_rad_per_s / 0.75 == pytest.approx(2e6, rel=1e-6)


def test_a_wall_is_finished_with_the_feed_at_which_the_cutter_bends_as_far_as_it_may(kit: Any) -> None:
    """Worked. delta = 3 F L^3 / (3 E I): L 36, I = pi 9.6^4 / 64 = 416.92 mm4, E 210 000; at most 0.25 mm here.

    One step of 10 mm, 0.3 wide: the thinnest chip bends it less than that and the thickest more.
    """
    tool, limit = ranged(kit), 0.25
    speeds, step = pacer(tool, kit.MACHINE).wall(
        tall_mm=10.0, step_mm=24.0, radial_mm=0.3, wide_mm=0.4, bent_most_mm=limit
    )
    second_moment = math.pi * 9.6**4 / 64.0

    def bent(axial: float, feed: float) -> float:
        return 3.0 * float(force(0.3, axial, feed).resultant_n) * 36.0**3 / (3.0 * 210_000.0 * second_moment)

    narrow, wide = (1.0 / (2.0 * math.sqrt(w / 12.0 - (w / 12.0) ** 2)) for w in (0.3, 0.4))
    assert bent(10.0, 0.02 * narrow) < limit < bent(10.0, 0.06 * wide)
    assert step == 10.0
    assert speeds.pace is not None
    assert speeds.pace.feed_by == BENT
    assert bent(10.0, speeds.tooth_feed_mm) == pytest.approx(limit, rel=1e-6)
    # where the wall is met more widely, no chip is thicker than the thickest
    flat = min(0.06, speeds.tooth_feed_mm) * 3.0 * speeds.speed_rad_per_s / (2.0 * math.pi)
    assert speeds.feed_mm_per_s == pytest.approx(flat)


def test_a_wall_that_bends_the_cutter_little_is_finished_at_the_thickest_chip(kit: Any) -> None:
    """Worked. a_e 0.4 of 12: f_z = 0.06 / (2 sqrt(1/30 - 1/900)) = 0.16713; 83.5 mm/s swiftly, 30.0 where wider."""
    speeds, _ = pacer(ranged(kit), kit.MACHINE).wall(
        tall_mm=10.0, step_mm=24.0, radial_mm=0.3, wide_mm=0.4, bent_most_mm=9.0
    )
    assert speeds.pace is not None
    assert speeds.pace.feed_by == THICK
    assert speeds.tooth_feed_mm == pytest.approx(0.16713, abs=1e-5)
    assert (speeds.feed_mm_per_s, speeds.swift_mm_per_s) == (
        pytest.approx(29.99, abs=0.01),
        pytest.approx(83.55, abs=0.01),
    )


def test_a_strip_is_run_swiftly_by_its_thin_chip(kit: Any) -> None:
    """Worked. As the wall of 0.4: 83.55 mm/s of the table, 29.99 where more is met."""
    speeds = pacer(ranged(kit), kit.MACHINE).strip(wide_mm=0.4, axial_mm=0.03)
    assert (speeds.feed_mm_per_s, speeds.swift_mm_per_s) == (
        pytest.approx(29.99, abs=0.01),
        pytest.approx(83.55, abs=0.01),
    )
    wide = pacer(ranged(kit), kit.MACHINE).strip(wide_mm=6.0, axial_mm=0.03)
    assert (wide.feed_mm_per_s, wide.swift_mm_per_s) == (pytest.approx(29.99, abs=0.01), None)


def test_more_steps_down_a_wall_are_taken_only_where_they_are_quicker(kit: Any) -> None:
    """Nothing as deep as 10 mm bends it little enough; shallower steps do, and their depth is what bending allows."""
    tool = ranged(kit)
    speeds, step = pacer(tool, kit.MACHINE).wall(
        tall_mm=10.0, step_mm=24.0, radial_mm=0.3, wide_mm=0.4, bent_most_mm=0.15
    )
    assert speeds.pace is not None
    assert (speeds.pace.depth_by, speeds.pace.bent_over_mm) == (BENT, None)
    assert step < 10.0
    assert (10.0 / step) == pytest.approx(round(10.0 / step))


def test_a_wall_without_a_size_is_not_divided_into_more_steps(kit: Any) -> None:
    """As above, but nobody wrote a size: one step, at the thinnest chip, and it is said that bending stopped it."""
    speeds, step = pacer(ranged(kit), kit.MACHINE).wall(
        tall_mm=10.0, step_mm=24.0, radial_mm=0.3, wide_mm=0.4, bent_most_mm=0.15, may_divide=False
    )
    assert speeds.pace is not None
    assert (step, speeds.pace.feed_by, speeds.pace.depth_by) == (10.0, BENT, AS_PLANNED)
    assert speeds.pace.bent_over_mm == 0.15
    # 0.3 of 12 wide: 0.02 / (2 sqrt(0.025 - 0.025^2))
    assert speeds.tooth_feed_mm == pytest.approx(0.064051, abs=1e-5)


@pytest.mark.parametrize("may_divide", [True, False])
def test_bending_that_no_chip_and_no_step_holds_is_said(kit: Any, *, may_divide: bool) -> None:
    """A hundredth of a millimetre: not even the thinnest chip at a tenth of the diameter holds it.

    A cutter with one feed has nothing to choose: of it nothing is said here.
    """
    given = {"tall_mm": 10.0, "step_mm": 24.0, "radial_mm": 0.3, "wide_mm": 0.4, "bent_most_mm": 0.01}
    speeds, _ = pacer(ranged(kit), kit.MACHINE).wall(may_divide=may_divide, **given)
    assert speeds.pace is not None
    assert (speeds.pace.bent_over_mm, speeds.pace.feed_by) == (0.01, BENT)
    assert speeds.tooth_feed_mm == pytest.approx(0.064051, abs=1e-5)
    kept, _ = pacer(ranged(kit, chip_low_mm=None), kit.MACHINE).wall(may_divide=may_divide, **given)
    assert kept.pace is not None
    assert kept.pace.bent_over_mm is None


def test_the_least_of_sizes_and_of_what_is_left_says_how_far_a_cutter_may_bend() -> None:
    assert bent_most_mm(("a", "b"), {"a": 0.2, "c": 0.02}, left_mm=0.3) == (pytest.approx(0.1), True)
    assert bent_most_mm(("a",), {}, left_mm=0.3) == (0.3, False)


def test_the_owners_deepest_and_kept_feeds_are_told(kit: Any) -> None:
    tool = ranged(kit, axial_max_mm=9.0)
    assert deepest_of(tool, 6.0) == (9.0, DEEPEST)
    assert deepest_of(ranged(kit), 6.0) == (6.0, AS_PLANNED)
    kept = pacer(ranged(kit, chip_low_mm=None), kit.MACHINE).stage(radial_mm=6.0, axial_mm=0.2, axial_ratio=0.0)
    assert kept.pace is not None
    assert (kept.tooth_feed_mm, kept.pace.feed_by) == (0.06, OWN_FEED)


def test_limits_in_force_lower_the_feed_and_no_limit_raises_it(kit: Any) -> None:
    """Worked. Half the feed of a floor: 0.03; a stage that is eased by its depth alone keeps 0.06."""
    floor = pacer(ranged(kit), kit.MACHINE, Limits(feed_ratio={"op1": 0.5, "op1/EM12": 0.7}))
    half = floor.stage(radial_mm=7.2, axial_mm=0.2, axial_ratio=0.0, limit="feed_ratio")
    assert half.tooth_feed_mm == pytest.approx(0.03)
    assert floor.stage(radial_mm=7.2, axial_mm=0.2, axial_ratio=0.0).tooth_feed_mm == pytest.approx(0.06)


def test_easing_slows_the_wide_cut_and_the_ramp_as_much_as_the_narrow_one(kit: Any) -> None:
    """Worked. Half of 0.06 at 1047 rad/s: 29.99 / 2 = 15.00 mm/s where wide, 7.50 down ramps, 83.55 / 2 swiftly.

    At the floor, a third, 10.00: the thinnest chip, 0.02, and no easing goes on from there.
    """
    for share in (1.0, 0.5, 1.0 / 3.0):
        eased = pacer(ranged(kit), kit.MACHINE, Limits(wall_feed_ratio={"op1": share}, feed_ratio={"op1": share}))
        wall, _ = eased.wall(tall_mm=10.0, step_mm=24.0, radial_mm=0.3, wide_mm=0.4, bent_most_mm=9.0)
        for speeds in (wall, eased.strip(wide_mm=0.4, axial_mm=0.03)):
            assert speeds.swift_mm_per_s == pytest.approx(83.55 * share, abs=0.01)
            assert speeds.feed_mm_per_s == pytest.approx(29.994 * share, abs=0.01)
            assert speeds.ramp_mm_per_s == pytest.approx(14.997 * share, abs=0.01)
            assert speeds.slot_mm_per_s == pytest.approx(29.994 * share, abs=0.01)
    assert wall.pace is not None
    assert wall.pace.feed_floor_ratio == pytest.approx(1.0 / 3.0)


def test_a_drill_and_a_tap_run_as_fast_as_the_spindle_turns_them(kit: Any) -> None:
    """Worked. A drill Ø8.5, 0.05 a tooth: 1.313 8.5^2 (0.63 + 16.84 0.1) / 100 = 2.195 N m; 0.5 kW 0.75 / 2.195 N m.

    170.8 rad/s. A tap of pitch 1 keeps it: 300 rad/s are 47.75 mm/s, 150 where the machine feeds 23.87.
    """
    weak = msgspec.structs.replace(kit.MACHINE, power_mw=0.5e6)
    drill = msgspec.structs.replace(
        kit.drill(8.5), cutting_speed_low_mm_per_s=100.0, cutting_speed_mm_per_s=1500.0, tooth_feed_mm=0.05
    )
    found = pacer(drill, weak).other(limit="feed_ratio")
    assert found.pace is not None
    assert found.speed_rad_per_s == pytest.approx(375.0 / 2.19531, rel=1e-4)
    assert (found.pace.speed_by, found.pace.feed_by) == (POWER, OWN_FEED)
    tap = kit.cutter("TM6", "tap", 6.0, pitch_mm=1.0, cutting_speed_mm_per_s=900.0, cutting_speed_low_mm_per_s=90.0)
    turned = pacer(tap, kit.MACHINE).other(limit="feed_ratio")
    assert turned.pace is not None
    assert (turned.speed_rad_per_s, turned.pace.feed_by) == (300.0, PITCH)
    slow = msgspec.structs.replace(kit.MACHINE, feed_max_mm_per_s=23.873)
    assert pacer(tap, slow).other(limit=None).speed_rad_per_s == pytest.approx(150.0, abs=1e-2)


def test_a_wall_is_run_swiftly_only_where_no_more_is_met_than_is_left_on_it() -> None:
    """A wall along y = 0 with 0.3 mm left on it, on the right of a cutter of Ø10; a block stands from x = 60 on.

    The block is met when the cutter's edge comes to it, 5 mm before, and slow begins a radius earlier than that.
    """
    from proveout.stages.passes.areas import area_of

    strip = np.array([[0.0, -1.0], [100.0, -1.0], [100.0, 0.3], [0.0, 0.3]])
    block = np.array([[60.0, 0.3], [70.0, 0.3], [70.0, 20.0], [60.0, 20.0]])
    line = np.array([[0.0, 5.0], [40.0, 5.0], [100.0, 5.0]])
    alone = swift_pieces(line, metal=area_of([strip]), radius_mm=5.0, wide_mm=0.4)
    assert [swift for _, swift in alone] == [True]
    met = swift_pieces(line, metal=area_of([strip]) + area_of([block]), radius_mm=5.0, wide_mm=0.4)
    assert [swift for _, swift in met] == [True, False, True]
    (first, _), (slow, _), (last, _) = met
    assert np.array_equal(first[-1], slow[0])
    assert np.array_equal(slow[-1], last[0])
    assert np.array_equal(first[0], line[0])
    assert np.array_equal(last[-1], line[-1])
    assert 45.0 < slow[0, 0] < 50.5
    assert 70.0 < slow[-1, 0] < 80.0
    # the other way along it the wall lies on the left
    back = swift_pieces(
        line[::-1], metal=area_of([strip]) + area_of([block]), radius_mm=5.0, wide_mm=0.4, is_on_right=False
    )
    assert [swift for _, swift in back] == [True, False, True]
    assert [swift for _, swift in swift_pieces(line[::-1], metal=area_of([strip]), radius_mm=5.0, wide_mm=0.4)] == [
        False
    ]
    # more left on the wall than the feed was chosen for is met slowly, all along
    thick = strip + np.array([[0.0, 0.0], [0.0, 0.0], [0.0, 0.5], [0.0, 0.5]])
    assert [swift for _, swift in swift_pieces(line, metal=area_of([thick]), radius_mm=5.0, wide_mm=0.4)] == [False]


def feed_s(found: Any) -> float:
    """Seconds at feed of all passes."""
    total = 0.0
    for one in found.passes:
        moves = found.moves(one)
        is_fed = moves.feed_mm_per_s[1:] > 0.0
        total += float((moves.lengths_mm[is_fed] / moves.feed_mm_per_s[1:][is_fed]).sum())
    return total


def test_a_plan_of_single_numbers_is_the_same_whatever_is_known_of_the_metal(kit: Any, pocketed: Any) -> None:
    known = kit.pocket_plan(pressure_mpa=PRESSURE)
    assert known.passes == pocketed.passes
    assert all(one.pace is None for one in known.passes)


def test_ends_make_the_block_quicker_within_every_limit(kit: Any, pocketed: Any) -> None:
    """Mills of 3600 to 9000 mm/s and chips of 0.02 to 0.05, to a diameter deep and half of it wide.

    The block is cut as exactly as before; its walls are run swiftly in places, and no tooth is fed faster than what
    makes the thickest chip of the narrow cut along a wall.
    """
    tools = tuple(
        msgspec.structs.replace(
            tool, cutting_speed_low_mm_per_s=3600.0, cutting_speed_mm_per_s=9000.0, chip_low_mm=0.02,
            axial_max_mm=tool.diameter_mm, radial_max_mm=tool.diameter_mm / 2.0, made_of="carbide",
        )
        if tool.kind == "end mill" else tool
        for tool in kit.SHOP
    )  # fmt: skip
    found = kit.pocket_plan(tools, pressure_mpa=PRESSURE)
    assert feed_s(found) < 0.95 * feed_s(pocketed)
    assert found.decision.value.not_cut == pocketed.decision.value.not_cut
    work, struck = kit.replayed(found, "op1")
    plain, _ = kit.replayed(pocketed, "op1")
    assert struck <= 0.0
    assert np.nanmax(np.abs(work.z - plain.z)[8:-8, 8:-8]) < 2e-3
    swift = set()
    for one in found.passes:
        tool, moves = found.cutter(one), found.moves(one)
        assert (one.pace is not None) == (tool.kind == "end mill")
        if one.pace is None:
            continue
        assert one.speed_rad_per_s <= min(kit.MACHINE.speed_max_rad_per_s, 18_000.0 / tool.diameter_mm) * (1 + 1e-9)
        assert moves.feed_mm_per_s.max() <= kit.MACHINE.feed_max_mm_per_s * (1 + 1e-9)
        if one.kind == "finish wall":
            flat = 0.05 * 3.0 * one.speed_rad_per_s / (2.0 * math.pi)
            swift.update(moves.feed_mm_per_s[moves.feed_mm_per_s > flat * (1 + 1e-6)].tolist())
            wide = 0.4 / tool.diameter_mm
            most = flat / (2.0 * math.sqrt(wide - wide * wide))
            assert float(moves.feed_mm_per_s.max()) <= max(most, 3.0 * flat) * (1 + 1e-9)
    assert swift
