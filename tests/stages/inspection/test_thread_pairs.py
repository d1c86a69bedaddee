"""Pairs of GO and NO-GO: plugs and rings by thread and class, before a coat and after it."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from sizes_gauged import gauge, inspect, thread

from proveout.model.gauge import Gauge
from proveout.model.inspection import InspectionRule
from proveout.model.plan import Window

IN = 25.4
# printed (thread_limits_table): 1/4-20 UNC-2B 0.2175 to 0.2224 in; worked in tests/published: 0.2223 to 0.2256 in
# before 0.002 in ±20 % of coat
QUARTER = ("1/4-20 UNC-2B", 0.2175 * IN, 0.2224 * IN)


def pair(text: str, major: float, *, ends: tuple[float, float] | None = None, kind: str = "thread plug") -> Gauge:
    made = gauge(f"{kind} {text}", kind, major, major, 0.002)
    go, no_go = ends or (None, None)
    return msgspec.structs.replace(made, thread=text, go_pitch_diameter_mm=go, no_go_pitch_diameter_mm=no_go)


def coated_quarter() -> Window:
    before = {"before_low_mm": 0.2223 * IN, "before_high_mm": 0.2256 * IN, "width_mm": round(0.0033 * IN, 6)}
    return msgspec.structs.replace(thread(*QUARTER), **before)


def test_a_unified_thread_is_told_by_the_plug_of_its_class() -> None:
    plug = pair("1/4-20 UNC-2B", 0.25 * IN)
    assert inspect(thread(*QUARTER), gauges=(plug,)).value[0].gauge == plug.id
    named = msgspec.structs.replace(plug, thread="", name="plug 1/4-20 UNC-2B")
    assert inspect(thread(*QUARTER), gauges=(named,)).value[0].gauge == "plug 1/4-20 UNC-2B"
    for other in ("1/4-20 UNC-3B", "1/4-28 UNF-2B", "#10-32 UNF-2B"):
        assert inspect(thread(*QUARTER), gauges=(pair(other, 0.25 * IN),)).value[0].gauge == ""


def test_before_its_coat_only_a_pair_within_the_window_tells_it_and_after_it_the_standard_one() -> None:
    """worked: GO 0.2225 - 0.00008 in is above 0.2223, NO-GO 0.2254 + 0.00008 below 0.2256; 0.0029 / 0.0033 = 0.879."""
    standard = pair("1/4-20 UNC-2B", 0.25 * IN)
    special = msgspec.structs.replace(
        pair("1/4-20 UNC-2B", 0.25 * IN, ends=(0.2225 * IN, 0.2254 * IN)), id="before-coat"
    )  # fmt: skip
    decision = inspect(coated_quarter(), gauges=(standard, special), coated_area_mm2=1.0)
    (line,) = decision.value
    assert (line.gauge, line.after_gauge) == ("before-coat", standard.id)
    before, after = decision.proofs
    assert (before.verdict, after.verdict, after.found_low) == ("holds", "holds", 1.0)
    assert before.found_low == pytest.approx(0.0029 / 0.0033, abs=1e-5)


@pytest.mark.parametrize(
    "ends",
    [
        (0.22235, 0.2254),  # its uncertainty taken off it lies below the window
        (0.2225, 0.22555),
        (0.2230, 0.2250),  # 0.0020 / 0.0033: turns four good threads in ten away
        (0.2175, 0.2224),  # the standard one, as calibrated
    ],
)  # fmt: skip
def test_a_pair_that_lets_bad_threads_pass_or_turns_too_many_good_ones_away_is_not_taken(
    ends: tuple[float, float],
) -> None:
    made = pair("1/4-20 UNC-2B", 0.25 * IN, ends=(ends[0] * IN, ends[1] * IN))
    assert inspect(coated_quarter(), gauges=(made,)).proofs[0].verdict == "not shown"


def test_a_pair_of_another_pitch_never_tells_it_whatever_its_pitch_diameters() -> None:
    ends = (0.2225 * IN, 0.2254 * IN)
    assert inspect(coated_quarter(), gauges=(pair("1/4-28 UNF-2B", 0.25 * IN, ends=ends),)).value[0].gauge == ""


def test_the_shops_own_guard_band_decides_how_far_a_calibrated_pair_is_drawn_in() -> None:
    made = pair("1/4-20 UNC-2B", 0.25 * IN, ends=(0.2223 * IN, 0.2256 * IN))
    assert inspect(coated_quarter(), gauges=(made,)).value[0].gauge == ""
    simple = InspectionRule(guard_ratio=0.0)
    assert inspect(coated_quarter(), gauges=(made,), rule=simple).value[0].gauge == made.id


def test_an_oversize_class_serves_before_a_thin_coat() -> None:
    """worked: M6 6G is 5.376 to 5.526; a window 5.370 to 5.530 lets it tell 0.150 / 0.160 of it."""
    window = msgspec.structs.replace(
        thread("M6 6H", 5.35, 5.5), before_low_mm=5.370, before_high_mm=5.530, width_mm=0.160
    )  # fmt: skip
    wide = pair("M6 6G", 6.0)
    decision = inspect(window, gauges=(pair("M6 6H", 6.0), wide))
    assert decision.value[0].gauge == wide.id
    assert decision.proofs[0].found_low == pytest.approx(0.9375)


def ring(text: str, major: float, **more: Any) -> Gauge:
    return pair(text, major, kind="thread ring", **more)


def test_an_outside_thread_is_told_by_a_ring_and_never_by_a_plug() -> None:
    """worked: M6 6g is 5.350 - 0.026 - 0.112 = 5.212 to 5.324."""
    size = thread("M6 6g", 5.212, 5.324)
    mine = ring("M6 6g", 6.0)
    (line,) = inspect(size, gauges=(pair("M6 6H", 6.0), mine)).value
    assert (line.gauge, line.reaction) == (mine.id, "GO does not go on or NO-GO goes on: STOP, tell the owner")
    (proof,) = inspect(size, gauges=(pair("M6 6H", 6.0), ring("M6 4h", 6.0))).proofs
    assert proof.verdict == "not shown"
    assert proof.decides == "get the thread ring for M6 6g: GO of pitch diameter 5.324 mm, NO-GO 5.212 mm"
    bare = msgspec.structs.replace(mine, thread="")
    assert inspect(size, gauges=(bare,)).value[0].gauge == mine.id


def test_a_ring_never_tells_a_hole_nor_a_plug_a_screw() -> None:
    """A ring whose file says the thread of a hole, and the other way round, is still what its kind says."""
    ring_of_hole = msgspec.structs.replace(pair("M6 6H", 6.0), kind="thread ring")
    assert inspect(thread("M6 6H", 5.35, 5.5), gauges=(ring_of_hole,)).value[0].gauge == ""
    plug_of_screw = msgspec.structs.replace(ring("M6 6g", 6.0), kind="thread plug")
    assert inspect(thread("M6 6g", 5.212, 5.324), gauges=(plug_of_screw,)).value[0].gauge == ""


def test_a_screw_before_its_coat_wants_rings_below_its_finished_limits() -> None:
    """worked: coated, M6 6g may end at 5.350; before it 5.080 to 5.218: GO is the greater of a ring's ends."""
    size = msgspec.structs.replace(
        thread("M6 6g", 5.212, 5.35), before_low_mm=5.080, before_high_mm=5.218, width_mm=0.138
    )  # fmt: skip
    special = ring("M6 6g", 6.0, ends=(5.215, 5.083))
    decision = inspect(size, gauges=(ring("M6 6g", 6.0), special), coated_area_mm2=1.0)
    assert decision.value[0].gauge == special.id
    before, after = decision.proofs
    assert before.found_low == pytest.approx(0.132 / 0.138, abs=1e-5)
    assert (after.verdict, after.found_low) == ("holds", pytest.approx(0.112 / 0.138, abs=1e-5))
    assert (
        inspect(size, gauges=())
        .proofs[0]
        .decides.endswith("GO of pitch diameter 5.218 mm or a little less, NO-GO of 5.080 mm or a little more")
    )
