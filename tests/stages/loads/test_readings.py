"""The shop's readings against the cutting pressure that is written: taken, kept, or both held, and always told."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from shapes import CUTTERS, fact

from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.model.fact import Fact
from proveout.model.measured import EdgeState, SpindleReading
from proveout.model.proof import Decision
from proveout.quantities.units import rad_per_s_from_rpm
from proveout.stages.loads.readings import CuttingPressure, decide_pressure

WRITTEN = fact(560.0, 800.0, 1040.0, "MPa")
SURE = Fact(
    low=0.95, nominal=0.97, high=0.99, unit="ratio", source="shop-file: brake test", strength="measured here"
)  # fmt: skip


THREE = tuple(
    msgspec.structs.replace(next(c for c in CUTTERS if c.id == "mill 12"), id=name)
    for name in ("mill 12", "mill 12 b", "mill 12 c")
)  # fmt: skip


def reading(
    pressure: float, *, off: float = 0.0, alloy: str = "6061-T6", edge: EdgeState = "used", feed: float = 0.06,
    **more: Any,
) -> SpindleReading:  # fmt: skip
    """What a meter reads over 0.5 kW idle when all power reaches the edge; `off` in shares of that.

    Worked: 12 mm, z 3, 9000 1/min, 0.06 mm a tooth: 27 mm/s; 6 x 5 mm: 810 mm3/s.
    """
    chip = mean_chip_thickness_mm(feed_per_tooth_mm=feed, radial_engagement_mm=5.0, diameter_mm=12.0)
    power = pressure * chip**-0.25 * 810.0 * feed / 0.06 * (1.0 + off)
    given: dict[str, Any] = {"efficiency_ratio": SURE, "is_share": False, "cutter_id": "mill 12", **more}
    return SpindleReading(
        machine_id="mill", alloy=alloy, speed_rad_per_s=rad_per_s_from_rpm(9000.0),
        tooth_feed_mm=feed, axial_mm=6.0, radial_mm=5.0, load_mw=0.5e6 + power, idle_mw=0.5e6, step_mw=1.0e4, edge=edge,
        date="2026-02-03", **given,
    )  # fmt: skip


def decided(*readings: SpindleReading, written: Fact = WRITTEN) -> Decision[CuttingPressure]:
    return decide_pressure(readings=readings, cutters=THREE, alloy="6061-T6", pressure_mpa=written, exponent_ratio=0.25)


def six(pressure: float, spread: float = 0.01, **more: Any) -> tuple[SpindleReading, ...]:
    """Of three cutters, two each, unless told otherwise."""
    names = [more.pop("cutter_id")] * 3 if "cutter_id" in more else [c.id for c in THREE]
    return tuple(
        reading(pressure, off=spread * (k - 2.5) / 2.5, cutter_id=names[k % 3], **more) for k in range(6)
    )  # fmt: skip


def test_readings_within_what_is_written_narrow_it() -> None:
    found = decided(*six(800.0))
    own = found.value.pressure_mpa
    assert WRITTEN.low < own.low < 0.97 * 800.0 < own.high < WRITTEN.high
    assert own.nominal == pytest.approx(0.97 * 800.0, rel=1e-3)
    assert (found.value.used_count, own.strength) == (6, "common practice")
    assert own.source.startswith("shop-file: the shop's own 6 spindle readings, 2026-02-03")
    (proof,) = found.proofs
    assert (proof.id, proof.verdict, proof.blocks_release) == ("loads:cutting pressure:readings", "holds", False)
    assert "lies within what is written" in proof.basis.formula
    named = [key for key in proof.basis.inputs if key.startswith("reading ")]
    assert len(named) == 18
    assert proof.basis.inputs["k_c1.1 taken"] == own


def test_readings_above_what_is_written_widen_it_and_say_so() -> None:
    """Nobody knows which of the two is wrong: the interval holds both, and no end moves inward."""
    found = decided(*six(2000.0))
    taken = found.value.pressure_mpa
    assert taken.low == WRITTEN.low
    assert taken.high > 2000.0
    (proof,) = found.proofs
    assert proof.verdict == "fails"
    assert not proof.blocks_release
    assert "lie apart" in proof.basis.formula
    below = decided(*six(200.0))
    assert below.value.pressure_mpa.high == WRITTEN.high
    assert below.value.pressure_mpa.low < 200.0
    assert below.proofs[0].verdict == "fails"


def test_readings_that_reach_beyond_are_taken_and_told() -> None:
    found = decided(*six(1000.0))
    assert found.value.pressure_mpa.high > WRITTEN.high
    assert found.value.pressure_mpa.low > WRITTEN.low
    assert "reaches beyond what is written" in found.proofs[0].basis.formula


@pytest.mark.parametrize("cutters", [{}, {"cutter_id": "mill 12"}])
def test_readings_past_both_ends_raise_the_high_end(cutters: dict[str, Any]) -> None:
    found = decided(*six(800.0, spread=0.6, **cutters))
    taken = found.value.pressure_mpa
    assert taken.low < WRITTEN.low
    assert taken.high > 1500.0
    assert found.value.used_count == 6


@pytest.mark.parametrize("names", [("mill 12",), ("mill 12", "mill 12 b")])
def test_fewer_than_three_cutters_lower_no_high_end(names: tuple[str, ...]) -> None:
    """The low end may move; an unread cutter may need all that is written, and the exponent that goes with it."""
    some = [reading(800.0, off=0.002 * k, cutter_id=names[k % len(names)]) for k in range(6)]
    found = decided(*some)
    assert found.value.pressure_mpa.high == WRITTEN.high
    assert WRITTEN.low < found.value.pressure_mpa.low < 0.97 * 800.0
    assert f"{len(names)} of the 3 different cutters" in found.proofs[0].basis.formula
    third = msgspec.structs.replace(some[-1], cutter_id="mill 12 c")
    assert (decided(*some[:-1], third).value.pressure_mpa.high < WRITTEN.high) == (len(names) == 2)


def test_an_exponent_of_one_cutter_is_not_taken_for_others() -> None:
    """Readings along m_c 0.1 say more than 0.25 does for thick chips and less for thin: both ends count at 0.25.

    Worked: at 0.3 mm 0.3^0.15 is 0.835, at 0.01 mm 0.501: low ends times 0.501, high ends times 0.835.
    """
    some: list[SpindleReading] = []
    for feed in (0.02, 0.03, 0.04, 0.05, 0.06, 0.08):
        one = reading(1800.0, feed=feed)
        chip = mean_chip_thickness_mm(feed_per_tooth_mm=feed, radial_engagement_mm=5.0, diameter_mm=12.0)
        some.append(msgspec.structs.replace(one, load_mw=one.idle_mw + (one.load_mw - one.idle_mw) * chip**0.15))
    found = decided(*some)
    assert found.value.exponent_ratio == 0.25
    own = found.proofs[0].basis.inputs["k_c1.1 of the readings"]
    moved = found.proofs[0].basis.inputs["k_c1.1 of the readings at the m_c written"]
    assert (moved.low, moved.high) == pytest.approx((0.501 * own.low, 0.835 * own.high), rel=1e-3)
    assert found.value.pressure_mpa.high == max(moved.high, WRITTEN.high)
    three = [msgspec.structs.replace(r, cutter_id=THREE[k % 3].id) for k, r in enumerate(some)]
    assert decided(*three).value.exponent_ratio == pytest.approx(0.1, abs=1e-6)


def test_too_few_readings_or_those_of_another_alloy_are_not_used() -> None:
    few = decided(*six(800.0)[:4])
    assert few.value.pressure_mpa == WRITTEN
    assert few.proofs[0].verdict == "not shown"
    assert "1 more readings" in few.proofs[0].decides
    other = decided(*six(800.0, alloy="7075-T6"))
    assert other.value.pressure_mpa == WRITTEN
    assert decided().proofs == ()


def test_no_worn_edge_raises_the_high_end_and_a_share_of_power_widens_both() -> None:
    """Worked: a worn edge 1.3 times; a meter in percent 0.85 and 1.15 times."""
    plain = decided(*six(800.0)).value.pressure_mpa
    sharp = decided(*six(800.0, edge="sharp"), written=fact(300.0, 800.0, 2000.0, "MPa")).value.pressure_mpa
    assert sharp.high == pytest.approx(1.3 * plain.high, rel=1e-4)
    assert sharp.low == plain.low
    mixed = (*six(800.0, edge="sharp")[:5], six(800.0)[5])
    assert decided(*mixed, written=fact(300.0, 800.0, 2000.0, "MPa")).value.pressure_mpa.high == sharp.high
    shared = decided(*six(800.0, is_share=True), written=fact(300.0, 800.0, 2000.0, "MPa")).value.pressure_mpa
    assert (shared.low, shared.high) == pytest.approx((0.85 * plain.low, 1.15 * plain.high), rel=1e-4)


def test_the_strength_is_that_of_the_weakest_number_in_it() -> None:
    """Measured here only where feeds tell the exponent, a worn edge was read, and nothing is a share."""
    feeds = (0.02, 0.03, 0.04, 0.05, 0.06, 0.08)

    def strength(**more: Any) -> str:
        some = [reading(800.0, feed=f, cutter_id=THREE[k % 3].id, **more) for k, f in enumerate(feeds)]
        found = decided(*some)
        assert found.value.used_count == 6
        return found.value.pressure_mpa.strength

    assert strength() == "measured here"
    assert strength(edge="sharp") == "common practice"
    guessed = msgspec.structs.replace(SURE, strength="owner's guess")
    assert strength(efficiency_ratio=guessed) == "owner's guess"
    assert decided(*six(800.0)).value.pressure_mpa.strength == "common practice"
