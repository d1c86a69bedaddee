"""How far inside a body a cutter comes: by hand, and against the deepest of very many points of the sweep."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.meeting import inside_mm

LEAST_MM = 0.02
POINT = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=1.5, r_low_mm=0.0, r_high_mm=2.5)
SHANK = Piece(kind="frustum", z_low_mm=1.5, z_high_mm=40.0, r_low_mm=2.5, r_high_mm=2.5)
DRILL = (POINT, SHANK)
UP = np.array([0.0, 0.0, 1.0])
LOW, HIGH = np.array([0.0, 0.0, -30.0]), np.array([100.0, 20.0, 0.0])


def met(pieces: tuple[Piece, ...], start: tuple[float, ...], end: tuple[float, ...], axis: np.ndarray = UP,
        *, is_round: bool = False) -> float:  # fmt: skip
    return float(
        inside_mm(
            pieces=pieces, axis=axis, starts_mm=np.array([start]), ends_mm=np.array([end]), low_mm=LOW, high_mm=HIGH,
            is_round=is_round, least_mm=LEAST_MM,
        )[0]
    )  # fmt: skip


def test_a_sharp_point_is_found_where_it_enters_by_a_twentieth() -> None:
    """Worked: the tip stops 0.05 mm below the top of a body 20 mm wide, in its middle: 0.05 mm inside."""
    assert met(DRILL, (50.0, 10.0, 30.0), (50.0, 10.0, -0.05)) == pytest.approx(0.05, abs=1e-6)
    assert met(DRILL, (50.0, 10.0, 30.0), (50.0, 10.0, -0.015)) == 0.0


def test_what_goes_down_beside_a_body_does_not_meet_it() -> None:
    """Worked: Ø5, its axis 2.501 mm off the wall; 0.1 mm nearer it is 0.1 mm inside once the full diameter is down."""
    assert met(DRILL, (50.0, 22.501, 30.0), (50.0, 22.501, -10.0)) == 0.0
    assert met(DRILL, (50.0, 22.4, 30.0), (50.0, 22.4, -10.0)) == pytest.approx(0.1, abs=1e-6)
    # the cone alone is below the top: at its height its radius is less
    assert met(DRILL, (50.0, 22.4, 30.0), (50.0, 22.4, -0.5)) == 0.0


def test_a_round_body_has_no_corners() -> None:
    """Worked: the cylinder in a box 100 x 100 leaves 50 (sqrt 2 - 1) = 20.7 mm of the diagonal free at each corner."""
    corners = {"low_mm": np.array([-50.0, -50.0, -30.0]), "high_mm": np.array([50.0, 50.0, 0.0])}
    at = np.array([[45.0, 45.0, -10.0]])
    how = {"pieces": DRILL, "axis": UP, "starts_mm": at, "ends_mm": at, "least_mm": LEAST_MM, **corners}
    assert inside_mm(**how)[0] > 1.0
    assert inside_mm(**how, is_round=True)[0] == 0.0
    deep = 52.5 - 50.0
    at[:] = [52.5 / math.sqrt(2.0) - deep / math.sqrt(2.0), 52.5 / math.sqrt(2.0) - deep / math.sqrt(2.0), -10.0]
    assert inside_mm(**how, is_round=True)[0] == pytest.approx(2.5, abs=1e-5)


def points_of(piece: Piece, axis: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Very many points of a piece's sweep: of its skin, and of its axis."""
    across = np.cross(axis, [1.0, 0.0, 0.0] if abs(axis[0]) < 0.9 else [0.0, 1.0, 0.0])
    across /= np.linalg.norm(across)
    square = np.cross(axis, across)
    turn = np.linspace(0.0, 2.0 * math.pi, 41)[:-1]
    if piece.kind == "frustum":
        share = np.linspace(0.0, 1.0, 25)
        height = piece.z_low_mm + share * (piece.z_high_mm - piece.z_low_mm)
        radius = piece.r_low_mm + share * (piece.r_high_mm - piece.r_low_mm)
    else:
        middle, corner = 0.5 * (piece.z_low_mm + piece.z_high_mm), piece.corner_mm
        down = np.linspace(-math.pi / 2.0, math.pi / 2.0, 25)
        height = middle + corner * np.sin(down)
        radius = (0.0 if piece.kind == "ball" else piece.r_low_mm) + corner * np.cos(down)
    rings = np.linspace(0.0, 1.0, 7)
    ring = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * square
    skin = (height[:, None, None, None] * axis) + (
        radius[:, None, None, None] * rings[None, :, None, None] * ring[None, None, :, :]
    )
    tips = start + np.linspace(0.0, 1.0, 9)[:, None] * (end - start)
    return (tips[:, None, :] + skin.reshape(-1, 3)[None, :, :]).reshape(-1, 3)


def deep_mm(points: np.ndarray, *, is_round: bool) -> float:
    """How deep the deepest of the points lies inside the body."""
    middle, half = 0.5 * (LOW + HIGH), 0.5 * (HIGH - LOW)
    if is_round:
        aside = half[0] - np.hypot(points[:, 0] - middle[0], points[:, 1] - middle[1])
        return float(np.minimum(aside, half[2] - np.abs(points[:, 2] - middle[2])).max())
    return float((half - np.abs(points - middle)).min(axis=1).max())


PIECES = (
    POINT, SHANK, Piece(kind="ball", z_low_mm=0.0, z_high_mm=8.0, r_low_mm=4.0, r_high_mm=4.0),
    Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=4.0, r_high_mm=5.0),
    Piece(kind="frustum", z_low_mm=10.0, z_high_mm=60.0, r_low_mm=30.0, r_high_mm=45.0),
)  # fmt: skip


@pytest.mark.parametrize("shape", ["box", "cylinder"])
def test_at_any_tilt_it_is_as_deep_as_the_deepest_of_very_many_points(shape: str) -> None:
    """Points lie within the sweep, so none may be deeper; and one of so many lies within 3 mm of the deepest."""
    draw, is_round = np.random.default_rng(11), shape == "cylinder"
    told = 0
    for number in range(100):
        piece = PIECES[number % len(PIECES)]
        axis = draw.normal(size=3)
        axis /= np.linalg.norm(axis)
        start = draw.uniform([-10.0, -20.0, -45.0], [110.0, 40.0, 20.0])
        end = start + draw.uniform(-15.0, 15.0, 3)
        found = met((piece,), tuple(start), tuple(end), axis, is_round=is_round)
        sampled = deep_mm(points_of(piece, axis, start, end), is_round=is_round)
        told += found > 0.0
        if sampled > LEAST_MM:
            assert found >= min(sampled, 9.99) - 1e-6, (number, found, sampled)
        assert found <= max(sampled, 0.0) + 3.0, (number, found, sampled)
    assert 25 < told < 90
