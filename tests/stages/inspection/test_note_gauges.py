"""Radii, chamfers, angles and textures: which gauge of the shop tells them, and what to get where none does."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from sizes_gauged import CALIPER, gauge, inspect, whole

from proveout.model.gauge import WantedGauge
from proveout.model.plan import SizeNote

LEAVES = gauge("leaves", "radius gauge", 1.0, 7.0, 0.05)
STEM = gauge("stem", "chamfer gauge", 0.0, 10.0, 0.02)
PROJECTOR = msgspec.structs.replace(
    gauge("projector", "comparator", 0.0, 50.0, 0.005), uncertainty_rad=math.radians(0.05)
)  # fmt: skip
TESTER = gauge("tester", "roughness tester", 0.0001, 0.010, 0.0002)


def note(kind: str, low: float | None, high: float | None, **more: Any) -> SizeNote:
    given: dict[str, Any] = {
        "balloon": 3, "mark": "3b", "text": "R4 ±0.2", "kind": kind, "unit": "mm", "low": low, "high": high,
        "before_low": low, "before_high": high, "is_critical": False, "face_ids": ("f1",), **more,
    }  # fmt: skip
    return SizeNote(**given)


def test_a_radius_has_a_line_with_its_gauge_and_the_readings_that_stop_the_work() -> None:
    """worked: 0.4 / 0.1 = 4 to 1, just enough; 3.8 + 0.05 to 4.2 - 0.05."""
    decision = inspect(notes=(note("radius", 3.8, 4.2),), gauges=(CALIPER, LEAVES))
    (line,) = decision.value
    assert (line.balloon, line.mark, line.of, line.gauge) == (3, "3b", "radius", "leaves")
    assert line.reaction.startswith("reads below 3.850 or above 4.150")
    (proof,) = [p for p in decision.proofs if p.id == "inspection:3b:gauge-can-tell"]
    assert (proof.verdict, proof.found_low) == ("holds", pytest.approx(4.0))


def test_a_finer_radius_goes_to_the_comparator_and_without_one_is_not_shown() -> None:
    """worked: 0.2 / 0.1 = 2 to 1; 0.2 / 8 = 0.025."""
    fine = note("radius", 3.9, 4.1)
    assert inspect(notes=(fine,), gauges=(LEAVES, PROJECTOR)).value[0].gauge == "projector"
    decision = inspect(notes=(fine,), gauges=(CALIPER, LEAVES))
    (proof,) = [p for p in decision.proofs if "gauge" in p.id]
    assert decision.value[0].wanted == proof.decides
    assert (proof.verdict, proof.decides) == (
        "not shown", "get a radius gauge or comparator for 4.100 mm of at most ±0.025 mm"
    )  # fmt: skip


def test_a_chamfers_leg_is_machined_to_its_window_before_the_coat_and_gauged_there() -> None:
    leg = note("chamfer", 1.8, 2.2, before_low=1.82, before_high=2.17, text="2 ±0.2 x 45°")
    decision = inspect(notes=(leg,), gauges=(STEM, LEAVES), coated_area_mm2=1.0)
    (line,) = decision.value
    assert (line.of, line.gauge, line.after_gauge) == ("chamfer", "stem", "stem")
    assert (line.before_low_mm, line.before_high_mm, line.finished_low_mm) == (1.82, 2.17, 1.8)
    assert {p.id for p in decision.proofs if "gauge" in p.id} == {
        "inspection:3b:gauge-can-tell", "inspection:3b:gauge-can-tell-finished"
    }  # fmt: skip


def test_a_radius_whose_size_before_the_coat_nobody_knows_is_not_to_be_made() -> None:
    (line,) = inspect(notes=(note("radius", 3.8, 4.2, before_low=None, before_high=None),), gauges=(LEAVES,)).value
    assert (line.is_decided, line.gauge, line.accept_low_mm) == (False, "", None)
    assert line.reaction.startswith("do not make")


def test_an_angle_wants_a_gauge_whose_uncertainty_of_angles_is_written() -> None:
    """worked: 2 / (2 x 0.05) = 20 to 1; a wish of 2 / 8 = 0.25 degrees where there is none."""
    slope = note("angle", 19.0, 21.0, unit="°", text="20° ±1°")
    found = whole(notes=(slope,), gauges=(PROJECTOR,))
    assert [(one.mark, one.gauge) for one in found.value.note_gauges] == [("3b", "projector")]
    (proof,) = found.proofs
    assert (proof.verdict, proof.found_low) == ("holds", pytest.approx(20.0))
    silent = msgspec.structs.replace(PROJECTOR, uncertainty_rad=None)
    (proof,) = whole(notes=(slope,), gauges=(silent,)).proofs
    assert (proof.verdict, proof.decides) == ("not shown", "get a bevel protractor or comparator of at most ±0.25 °")


def test_a_texture_wants_a_tester_that_reads_it_finely_enough() -> None:
    """worked: Ra 1.6 / (2 x 0.2) = 4 to 1; Ra 0.8 is 2 to 1."""
    found = whole(notes=(note("texture", None, 1.6, unit="µm", text="Ra 1.6"),), gauges=(TESTER,))
    assert (found.value.note_gauges[0].gauge, found.proofs[0].verdict) == ("tester", "holds")
    fine = whole(notes=(note("texture", None, 0.8, unit="µm", text="Ra 0.8"),), gauges=(TESTER,))
    assert (fine.value.note_gauges[0].gauge, fine.proofs[0].verdict) == ("", "not shown")


def test_edges_are_looked_at_by_eye_and_nothing_is_claimed_of_them() -> None:
    eye = gauge("eye", "visual", 0.0, 5000.0, 0.2)
    found = whole(notes=(note("edge", None, None, unit="", text="edge -0.5"),), gauges=(eye,))
    assert (found.value.note_gauges[0].gauge, found.proofs, found.value.lines) == ("eye", (), ())


def test_a_critical_radius_without_a_gauge_blocks_release_and_is_gauged_on_every_piece() -> None:
    decision = inspect(notes=(note("radius", 3.9, 4.1, is_critical=True),), gauges=())
    (proof,) = [p for p in decision.proofs if "gauge" in p.id]
    assert (proof.blocks_release, proof.verdict, decision.value[0].how_often) == (True, "not shown", "every piece")


def test_what_no_gauge_tells_is_named_to_be_bought_before_and_after_its_coat() -> None:
    """A coated chamfer asks for one before and one after, a plain radius for one; a window not known for none."""
    leg = note("chamfer", 1.8, 2.2, before_low=1.82, before_high=2.17, text="2 ±0.2 x 45°")
    grown = whole(notes=(leg,), gauges=(), coated_area_mm2=1.0).value.wanted
    assert [(one.mark, one.when) for one in grown] == [("3b", "before"), ("3b", "after")]
    assert "2.170 mm" in grown[0].what
    assert "2.200 mm" in grown[1].what
    plain = note("radius", 3.9, 4.1)
    assert whole(notes=(plain,), gauges=(LEAVES,), coated_area_mm2=1.0).value.wanted == (
        WantedGauge(what="radius gauge or comparator for 4.100 mm of at most ±0.025 mm", mark="3b"),
    )
    unknown = note("radius", 3.8, 4.2, before_low=None, before_high=None)
    assert whole(notes=(unknown,), gauges=()).value.wanted == ()


def test_an_angle_that_nothing_reads_is_named_to_be_bought() -> None:
    slope = note("angle", 19.0, 21.0, unit="°", text="20° ±1°")
    assert whole(notes=(slope,), gauges=()).value.wanted == (
        WantedGauge(what="bevel protractor or comparator of at most ±0.25 °", mark="3b"),
    )
    assert whole(notes=(slope,), gauges=(PROJECTOR,)).value.wanted == ()
