"""A vise that stands elsewhere than was measured, and a rotary centre that lies elsewhere: what the check says."""

from __future__ import annotations

import math

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
