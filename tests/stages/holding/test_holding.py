"""The grip at hand-worked numbers, at the worst end of everything, and what is said when nobody knows."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import CUTTERS, MILL, SMOOTH, TOOTHED, VISE, fact
from stages.gripped import CLAMPING, LOAD, PRESSURE, YIELD, held, proof, rotary_mill, small_patch

from proveout.cutting.easing import AXIAL_FLOOR, FEED_FLOOR, STEP_WORTH, WALL_FLOOR
from proveout.grip.margins import grip_margins
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Proof, is_ready
from proveout.model.run import Run
from proveout.model.shop import Jaws, Vise
from proveout.model.work import PassPlan
from proveout.stages import holding


def test_the_reserve_of_a_push_along_and_across_worked_by_hand() -> None:
    """Worked for the heading along the jaws, where 600 / cos(3.75) = 601.29 N act along and 200 N upward.

    c = 28 - 3 = 25, h = 35, a = 40, b = 10, g = 40, o_x = 20, o_y = 10, kappa g^2 / 4 = 80.
    M_x = 10 200 = 2000; M_y = 35 601.29 + 20 200 = 25 045; M_z = 10 601.29 = 6012.9.
    E = 2000 0.088235 + 6012.9 0.065217 = 568.6. D_x = 601.29 + 2 6012.9 / 40 + 3 25 045 10 / 1700 = 1343.9.
    D_z = 200 + 2 2000 / 40 + 3 25 045 40 / 1700 = 2067.9. Reserve 2 0.25 15 000 / (2466.3 + 0.25 568.6) = 2.8751.
    The worst heading of the thirteen asks more; it is found by trying them one by one.
    """
    along = grip_margins(
        preload_n=15000.0, friction_ratio=0.25, patch_length_mm=80.0, patch_height_mm=20.0, jaw_gap_mm=40.0,
        force_along_n=601.287, force_across_n=0.0, force_up_n=200.0, cut_height_mm=25.0, offset_along_mm=20.0,
        offset_across_mm=10.0, yield_mpa=240.0,
    )  # fmt: skip
    assert along.reserve_ratio == pytest.approx(2.8751, abs=5e-4)
    hold = held().value[0]
    swell = 1.0 / math.cos(math.radians(3.75))
    tried = [
        grip_margins(
            preload_n=15000.0, friction_ratio=0.25, patch_length_mm=80.0, patch_height_mm=20.0, jaw_gap_mm=40.0,
            force_along_n=600.0 * swell * math.cos(t), force_across_n=600.0 * swell * math.sin(t), force_up_n=200.0,
            cut_height_mm=25.0, offset_along_mm=20.0, offset_across_mm=10.0, yield_mpa=240.0,
        ).reserve_ratio
        for t in np.radians(np.arange(0.0, 90.1, 7.5)).tolist()
    ]  # fmt: skip
    assert min(tried) <= along.reserve_ratio
    assert min(tried) - 1e-4 <= hold.reserve_low <= min(tried)
    assert proof(held(), "grip").verdict == "holds"


def test_no_heading_between_those_tried_is_worse() -> None:
    """Three hundred headings of the true circle; the polygon of thirteen lies outside it."""
    low = held().value[0].reserve_low
    for turn in np.linspace(0.0, math.pi / 2.0, 300).tolist():
        one = grip_margins(
            preload_n=VISE.preload_n, friction_ratio=TOOTHED.friction_ratio, patch_length_mm=80.0,  # type: ignore[arg-type]
            patch_height_mm=20.0, jaw_gap_mm=40.0, force_along_n=600.0 * math.cos(turn),
            force_across_n=600.0 * math.sin(turn), force_up_n=200.0, cut_height_mm=25.0, offset_along_mm=20.0,
            offset_across_mm=10.0, yield_mpa=240.0,
        )  # fmt: skip
        assert low <= one.reserve_ratio


@pytest.mark.parametrize(
    ("vise", "jaws", "names"),
    [
        (VISE, msgspec.structs.replace(TOOTHED, friction_ratio=None), "pull tests"),
        (msgspec.structs.replace(VISE, preload_n=None), TOOTHED, "load cell"),
    ],
)
def test_unknown_friction_or_preload_is_not_shown_and_blocks(vise: Vise, jaws: Jaws, names: str) -> None:
    found = held(vise=vise, jaws=jaws)
    grip = proof(found, "grip")
    assert (grip.verdict, grip.blocks_release, grip.found_low) == ("not shown", True, None)
    assert names in grip.decides
    assert found.value == ()
    assert not is_ready(found.proofs)
    assert is_ready(held().proofs)


def _weakened(known: Fact | None, how: str) -> Fact:
    assert known is not None
    assert known.is_backed
    changes: dict[str, dict[str, Any]] = {
        "has no source": {"source": "shop-file"},
        "is only assumed": {"strength": "assumed"},
        "has no lowest and highest": {"low": known.nominal, "high": known.nominal},
    }
    return msgspec.structs.replace(known, **changes[how])


@pytest.mark.parametrize("how", ["has no source", "is only assumed", "has no lowest and highest"])
@pytest.mark.parametrize("which", ["friction", "preload"])
def test_a_number_that_nobody_backed_is_not_known_and_blocks(which: str, how: str) -> None:
    """Friction stands in the grip alone, the jaw force also in bearing and rating; each says what to write."""
    vise, jaws = VISE, TOOTHED
    if which == "friction":
        jaws = msgspec.structs.replace(TOOTHED, friction_ratio=_weakened(TOOTHED.friction_ratio, how))
    else:
        vise = msgspec.structs.replace(VISE, preload_n=_weakened(VISE.preload_n, how))
    found = held(msgspec.structs.replace(LOAD, plane_n=2400.0), vise=vise, jaws=jaws)
    for ending in ("grip",) if which == "friction" else ("grip", "bearing", "vise rating"):
        one = proof(found, ending)
        assert (one.verdict, one.blocks_release, one.margin, one.tighten) == ("not shown", True, None, None)
        assert how in one.decides
        assert "write where the value comes from (source) and its lowest and highest" in one.decides
        assert one.basis.inputs  # the number itself is still told
    assert not is_ready(found.proofs)
    if which == "friction":
        assert proof(found, "vise rating").verdict == "holds"
        assert "pull tests" not in proof(found, "bearing").decides


def test_a_grip_eaten_up_by_the_corner_of_the_bar_is_not_shown() -> None:
    gone = msgspec.structs.replace(CLAMPING, patch_height_mm=fact(0.0, 1.0, 3.0, "mm"))
    found = held(clamping=gone)
    assert proof(found, "grip").verdict == "not shown"
    assert "corner radius" in proof(found, "grip").decides
    assert proof(found, "bearing").verdict == "not shown"
    assert not is_ready(found.proofs)


def test_smooth_jaws_on_the_raw_bar_do_not_hold_where_toothed_do() -> None:
    """Friction 0.0665 at worst against 0.25: the reserve falls below one."""
    heavy = msgspec.structs.replace(LOAD, plane_n=1100.0)
    toothed, smooth = proof(held(heavy), "grip"), proof(held(heavy, jaws=SMOOTH), "grip")
    assert toothed.verdict == "holds"
    assert smooth.verdict != "holds"
    assert smooth.blocks_release
    assert float(smooth.found_low or 0.0) < 1.0 < float(toothed.found_low or 0.0)


def test_a_grip_that_fails_even_at_its_best_says_so() -> None:
    assert proof(held(msgspec.structs.replace(LOAD, plane_n=20000.0)), "grip").verdict == "fails"
    between = msgspec.structs.replace(LOAD, plane_n=2400.0)
    assert proof(held(between), "grip").verdict == "not shown"


WIDER = ["preload", "friction", "length", "height", "yield"]


@given(
    st.sampled_from(WIDER), st.floats(0.05, 0.9), st.floats(100.0, 4000.0), st.floats(0.0, 3000.0),
    st.floats(3.0, 60.0), st.booleans(),
)  # fmt: skip
def test_moving_any_end_against_us_never_raises_the_reserve(
    which: str,
    share: float,
    plane: float,
    axial: float,
    height: float,
    is_tilted: bool,  # noqa: FBT001
) -> None:
    def lower(given_fact: Fact) -> Fact:
        return msgspec.structs.replace(given_fact, low=given_fact.low * share)

    load = msgspec.structs.replace(LOAD, plane_n=plane, axial_n=axial, height_mm=height, is_tilted=is_tilted)
    assert VISE.preload_n is not None
    assert TOOTHED.friction_ratio is not None
    changed: dict[str, Any] = {}
    if which == "preload":
        changed["vise"] = msgspec.structs.replace(VISE, preload_n=lower(VISE.preload_n))
    elif which == "friction":
        changed["jaws"] = msgspec.structs.replace(TOOTHED, friction_ratio=lower(TOOTHED.friction_ratio))
    elif which == "length":
        changed["clamping"] = msgspec.structs.replace(CLAMPING, patch_length_mm=lower(CLAMPING.patch_length_mm))
    elif which == "height":
        changed["clamping"] = msgspec.structs.replace(CLAMPING, patch_height_mm=lower(CLAMPING.patch_height_mm))
    else:
        changed["yield_mpa"] = lower(YIELD)
    before, after = held(load), held(load, **changed)
    assert after.value[0].reserve_low <= before.value[0].reserve_low
    assert after.value[0].margin <= before.value[0].margin
    for ending in ("grip", "bearing"):
        first, second = proof(before, ending).margin, proof(after, ending).margin
        assert first is not None
        assert second is not None
        assert second <= first + 1e-9


@given(
    st.sampled_from(["plane_n", "axial_n", "torque_n_mm", "height_mm", "along_mm", "across_mm"]), st.floats(1.0, 5.0),
    st.booleans(), st.booleans(),
)  # fmt: skip
def test_a_heavier_higher_or_farther_cut_never_raises_the_reserve(
    name: str,
    factor: float,
    is_tilted: bool,  # noqa: FBT001
    is_drill: bool,  # noqa: FBT001
) -> None:
    load = msgspec.structs.replace(LOAD, is_tilted=is_tilted, plane_n=0.0 if is_drill else 600.0)
    more = msgspec.structs.replace(load, **{name: getattr(load, name) * factor})
    assert held(more).value[0].reserve_low <= held(load).value[0].reserve_low


def test_a_drill_turns_the_work_and_is_held_against_both_jaws() -> None:
    """A couple of 100 N m about z: 2 T / g of friction and an uneven pressure, wherever the hole lies."""
    drill = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=0.0, torque_n_mm=100e3, across_mm=0.0, along_mm=0.0)
    reserve = held(drill).value[0].reserve_low
    swing_free = 2.0 * 0.25 * 15000.0 / (2.0 * 100e3 / 40.0 + 0.25 * 100e3 * 0.065217)
    assert reserve < swing_free
    harder = msgspec.structs.replace(drill, torque_n_mm=200e3)
    assert held(harder).value[0].reserve_low == pytest.approx(reserve / 2.0, abs=2e-4)


def test_a_patch_that_may_lie_off_the_middle_lengthens_the_lever() -> None:
    """40 mm of patch somewhere on 80 mm of work: its middle may lie 20 mm aside."""
    short = msgspec.structs.replace(CLAMPING, patch_length_mm=fact(40.0, 40.0, 40.0, "mm"))
    centred = msgspec.structs.replace(short, jaw_middle_mm=20.0)
    far = msgspec.structs.replace(LOAD, along_mm=LOAD.along_mm + 20.0)
    assert held(clamping=short).value[0].reserve_low < held(clamping=centred).value[0].reserve_low
    assert held(clamping=short).value[0].reserve_low == held(far, clamping=centred).value[0].reserve_low


def test_a_patch_that_loses_height_may_lose_it_at_the_top() -> None:
    """15 to 20 mm of patch: its upper edge may lie 5 mm below the jaw tops, so the cut 30 mm above it instead of 25."""
    loses = msgspec.structs.replace(CLAMPING, patch_height_mm=fact(15.0, 20.0, 20.0, "mm"))
    swell = 1.0 / math.cos(math.radians(3.75))
    least = min(
        grip_margins(
            preload_n=15000.0, friction_ratio=0.25, patch_length_mm=80.0, patch_height_mm=fact(15.0, 20.0, 20.0),
            jaw_gap_mm=40.0, force_along_n=600.0 * swell * math.cos(t), force_across_n=600.0 * swell * math.sin(t),
            force_up_n=200.0, cut_height_mm=30.0, offset_along_mm=20.0, offset_across_mm=10.0, yield_mpa=240.0,
        ).reserve_ratio
        for t in np.radians(np.arange(0.0, 90.1, 7.5)).tolist()
    )  # fmt: skip
    assert least - 1e-4 <= held(clamping=loses).value[0].reserve_low <= least


def crush(height_low: float, load: PassLoad) -> Proof:
    return proof(held(load, clamping=small_patch(height_low)), "bearing")


def test_twenty_kilonewton_on_three_by_forty_crush_the_work() -> None:
    """Worked. 20 000 / (2 38) = 263 MPa with 0.5 of corner and 0.5 of burr; 20 000 / (2.5 38) = 210.5 without a corner.

    At rest the latter stays below 240; the push and the tilt of a rough cut go on top and take it beyond.
    """
    still = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=0.0, torque_n_mm=0.0)
    assert crush(2.0, still).found_high == pytest.approx(263.16, abs=0.01)
    assert crush(2.0, still).verdict != "holds"
    assert crush(2.5, still).found_high == pytest.approx(210.53, abs=0.01)
    assert crush(2.5, still).verdict == "holds"
    rough = msgspec.structs.replace(LOAD, plane_n=1500.0)
    assert float(crush(2.5, rough).found_high or 0.0) > 240.0
    assert crush(2.5, rough).verdict != "holds"
    assert crush(2.5, rough).blocks_release
    assert crush(2.5, LOAD).found_high < crush(2.5, rough).found_high  # type: ignore[operator]


def test_a_vise_beyond_its_rating_fails_and_an_unknown_rating_is_not_shown() -> None:
    """15 to 20 kN."""
    for rating, verdict in ((20000.0, "holds"), (18000.0, "not shown"), (14000.0, "fails"), (None, "not shown")):
        found = proof(held(vise=msgspec.structs.replace(VISE, rating_n=rating)), "vise rating")
        assert found.verdict == verdict
        assert found.blocks_release


def test_the_brake_carries_every_cut_at_the_farthest_place_worked_by_hand() -> None:
    """Worked. Travels 600 x 450 x 400, pivot at 300, -225: C hypot(300, 225) = 375, A hypot(225, 400) = 458.9 mm.

    Force sqrt(600^2 + 200^2) = 632.5 N: 632.5 0.4589 + 3 = 293.25 N m, below 420.
    """
    tilted = msgspec.structs.replace(LOAD, is_tilted=True)
    for load in (LOAD, tilted):
        found = proof(held(load, machine=rotary_mill()), "rotary brake")
        assert found.found_high == pytest.approx(293.26, abs=0.02)
        assert (found.verdict, found.limit) == ("holds", 420.0)
    # nobody measured the pivot: the whole travels, sqrt(600^2 + 450^2) = 750 mm
    unknown = proof(held(tilted, machine=rotary_mill(pivot_in_machine_mm=None)), "rotary brake")
    assert unknown.found_high == pytest.approx(632.456 * 0.75 + 3.0, abs=0.01)
    assert unknown.verdict == "not shown"
    off = proof(held(tilted, machine=rotary_mill(pivot_in_machine_mm=(300.0, -50.0, 0.0))), "rotary brake")
    assert off.found_high == pytest.approx(632.456 * math.hypot(0.4, 0.4) + 3.0, abs=0.01)


def test_a_vise_whose_place_is_known_shortens_the_brakes_lever_worked_by_hand() -> None:
    """Worked. Level: 24 + hypot(20, 10 + 40 / 2) = 60.06; height: 112 + 28 = 140; lever hypot = 152.34 mm.

    632.456 N x 0.15234 m + 3 = 99.35 N m. A seat 130 below the A axis counts by its own height: hypot(60.06, 130).
    """
    placed = msgspec.structs.replace(
        VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
    )
    found = proof(held(vise=placed, machine=rotary_mill()), "rotary brake")
    assert found.found_high == pytest.approx(99.35, abs=0.02)
    assert "fixed jaw from the C axis" in found.basis.inputs
    below = msgspec.structs.replace(placed, above_a_axis_mm=fact(-130.0, -128.0, -126.0, "mm"))
    found = proof(held(vise=below, machine=rotary_mill()), "rotary brake")
    assert found.found_high == pytest.approx(632.456 * math.hypot(0.06006, 0.130) + 3.0, abs=0.02)
    half_known = msgspec.structs.replace(placed, above_a_axis_mm=None)
    found = proof(held(vise=half_known, machine=rotary_mill()), "rotary brake")
    assert found.found_high == pytest.approx(293.26, abs=0.02)


def test_an_unknown_brake_is_not_shown_and_blocks() -> None:
    found = held(machine=rotary_mill(brake_torque_n_mm=None))
    assert proof(found, "rotary brake").verdict == "not shown"
    assert not is_ready(found.proofs)
    assert not any(p.id.endswith("rotary brake") for p in held().proofs)


@pytest.mark.parametrize(
    ("kind", "floors"),
    [
        ("rough", {"axial_ratio": AXIAL_FLOOR}),
        ("face", {"axial_ratio": AXIAL_FLOOR}),
        ("finish wall", {"wall_ratio": WALL_FLOOR, "wall_feed_ratio": FEED_FLOOR}),
        ("finish surface", {"feed_ratio": FEED_FLOOR}),
        ("bore", {"feed_ratio": FEED_FLOOR}),
    ],
)
def test_remedies_only_ever_tighten_and_stop_at_the_floor(kind: str, floors: dict[str, float]) -> None:
    """A grip that never holds, asked again and again: each quantity in turn goes down to its floor."""
    heavy = msgspec.structs.replace(LOAD, plane_n=2000.0)
    limits, bounds = Limits(), {quantity: [] for quantity in floors}
    for _ in range(60):
        remedy = proof(held(heavy, kind=kind, limits=limits), "grip").tighten
        if remedy is None:
            break
        assert remedy.subject == "c1/mill 12"
        tighter = limits.tightened((remedy,))
        assert tighter != limits
        limits = tighter
        bounds[remedy.quantity].append(remedy.bound)
    else:
        pytest.fail("tightening never ended")
    for quantity, floor in floors.items():
        assert len(bounds[quantity]) >= 2
        assert bounds[quantity] == sorted(bounds[quantity], reverse=True)
        assert floor <= bounds[quantity][-1] < floor + STEP_WORTH


def test_a_deep_thin_wall_pass_is_cut_to_less_than_the_edge_in_it_at_once() -> None:
    # worked: D 12, a_e 0.3: theta = acos(1 - 0.05) = 0.31756; b = 6 x 0.31756 / tan 30 = 3.3002 mm; less than half
    # the force is had, so the step is at most four fifths: 0.8 x 3.3002 / 12 = 0.2200 diameters
    deep = msgspec.structs.replace(LOAD, plane_n=2000.0, axial_mm=20.0, radial_mm=0.3)
    remedy = proof(held(deep, kind="finish wall"), "grip").tighten
    assert remedy is not None
    assert remedy.quantity == "wall_ratio"
    assert 0.3 * 0.2750 - 1e-4 <= remedy.bound <= 0.2200 + 1e-4


def test_a_level_shallower_than_it_may_be_is_eased_from_where_it_is() -> None:
    """Worked. 2.4 mm of 12 are 0.2 diameters, though half of one is allowed: the step goes on from 0.2."""
    shallow = msgspec.structs.replace(LOAD, plane_n=2000.0, axial_mm=2.4)
    found = proof(held(shallow), "grip")
    assert found.tighten is not None
    assert found.found_low is not None
    assert found.tighten.quantity == "axial_ratio"
    assert 0.3 * 0.2 <= found.tighten.bound < 0.2
    assert found.tighten.bound <= 0.2 * max(0.3, found.found_low) + 1e-4


def test_nothing_is_tightened_when_the_grip_holds_or_a_tap_is_at_fault() -> None:
    assert proof(held(), "grip").tighten is None
    tap = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=9000.0)
    found = proof(held(tap, kind="tap"), "grip")
    assert found.verdict != "holds"
    assert found.tighten is None


def test_a_drill_that_pushes_too_hard_is_fed_slower() -> None:
    drill = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=9000.0)
    found = proof(held(drill, kind="drill"), "grip")
    assert found.verdict != "holds"
    assert found.tighten is not None
    assert (found.tighten.subject, found.tighten.quantity) == ("c1/mill 12", "feed_ratio")
    assert 0.0 < found.tighten.bound < 1.0


def test_a_brake_that_does_not_hold_asks_for_shallower_levels() -> None:
    """Where nobody measured where the vise stands a rule decides it, and nothing is cut slower for it."""
    placed = msgspec.structs.replace(
        VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
    )
    heavy = msgspec.structs.replace(LOAD, plane_n=3600.0, is_tilted=True)
    unplaced = proof(held(heavy, machine=rotary_mill()), "rotary brake")
    assert (unplaced.verdict, unplaced.tighten) == ("not shown", None)
    assert "where the vise stands" in unplaced.decides
    found = proof(held(heavy, vise=placed, machine=rotary_mill()), "rotary brake")
    assert found.verdict == "not shown"
    assert found.tighten is not None
    assert (found.tighten.quantity, found.tighten.bound < 0.5) == ("axial_ratio", True)


def test_a_clamping_without_a_pass_is_not_shown() -> None:
    found = holding.decide(
        plan=PassPlan(passes=(), not_cut=(), moves={}), loads=(), clampings=(CLAMPING,), vises=(VISE,), jaws=(TOOTHED,),
        machines=(MILL,), cutters=CUTTERS, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=Limits(), run=Run(),
    )  # fmt: skip
    assert proof(found, "grip").verdict == "not shown"
    assert not is_ready(found.proofs)
