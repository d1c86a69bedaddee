"""Over-travel of cycles that work in several places: all of them within the travels together."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
import two_places as given

from proveout.model.job import Pin
from proveout.model.shop import Vise
from proveout.stages.clampings import place_travels
from proveout.stages.timing.table_loads import decide_loads


def found(vise: Vise, **machine: Any) -> dict[str, Any]:
    mill = given.mill(**machine)
    loads = decide_loads(
        passes=given.ONE, clampings=(given.clamping(1),), machines=(mill,), vises=(vise,), jaws=given.JAWS,
        blank=given.BLANK, clamp_forces=given.FORCES, quantity=100, pieces_count=100,
        pins=(Pin(quantity="pieces_a_cycle", value="2"),),
    ).value.loads  # fmt: skip
    assert loads
    proofs = place_travels(
        plan=given.ONE, clampings=(given.clamping(1),), machines=(mill,), cutters=given.CUTTER_LIST, loads=loads
    )
    return {p.id.rpartition(" ")[2]: p for p in proofs}


def test_the_tips_of_all_places_lie_within_the_travel() -> None:
    """worked: zeros at X 170 and 350; tips from 170 - 12 = 158 to 350 + 72.003 = 422.003 of 0 to 600: 158 are left."""
    proofs = found(given.VISE)
    assert {p.verdict for p in proofs.values()} == {"holds"}
    assert proofs["x"].found_high == pytest.approx(600.0 - 158.0, abs=1e-6)
    # Y: zeros at -200 and -200.5, tips from -238.277 to -205.001 of -450 to 0
    assert proofs["y"].found_high == pytest.approx(450.0 - 205.001, abs=1e-6)


def test_a_place_outside_the_travel_fails() -> None:
    far = msgspec.structs.replace(given.VISE, more_stand_mm=((580.0, -200.0, -300.0),))
    proofs = found(far)
    assert proofs["x"].verdict == "fails"
    assert proofs["x"].found_high == pytest.approx(600.0 + (550.0 + 72.003 - 600.0), abs=1e-6)


def test_the_nose_at_the_height_of_the_ways_counts() -> None:
    """worked: the nose goes up to -250 and the longest cutter, and down to the lowest tip in the lower place, -301."""
    z = found(given.VISE)["z"]
    gauge = {c.id: c.gauge_mm for c in given.CUTTER_LIST}
    low = -301.0 + min(22.037 + gauge["mill"], 8.299 + gauge["drill"])
    high = -250.0 + max(gauge["mill"], gauge["drill"])
    assert z.found_high == pytest.approx(400.0 + max(-400.0 - low, high), abs=1e-6)
    high = msgspec.structs.replace(given.VISE, stands_mm=(200.0, -200.0, -120.0))
    assert found(high)["z"].verdict == "fails"


def test_what_nobody_measured_is_not_shown() -> None:
    proofs = found(given.UNMEASURED)
    assert {p.verdict for p in proofs.values()} == {"not shown"}
    assert "stands_x_mm" in proofs["x"].decides
    assert proofs["x"].blocks_release
    assert found(given.UNMEASURED, travel_mm=(60.0, 450.0, 400.0))["x"].verdict == "fails"
