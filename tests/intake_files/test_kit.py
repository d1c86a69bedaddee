"""The kit and the bag as a job file writes them."""

from __future__ import annotations

import pytest

from proveout.intake.job_file import job_from_text
from proveout.quantities.errors import BadInput, OutOfRange

JOB = """
general_tolerance = "m"
[part]
number = "EX-1"
step = "part.step"
[order]
quantity = 10
"""
KIT = (
    JOB
    + """
[[kit]]
name = "lock screw"
count = 2
mass_g = { low = 5.9, nominal = 6.0, high = 6.1, source = "scale, 20 of them", strength = "measured here" }
bin = "B 12"
supplier = "Example Fasteners"
pack = 100
pack_price = 9.5
[[kit]]
name = "shim"
count = 1
[bag]
mass_g = 2.1
pieces_a_box = 40
"""
)


def test_a_kit_is_read_in_the_units_inside() -> None:
    job = job_from_text(KIT)
    screw, shim = job.kit
    assert screw.mass_kg is not None
    assert (screw.count, screw.pack_count, screw.bin) == (2, 100, "B 12")
    assert screw.mass_kg.high == pytest.approx(0.0061)
    assert screw.mass_kg.strength == "measured here"
    assert (shim.mass_kg, shim.pack_count) == (None, None)
    assert job.bag.mass_kg is not None
    assert job.bag.mass_kg.nominal == pytest.approx(0.0021)
    assert job.bag.pieces_a_box == 40


def test_a_job_without_a_kit_has_none() -> None:
    job = job_from_text(JOB)
    assert job.kit == ()
    assert job.bag.mass_kg is None


def test_an_item_listed_twice_is_refused() -> None:
    with pytest.raises(BadInput, match="listed twice") as refused:
        job_from_text(KIT.replace('"shim"', '"lock screw"'))
    assert "kit number 2" in str(refused.value)


def test_a_count_of_nothing_is_refused() -> None:
    with pytest.raises(OutOfRange, match="count"):
        job_from_text(KIT.replace("count = 2", "count = 0"))


def test_ounces_are_read() -> None:
    job = job_from_text(KIT.replace("mass_g = 2.1", "mass_oz = 0.1"))
    assert job.bag.mass_kg is not None
    assert job.bag.mass_kg.nominal == pytest.approx(0.1 * 0.028349523125)
