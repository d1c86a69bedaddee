"""The judges of the bound know the textbook answers: when contacts close on a body, and what clamp force they ask.

Constructed cases with the theory of force closure (a body is closed when the wrenches of its contacts span every
direction with forces that only push); the forces are those of a linear program.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from holding_cases import cone_columns
from numpy.typing import NDArray
from scipy.optimize import linprog

from proveout.grip.clamp_force import clamp_force_for_slide_n, clamp_force_from_torque_n

Floats = NDArray[np.float64]
Contact = tuple[float, float, float, float]
Place = tuple[float, float, float]


def is_closed(wrenches: Floats) -> bool:
    """Whether columns of a rank that fills the space balance with every one of them pushing."""
    if np.linalg.matrix_rank(wrenches) < len(wrenches):
        return False
    count = wrenches.shape[1]
    return bool(linprog(np.zeros(count), A_eq=wrenches, b_eq=np.zeros(len(wrenches)), bounds=(1.0, None)).status == 0)


def planar(contacts: list[Contact], friction: float = 0.0) -> Floats:
    """(3, n) wrenches of contacts at x, y with a normal; with friction the two edges of each cone."""
    columns = []
    for x, y, n_x, n_y in contacts:
        for sign in (-1.0, 1.0) if friction > 0.0 else (0.0,):
            f_x, f_y = n_x - sign * friction * n_y, n_y + sign * friction * n_x
            columns.append((f_x, f_y, 0.01 * (x * f_y - y * f_x)))
    return np.array(columns).T


CASES: list[tuple[list[Contact], bool]] = [
    ([(25, 0, 0, 1), (75, 0, 0, 1), (0, 25, 1, 0), (100, 25, -1, 0)], False),
    ([(60, 0, 0, 1), (100, 20, -1, 0), (40, 50, 0, -1), (0, 30, 1, 0)], True),
    ([(60, 0, 0, 1), (100, 30, -1, 0), (40, 50, 0, -1), (0, 20, 1, 0)], False),
    ([(25, 0, 0, 1), (75, 0, 0, 1), (50, 50, 0, -1), (0, 10, 1, 0), (100, 40, -1, 0)], True),
]


@pytest.mark.parametrize("case", CASES)
def test_frictionless_contacts_on_a_block(case: tuple[list[Contact], bool]) -> None:
    contacts, closed = case
    assert is_closed(planar(contacts)) is closed


def test_fewer_contacts_than_the_theorem_asks_never_close() -> None:
    """Planar and frictionless at least 4: no three of a closed set of four do."""
    four = CASES[1][0]
    assert not any(is_closed(planar([c for j, c in enumerate(four) if j != i])) for i in range(4))


def spatial(contacts: list[tuple[Place, Place]], friction: float = 0.0, sides: int = 16) -> Floats:
    """(6, n) wrenches of points with normals; with friction the edges of each cone."""
    columns = []
    for place, normal in contacts:
        n = np.array(normal, dtype=float)
        across = np.cross(n, (0.0, 0.0, 1.0) if abs(n[2]) < 0.9 else (1.0, 0.0, 0.0))
        across /= np.linalg.norm(across)
        other = np.cross(n, across)
        for k in range(sides if friction > 0.0 else 1):
            angle = 2.0 * math.pi * k / sides
            force = n + friction * (math.cos(angle) * across + math.sin(angle) * other)
            columns.append(np.concatenate([force, 0.05 * np.cross(place, force)]))
    return np.array(columns).T


# under a block of 100 x 60 x 40 three points, two on a long side, one on an end; each pushes into the block
LOCATORS: list[tuple[Place, Place]] = [
    ((10, 10, 0), (0, 0, 1)), ((90, 10, 0), (0, 0, 1)), ((50, 50, 0), (0, 0, 1)), ((20, 0, 20), (0, 1, 0)),
    ((80, 0, 20), (0, 1, 0)), ((0, 30, 20), (1, 0, 0)),
]  # fmt: skip
# a clamp on the top face that pushes aslant. Worked: of forces 1, 1, 1 below, 1 and 1.2222 on the side and 1 on the end
# the moments about (50, 23.333, 20) are 0, so a push of (-1, -2.2222, -3) through that point balances them
CLAMP: tuple[Place, Place] = ((170 / 3, 1030 / 27, 40), (-1.0, -20 / 9, -3.0))


def test_six_locators_leave_no_way_to_move_and_hold_nothing_until_a_clamp_presses() -> None:
    """Three, two and one: their wrenches fill the space, so no small motion keeps all six touching; yet only the push
    of a clamp closes them, and a clamp that lifts does not."""
    assert np.linalg.matrix_rank(spatial(LOCATORS)) == 6
    assert not is_closed(spatial(LOCATORS))
    place, (x, y, z) = CLAMP
    assert not is_closed(spatial([*LOCATORS, (place, (x, y, -z))]))
    assert is_closed(spatial([*LOCATORS, CLAMP]))


def test_in_space_seven_points_close_without_friction_and_no_six_do() -> None:
    seven = [*LOCATORS, CLAMP]
    assert is_closed(spatial(seven))
    assert not any(is_closed(spatial([c for j, c in enumerate(seven) if j != i])) for i in range(7))


def test_with_friction_two_points_close_in_a_plane_and_three_in_space() -> None:
    """Two hard points in space let the body turn about the line through them, whatever the friction."""
    assert is_closed(planar([(0, 25, 1, 0), (60, 25, -1, 0)], 0.2))
    pair: list[tuple[Place, Place]] = [((0, 0, 0), (1, 0, 0)), ((60, 0, 0), (-1, 0, 0))]
    assert not is_closed(spatial(pair, 5.0))
    r = math.sqrt(0.75)
    three: list[tuple[Place, Place]] = [
        ((30, 0, 0), (-1, 0, 0)), ((-15, 30 * r, 0), (0.5, -r, 0)), ((-15, -30 * r, 0), (0.5, r, 0))
    ]  # fmt: skip
    assert is_closed(spatial(three, 0.3))
    assert not is_closed(spatial(three))


@pytest.mark.parametrize("friction", [0.32, 0.333, 0.334, 0.35])
def test_two_jaws_60_apart_offset_by_20_close_above_a_third(friction: float) -> None:
    """20 / 60: 18.435 degrees."""
    assert math.degrees(math.atan(20.0 / 60.0)) == pytest.approx(18.435, abs=1e-3)
    assert is_closed(planar([(0, 0, 1, 0), (60, 20, -1, 0)], friction)) is (friction > 1.0 / 3.0)


def test_a_friction_of_a_quarter_opens_a_cone_of_fourteen_degrees() -> None:
    """The edges of the judges' cones, seen from the normal: 14.036 degrees."""
    edges = cone_columns(40.0, 10.0, 40.0, 0.25, 16)[:3]
    angles = np.degrees(np.arctan2(np.hypot(edges[0], edges[2]), np.abs(edges[1])))
    assert angles == pytest.approx(np.full(128, 14.036), abs=0.01)


