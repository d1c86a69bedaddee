"""The fastest choice: each limit worked by hand where it alone binds, and what holds whatever the limits are."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import CUTTERS, MILL

from proveout.cutting.fastest import Fastest, fastest_depth, fastest_feed, largest_feed_mm, room_of
from proveout.cutting.spindle import highest_speed_rad_per_s, top_speed, torques_at_edge_n_mm
from proveout.model.measured import EFFICIENCY
from proveout.model.pace import (
    OWN_SPEED,
    POWER,
    RATED,
    RATED_HOLDER,
    THICK,
    THIN,
    TOP_FEED,
    TOP_SPEED,
    TORQUE,
)
from proveout.model.shop import Cutter, Machine

Floats = np.ndarray
# mill 12: z 3, 167 to 3333 rad/s by its range, a chip of 0.03 to 0.08 mm; rated 15 000 1/min, 1570.8 rad/s
RANGED = msgspec.structs.replace(
    next(c for c in CUTTERS if c.id == "mill 12"), cutting_speed_low_mm_per_s=1000.0, cutting_speed_mm_per_s=20_000.0,
    chip_low_mm=0.03, tooth_feed_mm=0.08,
)  # fmt: skip
STRONG = msgspec.structs.replace(MILL, power_mw=50e6)
CURVE = ((100.0, 40e3), (500.0, 40e3), (1000.0, 20e3), (1100.0, 18e3))
HALF = 0.5
"""Share of the diameter that the cutter is engaged over: no chip is thinner than the feed of its tooth."""


def flat(torque_n_mm: float) -> Callable[[Floats], Floats]:
    return lambda feeds: np.full(feeds.shape, torque_n_mm)


def fed(
    cutter: Cutter = RANGED, machine: Machine = STRONG, *, torque: float = 0.0, thinning: float = 1.0, **more: Any
) -> Fastest:  # fmt: skip
    room = room_of(cutter, machine, thinning_ratio=thinning, **more)
    return fastest_feed(room, axial_mm=1.0, torques_n_mm=flat(torque))


def test_the_top_speed_of_the_spindle_binds() -> None:
    """10 000 1/min are 1047.2 rad/s, below rating and range; 0.08 3 1047.2 / 2 pi is 40 mm/s."""
    found = fed()
    assert (found.speed_rad_per_s, found.speed_by) == (pytest.approx(1047.198, abs=1e-3), TOP_SPEED)
    assert (found.feed_mm_per_s, found.feed_by) == (pytest.approx(40.0, abs=1e-3), THICK)


def test_the_rating_of_the_cutter_binds_and_that_of_its_holder() -> None:
    rated = msgspec.structs.replace(RANGED, speed_max_rad_per_s=900.0)
    assert (fed(rated).speed_rad_per_s, fed(rated).speed_by) == (900.0, RATED)
    held = msgspec.structs.replace(rated, holder_speed_max_rad_per_s=800.0)
    assert (fed(held).speed_rad_per_s, fed(held).speed_by) == (800.0, RATED_HOLDER)
    assert held.rated_rad_per_s == 800.0
    assert top_speed(held, STRONG) == (800.0, RATED_HOLDER)
    # a holder's rating says nothing of the cutter's
    unknown = msgspec.structs.replace(held, speed_max_rad_per_s=None)
    assert unknown.rated_rad_per_s is None
    assert fed(unknown).speed_by == RATED_HOLDER


def test_the_cutters_own_speed_binds() -> None:
    """Worked. 4800 mm/s at a radius of 6 mm: 800 rad/s."""
    own = msgspec.structs.replace(RANGED, cutting_speed_mm_per_s=4800.0)
    assert (fed(own).speed_rad_per_s, fed(own).speed_by) == (800.0, OWN_SPEED)


def test_the_power_binds() -> None:
    """Worked. 20 N m of the edge are 26.67 of the motor by the least efficiency, 0.75: 7.5 kW last to 281.25 rad/s."""
    found = fed(machine=MILL, torque=20e3)
    assert EFFICIENCY.low == 0.75
    assert (found.speed_rad_per_s, found.speed_by) == (pytest.approx(281.25), POWER)
    assert (found.tooth_feed_mm, found.feed_by) == (pytest.approx(0.08), THICK)


def test_the_torque_by_speed_binds() -> None:
    """Worked. 22.5 N m at the edge are 30 at the motor; from 500 rad/s on 40 fall to 20 at 1000: 30 at 750."""
    machine = msgspec.structs.replace(STRONG, torque_curve=CURVE)
    found = fed(machine=machine, torque=22.5e3)
    assert (found.speed_rad_per_s, found.speed_by) == (pytest.approx(750.0), TORQUE)
    # no speed beyond those written is taken, whatever the torque
    short = msgspec.structs.replace(STRONG, torque_curve=CURVE[:3])
    assert fed(machine=short).speed_rad_per_s == pytest.approx(1000.0)
    assert fed(machine=short).speed_by == TORQUE


def test_a_torque_is_carried_again_where_a_curve_rises() -> None:
    """Worked. 15 at 100 rad/s, 30 at 300, 10 at 500; 20 N m of the motor: last at 400; up to 350 more than that."""
    machine = msgspec.structs.replace(STRONG, torque_curve=((100.0, 15e3), (300.0, 30e3), (500.0, 10e3)))
    ends = {"torque_n_mm": 15e3, "low_rad_per_s": 50.0}
    assert highest_speed_rad_per_s(machine, high_rad_per_s=900.0, **ends) == (pytest.approx(400.0), TORQUE)
    assert highest_speed_rad_per_s(machine, high_rad_per_s=350.0, **ends) == (350.0, "")
    assert highest_speed_rad_per_s(machine, high_rad_per_s=120.0, **ends) is None
    assert highest_speed_rad_per_s(machine, high_rad_per_s=90.0, **ends) is None


def test_the_thickest_chip_binds_the_feed_through_a_narrow_cut() -> None:
    """Worked. a_e a tenth of D: f_z / h = 1 / (2 sqrt(0.09)) = 1.6667; a chip of 0.08 is a feed of 0.13333."""
    found = fed(thinning=1.0 / (2.0 * math.sqrt(0.09)))
    assert (found.tooth_feed_mm, found.feed_by) == (pytest.approx(0.133333, abs=1e-6), THICK)


def test_the_feed_of_the_machine_binds() -> None:
    """Worked. 30 mm/s at 1047.2 rad/s: 2 pi 30 / (3 1047.2) = 0.06 mm, between both ends of the chip."""
    found = fed(machine=msgspec.structs.replace(STRONG, feed_max_mm_per_s=30.0))
    assert (found.tooth_feed_mm, found.feed_by) == (pytest.approx(0.06), TOP_FEED)
    assert (found.feed_mm_per_s, found.speed_by) == (pytest.approx(30.0), TOP_SPEED)


def test_the_thinnest_chip_holds_the_speed_down() -> None:
    """Worked. 10 mm/s leave 0.03 mm to a tooth at 2 pi 10 / (3 0.03) = 698.13 rad/s; faster it would rub."""
    found = fed(machine=msgspec.structs.replace(STRONG, feed_max_mm_per_s=10.0))
    assert (found.speed_rad_per_s, found.speed_by) == (pytest.approx(698.132, abs=1e-3), THIN)
    assert (found.tooth_feed_mm, found.feed_mm_per_s) == (pytest.approx(0.03), pytest.approx(10.0))


def test_a_speed_that_is_kept_gives_the_power_less_feed() -> None:
    """Worked. 1000 rad/s as written; a torque of 100 N m for each mm of feed; 5 kW 0.75 / 1000 are 3.75 N m: 0.0375."""
    kept = msgspec.structs.replace(RANGED, cutting_speed_mm_per_s=6000.0, cutting_speed_low_mm_per_s=None)
    room = room_of(kept, msgspec.structs.replace(MILL, power_mw=5e6))
    found = fastest_feed(room, axial_mm=1.0, torques_n_mm=lambda feeds: 1e5 * feeds)
    assert (found.speed_rad_per_s, found.tooth_feed_mm) == (1000.0, pytest.approx(0.0375))
    assert (found.speed_by, found.feed_by) == (OWN_SPEED, POWER)


def test_the_depth_gives_way_to_power_where_the_speed_is_kept() -> None:
    """Worked. 1000 rad/s, 0.08 mm, 10 N m for each mm2 of feed and depth: 3.75 / (10 0.08) = 4.6875 mm."""
    kept = msgspec.structs.replace(RANGED, cutting_speed_mm_per_s=6000.0, cutting_speed_low_mm_per_s=None)
    room = room_of(kept, msgspec.structs.replace(MILL, power_mw=5e6))
    found = fastest_depth(room, floor_mm=0.2, most_mm=12.0, torques_n_mm=lambda feed, deep: 1e4 * feed * deep)
    assert (found.axial_mm, found.depth_by) == (pytest.approx(4.6875), POWER)
    whole = fastest_depth(room, floor_mm=0.2, most_mm=4.0, torques_n_mm=lambda feed, deep: 1e4 * feed * deep)
    assert (whole.axial_mm, whole.depth_by) == (4.0, "")


def test_a_slower_speed_is_taken_where_the_torque_falls_faster_than_the_speed_grows() -> None:
    """Worked. 40 N m to 500 rad/s, then down to 20 at 1000: depth times speed goes with n (60 - n / 25): most at 750.

    There 22.5 N m of the edge; at 10 N m for each mm2 and a chip of 0.08 that is a depth of 28.125 mm.
    """
    machine = msgspec.structs.replace(STRONG, torque_curve=CURVE)
    found = fastest_depth(
        room_of(RANGED, machine), floor_mm=0.2, most_mm=60.0, torques_n_mm=lambda feed, deep: 1e4 * feed * deep
    )
    assert found.speed_rad_per_s == pytest.approx(750.0, rel=2e-3)
    assert found.axial_mm == pytest.approx(28.125, rel=5e-3)
    assert (found.speed_by, found.depth_by) == (TORQUE, TORQUE)


def test_what_nothing_carries_is_said() -> None:
    found = fed(torque=1e9)
    assert not found.is_within
    assert (found.speed_by, found.tooth_feed_mm) == (POWER, pytest.approx(0.03))
    assert largest_feed_mm(low_mm=0.1, high_mm=0.2, is_held=lambda feeds: feeds < 0.05) is None


limits = st.fixed_dictionaries(
    {
        "speed_max_rad_per_s": st.floats(200.0, 2000.0), "power_mw": st.floats(0.2e6, 20e6),
        "feed_max_mm_per_s": st.floats(5.0, 300.0), "curve": st.floats(0.05, 5.0) | st.none(),
        "own_mm_per_s": st.floats(1200.0, 12_000.0), "rated": st.floats(200.0, 2000.0),
        "holder": st.floats(200.0, 2000.0),
        "thick_mm": st.floats(0.031, 0.2), "bent_mm": st.floats(0.03, 0.3), "deep_mm": st.floats(0.5, 20.0),
    }
)  # fmt: skip
edges = st.tuples(st.floats(10.0, 3000.0), st.floats(0.5, 1.0), st.floats(1.0, 2000.0))
"""Of a torque for each mm of depth: N mm / mm^e, the exponent e of the feed, and what a rubbing edge asks for."""


def chosen(given_: dict[str, Any], edge: tuple[float, float, float], *, is_level: bool) -> tuple[Fastest, Machine, Any]:
    curve = given_["curve"]
    machine = msgspec.structs.replace(
        MILL, speed_max_rad_per_s=given_["speed_max_rad_per_s"], power_mw=given_["power_mw"],
        feed_max_mm_per_s=given_["feed_max_mm_per_s"],
        torque_curve=() if curve is None else tuple((n, curve * t) for n, t in CURVE),
    )  # fmt: skip
    cutter = msgspec.structs.replace(
        RANGED, cutting_speed_mm_per_s=given_["own_mm_per_s"], speed_max_rad_per_s=given_["rated"],
        holder_speed_max_rad_per_s=given_["holder"], tooth_feed_mm=given_["thick_mm"],
    )  # fmt: skip

    def torques(feed: Floats, deep: Floats | float) -> Floats:
        return deep * (edge[0] * 10.0 * feed ** edge[1] + edge[2])

    room = room_of(cutter, machine)
    if is_level:
        return fastest_depth(room, floor_mm=0.1, most_mm=given_["deep_mm"], torques_n_mm=torques), machine, torques
    held = largest_feed_mm(
        low_mm=room.feed_low_mm, high_mm=room.feed_high_mm, is_held=lambda feed: feed <= given_["bent_mm"]
    )
    room = msgspec.structs.replace(room, feed_high_mm=held or room.feed_low_mm)
    return fastest_feed(room, axial_mm=1.0, torques_n_mm=lambda feed: torques(feed, 1.0)), machine, torques


@settings(max_examples=100, deadline=None)
@given(given_=limits, edge=edges, is_level=st.booleans())
def test_no_choice_lies_beyond_any_limit(
    *, given_: dict[str, Any], edge: tuple[float, float, float], is_level: bool
) -> None:
    """At the worst end: the least efficiency; speed, rating of both, feed, chip, depth, power and torque all hold."""
    found, machine, torques = chosen(given_, edge, is_level=is_level)
    if not found.is_within:
        return
    more = 1.0 + 1e-9
    speed = found.speed_rad_per_s
    assert speed <= min(given_["speed_max_rad_per_s"], given_["rated"], given_["holder"]) * more
    assert speed <= given_["own_mm_per_s"] / 6.0 * more
    assert found.feed_mm_per_s <= given_["feed_max_mm_per_s"] * more
    assert found.tooth_feed_mm <= given_["thick_mm"] * more
    assert is_level or found.tooth_feed_mm <= max(given_["bent_mm"], 0.03) * more
    deep = found.axial_mm if is_level else 1.0
    assert deep <= max(given_["deep_mm"], 1.0) * more
    asked = float(torques(np.array([found.tooth_feed_mm]), np.array([deep]))[0])
    assert asked <= float(torques_at_edge_n_mm(machine, speeds_rad_per_s=np.array([speed]))[0]) * more
    assert asked / EFFICIENCY.low * speed <= machine.power_mw * more


@settings(max_examples=150, deadline=None)
@given(
    given_=limits, edge=edges, is_level=st.booleans(), more=st.floats(1.0001, 3.0),
    which=st.sampled_from(
        [
            "speed_max_rad_per_s", "power_mw", "feed_max_mm_per_s", "curve", "own_mm_per_s", "rated", "holder",
            "thick_mm", "bent_mm", "deep_mm",
        ]
    ),
)  # fmt: skip
def test_raising_a_limit_never_slows_anything(
    *, given_: dict[str, Any], edge: tuple[float, float, float], is_level: bool, more: float, which: str
) -> None:
    """The table's feed, and of a level what it takes off each second, are no less for more of any limit."""
    if given_[which] is None:
        return
    before, _, _ = chosen(given_, edge, is_level=is_level)
    after, _, _ = chosen({**given_, which: given_[which] * more}, edge, is_level=is_level)
    if not before.is_within:
        return
    assert after.is_within

    def worth(found: Fastest) -> float:
        return found.feed_mm_per_s * (found.axial_mm if is_level else 1.0)

    assert worth(after) >= worth(before) * (1.0 - 1e-9)
