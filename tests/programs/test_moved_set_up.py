"""A vise that stands elsewhere than was measured, and a rotary centre that lies elsewhere: what the check says."""

from __future__ import annotations

import math
from typing import Any

import foreign_program as given
import pytest

from proveout.model.checking import Finding

OFF_MM = 0.05


def moved(point: tuple[float, float, float], axis: int, by_mm: float) -> tuple[float, float, float]:
    one, two, three = (v + (by_mm if k == axis else 0.0) for k, v in enumerate(point))
    return one, two, three


def test_a_vise_moved_towards_the_jaw_is_predicted_as_cut_into_the_part() -> None:
    """Worked: the work stands 0.2 mm further along +X than its zero was set: the outline's right wall ends 0.2 too far
    left in it, which is 0.2 mm into the part."""
    stands = given.standing(zero=moved(given.ZERO, 0, 0.2))
    decided = given.check(given.PROGRAM, stands=stands, knows=given.control())
    assert decided.value.faces[0].gouge_mm == pytest.approx(0.2, abs=0.002)
    lines = given.PROGRAM.splitlines()
    struck = {lines[f.line - 1] for f in decided.value.findings if f.kind == "gouge"}
    assert "G1 Y0" in struck, struck


def test_a_vise_moved_up_meets_the_drill_sooner() -> None:
    """Worked: the seat lies 24 mm below zero, the drill's tip goes to 22: 2.5 mm higher it is met over half a mm."""
    stands = given.standing(zero=moved(given.ZERO, 2, 2.5))
    findings: list[Finding] = [
        f for f in given.check(given.PROGRAM, stands=stands).value.findings if f.kind == "strike"
    ]
    assert any("seat" in f.what for f in findings)
    assert all(
        given.PROGRAM.splitlines()[f.line - 1].startswith(("G83", "Y34", "X50")) for f in findings if "seat" in f.what
    )


def met(text: str, body: str, **more: Any) -> list[Finding]:
    """What a program strikes of one body."""
    found = given.check(text, **more).value.findings
    return [f for f in found if f.kind == "strike" and f.what.endswith(f"meets the {body}")]


def test_two_tenths_of_a_vise_decide_whether_the_drill_meets_the_seat() -> None:
    """Worked: the tip ends 0.1 mm above the seat. With the vise 0.2 mm higher than its zero was set it goes 0.1 into
    it, with the vise 0.2 mm lower it stays 0.3 clear."""
    text = given.PROGRAM.replace("Z-22 R2", "Z-23.9 R2")
    assert not met(text, "seat")
    higher, lower = (given.standing(zero=moved(given.ZERO, 2, by)) for by in (0.2, -0.2))
    struck = met(text, "seat", stands=higher, knows=given.control())
    assert {text.splitlines()[f.line - 1][:3] for f in struck} == {"G83", "Y34", "X50"}
    assert max(f.found or 0.0 for f in struck) == pytest.approx(0.1, abs=0.001)
    assert not met(text, "seat", stands=lower, knows=given.control())


def test_half_a_tenth_of_the_rotary_centre_decides_whether_the_turned_jaw_is_met() -> None:
    """Worked: turned by 30 degrees the jaw's rear edge stands highest, and the end mill goes down to 0.02 below it. How
    deep a flat end lies in a square edge is h / (sin 30 deg + cos 30 deg): 0.0146 mm, less than a touch. A centre 0.05
    off along Y lets the tip land sin 30 deg x 0.05 = 0.025 lower: 0.0329 mm."""
    y, z = given.turned(61.0, -21.0)
    flat, down = f"G0 X-12 Y{given.FLAT_Y + 3.0:.3f}\n", f"G1 Z{z - 0.02:.4f} F600"
    over = f"G0 X30 Y{y:.3f}\nG43 H2 Z60\n{down}\nG0 Z60\n"
    text = given.PROGRAM.replace(f"{flat}G43 H2 Z60\n", f"{over}{flat}")
    assert over in text
    assert not met(text, "fixed jaw")
    struck = met(text, "fixed jaw", knows=given.control(centre=moved(given.CENTRE, 1, OFF_MM)))
    assert down in {text.splitlines()[f.line - 1] for f in struck}
    sunk = (0.02 + OFF_MM * math.sin(given.TILT_RAD)) / (math.sin(given.TILT_RAD) + math.cos(given.TILT_RAD))
    assert max(f.found or 0.0 for f in struck) == pytest.approx(sunk, abs=0.001)
    assert not met(text, "fixed jaw", knows=given.control(centre=moved(given.CENTRE, 1, -OFF_MM)))


def test_a_centre_measured_wrong_shifts_the_tilted_flat_by_what_the_turn_makes_of_it() -> None:
    """Worked: the control turns the zero about a centre 0.05 mm off along Y: the tip lands (I - R) d off, of which the
    flat sees the part along its own normal, machine Z: -sin 30 deg x 0.05 = 0.025 mm too deep."""
    control = given.control(centre=moved(given.CENTRE, 1, OFF_MM))
    decided = given.check(given.PROGRAM, knows=control)
    assert decided.value.faces[0].gouge_mm == pytest.approx(OFF_MM * math.sin(given.TILT_RAD), abs=0.002)
    other = given.check(given.PROGRAM, knows=given.control(centre=moved(given.CENTRE, 1, -OFF_MM)))
    assert other.value.faces[0].gouge_mm < 0.002


def test_without_a_length_word_the_tip_is_seen_a_cutters_length_lower() -> None:
    """Worked: cutter 1 is 100 mm long, so at Z 20 its tip lies 80 mm below zero, beside the work and in the seat."""
    findings = given.check(given.PROGRAM.replace("G43 H1 Z20 M8", "Z20 M8", 1)).value.findings
    struck = [f for f in findings if given.PROGRAM.splitlines()[f.line - 1] == "G43 H1 Z20 M8"]
    assert {"length", "strike"} <= {f.kind for f in struck}