@pytest.mark.parametrize(
    ("force", "place", "known"),
    [
        ((0.0, 0.0, 1000.0), (0.0, 0.0, 10.0), 2500.0),
        ((1000.0, 0.0, 0.0), (0.0, 0.0, 0.0), 2500.0),
        ((1000.0, 0.0, 0.0), (0.0, 0.0, 35.0), 4062.5),
    ],
)
def test_the_least_force_of_one_jaw(force: tuple[float, ...], place: tuple[float, ...], known: float) -> None:
    """Jaws 40 apart with corners at +-40 and +-10 about the middle, pyramids of friction 0.2; half a percent."""
    columns = cone_columns(40.0, 10.0, 40.0, 0.2, 4)
    wanted = -np.concatenate([force, np.cross(place, force)])
    one_jaw = np.concatenate([np.ones(16), np.zeros(16)])
    answer = linprog(one_jaw, A_eq=columns, b_eq=wanted)
    assert answer.fun == pytest.approx(known, rel=5e-3)


def test_forces_of_a_slide_and_of_a_screw() -> None:
    """1613 N at 0.2 with 2.5 in hand: 10 081 N on both faces; 60 N m on 5 mm of lead at 0.30: 22.6 kN."""
    assert clamp_force_for_slide_n(force_along_n=1613.0, friction_ratio=0.2, safety_ratio=2.5) == pytest.approx(
        10081.0, rel=1e-3
    )
    screw = clamp_force_from_torque_n(torque_n_mm=60e3, lead_mm=5.0, efficiency_ratio=0.30)
    assert screw == pytest.approx(22.6e3, rel=5e-3)
