"""Every number of a grip or bearing proof can be had again from its inputs and its printed formula alone."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from shapes import fact
from stages.gripped import CLAMPING, LOAD, PRESSURE, held, proof, rotary_mill

from proveout.model.fact import Fact
from proveout.model.loads import PassLoad
from proveout.model.proof import Proof

LOSING = msgspec.structs.replace(
    CLAMPING, patch_length_mm=fact(60.0, 78.0, 80.0, "mm"), patch_height_mm=fact(2.0, 2.5, 3.0, "mm")
)
DRILL = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=700.0, torque_n_mm=9000.0)
TILTED = msgspec.structs.replace(LOAD, is_tilted=True)


def terms(one: Proof) -> list[tuple[float, float, float]]:
    """For every heading: the shear asked for, F_y and E, each at its worst; from the proof's words, not the code."""
    for word in ("M_x = h F_y + o_y F_z", "M_y = h F_x + o_x F_z", "M_z = o_x F_y + o_y F_x", "kappa g^2 / 4"):
        assert word in one.basis.formula
    given = {name.partition(",")[0]: value for name, value in one.basis.inputs.items()}
    length, height = given["L"], given["H"]
    gap, kappa = given["g"].high, given["kappa"].high
    halves_a, halves_b = (np.linspace(side.low / 2.0, side.high / 2.0, 4001) for side in (length, height))
    h = given["c"].high + height.high / 2.0
    soft = kappa * gap * gap / 4.0

    def tilts(half: np.ndarray) -> float:
        return float((3.0 * (half**2 / 3.0) / (half**2 / 3.0 + soft) / half).max())

    def turns(half: np.ndarray, other: float) -> float:
        return float((3.0 * half / (half**2 + other**2)).max())

    found = []
    for t in np.radians(np.arange(0.0, 90.1, 7.5)).tolist():
        level = given["F"].high / math.cos(math.radians(3.75))
        f_x, f_y, f_z = level * math.cos(t) + given["F_d"].high, level * math.sin(t), given["F_z"].high
        m_x, m_y = h * f_y + given["o_y"].high * f_z, h * f_x + given["o_x"].high * f_z
        m_z = given["o_x"].high * f_y + given["o_y"].high * f_x
        d_x = f_x + 2.0 * m_z / gap + m_y * turns(halves_b, length.low / 2.0)
        d_z = f_z + 2.0 * m_x / gap + m_y * turns(halves_a, height.low / 2.0)
        found.append((math.hypot(d_x, d_z), f_y, m_x * tilts(halves_b) + m_z * tilts(halves_a)))
    return found


@pytest.mark.parametrize(("load", "kind"), [(LOAD, "rough"), (DRILL, "drill"), (TILTED, "rough")])
def test_the_reserve_and_the_pressure_come_out_again(load: PassLoad, kind: str) -> None:
    found = held(load, kind=kind, clamping=LOSING)
    grip, bearing = proof(found, "grip"), proof(found, "bearing")
    force, friction = grip.basis.inputs["P, jaw force"], grip.basis.inputs["mu, friction"]
    least = min(2.0 * friction.low * force.low / (s + friction.low * (2.0 * y + e)) for s, y, e in terms(grip))
    assert grip.found_low == pytest.approx(least, abs=2e-4)
    area = bearing.basis.inputs["L, patch length"].low * bearing.basis.inputs["H, patch height"].low
    most = max((force.high + y + e / 2.0) / area for _, y, e in terms(bearing))
    assert bearing.found_high == pytest.approx(most, rel=1e-6)
    assert bearing.basis.inputs["yield"].low == bearing.limit


def test_the_force_is_told_with_the_interval_of_the_cutting_pressure() -> None:
    """Worked: 600 N at 900 MPa are 400 N at 600 MPa; a bound that was reckoned is called assumed, never measured."""
    inputs = proof(held(LOAD), "grip").basis.inputs
    assert inputs["k_c1.1, cutting pressure"] == PRESSURE
    force = inputs["F, force level with the jaws"]
    assert (force.low, force.high) == (pytest.approx(400.0), 600.0)
    for name in (
        "F, force level with the jaws",
        "F_z, force up or down",
        "c, cut above the patch",
        "g, between the jaws",
    ):
        assert inputs[name].strength == "assumed"


def test_the_torque_on_the_brake_comes_out_again() -> None:
    one = proof(held(TILTED, machine=rotary_mill()), "rotary brake")
    inputs: dict[str, Fact] = one.basis.inputs
    again = inputs["F, force of the cut"].high * inputs["d, lever"].high / 1000.0 + inputs["T, cutter's torque"].high
    assert one.found_high == pytest.approx(again, abs=1e-3)
    assert inputs["brake torque"].low / 1000.0 == one.limit
    assert {"travel x", "travel y", "travel z", "rotation centre x", "rotation centre y"} <= set(inputs)


def test_the_rating_stands_among_the_inputs() -> None:
    one = proof(held(LOAD), "vise rating")
    assert (one.basis.inputs["rating"].nominal, one.basis.inputs["P, jaw force"].high) == (one.limit, one.found_high)
